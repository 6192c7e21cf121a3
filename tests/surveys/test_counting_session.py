"""A counting session as an act: all or nothing, once, and what it says of batch and counter."""

from __future__ import annotations

import uuid
from datetime import date, timedelta
from typing import Any

import pytest

from config.accounts.models import Role
from inventory.calc.errors import DomainError
from inventory.followups.models import FollowUp
from inventory.ledger.models import Record, RecordLink
from inventory.ledger.write import read_body
from inventory.rules.schema import LEAK_TEST
from inventory.timeline import RequirementSpan
from surveys.leak.models import LEAK_TEST_KIND, SESSION_KIND, CountingSession
from surveys.sessions.acceptance import accept_wipes, waiting, wipes_of
from surveys.sessions.session import CheckCount, Taken
from tests import factories
from tests.pages import staff

pytestmark = pytest.mark.django_db
ON = date(2025, 12, 1)


@pytest.fixture(scope="module")
def sources(site):
    return [factories.make_source(site, serial=f"K-{n}") for n in range(1, 7)]


@pytest.fixture(scope="module")
def technician(site):
    return staff(site, Role.TECHNICIAN)


def detail(session: Record) -> dict[str, Any]:
    return read_body(session)["detail"]


def written() -> tuple[int, int]:
    return Record.objects.count(), RecordLink.objects.count()


def state(source: Any, on: date = ON) -> str:
    span = RequirementSpan.objects.on(on).get(item=source, requirement=LEAK_TEST)
    return span.decision.state_on(on)


# ---------------------------------------------------------------- recording


def test_it_writes_the_session_and_every_wipe_in_one_act(counter, sources):
    session = factories.count_session(counter, sources, ON)
    wipes = wipes_of(session)
    assert [list(wipe.about.values_list("item", flat=True)) for wipe in wipes] == [
        [source.pk] for source in sources
    ]
    assert {wipe.instrument for wipe in wipes} == {counter}
    assert CountingSession.objects.get(record=session).wipes == 6
    assert {wipe.recorded_at for wipe in wipes} == {session.recorded_at}


def test_accepted_wipes_satisfy_and_entered_ones_do_not(counter, sources, technician):
    factories.count_session(counter, sources[:1], ON)
    entered = {"by": technician, "act": {"accepted": False}}
    factories.count_session(counter, sources[1:2], ON, **entered)
    assert (state(sources[0]), state(sources[1])) == ("good", "never_done")


def test_only_the_supervisor_accepts_in_the_same_act(counter, sources, technician):
    before = written()
    with pytest.raises(DomainError, match="only_rps_accepts"):
        factories.count_session(counter, sources, ON, by=technician)
    assert written() == before


def test_a_double_click_writes_once(counter, sources):
    act = {"request_key": uuid.uuid4()}
    first = factories.count_session(counter, sources, ON, act=dict(act))
    assert factories.count_session(counter, sources, ON, act=dict(act)) == first
    assert Record.objects.filter(kind=SESSION_KIND).count() == 1
    assert Record.objects.filter(kind=LEAK_TEST_KIND).count() == 6


def test_one_wrong_wipe_saves_nothing_and_is_named_by_its_place(counter, sources):
    before = written()
    session = factories.make_session(counter, sources[:2], ON)
    early = Taken([sources[2]], date(1999, 1, 1), [(431, 600.0)])
    session = factories.Session(
        counter, ON, session.background, [*session.wipes, early], "A. Counter"
    )
    with pytest.raises(DomainError, match="wiped_before_everything") as error:
        factories.record_session(
            site=counter.site,
            by=factories.rps_of(counter.site),
            at=factories.tick(),
            session=session,
        )
    assert error.value.number == 2
    assert written() == before


@pytest.mark.parametrize(
    ("change", "code"),
    [
        ({"background": []}, "session_needs_background"),
        ({"wipes": []}, "session_needs_wipes"),
        ({"counter": "a source"}, "not_a_monitor"),
        ({"check": "a counter"}, "not_a_source"),
        ({"on": date(2026, 6, 1)}, "counted_in_future"),
    ],
)
def test_what_cannot_be_is_refused_and_saves_nothing(counter, sources, change, code):
    if "counter" in change:
        change = {"counter": sources[0]}
    if "check" in change:
        change = {"check": CheckCount(counter, [(1, 1.0)])}
    values = {"counter": counter, "wipes": sources, "on": ON} | change
    before = written()
    with pytest.raises(DomainError, match=code):
        factories.count_session(**values)
    assert written() == before


def test_a_failing_wipe_opens_its_follow_up_at_once_accepted_or_not(counter, sources, technician):
    wipes = [sources[0], (sources[1], 90_000), sources[2]]
    factories.count_session(counter, wipes, ON, by=technician, act={"accepted": False})
    assert FollowUp.objects.still_open().get().item == sources[1]
    assert state(sources[1]) == "failed"


def test_a_wipe_over_two_sources_fails_both(counter, sources):
    factories.count_session(counter, [(sources[:2], 90_000)], ON)
    assert set(FollowUp.objects.values_list("item", flat=True)) == {one.pk for one in sources[:2]}


def test_a_counter_out_of_calibration_clears_nothing(site, sources):
    late = factories.make_monitor(site, calibrated_on=date(2022, 1, 1))
    session = factories.count_session(late, sources, ON)
    assert not any(one.fit for wipe in wipes_of(session) for one in wipe.about.all())
    assert {state(source) for source in sources} == {"never_done"}


# ---------------------------------------------------------------- the background of the batch


@pytest.mark.parametrize(
    ("counts", "said"), [(389, "agrees"), (600, "reads_high"), (180, "reads_low")]
)
def test_five_wipes_say_whether_the_background_suits_them(counter, sources, counts, said):
    session = factories.count_session(counter, [(one, counts) for one in sources[:5]], ON)
    assert detail(session)["batch"] == said


def test_four_wipes_say_nothing_about_the_background(counter, sources):
    session = factories.count_session(counter, [(one, 600) for one in sources[:4]], ON)
    assert detail(session)["batch"] == "not_tested"


# ---------------------------------------------------------------- the check source


@pytest.fixture(scope="module")
def check_source(site):
    return factories.make_source(site, serial="CHK-1")


def checked(counter: Any, sources: Any, source: Any, counts: float, days: int) -> dict[str, Any]:
    on = ON + timedelta(days)
    check = CheckCount(source, [(counts, 60.0)])
    session = factories.count_session(counter, sources[:1], on, check=check)
    found: dict[str, Any] = detail(session)["check"]
    return found


def test_the_first_reading_is_kept_as_the_measure_of_later_ones(counter, sources, check_source):
    assert checked(counter, sources, check_source, 60_000, 0)["state"] == "first"
    found = checked(counter, sources, check_source, 59_000, 30)
    assert found["state"] == "within"
    # Cs-137, T = 10,976 days (ENSDF, from memory): 30 days leave 0.99811 of it.
    net = 60_000 / 60 - 389 / 600
    assert float(found["expected_per_s"]) == pytest.approx(net * 0.99811, rel=1e-4)


def test_a_reading_outside_is_never_the_measure_of_the_next(counter, sources, check_source):
    """Else a counter that lost a third of its sight would be right again the day after."""
    checked(counter, sources, check_source, 60_000, 0)
    assert checked(counter, sources, check_source, 40_000, 1)["state"] == "low"
    assert checked(counter, sources, check_source, 40_000, 2)["state"] == "low"
    assert checked(counter, sources, check_source, 80_000, 3)["state"] == "high"


def test_a_new_calibration_begins_a_new_measure(counter, sources, check_source):
    checked(counter, sources, check_source, 60_000, 0)
    factories.calibrate(counter, ON + timedelta(5))
    assert checked(counter, sources, check_source, 40_000, 10)["state"] == "first"


def test_another_counter_has_its_own_measure(site, counter, sources, check_source):
    checked(counter, sources, check_source, 60_000, 0)
    other = factories.make_monitor(site)
    assert checked(other, sources, check_source, 40_000, 1)["state"] == "first"


def test_a_check_source_that_does_not_count_is_no_measure(counter, sources, check_source):
    assert checked(counter, sources, check_source, 10, 0)["state"] == "low"
    assert checked(counter, sources, check_source, 60_000, 1)["state"] == "first"


def test_a_pass_beside_a_check_source_that_reads_low_is_entered_and_not_accepted(
    counter, sources, check_source
):
    checked(counter, sources, check_source, 60_000, -1)
    low = CheckCount(check_source, [(30_000, 60.0)])
    session = factories.count_session(counter, sources[1:3], ON, check=low)
    assert {one.because for one in waiting(wipes_of(session))} == {"stays_check_low"}
    assert accept(session) == []
    assert {state(source) for source in sources[1:3]} == {"never_done"}


def test_a_failure_beside_a_check_source_that_reads_low_acts_at_once(
    counter, sources, check_source
):
    checked(counter, sources, check_source, 60_000, -1)
    low = CheckCount(check_source, [(30_000, 60.0)])
    factories.count_session(counter, [(sources[1], 90_000)], ON, check=low)
    assert state(sources[1]) == "failed"


def test_a_check_source_outside_refuses_nothing(counter, sources, check_source):
    checked(counter, sources, check_source, 60_000, 0)
    checked(counter, sources, check_source, 30_000, 1)
    assert Record.objects.filter(kind=SESSION_KIND).count() == 2


# ---------------------------------------------------------------- accepting


@pytest.fixture
def entered(counter, sources, technician):
    return factories.count_session(counter, sources, ON, by=technician, act={"accepted": False})


def accept(session: Record, numbers: Any = None, by: Any = None) -> list[Record]:
    numbers = {wipe.seq for wipe in wipes_of(session)} if numbers is None else numbers
    by = by or factories.rps_of(session.site)
    return accept_wipes(session, by=by, at=factories.tick(), numbers=numbers)


def test_all_that_wait_are_accepted_together_and_then_satisfy(entered, sources):
    assert len(accept(entered)) == 6
    assert {state(source, date(2026, 3, 1)) for source in sources} == {"good"}
    assert accept(entered) == []


def test_only_what_was_shown_is_accepted(entered, sources):
    first = wipes_of(entered)[0]
    accept(entered, {first.seq})
    assert [state(one, date(2026, 3, 1)) for one in sources[:2]] == ["good", "never_done"]


def test_a_technician_accepts_nothing(entered, technician):
    with pytest.raises(DomainError, match="only_rps_accepts"):
        accept(entered, by=technician)


def test_a_wipe_that_is_not_relied_on_stays_behind_and_says_why(site, sources, technician):
    late = factories.make_monitor(site, calibrated_on=date(2022, 1, 1))
    session = factories.count_session(late, sources[:2], ON, by=technician, act={"accepted": False})
    assert {one.because for one in waiting(wipes_of(session))} == {"stays_unfit"}
    assert accept(session) == []


def test_a_calibration_that_changed_since_keeps_them_behind(entered, counter):
    factories.calibrate(counter, ON - timedelta(1))
    assert {one.because for one in waiting(wipes_of(entered))} == {"stays_calibration_changed"}
    assert accept(entered) == []


def test_a_corrected_wipe_stays_of_its_session_and_only_the_newer_one_waits(
    entered, sources, counter
):
    old = wipes_of(entered)[0]
    newer = factories.record_wipe(
        sources[0],
        counter,
        ON,
        gross=[(431, 600.0), (425, 600.0)],
        act={"accepted": False, "replaces": old, "because": "counted again"},
    )
    assert newer in wipes_of(entered)
    waits = [one.record for one in waiting(wipes_of(entered))]
    assert newer in waits
    assert old not in waits


def test_an_accepted_failure_keeps_its_follow_up_open(counter, sources, technician):
    wipes = [sources[0], (sources[1], 90_000)]
    session = factories.count_session(counter, wipes, ON, by=technician, act={"accepted": False})
    accept(session)
    assert FollowUp.objects.still_open().get().item == sources[1]
