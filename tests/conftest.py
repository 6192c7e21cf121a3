"""One cast for all tests, and the wrapper that lets the test database be emptied."""

from __future__ import annotations

import pytest
from django.db import connection
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


@pytest.fixture
def site(db):
    from tests.factories import make_site

    return make_site("thornmere")


@pytest.fixture
def counter(site):
    from tests.factories import make_monitor

    return make_monitor(site, tag="WC-1")
