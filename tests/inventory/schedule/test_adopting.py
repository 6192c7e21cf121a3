"""Begin a schedule, go through it as a draft, adopt it: what is written, what is refused."""

from __future__ import annotations

import uuid
from datetime import date, timedelta
from functools import partial
from typing import Any

import pytest

from config.accounts.models import Role
from inventory import knowledge
from inventory.access import schedule_line
from inventory.calc.errors import DomainError
from inventory.ledger.models import Item, Record
from inventory.ledger.verify import check_everything
from inventory.ledger.write import Overtaken
from inventory.schedule import actions
from inventory.schedule.pieces import Decided, Taken
from inventory.schedule.versions import coming, draft_of, in_force, versions
from tests import factories
from tests.inventory.rules.invented import row_table, rules_in
from tests.inventory.schedule.world import (
    FIRST,
    TODAY,
    act,
    adopted,
    adoption,
    detail_of,
    drafted,
    go_through,
    make_site,
)

pytestmark = pytest.mark.django_db
NEXT_YEAR = date(2027, 1, 1)


@pytest.fixture(autouse=True)
def rules(tmp_path):
    with rules_in(tmp_path):
        yield


@pytest.fixture
def site():
    return make_site()


def months_on(site: Any, on: date) -> int:
    found = in_force(versions(site), on)
    return next(row.months for row in found.rules.rows if row.id == "leak.default")


def due_on(source: Item, on: date) -> date | None:
    return knowledge.decide_on(knowledge.load([source.pk])[source.pk], "leak_test", on).value.due_on


def change(site: Any, **fields: Any) -> Record:
    return actions.change_row(site, row_table(id="leak.default", **fields), **act(site))


def test_a_first_schedule_is_in_force_and_says_that_nobody_adopted_it(site):
    assert months_on(site, TODAY) == 24
    assert schedule_line(site, TODAY).startswith("Draft schedule: Alpha, version 1.")


def test_only_the_first_schedule_begins(site):
    with pytest.raises(DomainError, match="schedule_there_already"):
        actions.begin(site, [Taken("bb", 1)], FIRST, **act(site))


def test_a_draft_decides_nothing(site):
    drafted(site)
    change(site, months=3)
    assert months_on(site, TODAY) == 24
    assert draft_of(site).rules.rows[0].months == 3


def test_one_draft_is_open_at_a_time_and_can_be_discarded(site):
    drafted(site)
    with pytest.raises(DomainError, match="draft_open"):
        drafted(site)
    actions.discard_draft(site, **act(site))
    assert draft_of(site) is None
    with pytest.raises(DomainError, match="no_draft"):
        change(site, months=3)
    drafted(site)
    assert draft_of(site).rules.rows[0].months == 24


def test_a_draft_needs_a_schedule():
    bare = factories.make_site(schedule=False)
    with pytest.raises(DomainError, match="no_schedule"):
        drafted(bare)


def test_what_is_adopted_was_gone_through_row_by_row(site):
    drafted(site)
    row = draft_of(site).rows_left[0]
    actions.review_rows(site, {row.id: row}, who="A. Adviser", **act(site))
    assert detail_of(site)["reviewed"][row.id] == {"by": "A. Adviser", "on": str(TODAY)}
    with pytest.raises(DomainError, match="rows_not_gone_through") as refused:
        actions.adopt(site, adoption(), **act(site))
    assert refused.value.values == {"n": 2, "text": "leak.small, calibration.default"}


def test_an_adopted_schedule_says_by_whom_from_when_and_until_when(site):
    drafted(site)
    record = adopted(site, note="after the audit")
    found = in_force(versions(site), TODAY)
    assert (found.seq, found.adopted, found.review_on) == (record.seq, True, date(2028, 1, 5))
    assert found.detail["note"] == "after the audit"
    assert schedule_line(site, TODAY) == (
        "Schedule: Alpha, version 1, adopted on 5 Jan 2026 by A. Adviser."
    )
    assert schedule_line(site, TODAY - timedelta(1)).startswith("Draft schedule")
    assert draft_of(site) is None


def test_the_words_of_the_adopted_schedule_hold_and_move_due_dates(site):
    source = factories.make_source(site)
    counter = factories.make_monitor(site)
    factories.record_wipe(source, counter, date(2025, 10, 1))
    assert due_on(source, TODAY) == date(2027, 10, 1)
    drafted(site)
    change(site, months=3)
    adopted(site)
    assert due_on(source, TODAY) == date(2026, 1, 1)
    assert due_on(source, TODAY - timedelta(1)) == date(2027, 10, 1)


def test_a_schedule_that_comes_later_is_recorded_today_and_decides_from_its_day(site):
    drafted(site)
    change(site, months=3)
    record = adopted(site, from_on=NEXT_YEAR)
    assert record.effective_on == TODAY
    assert (months_on(site, TODAY), months_on(site, NEXT_YEAR)) == (24, 3)
    assert [one.from_on for one in coming(versions(site), TODAY)] == [NEXT_YEAR]
    assert schedule_line(site, NEXT_YEAR - timedelta(1)).startswith("Draft schedule")
    assert schedule_line(site, NEXT_YEAR).startswith("Schedule: Alpha")


def test_nothing_is_adopted_that_begins_before_another_one_without_saying_why(site):
    drafted(site)
    adopted(site, from_on=NEXT_YEAR)
    drafted(site)
    change(site, months=3)
    with pytest.raises(DomainError, match="coming_needs_reason"):
        adopted(site)
    adopted(site, because="the adviser wants it now")
    assert [one.from_on for one in versions(site)] == [FIRST, TODAY]
    drafted(site)
    with pytest.raises(DomainError, match="schedule_begins_later") as refused:
        adopted(site, from_on=TODAY - timedelta(1), because="earlier")
    assert refused.value.values == {"from_on": TODAY}


def test_days_that_have_gone_by_need_a_reason(site):
    drafted(site)
    with pytest.raises(DomainError, match="past_needs_reason"):
        adopted(site, from_on=date(2025, 6, 1))
    record = adopted(site, from_on=date(2025, 6, 1), because="signed then, entered late")
    assert (record.effective_on, record.reason) == (date(2025, 6, 1), "signed then, entered late")
    assert schedule_line(site, date(2025, 6, 1)).startswith("Schedule: Alpha")


@pytest.mark.parametrize(
    ("more", "code", "field"),
    [
        ({"adopted_by": " "}, "adopted_needs_day_and_name", "adopted_by"),
        ({"adopted_by": "\u200b"}, "adopted_needs_day_and_name", "adopted_by"),
        ({"adopted_on": NEXT_YEAR}, "adopted_in_future", "adopted_on"),
        ({"parts_too": False}, "parts_not_gone_through", "parts_too"),
        ({"review_on": TODAY}, "review_before_adoption", "review_on"),
        ({"from_on": NEXT_YEAR, "review_on": NEXT_YEAR}, "review_before_adoption", "review_on"),
    ],
)
def test_an_adoption_that_cannot_be_is_refused_beside_its_field(site, more, code, field):
    drafted(site)
    with pytest.raises(DomainError, match=code) as refused:
        adopted(site, **more)
    assert refused.value.field == field
    assert draft_of(site) is not None


def test_the_next_draft_begins_with_what_was_adopted(site):
    drafted(site)
    change(site, months=3)
    adopted(site)
    drafted(site)
    assert draft_of(site).rules.rows[0].months == 3
    assert draft_of(site).rows_left == []
    actions.discard_draft(site, **act(site))
    drafted(site, again=True)
    assert len(draft_of(site).rows_left) == 3


def test_what_was_adopted_is_loosened_only_with_a_reason(site):
    drafted(site)
    change(site, months=3)
    adopted(site)
    drafted(site)
    with pytest.raises(DomainError, match="loosening_needs_reason"):
        change(site, months=6)
    why = {
        "loosened_because": "clean for ten years",
        "decided_by": "A. Adviser",
        "decided_on": str(TODAY),
    }
    change(site, months=6, **why)
    adopted(site)
    (row,) = (row for row in versions(site)[-1].rules.rows if row.id == "leak.default")
    assert (row.months, row.loosened_because, row.decided_by) == (
        *(6, "clean for ten years", "A. Adviser"),
    )


def draft_what_is_looser(site: Any) -> None:
    """A draft by the older version of a rule set, of which the newer was adopted."""
    drafted(site)
    actions.move_template(site, "aa", 2, **act(site))
    adopted(site)
    drafted(site)
    actions.move_template(site, "aa", 1, **act(site))


def test_what_a_rule_set_loosens_is_adopted_only_with_a_reason(site):
    draft_what_is_looser(site)
    with pytest.raises(DomainError, match="adoption_loosens") as refused:
        adopted(site)
    assert refused.value.values == {"n": 1, "text": "leak.default"}
    assert refused.value.field == "loosened_because"
    adopted(site, decided=Decided("as the regulator has it", "A. Adviser", TODAY))
    assert versions(site)[-1].detail["loosened"] == {
        "rows": ["leak.default"],
        "loosened_because": "as the regulator has it",
        "decided_by": "A. Adviser",
        "decided_on": str(TODAY),
    }
    drafted(site)
    adopted(site)
    assert versions(site)[-1].detail["loosened"] is None


def test_what_is_looser_is_not_brought_forward_without_a_reason(site):
    draft_what_is_looser(site)
    why = Decided("as the regulator has it", "A. Adviser", TODAY)
    adopted(site, from_on=TODAY + timedelta(300), decided=why)
    drafted(site)
    with pytest.raises(DomainError, match="adoption_loosens"):
        adopted(site, because="sooner")
    adopted(site, because="sooner", decided=why)


def test_what_was_loosened_by_hand_has_its_reason_already(site):
    drafted(site)
    adopted(site)
    drafted(site)
    why = {"loosened_because": "x", "decided_by": "A. Adviser", "decided_on": str(TODAY)}
    change(site, months=36, **why)
    actions.remove_row(site, "leak.small", Decided(), **act(site))
    adopted(site)
    assert months_on(site, TODAY) == 36


def test_rows_are_added_removed_restored_and_moved_to_another_version(site):
    drafted(site)
    actions.add_row(site, row_table(when={"portable": True}), **act(site))
    with pytest.raises(DomainError, match="row_id_twice"):
        actions.add_row(site, row_table(), **act(site))
    with pytest.raises(DomainError, match="row_unknown"):
        actions.change_row(site, row_table(id="leak.nothing"), **act(site))
    actions.remove_row(site, "leak.small", Decided(), **act(site))
    assert [row.id for row in draft_of(site).rules.rows] == [
        *("leak.default", "calibration.default", "own.leak")
    ]
    actions.restore_row(site, "leak.small", **act(site))
    actions.move_template(site, "aa", 2, **act(site))
    assert [row.id for row in draft_of(site).rows_left] == [
        *("leak.default", "leak.small", "calibration.default")
    ]
    adopted(site)
    assert months_on(site, TODAY) == 12


def test_a_kind_of_its_own_and_another_template_for_one_requirement(site):
    drafted(site)
    actions.define_kind(site, "own-lamp", title="Warning lamp", subject="gauge", **act(site))
    lamp = row_table(id="own.lamp", requirement="own-lamp", months=1)
    actions.add_row(site, lamp, **act(site))
    actions.choose_templates(site, [Taken("aa", 1), Taken("bb", 1, ("calibration",))], **act(site))
    adopted(site)
    gauge = factories.make_gauge(site)
    (requirement,) = knowledge.requirements_for(knowledge.load([gauge.pk])[gauge.pk])
    assert requirement == "own-lamp"
    assert versions(site)[-1].rules.title == "Beta 1 + Alpha"


def test_only_the_supervisor_writes_about_the_schedule(site):
    technician = factories.make_user()
    factories.give_role(technician, site, Role.TECHNICIAN)
    drafted(site)
    go_through(site)
    for write in (
        partial(actions.draft_schedule, site),
        partial(actions.change_row, site, row_table(id="leak.default")),
        partial(actions.adopt, site, adoption()),
        partial(actions.discard_draft, site),
    ):
        with pytest.raises(DomainError, match="only_rps_decides"):
            write(by=technician, at=factories.tick())
    assert draft_of(site) is not None


def test_the_same_form_sent_twice_writes_once(site):
    key = uuid.uuid4()
    one = drafted(site, request_key=key)
    assert drafted(site, request_key=key) == one
    go_through(site)
    key = uuid.uuid4()
    first = actions.adopt(site, adoption(), request_key=key, **act(site))
    assert actions.adopt(site, adoption(), request_key=key, **act(site)) == first


def test_what_somebody_else_wrote_meanwhile_is_told(site):
    seen = drafted(site).seq
    change(site, months=3)
    with pytest.raises(Overtaken):
        actions.change_row(site, row_table(id="leak.default", months=4), seen=seen, **act(site))


def test_a_draft_brings_nothing_derived_up_to_date_and_the_records_are_whole(
    site, django_assert_max_num_queries
):
    for _ in range(3):
        factories.make_source(site)
    drafted(site)
    row = draft_of(site).rows_left[0]
    with django_assert_max_num_queries(30):
        actions.review_rows(site, {row.id: row}, **act(site))
    adopted(site)
    assert list(check_everything()) == []
