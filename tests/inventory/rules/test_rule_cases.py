"""The cases of ``tests/data/rule_cases.csv``: every fact of the rules, asked of the code."""

from __future__ import annotations

import re
from collections import Counter, defaultdict
from dataclasses import replace
from datetime import date, timedelta

import pytest

from inventory.calc.due import Case, answer, spans
from inventory.rules.schema import REQUIREMENTS
from tests.rule_cases import (
    TOPICS,
    CaseFault,
    Happened,
    Override,
    RuleCase,
    cases,
    facts,
    not_computable,
    read,
    uncovered,
)
from tests.rule_engine import differences, facts_of, rules_of

CASES = cases()
FACTS = facts()
BY_ID = {case.id: case for case in CASES}
#: Who sets a row for one thing; then no clause of a fact decides.
AUTHORITIES = ("label", "registration", "permit", "site", "adviser")
#: Point 13 is the wording of a label: it stands among what no computation can express.
POINTS = {*(f"0.{number}" for number in range(1, 15))} - {"0.13"} | {
    f"9.{number}" for number in range(1, 15)
}


@pytest.mark.parametrize("case", CASES, ids=lambda case: case.id)
def test_case(case: RuleCase):
    assert differences(case) == []


@pytest.mark.parametrize(
    "case", [one for one in CASES if one.ask == "due"], ids=lambda case: case.id
)
def test_what_is_stored_says_the_same(case: RuleCase):
    """The spans that the database keeps, on the day of the case and the days around it: they are
    sampled where something can change, so a day missed there shows here."""
    known = facts_of(case, rules_of(case))
    asked, stored = Case(known, case.about), spans(known, case.about)
    for day in (case.on + timedelta(days=days) for days in (-400, -31, -1, 0, 1, 30, 200, 400)):
        (span,) = [one for one in stored if one.from_on <= day <= one.until_on]
        assert span.decision == answer(asked, day).decision, day


# --- what the cases cover ----------------------------------------------------------------------


def test_every_fact_has_a_case_or_a_reason():
    assert "\n".join(uncovered(CASES)) == ""


def test_what_cannot_be_computed_is_rare_and_says_why():
    excused = not_computable()
    named = {fact for case in CASES for fact in case.facts}
    assert {FACTS[one]["topic"] for one in excused} <= set(TOPICS)
    assert not named & set(excused)
    assert len(excused) < 20
    assert all(len(reason) > 20 for reason in excused.values())


def test_the_facts_of_every_topic_are_here():
    assert {fact["topic"] for fact in FACTS.values()} >= set(TOPICS)


def test_every_case_stands_on_its_facts():
    """The clause that must decide is one of a fact that the case names."""
    assert [case.id for case in CASES if not _stands_on_its_facts(case)] == []


def _stands_on_its_facts(case: RuleCase) -> bool:
    if not case.facts or not set(case.facts) <= set(FACTS):
        return False
    told = [FACTS[one] for one in case.facts]
    places = " ".join(f"{one['clause']} {one['regime']} {one['source']}" for one in told)
    invented = [one.value for one in case.overrides if one.field == "clause"]
    return case.clause in places or case.clause in (*AUTHORITIES, *invented)


def test_every_point_of_what_was_read_has_a_case():
    said = {point for case in CASES for point in re.findall(r"\b[09]\.\d+\b", case.note)}
    assert sorted(POINTS - said) == []


def test_every_nuclide_has_both_sides_of_its_edge():
    exempt: set[str] = set()
    asked: set[str] = set()
    for case in CASES:
        for one in case.facts:
            if FACTS[one]["topic"] == "1-exemption-quantity":
                (exempt if case.states == ("not_required",) else asked).add(one)
    every = {one for one, fact in FACTS.items() if fact["topic"] == "1-exemption-quantity"}
    assert len(every) == 74
    assert exempt == asked == every


def test_no_case_stands_twice():
    assert len(BY_ID) == len(CASES) > 700
    questions = Counter(
        (case.rule_set, case.ask, case.about, case.subject.kind, *map(str, _told(case)))
        for case in CASES
    )
    assert [question for question, times in questions.items() if times > 1] == []


def _told(case: RuleCase) -> tuple[object, ...]:
    return (
        *(dict(case.subject.traits), dict(case.subject.gauge), case.subject.others),
        *(case.history, case.overrides, case.on, case.clause, case.notice, case.states),
    )


def test_pairs_differ_in_the_rule_alone():
    """Where only the rule set is changed, the answer follows it."""
    by_question: dict[str, list[RuleCase]] = defaultdict(list)
    for case in CASES:
        if case.ask == "due":
            question = (case.rule_set, case.about, str(case.subject), case.history, case.on)
            by_question[str(question)].append(case)
    pairs = [
        (one, other)
        for same in by_question.values()
        for one in same
        for other in same
        if one.overrides and not other.overrides
    ]
    assert len(pairs) >= 5
    for one, other in pairs:
        answers = [(case.states, case.due_on, case.clause) for case in (one, other)]
        assert answers[0] != answers[1], (one.id, other.id)


# --- that a wrong answer is seen ---------------------------------------------------------------


@pytest.mark.parametrize("case_id", ["gb-leak-03", "ca-leak-01", "us-decay-02", "nl-01"])
@pytest.mark.parametrize(
    "change",
    [
        {"states": ("failed",)},
        {"due_on": date(2001, 1, 1)},
        {"clause": "paragraph 99"},
        {"proposed": "paragraph 99"},
        {"rule_set": "nowhere-1"},
        {"overrides": (Override("row", "paragraph 99", "months", "3"),)},
        {"overrides": (Override("row", "interval", "months", "1"),)},
    ],
    ids=str,
)
def test_a_wrong_answer_is_seen(case_id, change):
    case = BY_ID[case_id]
    assert differences(case) == []
    assert differences(replace(case, **change)) != []


def test_a_proposal_that_nobody_expects_is_seen():
    case = BY_ID["us-decay-02"]
    assert case.proposed
    assert differences(replace(case, proposed="")) != []


def test_what_cannot_have_happened_is_no_case():
    case = BY_ID["gb-leak-03"]
    again = replace(case, history=(*case.history, Happened(date(2021, 1, 1), "received")))
    assert "cannot have happened" in differences(again)[0]


# --- the language ------------------------------------------------------------------------------

ROW = {
    "id": "x-1",
    "facts": "F001 F002",
    "rule_set": "gb-2",
    "ask": "due:leak_test",
    "subject": "kind=source; nuclide=Cs-137; gauge.portable=yes; with=H-3 1 GBq 2020-01-01",
    "history": "2020-01-10 received packed | 2020-02-01 set months=12 by=label mode=replaces",
    "overrides": "row.ACOP to reg 28.months=18; row.s.18(1).when.activity_bq=below 40e6",
    "on": "2025-01-01",
    "state": "good+proposed s.5(1)(c)",
    "due_on": "2025-06-01",
    "clause": "reg 28",
    "note": "",
}


def test_a_row_is_read():
    case = read(ROW)
    assert (case.ask, case.about, case.states) == ("due", "leak_test", ("good",))
    assert (case.proposed, case.due_on) == ("s.5(1)(c)", date(2025, 6, 1))
    assert case.subject.gauge == {"portable": "yes"}
    assert case.subject.others == ("H-3 1 GBq 2020-01-01",)
    assert case.history[0] == Happened(date(2020, 1, 10), "received", ("packed",))
    assert case.history[1].options == {"months": "12", "by": "label", "mode": "replaces"}
    assert case.overrides == (
        Override("row", "ACOP to reg 28", "months", "18"),
        Override("row", "s.18(1)", "when.activity_bq", "below 40e6"),
    )


@pytest.mark.parametrize(
    "change",
    [
        {"ask": "leak_test"},
        {"state": "fine"},
        {"state": ""},
        {"on": "tomorrow"},
        {"due_on": "2025-02-30"},
        {"subject": "Cs-137"},
        {"history": "2020-01-10"},
        {"history": "2020-01-10 exploded"},
        {"history": "2020-01-10 event"},
        {"ask": "report:missing", "history": "2020-01-10 pass"},
        {"overrides": "months=12"},
        {"overrides": "row.months=12"},
        {"overrides": "basis.x.hass_on=day"},
        {"overrides": "only"},
    ],
    ids=str,
)
def test_what_the_language_has_not_is_refused(change):
    with pytest.raises(CaseFault, match="x-1"):
        read(ROW | change)


def test_every_requirement_that_is_asked_exists():
    asked = {case.about for case in CASES if case.ask == "due"}
    assert asked <= set(REQUIREMENTS)
    kinds = {case.about: case.subject.kind for case in CASES if case.ask == "due"}
    assert {name: REQUIREMENTS[name][0] for name in kinds} == kinds
