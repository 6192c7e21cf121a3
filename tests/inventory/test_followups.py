"""Follow-ups: opened by what fails or accuses, closed by the supervisor and by nothing else."""

from __future__ import annotations

import uuid
from datetime import UTC, date, datetime

import pytest

from config.accounts.models import Role
from inventory import knowledge
from inventory.calc.errors import DomainError
from inventory.followups.actions import close_follow_up
from inventory.followups.models import CLOSED_KIND, STEP_KIND, FollowUp, FollowUpStep
from inventory.followups.step_actions import Act, Task, add_steps, mark_done, reopen, withdraw
from inventory.followups.suggestions import ASK_ADVISER, suggested
from inventory.followups.wording import next_step, step_deadline, steps_text
from inventory.ledger.models import Record
from inventory.ledger.write import About, Draft, Overtaken, last_seq, writing
from inventory.sentences import error_text
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


@pytest.fixture(scope="module")
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


# ---------------------------------------------------------------- steps


def act(item, **more):
    return Act(more.pop("by", None) or rps_of(item.site), more.pop("at", None) or tick(), **more)


def add(item, *texts, **more):
    (point,) = open_points(item)
    tasks = [text if isinstance(text, Task) else Task(text) for text in texts]
    return add_steps(point, tasks, act(item, **more))


def steps(item):
    return list(FollowUpStep.objects.filter(item=item).order_by("added_by"))


def do(step, on=DECEMBER, **more):
    said = {name: more.pop(name) for name in ("note", "who") if name in more}
    return mark_done(step, act(step.item, **more), on=on, **said)


def test_it_cannot_be_closed_while_a_step_is_open(source, failing):
    add(source, "Isolate it.", "Tell the persons named in the local rules.")
    do(steps(source)[0])
    with refuses("steps_still_open"):
        close(source)
    do(steps(source)[1])
    close(source)
    assert state(source) == "never_done"


def test_the_refusal_names_the_open_steps(source, failing):
    add(source, "Isolate it.", "Tell the neighbours.")
    do(steps(source)[0])
    with pytest.raises(DomainError) as refusal:
        close(source)
    said = error_text(refusal.value)
    assert "Tell the neighbours." in said
    assert "Isolate it." not in said


def test_it_cannot_be_closed_before_the_day_on_which_a_step_was_done(source, failing):
    add(source, "Isolate it.")
    do(steps(source)[0], date(2025, 12, 9))
    with refuses("closed_before_step", "on"):
        close(source, DECEMBER)
    close(source, date(2025, 12, 9))


def test_a_step_that_is_withdrawn_is_gone_with_its_reason_kept(source, failing):
    (added,) = add(source, "Isolate it.")
    gone = withdraw(steps(source)[0], act(source), reason="Entered twice.")
    assert steps(source) == []
    assert (gone.replaces, gone.reason) == (added, "Entered twice.")
    close(source)


def test_a_step_that_is_done_is_not_withdrawn_but_reopened(source, failing):
    add(source, "Isolate it.")
    do(steps(source)[0])
    with refuses("step_done_already"):
        withdraw(steps(source)[0], act(source), reason="Mistaken.")
    reopen(steps(source)[0], act(source), reason="The wrong gauge was locked.")
    assert steps(source)[0].done_on is None
    with refuses("step_not_done"):
        reopen(steps(source)[0], act(source), reason="Again.")
    do(steps(source)[0], date(2025, 12, 3))
    assert steps(source)[0].done_on == date(2025, 12, 3)


def test_withdrawing_and_reopening_need_a_reason(source, failing):
    add(source, "Isolate it.", "Tell.")
    do(steps(source)[0])
    with refuses("correction_needs_reason", "reason"):
        reopen(steps(source)[0], act(source), reason=" ")
    with refuses("correction_needs_reason", "reason"):
        withdraw(steps(source)[1], act(source), reason=" ")


def test_steps_belong_to_one_follow_up_of_one_source(site, counter):
    one, other = make_source(site), make_source(site)
    record_wipe([one, other], counter, NOVEMBER, gross=FAILING)
    add(one, "Isolate it.")
    assert (len(steps(one)), steps(other)) == (1, [])
    close(other)
    with refuses("steps_still_open"):
        close(one)


def test_nothing_is_added_to_a_closed_follow_up(source, failing):
    (point,) = open_points(source)
    close(source)
    with refuses("already_closed"):
        add_steps(point, [Task("Isolate it.")], act(source))


@pytest.mark.parametrize(
    ("task", "code", "field"),
    [
        (Task(" "), "step_needs_text", "text"),
        (Task("x" * 501), "text_too_long", "text"),
        (Task("Isolate.", by_on=OCTOBER), "step_before_opened", "by_on"),
    ],
)
def test_it_refuses_a_step_that_cannot_be(source, failing, task, code, field):
    with refuses(code, field):
        add(source, task)


@pytest.mark.parametrize(
    ("on", "code"),
    [(OCTOBER, "step_before_opened"), (date(2060, 1, 1), "effective_in_future")],
)
def test_it_refuses_a_day_on_which_no_step_can_have_been_done(source, failing, on, code):
    add(source, "Isolate it.")
    with refuses(code, "on"):
        do(steps(source)[0], on)


def test_a_double_click_adds_and_marks_once(source, failing):
    adding, marking = uuid.uuid4(), uuid.uuid4()
    for _ in range(2):
        add(source, "Isolate it.", "Tell.", request_key=adding)
    for _ in range(2):
        do(steps(source)[0], request_key=marking)
    assert [step.done_on for step in steps(source)] == [DECEMBER, None]
    assert Record.objects.filter(kind=STEP_KIND).count() == 2


def test_a_step_done_twice_by_two_people_is_told_to_the_second(source, failing):
    add(source, "Isolate it.")
    step, seen = steps(source)[0], last_seq(source.site)
    do(step, seen=seen)
    with pytest.raises(Overtaken):
        add(source, "Tell.", seen=seen)
    with refuses("step_done_already"):
        do(step)


def test_the_usual_steps_are_taken_over_without_those_that_are_there(source, failing):
    first, *_rest = usual = suggested("leak_test")
    add(source, first)
    (point,) = open_points(source)
    add_steps(point, [Task(text) for text in usual], act(source), only_new=True)
    assert [step.text for step in steps(source)] == usual
    with refuses("steps_there_already"):
        add_steps(point, [Task(text) for text in usual], act(source), only_new=True)


def test_whether_it_is_reportable_is_asked_and_never_answered():
    for kind in ("leak_test", "something_else"):
        assert str(ASK_ADVISER) in suggested(kind)
    assert all(
        len(text) <= 500 for kind in ("leak_test", "calibration") for text in suggested(kind)
    )


def test_late_steps_are_said_in_words(source, failing):
    add(source, Task("Isolate it.", by_on=date(2025, 11, 3)), Task("Tell.", by_on=NOVEMBER))
    first, second = steps(source)
    assert step_deadline(first, date(2025, 11, 2)) == "by 3 Nov 2025"
    assert step_deadline(first, date(2025, 11, 3)) == "due today"
    assert step_deadline(first, date(2025, 11, 4)) == "1 day late, was due on 3 Nov 2025"
    assert next_step([first, second]) == second
    do(first)
    first, second = steps(source)
    assert step_deadline(first, DECEMBER) == "done on 1 Dec 2025, 28 days after its day"
    assert steps_text([first, second]) == "1 of 2 steps done"


def test_what_was_known_then_of_the_steps(source, failing):
    add(source, "Isolate it.")
    before = tick()
    do(steps(source)[0])
    (then,) = knowledge.load([source.pk], before)[source.pk].steps
    (now,) = knowledge.load([source.pk])[source.pk].steps
    assert (then.done_on, now.done_on) == (None, DECEMBER)
