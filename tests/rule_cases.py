"""The language of ``tests/data/rule_cases.csv``: one row is one question and its answer.

Here a row becomes plain data; ``tests.rule_engine`` puts the question to the code. Run as
``python -m tests.rule_cases`` it prints which cases of which clause hold. ``tests/data/README.md``
says how a row is written.
"""

from __future__ import annotations

import csv
import re
import sys
from collections import defaultdict
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from datetime import date
from pathlib import Path

DATA = Path(__file__).resolve().parent / "data"
CASES, FACTS = DATA / "rule_cases.csv", DATA / "rule_facts.csv"
NOT_COMPUTABLE = DATA / "rule_facts_not_computable.csv"
#: Every fact of these topics has a case, or a reason why none is possible.
TOPICS = (
    *("1-leak-interval", "1-leak-limit", "1-leak-sensitivity", "1-leak-exempt", "1-leak-fail"),
    *("1-leak-method", "1-exemption-quantity", "2-gauge-check", "3-inventory", "3-retention"),
    "4-monitor",
)
STATES = (
    *("late", "due_soon", "good", "never_done", "undecided", "awaited", "on_hold"),
    *("not_required", "failed"),
)
ASKS = (
    *("due", "limit", "report", "keep", "tolerance", "area", "contamination"),
    "exempt",  # the same as due:leak_test
)
#: Words of a history that are movements; the same words after ``gauge.`` move the gauge.
MOVEMENTS = (
    *("received", "installed", "removed", "moved", "stored", "out", "back", "sent_away"),
    *("arrived", "returned", "transferred", "disposed", "missing", "found", "left"),
)
#: Words of a history that are records about the requirement asked for, or about anything.
RECORDS = (
    *("pass", "fail", "inconclusive", "pass_unfit", "pass_unaccepted", "sent", "closed"),
    *("done", "not_seen", "happening", "confirmed", "set"),
)
#: Words of a history of a question that is not about a requirement.
MOMENTS = (
    *("event", "recorded", "next", "disposed", "employment_end", "licence_end", "series_end"),
)


class CaseFault(ValueError):
    """A row of the file says something that the language has not."""


@dataclass(frozen=True, slots=True)
class Happened:
    """One event of a history."""

    on: date
    word: str
    args: tuple[str, ...] = ()
    options: Mapping[str, str] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Subject:
    """What is asked about, each trait as written; ``others``: further sources in the gauge."""

    kind: str = "source"
    traits: Mapping[str, str] = field(default_factory=dict)
    gauge: Mapping[str, str] = field(default_factory=dict)
    others: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Override:
    """A value of the rule set changed before it is asked. ``selector``: which of its rows."""

    target: str
    selector: str
    field: str
    value: str


@dataclass(frozen=True, slots=True)
class RuleCase:
    """One question and its answer. ``states``: any of them is right."""

    id: str
    facts: tuple[str, ...]
    rule_set: str
    ask: str
    about: str
    subject: Subject
    history: tuple[Happened, ...]
    overrides: tuple[Override, ...]
    on: date
    states: tuple[str, ...]
    proposed: str
    notice: str
    due_on: date | None
    clause: str
    note: str


def cases(path: Path = CASES) -> list[RuleCase]:
    """Every case of a file, in its order. Raises CaseFault."""
    with path.open(encoding="utf-8", newline="") as lines:
        return [read(row) for row in csv.DictReader(lines)]


def facts(path: Path = FACTS) -> dict[str, dict[str, str]]:
    """The facts by their id."""
    with path.open(encoding="utf-8", newline="") as lines:
        return {row["id"]: row for row in csv.DictReader(lines)}


def not_computable(path: Path = NOT_COMPUTABLE) -> dict[str, str]:
    """The facts that no computation can express, with the reason."""
    with path.open(encoding="utf-8", newline="") as lines:
        return {row["id"]: row["reason"] for row in csv.DictReader(lines)}


def read(row: Mapping[str, str]) -> RuleCase:
    """One row of the file. Raises CaseFault with the id of the row."""
    try:
        return _read(row)
    except (ValueError, KeyError, IndexError) as error:
        raise CaseFault(f"{row.get('id')}: {error}") from error


def _read(row: Mapping[str, str]) -> RuleCase:
    ask, _colon, about = row["ask"].partition(":")
    if ask not in ASKS:
        raise CaseFault(f"{row['ask']!r} cannot be asked")
    if ask == "exempt":
        ask, about = "due", "leak_test"
    state, _plus, notice = row["state"].partition("+notice ")
    state, _plus, proposed = state.partition("+proposed ")
    # A contamination level is "4 Bq/cm2"; elsewhere a slash is an or.
    states = (state,) if ask in ("area", "contamination") else tuple(state.split("/"))
    if ask == "due" and not set(states) <= set(STATES):
        raise CaseFault(f"{state!r} is no state")
    return RuleCase(
        **{"id": row["id"], "facts": tuple(row["facts"].split()), "rule_set": row["rule_set"]},
        **{"ask": ask, "about": about, "states": states, "proposed": proposed, "notice": notice},
        subject=_subject(row["subject"]),
        history=tuple(_history(row["history"], ask)),
        overrides=tuple(_override(one) for one in _parts(row["overrides"], ";")),
        on=date.fromisoformat(row["on"]),
        due_on=date.fromisoformat(row["due_on"]) if row["due_on"] else None,
        clause=row["clause"],
        note=row["note"],
    )


def _parts(text: str, separator: str) -> list[str]:
    return [one.strip() for one in text.split(separator) if one.strip()]


def _subject(text: str) -> Subject:
    """``key=value; key=value``; ``with=`` may stand more than once."""
    pairs = []
    for one in _parts(text, ";"):
        key, equals, value = one.partition("=")
        if not equals:
            raise CaseFault(f"{one!r} in the subject is not key=value")
        pairs.append((key.strip(), value.strip()))
    plain = {key: value for key, value in pairs if key not in ("kind", "with")}
    return Subject(
        kind=dict(pairs).get("kind", "source"),
        traits={key: value for key, value in plain.items() if not key.startswith("gauge.")},
        gauge={key[6:]: value for key, value in plain.items() if key.startswith("gauge.")},
        others=tuple(value for key, value in pairs if key == "with"),
    )


def _history(text: str, ask: str) -> Iterator[Happened]:
    """``DATE word [args] [key=value ...]``, separated by ``|``."""
    known = (*MOVEMENTS, *RECORDS) if ask == "due" else MOMENTS
    for one in _parts(text, "|"):
        day, word, *rest = one.split()
        if word.removeprefix("gauge.") not in known:
            raise CaseFault(f"{word!r} is not a word of such a history")
        options = dict(part.split("=", 1) for part in rest if "=" in part)
        args = tuple(part for part in rest if "=" not in part)
        yield Happened(date.fromisoformat(day), word, args, options)


_PLAIN_OVERRIDES = ("only", "exempting")
_OVERRIDE = re.compile(
    r"(?P<target>row|report|retention|monitor|basis|leak_limit)\."
    r"(?:(?P<selector>.+)\.)?(?P<field>(?:when\.)?\w+)"
)


def _override(text: str) -> Override:
    """``row.SELECTOR.field=value``: a row by its id, a part of its clause, or its result;
    ``basis.field=value``; ``only=TEXT`` and ``exempting=TEXT`` leave rows out by their clause."""
    left, equals, value = text.partition("=")
    if equals and left in _PLAIN_OVERRIDES:
        return Override(left, "", "", value)
    found = _OVERRIDE.fullmatch(left)
    if not equals or found is None:
        raise CaseFault(f"{text!r} is not an override")
    target, selector, name = found["target"], found["selector"] or "", found["field"]
    if selector.endswith(".when"):
        selector, name = selector.removesuffix(".when"), f"when.{name}"
    if bool(selector) == (target in ("basis", "leak_limit")):
        raise CaseFault(f"{text!r}: which row of the rule set?")
    return Override(target, selector, name, value)


# --- what the cases cover ----------------------------------------------------------------------


def uncovered(every: Iterable[RuleCase]) -> list[str]:
    """The facts of TOPICS without a case and without a reason, as lines."""
    named = {fact for case in every for fact in case.facts}
    excused = not_computable()
    return [
        f"{one}  {fact['topic']}  {fact['regime']}  {fact['clause']}  {fact['subject']}"
        for one, fact in facts().items()
        if fact["topic"] in TOPICS and one not in named and one not in excused
    ]


def main() -> int:
    """Print every case by regime and clause, with what does not hold."""
    from tests.rule_engine import differences

    found = facts()
    by_clause: dict[tuple[str, str], list[tuple[RuleCase, list[str]]]] = defaultdict(list)
    every = cases()
    for case in every:
        first = found[case.facts[0]]
        by_clause[first["regime"], first["clause"]].append((case, _asked(differences, case)))
    failed = 0
    for (regime, clause), asked in sorted(by_clause.items()):
        bad = [one for one in asked if one[1]]
        failed += len(bad)
        _say(
            f"{'ok  ' if not bad else 'FAIL'} {len(asked) - len(bad)}/{len(asked)}", regime, clause
        )
        for case, wrong in bad:
            _say(f"       {case.id}: {'; '.join(wrong)}")
    for line in uncovered(every):
        _say("no case:", line)
    _say(f"{len(every)} cases, {failed} do not hold")
    return 1 if failed or uncovered(every) else 0


def _asked(differences: Callable[[RuleCase], list[str]], case: RuleCase) -> list[str]:
    """What does not hold; code that falls over must not hide the other cases."""
    try:
        return differences(case)
    except Exception as error:
        return [f"{type(error).__name__}: {error}"]


def _say(*words: str) -> None:
    sys.stdout.write("  ".join(words) + "\n")


if __name__ == "__main__":
    sys.exit(main())
