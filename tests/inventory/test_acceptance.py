"""What somebody entered satisfies only once the supervisor has accepted it."""

from __future__ import annotations

import uuid
from datetime import UTC, date, datetime

import pytest

from config.accounts.models import Role
from inventory.ledger.models import Record
from inventory.ledger.write import About, Draft, writing
from inventory.requirements.actions import ACCEPTED_KIND, accept, set_schedule
from tests.factories import (
    give_role,
    make_monitor,
    make_site,
    make_source,
    make_user,
    record_wipe,
    rps_of,
    tick,
)
from tests.inventory.asking import NOW, due_on, refuses, state

pytestmark = pytest.mark.django_db
OCTOBER, NOVEMBER = date(2025, 10, 1), date(2025, 11, 1)


@pytest.fixture(scope="module")
def source(site):
    return make_source(site)


@pytest.fixture(scope="module")
def technician(site):
    user = make_user()
    give_role(user, site, Role.TECHNICIAN)
    return user


@pytest.fixture
def entered(source, counter, technician):
    return record_wipe(source, counter, OCTOBER, by=technician, act={"accepted": False})


def test_an_entered_pass_satisfies_nothing_until_accepted(source, entered):
    assert state(source) == "never_done"
    accepted = accept(entered, by=rps_of(source.site), at=tick())
    assert state(source) == "good"
    assert due_on(source) == date(2027, 10, 1)  # from the wipe, not from the acceptance
    assert state(source, accepted.effective_on) == "good"
    assert state(source, date(2025, 12, 31)) == "never_done"  # what was said then stays


def test_an_acceptance_is_a_record_that_names_its_target(source, entered):
    accepted = accept(entered, by=rps_of(source.site), at=tick())
    link = accepted.links.get()
    assert (accepted.kind, link.target, link.role) == (ACCEPTED_KIND, entered, "accepts")
    assert Record.objects.get(pk=entered.pk).accepted_by is None  # the entry stays as it was


def test_an_unfit_pass_is_not_made_good_by_acceptance(site, source):
    counter = make_monitor(site, calibrated_on=date(2023, 1, 1))
    entered = record_wipe(source, counter, OCTOBER, act={"accepted": False})
    accept(entered, by=rps_of(site), at=tick())
    assert state(source) == "never_done"


def test_accepting_an_inconclusive_result_does_not_make_it_a_pass(site, source, counter):
    entered = record_wipe(source, counter, OCTOBER, gross=[(650, 10.0)], background=[(100, 10.0)],
                          act={"accepted": False})  # fmt: skip
    assert entered.about.get().outcome == "inconclusive"
    accept(entered, by=rps_of(site), at=tick())
    assert state(source) == "never_done"


def test_accepting_one_record_says_nothing_of_the_next(site, source, counter, entered):
    accept(entered, by=rps_of(site), at=tick())
    record_wipe(source, counter, NOVEMBER, act={"accepted": False})
    assert due_on(source) == date(2027, 10, 1)


def test_only_the_supervisor_of_this_site_accepts(source, entered, technician):
    former = make_user()
    role = give_role(former, source.site, Role.RPS)
    role.until_on = date(2026, 1, 4)
    role.save()
    inspector = make_user()
    give_role(inspector, source.site, Role.INSPECTOR)
    foreign = rps_of(make_site())
    for user in (technician, former, inspector, foreign, make_user()):
        with refuses("only_rps_accepts"):
            accept(entered, by=user, at=tick())


def test_a_role_counts_by_the_day_at_the_site(source, entered):
    coming = make_user()
    give_role(coming, source.site, Role.RPS, date(2026, 7, 2))
    with refuses("only_rps_accepts"):
        accept(entered, by=coming, at=datetime(2026, 7, 1, 22, 59, tzinfo=UTC))
    accept(entered, by=coming, at=datetime(2026, 7, 1, 23, 1, tzinfo=UTC))  # summer time


def test_a_technician_cannot_accept_in_the_same_act(source, counter, technician):
    with refuses("only_rps_accepts"):
        record_wipe(source, counter, OCTOBER, by=technician)


def test_it_is_accepted_once(source, counter, entered):
    by = rps_of(source.site)
    accept(entered, by=by, at=tick())
    with refuses("already_accepted"):
        accept(entered, by=by, at=tick())
    at_once = record_wipe(source, counter, NOVEMBER)
    with refuses("already_accepted"):
        accept(at_once, by=by, at=tick())


def test_what_was_corrected_is_not_accepted_any_more(source, counter, entered):
    act = {"replaces": entered, "because": "Typo.", "accepted": False}
    record_wipe(source, counter, OCTOBER, act=act)
    by = rps_of(source.site)
    with refuses("already_corrected"):
        accept(entered, by=by, at=tick())
    assert state(source) == "never_done"


def test_a_correction_does_not_inherit_the_acceptance(source, counter, entered, technician):
    accept(entered, by=rps_of(source.site), at=tick())
    act = {"replaces": entered, "because": "Typo.", "accepted": False}
    corrected = record_wipe(source, counter, OCTOBER, by=technician, act=act)
    assert state(source) == "never_done"
    accept(corrected, by=rps_of(source.site), at=tick())
    assert state(source) == "good"


def test_an_acceptance_that_is_replaced_accepts_nothing(source, entered):
    accepted = accept(entered, by=rps_of(source.site), at=tick())
    with writing(source.site, by=rps_of(source.site), at=tick()) as ledger:
        ledger.append(
            Draft(
                ACCEPTED_KIND,
                accepted.effective_on,
                [About(source)],
                replaces=accepted,
                reason="Meant another one.",
            )
        )
    assert state(source) == "never_done"


def test_an_acceptance_covers_every_source_of_the_wipe(site, counter, technician):
    sources = [make_source(site), make_source(site)]
    entered = record_wipe(sources, counter, OCTOBER, by=technician, act={"accepted": False})
    accept(entered, by=rps_of(site), at=tick())
    assert [state(source) for source in sources] == ["good", "good"]


def test_the_same_request_accepts_once(source, entered):
    key, by = uuid.uuid4(), rps_of(source.site)
    acts = [accept(entered, by=by, at=tick(), request_key=key) for _ in range(2)]
    assert acts[0] == acts[1]
    with refuses("request_key_used_elsewhere"):
        record_wipe(source, make_monitor_of(source), NOVEMBER, act={"request_key": key})


def make_monitor_of(source):
    return source.site.items.get(kind="monitor")


# --- the schedule ------------------------------------------------------------------------------


def test_a_site_without_a_schedule_has_decided_nothing(db):
    site = make_site(schedule=False)
    source = make_source(site)
    assert state(source) == "undecided"
    set_schedule(site, by=rps_of(site), at=tick(), rule_set="gb", version=1, from_on=OCTOBER)
    assert state(source, NOW) == "never_done"


@pytest.mark.parametrize(
    "half",
    [
        {"adopted_on": OCTOBER},
        {"adopted_by": "C. Adviser"},
        {"adopted_on": OCTOBER, "adopted_by": " "},
    ],
)
def test_an_adoption_has_a_day_and_a_name(site, half):
    with refuses("adopted_needs_day_and_name", "adopted_by"):
        set_schedule(site, by=rps_of(site), at=tick(), rule_set="gb", version=1, from_on=OCTOBER,
                     **half)  # fmt: skip
