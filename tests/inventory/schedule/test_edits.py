"""Changes of a draft as plain functions: what each leaves behind, what it refuses."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

import pytest

from inventory.calc.errors import DomainError
from inventory.rules.adopted import assemble
from inventory.rules.load import row_data
from inventory.schedule import edits, own_kinds
from inventory.schedule.actions import moved
from inventory.schedule.pieces import Decided, Reviewer, Taken
from inventory.schedule.versions import left
from tests.inventory.rules.invented import row_table, rules_in

BY = Reviewer("A. Adviser", date(2026, 1, 5))
WHY = {
    "loosened_because": "clean for ten years",
    "decided_by": "A. Adviser",
    "decided_on": "2026-01-05",
}
DECIDED = Decided("not ours", "A. Adviser", date(2026, 1, 5))


@pytest.fixture(autouse=True)
def rules(tmp_path):
    with rules_in(tmp_path):
        yield


@pytest.fixture
def detail() -> dict[str, Any]:
    return edits.begun([Taken("aa", 1)])


def months(detail, row_id="leak.default"):
    row = edits.row_of(assemble(detail), row_id)
    return row.months if row else "gone"


def changed(row_id="leak.default", **fields: Any) -> dict[str, Any]:
    return row_table(id=row_id, authority="site", **fields)


def gone_through(detail):
    rows = {row.id: row for row in left(detail)}
    return edits.with_review(detail, rows, BY)


def test_nobody_has_gone_through_a_schedule_that_was_just_begun(detail):
    assert [row.id for row in left(detail)] == [
        "leak.default",
        "leak.small",
        "calibration.default",
    ]


def test_a_row_that_was_gone_through_says_by_whom_and_when(detail):
    row = edits.row_of(assemble(detail), "leak.small")
    new = edits.with_review(detail, {"leak.small": row}, BY)
    assert new["reviewed"] == {"leak.small": {"by": "A. Adviser", "on": "2026-01-05"}}
    assert detail["reviewed"] == {}
    assert [row.id for row in left(new)] == ["leak.default", "calibration.default"]


def test_a_row_that_was_changed_after_it_was_shown_was_not_gone_through(detail):
    shown = edits.row_of(assemble(detail), "leak.default")
    new = edits.with_row(detail, changed(months=3), BY, None)
    with pytest.raises(DomainError, match="row_changed_meanwhile"):
        edits.with_review(new, {"leak.default": shown}, BY)
    with pytest.raises(DomainError, match="row_unknown"):
        edits.with_review(new, {"leak.nothing": None}, BY)


def test_a_tightened_row_needs_no_reason_and_counts_as_gone_through(detail):
    new = edits.with_row(detail, changed(months=3), BY, None)
    assert months(new) == 3
    assert "leak.default" in new["reviewed"]


@pytest.mark.parametrize("missing", WHY)
def test_a_loosened_row_needs_reason_name_and_day(detail, missing):
    loose = changed(months=36) | WHY
    assert months(edits.with_row(detail, loose, BY, None)) == 36
    with pytest.raises(DomainError, match="loosening_needs_reason") as refused:
        edits.with_row(detail, loose | {missing: None}, BY, None)
    assert refused.value.field == missing


def test_a_decision_of_a_day_to_come_loosens_nothing(detail):
    later = {"decided_on": str(BY.on + timedelta(1))}
    with pytest.raises(DomainError, match="decided_in_future") as refused:
        edits.with_row(detail, changed(months=36) | WHY | later, BY, None)
    assert refused.value.field == "decided_on"


def test_looser_than_what_was_adopted_is_looser_even_if_stricter_than_the_template(detail):
    standing = assemble(edits.with_row(detail, changed(months=6), BY, None))
    with pytest.raises(DomainError, match="loosening_needs_reason"):
        edits.with_row(detail, changed(months=12), BY, standing)
    new = edits.with_row(detail, changed(months=12) | WHY, BY, standing)
    assert edits.row_of(assemble(new), "leak.default").loosened_because == "clean for ten years"


def test_an_added_exemption_loosens_and_an_added_interval_does_not(detail):
    exempt = row_table(result="not_required", when={"portable": True})
    with pytest.raises(DomainError, match="loosening_needs_reason"):
        edits.with_row(detail, exempt, BY, None)
    assert months(edits.with_row(detail, row_table(mode="adds"), BY, None), "own.leak") == 6


def test_a_removed_row_needs_a_reason_where_that_loosens(detail):
    detail = edits.with_row(detail, row_table(when={"portable": True}), BY, None)
    with pytest.raises(DomainError, match="loosening_needs_reason"):
        edits.without_row(detail, "own.leak", Decided(), assemble(detail), BY.on)
    new = edits.without_row(detail, "own.leak", DECIDED, assemble(detail), BY.on)
    assert months(new, "own.leak") == "gone"
    assert new["removed"] == [
        {
            "id": "own.leak",
            "loosened_because": "not ours",
            "decided_by": "A. Adviser",
            "decided_on": "2026-01-05",
        }
    ]


def test_a_removed_exemption_is_free(detail):
    new = edits.without_row(gone_through(detail), "leak.small", Decided(), None, BY.on)
    assert months(new, "leak.small") == "gone"
    assert "leak.small" not in new["reviewed"]


def test_an_own_row_of_this_draft_alone_is_dropped_without_a_trace(detail):
    new = edits.with_row(detail, row_table(when={"portable": True}), BY, None)
    dropped = edits.without_row(new, "own.leak", Decided(), None, BY.on)
    assert (dropped["rows"], dropped["removed"]) == ([], [])


def test_the_row_that_answers_for_everything_else_cannot_go_alone(detail):
    with pytest.raises(DomainError, match="requirement_needs_default"):
        edits.without_row(detail, "leak.default", DECIDED, None, BY.on)


def test_a_removed_row_comes_back_when_it_is_written_again(detail):
    gone = edits.without_row(detail, "leak.small", Decided(), None, BY.on)
    again = changed("leak.small", result="not_required", when={"portable": True}) | WHY
    back = edits.with_row(gone, again, BY, None)
    assert back["removed"] == []
    assert edits.row_of(assemble(back), "leak.small").authority == "site"


def test_a_row_goes_back_to_its_template_and_is_to_be_gone_through_again(detail):
    new = edits.with_row(detail, changed(months=3), BY, None)
    back = edits.as_template(new, "leak.default", None)
    assert months(back) == 24
    assert "leak.default" not in back["reviewed"]
    gone = edits.without_row(detail, "leak.small", Decided(), None, BY.on)
    assert months(edits.as_template(gone, "leak.small", None), "leak.small") is None


def test_going_back_to_a_looser_template_is_refused(detail):
    new = edits.with_row(detail, changed(months=3), BY, None)
    with pytest.raises(DomainError, match="restoring_loosens"):
        edits.as_template(new, "leak.default", assemble(new))


def test_a_row_written_as_its_template_has_it_is_the_templates(detail):
    row = edits.row_of(assemble(detail), "calibration.default")
    assert edits.with_row(detail, row_data(row), BY, None)["rows"] == []


def test_a_new_version_of_a_template_leaves_only_what_changed_to_be_gone_through(detail):
    new = edits.with_templates(gone_through(detail), moved(detail, "aa", 2))
    assert (months(new), new["version"]) == (12, 2)
    assert [row.id for row in left(new)] == ["leak.default"]


def test_an_own_row_stays_over_a_new_version_and_is_to_be_gone_through_again(detail):
    own = edits.with_row(gone_through(detail), changed(months=3), BY, None)
    new = edits.with_templates(own, moved(own, "aa", 2))
    assert months(new) == 3
    assert [row.id for row in left(new)] == ["leak.default"]


def test_a_requirement_can_come_from_another_template(detail):
    taken = [Taken("aa", 1), Taken("bb", 1, ("calibration",))]
    new = edits.with_templates(gone_through(detail), taken)
    assert months(new, "calibration.default") == 14
    assert [row.id for row in left(new)] == ["calibration.default"]
    assert edits.taken_of(new) == taken


def test_a_rule_set_that_is_not_there_is_one_sentence(detail):
    with pytest.raises(DomainError, match="row_wrong"):
        edits.with_templates(detail, [Taken("aa", 9)])
    with pytest.raises(DomainError, match="schedule_needs_template"):
        edits.with_templates(detail, [])
    with pytest.raises(DomainError, match="template_not_used"):
        moved(detail, "bb", 1)


def test_a_text_that_is_no_row_is_one_sentence(detail):
    with pytest.raises(DomainError, match="row_wrong") as refused:
        edits.with_row(detail, changed(months=10_000), BY, None)
    assert "expected a whole number from 1 to 600" in str(refused.value.values["text"])


def test_opening_a_draft_again_forgets_who_went_through_it(detail):
    done = gone_through(detail) | {"adopted_on": "2026-01-05", "adopted_by": "A. Adviser"}
    assert left(edits.opened(done, again=False)) == []
    assert len(left(edits.opened(done, again=True))) == 3
    assert edits.opened(done, again=False)["adopted_on"] is None


def test_an_old_record_with_nothing_but_a_template_opens_too():
    old = {"rule_set": "aa", "version": "1", "adopted_on": None, "adopted_by": ""}
    draft = edits.opened(old, again=False)
    assert len(left(draft)) == 3
    assert edits.taken_of(draft) == [Taken("aa", 1)]


# --- kinds of the site's own --------------------------------------------------------------------


def test_a_kind_of_the_sites_own_gets_rows(detail):
    new = own_kinds.with_kind(detail, "own-lamp", "Warning lamp", "gauge")
    lamp = row_table(id="own.lamp", requirement="own-lamp", months=1)
    new = edits.with_row(new, lamp, BY, None)
    assert assemble(new).subject_of("own-lamp") == "gauge"
    with pytest.raises(DomainError, match="own_kind_has_rows"):
        own_kinds.without_kind(new, "own-lamp")
    bare = edits.without_row(new, "own.lamp", Decided(), None, BY.on)
    assert own_kinds.without_kind(bare, "own-lamp")["own_kinds"] == []


@pytest.mark.parametrize(
    ("name", "title", "subject", "code"),
    [
        ("lamp", "Lamp", "gauge", "own_kind_name"),
        ("own-Lamp", "Lamp", "gauge", "own_kind_name"),
        ("own-" + "a" * 27, "Lamp", "gauge", "own_kind_name"),
        ("own-lamp", " ", "gauge", "own_kind_needs_title"),
        ("own-lamp", "Lamp", "laboratory", "own_kind_subject"),
        ("own-there", "Lamp", "gauge", "own_kind_twice"),
    ],
)
def test_a_kind_that_cannot_be_is_refused(detail, name, title, subject, code):
    detail = own_kinds.with_kind(detail, "own-there", "There", "site")
    with pytest.raises(DomainError, match=code):
        own_kinds.with_kind(detail, name, title, subject)


def test_the_short_name_is_made_from_the_title():
    assert own_kinds.own_name("Warning lamp (bay 3)") == "own-warning-lamp-bay-3"
    assert len(own_kinds.own_name("a" * 80)) == own_kinds.LONGEST_NAME
