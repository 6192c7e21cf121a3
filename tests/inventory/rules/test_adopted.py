"""What a schedule's record stands for: templates by requirement, own rows, removed rows."""

from __future__ import annotations

import pytest

from inventory.calc.errors import DomainError
from inventory.rules.adopted import assemble, base
from inventory.rules.contradictions import check
from inventory.rules.load import RuleFault, template
from tests.inventory.rules.invented import row_table, rules_in, schedule


@pytest.fixture(autouse=True)
def rules(tmp_path):
    with rules_in(tmp_path):
        yield


BOTH = [
    {"rule_set": "aa", "version": "1", "sha256": "", "requirements": None},
    {"rule_set": "bb", "version": "1", "sha256": "", "requirements": ["calibration"]},
]


def months(rules, requirement="leak_test"):
    return [(row.id, row.months) for row in rules.rows_for(requirement)]


def test_an_old_record_with_nothing_but_a_template_is_that_template():
    assert assemble(schedule("aa", 1)) is template("aa", 1)
    assert assemble(schedule("aa", "2")) is template("aa", 2)  # as a record's text has it


def test_the_same_content_is_made_once():
    own = [row_table(id="leak.default", months="3")]
    assert assemble(schedule(rows=own)) is assemble(schedule(rows=list(own)))
    assert assemble(schedule(rows=own)) is not assemble(schedule(rows=[row_table(months="4")]))


def test_what_does_not_make_rules_does_not_make_another_rule_set():
    own = [row_table()]
    reviewed = {"leak.default": {"by": "A. Adviser", "on": "2026-01-05"}}
    assert assemble(schedule(rows=own)) is assemble(schedule(rows=own, reviewed=reviewed))


def test_an_own_row_takes_the_place_of_the_one_with_its_id():
    found = assemble(schedule(rows=[row_table(id="leak.default", months="3")]))
    assert months(found) == [("leak.default", 3), ("leak.small", None)]
    assert months(found, "calibration") == [("calibration.default", 12)]


def test_an_own_row_with_another_id_is_added_at_the_end():
    assert months(assemble(schedule(rows=[row_table()])))[-1] == ("own.leak", 6)


def test_a_removed_row_is_gone_and_the_base_still_has_it():
    detail = schedule(removed=[{"id": "leak.small"}])
    assert months(assemble(detail)) == [("leak.default", 24)]
    assert base(detail) is template("aa", 1)


def test_rows_come_from_the_template_that_is_named_for_their_requirement():
    found = assemble(schedule(templates=BOTH))
    assert months(found) == [("leak.default", 24), ("leak.small", None)]
    assert months(found, "calibration") == [("calibration.default", 14)]


def test_the_title_names_every_template_and_ends_with_the_one_whose_version_follows():
    assert assemble(schedule(templates=BOTH)).name == "Beta 1 + Alpha, version 1"
    assert assemble(schedule(rows=[row_table()])).name == "Alpha, version 1"


def test_what_is_no_row_comes_from_the_main_template():
    found = assemble(schedule("bb", 1, templates=BOTH))
    assert found.words["supervisor"] == "warden"
    assert found.leak_limit == template("bb", 1).leak_limit


def test_a_table_that_rows_of_another_template_ask_for_comes_along():
    entries = [BOTH[0], BOTH[1] | {"requirements": ["leak_test"]}]
    assert set(assemble(schedule(templates=entries)).tables) == {"free", "minor"}


def test_two_tables_of_one_name_with_other_values_are_refused(tmp_path):
    file = tmp_path / "bb-1.toml"
    file.write_text(file.read_text().replace("minor", "free").replace("1e4", "2e4"))
    entries = [BOTH[0], BOTH[1] | {"requirements": ["leak_test"]}]
    with pytest.raises(DomainError, match="tables_differ"):
        assemble(schedule(templates=entries))


def test_every_content_has_its_own_digest():
    said = [
        schedule(),
        schedule("aa", 2),
        schedule(rows=[row_table()]),
        schedule(rows=[row_table(months=7)]),
        schedule(removed=[{"id": "leak.small"}]),
        schedule(templates=BOTH),
    ]
    assert len({assemble(detail).sha256 for detail in said}) == len(said)


def test_an_own_kind_is_a_requirement_of_its_subject():
    kinds = [{"name": "own-lamp", "title": "Warning lamp", "subject": "gauge"}]
    found = assemble(
        schedule(own_kinds=kinds, rows=[row_table(id="own.lamp", requirement="own-lamp")])
    )
    assert found.subject_of("own-lamp") == "gauge"
    check(found)


def test_two_templates_for_everything_or_for_one_requirement_are_refused():
    with pytest.raises(DomainError, match="two_templates_for_all"):
        assemble(schedule(templates=[BOTH[0], BOTH[1] | {"requirements": None}]))
    with pytest.raises(DomainError, match="two_templates_for_one"):
        assemble(schedule(templates=[BOTH[1], BOTH[1]]))


def test_a_text_that_is_no_row_is_one_sentence():
    with pytest.raises(RuleFault, match=r"row own\.leak\.months: expected a whole number"):
        assemble(schedule(rows=[row_table(months="10000")]))


# --- contradictions -----------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("own", "code"),
    [
        ({"months": 7}, "rows_contradict"),
        ({"result": "undecided"}, "rows_contradict"),
        ({"requirement": "shutter_check", "when": {"portable": True}}, "requirement_needs_default"),
        (
            {"requirement": "special_form", "result": "entry", "entry": "receipt"},
            "requirement_needs_default",
        ),
        ({"requirement": "own-lamp"}, "own_kind_unknown"),
    ],
)
def test_a_schedule_that_contradicts_itself_is_refused(own, code):
    with pytest.raises(DomainError, match=code):
        check(assemble(schedule(rows=[row_table(**own)])))


@pytest.mark.parametrize(
    "own",
    [
        {"months": 24},
        {"mode": "adds"},
        {"mode": "replaces"},
        {"when": {"portable": True}},
        {"result": "entry", "entry": "first_use"},
    ],
)
def test_rows_that_can_stand_beside_each_other_are_not_refused(own):
    check(assemble(schedule(rows=[row_table(**own)])))


def test_two_rows_that_take_the_place_of_all_others_contradict():
    two = [row_table(id=f"own.{n}", months=n, mode="replaces") for n in (5, 6)]
    with pytest.raises(DomainError, match="rows_contradict"):
        check(assemble(schedule(rows=two)))


def test_an_id_used_twice_is_refused():
    two = [row_table(when={"portable": True}), row_table(when={"portable": False})]
    with pytest.raises(DomainError, match="row_id_twice"):
        check(assemble(schedule(rows=two)))
