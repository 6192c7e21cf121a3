"""Follow-ups: opened by what fails or accuses, closed by the supervisor and by nothing else."""

from __future__ import annotations

import uuid
from datetime import UTC, date, datetime

import pytest

from config.accounts.models import Role
from inventory.followups.actions import close_follow_up
from inventory.followups.models import CLOSED_KIND, FollowUp
from inventory.ledger.models import Record
from inventory.ledger.write import About, Draft, Overtaken, last_seq, writing
from tests.factories import (
    calibrate,
    give_role,
    make_site,
    make_source,
    make_user,
    make_wipe,
    record_wipe,
    rps_of,
    tick,
)
from tests.inventory.asking import last_good, open_points, refuses, state

pytestmark = pytest.mark.django_db
FAILING = [(60_000, 600.0)]
OCTOBER, NOVEMBER, DECEMBER = date(2025, 10, 1), date(2025, 11, 1), date(2025, 12, 1)


@pytest.fixture
def source(site):
    return make_source(site)


@pytest.fixture
def failing(source, counter):
    return record_wipe(source, counter, NOVEMBER, gross=FAILING)


def close(item, on=DECEMBER, *, by=None, at=None, reason="Source sent back.", **more):
    (point,) = open_points(item)
    by = by or rps_of(item.site)
    return close_follow_up(point, by=by, at=at or tick(), on=on, reason=reason, **more)


def test_a_fail_opens_one_at_once(source, failing):
    (point,) = open_points(source)
    assert (point.kind, point.opened_by, point.opened_on) == ("leak_test", failing, NOVEMBER)
    assert state(source, OCTOBER) == "never_done"
    assert state(source, NOVEMBER) == "failed"


def test_an_unaccepted_fail_opens_one_too(source, counter):
    record_wipe(source, counter, NOVEMBER, gross=FAILING, act={"accepted": False})
    assert state(source) == "failed"


def test_a_later_lower_reading_never_closes_it(source, counter, failing):
    for on in (NOVEMBER, DECEMBER, date(2026, 1, 2)):
        record_wipe(source, counter, on, why="recount")
    assert state(source) == "failed"
    assert len(open_points(source)) == 1


def test_a_correction_to_a_pass_keeps_the_warning_until_closed(source, counter, failing):
    better = record_wipe(source, counter, NOVEMBER, act={"replaces": failing, "because": "Typo."})
    assert state(source) == "failed"
    close(source)
    assert state(source) == "good"
    assert last_good(source) == better.pk


def test_a_correction_to_another_day_leaves_no_day_uncovered(source, counter, failing):
    act = {"replaces": failing, "because": "Wrong day."}
    record_wipe(source, counter, OCTOBER, gross=FAILING, act=act)
    first, second = open_points(source)
    assert (first.opened_on, second.opened_on) == (NOVEMBER, OCTOBER)
    at = tick()
    close_follow_up(second, by=rps_of(source.site), at=at, on=DECEMBER, reason="Sent back.")
    assert state(source) == "failed"


def test_closing_does_not_bring_an_older_pass_back(source, counter):
    record_wipe(source, counter, OCTOBER)
    record_wipe(source, counter, NOVEMBER, gross=FAILING)
    close(source)
    assert state(source) == "never_done"
    after = record_wipe(source, counter, DECEMBER)
    assert last_good(source) == after.pk


def test_after_closing_without_a_good_record_it_was_never_done(source, failing):
    close(source)
    assert state(source, date(2025, 11, 30)) == "failed"
    assert state(source, DECEMBER) == "never_done"


def test_closing_one_of_two_is_not_enough(source, counter, failing):
    record_wipe(source, counter, DECEMBER, gross=FAILING)
    first, second = open_points(source)
    for point, expected in ((first, "failed"), (second, "never_done")):
        close_follow_up(point, by=rps_of(source.site), at=tick(), on=DECEMBER, reason="Done.")
        assert state(source) == expected


def test_closing_it_for_one_source_leaves_the_other_failed(site, counter):
    one, other = make_source(site), make_source(site)
    record_wipe([one, other], counter, NOVEMBER, gross=FAILING)
    close(one)
    assert (state(one), state(other)) == ("never_done", "failed")


def test_a_failed_calibration_is_closed_like_any_other(site, counter):
    calibrate(counter, NOVEMBER, passed=False)
    assert state(counter) == "failed"
    close(counter)
    assert state(counter) == "never_done"  # the calibration before does not come back
    calibrate(counter, DECEMBER)
    assert state(counter) == "good"


@pytest.mark.parametrize(
    ("change", "code", "field"),
    [
        ({"reason": "  "}, "closing_needs_reason", "reason"),
        ({"on": date(2025, 10, 31)}, "closed_before_opened", "on"),
        ({"on": date(2060, 1, 1)}, "effective_in_future", "on"),
    ],
)
def test_it_refuses_a_closing_that_cannot_be(source, failing, change, code, field):
    with refuses(code, field):
        close(source, **change)


def test_only_the_supervisor_of_this_site_closes(source, failing):
    technician, stranger = make_user(), make_user()
    give_role(technician, source.site, Role.TECHNICIAN)
    give_role(technician, source.site, Role.MANAGER)
    foreign = rps_of(make_site())
    for user in (technician, stranger, foreign):
        with refuses("only_rps_closes"):
            close(source, by=user)


def test_a_role_that_ended_yesterday_does_not_count(source, failing):
    at = datetime(2026, 2, 10, 9, 0, tzinfo=UTC)
    former, current, coming = make_user(), make_user(), make_user()
    roles = [give_role(user, source.site, Role.RPS) for user in (former, current)]
    for role, until in zip(roles, (date(2026, 2, 9), date(2026, 2, 10)), strict=True):
        role.until_on = until
        role.save()
    give_role(coming, source.site, Role.RPS, date(2026, 2, 11))
    for user in (former, coming):
        with refuses("only_rps_closes"):
            close(source, by=user, at=at)
    close(source, by=current, at=at)
    assert open_points(source) == []


def test_the_day_of_a_role_is_the_day_at_the_site(db):
    site = make_site(time_zone="Pacific/Kiritimati")  # 14 hours ahead
    source = make_source(site)
    with writing(site, by=rps_of(site), at=tick()) as ledger:
        failed = About(source, outcome="fail", accuses=True)
        ledger.append(Draft("leak_test", NOVEMBER, [failed], detail=DECLARED))
    former = make_user()
    role = give_role(former, site, Role.RPS)
    role.until_on = date(2026, 2, 9)
    role.save()
    with refuses("only_rps_closes"):
        close(source, by=former, at=datetime(2026, 2, 9, 11, 0, tzinfo=UTC))
    close(source, by=former, at=datetime(2026, 2, 9, 9, 0, tzinfo=UTC))


DECLARED = {"way": "declared", "why": "routine", "counted_on": None, "laboratory": ""}


def test_it_is_closed_once(source, failing):
    (point,) = open_points(source)
    close(source)
    with refuses("already_closed"):
        close_follow_up(point, by=rps_of(source.site), at=tick(), on=DECEMBER, reason="Again.")


def test_the_same_request_closes_once(source, failing):
    (point,) = open_points(source)
    key = uuid.uuid4()
    acts = [
        close_follow_up(
            point, by=rps_of(source.site), at=tick(), on=DECEMBER, reason="Done.", request_key=key
        )
        for _ in range(2)
    ]
    assert acts[0] == acts[1]
    assert Record.objects.filter(kind=CLOSED_KIND).count() == 1


def test_it_tells_what_happened_meanwhile(source, counter, failing):
    seen = last_seq(source.site)
    record_wipe(source, counter, DECEMBER, gross=FAILING)
    point = open_points(source)[0]
    with pytest.raises(Overtaken):
        close_follow_up(
            point, by=rps_of(source.site), at=tick(), on=DECEMBER, reason="Done.", seen=seen
        )
    assert len(open_points(source)) == 2


def test_a_closing_that_is_replaced_closes_nothing(source, failing):
    closing = close(source, date(2025, 11, 10))
    user = rps_of(source.site)
    with writing(source.site, by=user, at=tick()) as ledger:
        ledger.append(
            Draft(CLOSED_KIND, DECEMBER, [About(source)], replaces=closing, reason="Not yet.")
        )
    assert state(source) == "failed"
    close(source)
    assert state(source, date(2025, 11, 30)) == "failed"


def test_a_closing_moved_to_a_later_day_is_failed_until_then(source, failing):
    closing = close(source, date(2025, 11, 10))
    user = rps_of(source.site)
    with writing(source.site, by=user, at=tick()) as ledger:
        link = [(failing, "closes")]
        draft = Draft(CLOSED_KIND, DECEMBER, [About(source)], links=link, replaces=closing,
                      reason="Wrong day.")  # fmt: skip
        ledger.append(draft)
    assert state(source, date(2025, 11, 30)) == "failed"
    assert state(source, DECEMBER) == "never_done"


def test_an_open_point_is_open_until_the_day_before_its_closing(source, failing):
    close(source, DECEMBER)
    by_day = FollowUp.objects.filter(item=source)
    assert by_day.open_on(date(2025, 10, 31)).count() == 0
    assert by_day.open_on(NOVEMBER).count() == 1
    assert by_day.open_on(date(2025, 11, 30)).count() == 1
    assert by_day.open_on(DECEMBER).count() == 0


def test_a_wipe_that_only_accuses_opens_one(site, counter):
    """No efficiency for the nuclide, and more counts than the limit could give."""
    source = make_source(site, nuclide="Ni-63")
    wipe = make_wipe(source, counter, NOVEMBER, gross=[(400_000, 600.0)])
    assert wipe.sources == [source]
    record_wipe(source, counter, NOVEMBER, gross=[(400_000, 600.0)])
    assert state(source) == "failed"
    close(source)
    assert state(source) == "never_done"
