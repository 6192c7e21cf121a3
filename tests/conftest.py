"""One cast for all tests, and the wrapper that lets the test database be emptied."""

from __future__ import annotations

from collections import Counter

import pytest
from django.db import connection, transaction
from django.test import TransactionTestCase


def _emptied(original):
    """Evidence refuses to be flushed: take the triggers off for the flush alone."""

    def teardown(self):
        from inventory.ledger import triggers

        triggers.remove(connection)
        try:
            original(self)
        finally:
            triggers.install(connection)

    return teardown


TransactionTestCase._fixture_teardown = _emptied(TransactionTestCase._fixture_teardown)


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """A test that begins with what is kept takes back what it wrote, and its database is made.
    Files of few tests come first: those take longest, and nobody waits for the last of them."""
    for item in items:
        if "kept" in getattr(item, "fixturenames", ()):
            item.add_marker(pytest.mark.django_db)
    tests_in = Counter(item.path for item in items)
    items.sort(key=lambda item: (tests_in[item.path], item.path))


@pytest.fixture(autouse=True, scope="module")
def moments():
    """The moments of a file's writes lie on one day, however many files were read before."""
    from tests.factories import begin_again

    begin_again()


@pytest.fixture(scope="module")
def kept(django_db_setup, django_db_blocker, moments):
    """What a file's tests begin with is made once, in a transaction around all of them; each has
    one of its own inside. A file whose tests commit makes its own world each time."""
    with django_db_blocker.unblock(), transaction.atomic():
        yield
        transaction.set_rollback(True)


@pytest.fixture(scope="module")
def site(kept):
    from tests.factories import make_site

    return make_site("thornmere")


@pytest.fixture(scope="module")
def counter(site):
    from tests.factories import make_monitor

    return make_monitor(site, tag="WC-1")


@pytest.fixture
def bare(db):
    """Another site, with nothing on it, for the tests that are about that."""
    from tests.factories import make_site

    return make_site("bare")
