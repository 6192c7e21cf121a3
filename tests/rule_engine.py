"""Puts a rule case to the code: facts, rule set, answer, and how it differs from what is wanted.

All that knows the shapes of the code stands here; the language of the cases knows none of it.
"""

from __future__ import annotations

import csv
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from functools import cache
from pathlib import Path
from typing import Any

from inventory.calc.due import (
    Case,
    Companion,
    Confirmation,
    Event,
    Facts,
    Holder,
    OpenPoint,
    Question,
    Schedule,
    Setting,
    Traits,
    decide,
    evidence_kind,
)
from inventory.calc.explain import Cite, Scalar
from inventory.calc.stays import OPEN_END, Move, StaySpan, resolved, stays
from inventory.calc.units import parse_activity
from inventory.rules import reports, retention, tolerance
from inventory.rules.conditions import Ask
from inventory.rules.load import FOLDER, load, row_from
from inventory.rules.schema import Bound, Row, RuleSet
from surveys.calc.leak.compare import hits, over
from tests.rule_cases import DATA, MOVEMENTS, CaseFault, Happened, Override, RuleCase

LONG_AGO = date(1900, 1, 1)
#: The subject, the gauge that it may be in, and two places.
SUBJECT, GAUGE, PLACE, GAUGE_PLACE = 1, 100, 1, 2
NUCLIDES = FOLDER.parent / "nuclides.csv"
TEST_ONLY = DATA / "rulesets"
#: Traits of a subject that are written under another name than the code has.
NAMES = {"reference": "reference_on"}
#: What is measured, not a trait of what is measured.
MEASURED = ("result", "detection_limit", "error")


@dataclass(frozen=True, slots=True)
class Said:
    """What the code answers: a state, perhaps a day, the clause that decides, and more."""

    states: tuple[str, ...]
    due_on: date | None = None
    clause: str = ""
    proposed: str = ""
    proposed_clause: str = ""
    notice: str = ""


def differences(case: RuleCase) -> list[str]:
    """In which respects the code does not answer as the case wants; empty: it does."""
    try:
        said = answer(case)
    except (CaseFault, OSError) as error:
        return [str(error)]
    return [
        *_unless(set(said.states) & set(case.states), "state", case.states, said.states),
        *_unless(said.due_on == case.due_on, "due on", case.due_on, said.due_on),
        *_unless(case.clause in said.clause, "clause", case.clause, said.clause),
        *_unless(_same_proposal(case, said), "proposed", case.proposed, said.proposed),
        *_unless(case.notice in ("", said.notice), "notice", case.notice, said.notice),
    ]


def _same_proposal(case: RuleCase, said: Said) -> bool:
    if not case.proposed:
        return not said.proposed
    return bool(said.proposed) and (
        case.proposed == said.proposed or case.proposed in said.proposed_clause
    )


def _unless(holds: Any, what: str, wanted: Any, found: Any) -> list[str]:
    return [] if holds else [f"{what}: wanted {_text(wanted)}, found {_text(found)}"]


def _text(value: Any) -> str:
    return "/".join(value) if isinstance(value, tuple) else str(value or "none")


def answer(case: RuleCase) -> Said:
    """What the code says. Raises CaseFault where the case asks for what the rule set has not."""
    rules = rules_of(case)
    return _ASKED[case.ask](case, rules)


# --- the rule set ------------------------------------------------------------------------------


@cache
def _released(path: Path) -> RuleSet:
    return load(path)


def rules_of(case: RuleCase) -> RuleSet:
    """The rule set of a case, with its overrides."""
    name = f"{case.rule_set}.toml"
    path = FOLDER / name if (FOLDER / name).is_file() else TEST_ONLY / name
    if not path.is_file():
        raise CaseFault(f"there is no rule set {case.rule_set}")
    rules = _released(path)
    for override in case.overrides:
        rules = _overridden(rules, override, case)
    return rules


#: Which list of a rule set a target of an override names.
_LISTS = {"row": "rows", "report": "reports", "retention": "retention", "monitor": "monitors"}


def _overridden(rules: RuleSet, override: Override, case: RuleCase) -> RuleSet:
    if override.target == "only":
        return _only(rules, override.value)
    if override.target == "exempting":
        return replace(rules, rows=_exempting(rules.rows, override.value, case.about))
    if override.target in ("basis", "leak_limit"):
        part = getattr(rules, override.target)
        return replace(rules, **{override.target: _with(part, override.field, override.value)})
    name = _LISTS[override.target]
    rows = getattr(rules, name)
    chosen = [row for row in rows if _is_meant(row, override, case)]
    if not chosen:
        raise CaseFault(f"no {override.target} {override.selector} with {override.field}")
    changed = tuple(
        _with(row, override.field, override.value) if row in chosen else row for row in rows
    )
    return replace(rules, **{name: changed})


def _only(rules: RuleSet, text: str) -> RuleSet:
    kept = tuple(row for row in rules.retention if text in _cited(row.cite))
    if not kept:
        raise CaseFault(f"no retention row cites {text}")
    return replace(rules, retention=kept)


def _exempting(rows: Sequence[Row], text: str, requirement: str) -> tuple[Row, ...]:
    """Of the rows that exempt from a requirement only those whose clause has the text."""
    exempts = [
        row
        for row in rows
        if row.requirement == requirement and row.result == "not_required" and row.when
    ]
    if not any(text in _cited(row.cite) for row in exempts):
        raise CaseFault(f"no row that exempts cites {text}")
    return tuple(row for row in rows if row not in exempts or text in _cited(row.cite))


#: Which rows have a field, where not all have.
_ONLY_OF = {
    **dict.fromkeys(("months", "days", "ends", "late_from", "grace_days"), "interval"),
    **dict.fromkeys(("seen_months", "ceiling_months"), "on_hold"),
    **dict.fromkeys(("stored_months", "stored_comparator", "fresh_months"), "entry"),
}


def _is_meant(row: Any, override: Override, case: RuleCase) -> bool:
    if isinstance(row, Row):
        only = _ONLY_OF.get(override.field, row.result)
        if row.requirement != case.about or row.result != only:
            return False
    if override.field.startswith("when.") and override.field[5:] not in dict(row.when):
        return False
    selector = override.selector
    return (
        row.id == selector or selector in row.cite.clause or getattr(row, "result", "") == selector
    )


def _with(part: Any, name: str, value: str) -> Any:
    if name in ("document", "clause"):
        return replace(part, cite=replace(part.cite, **{name: value}))
    if name.startswith("when."):
        when = dict(part.when)
        when[name[5:]] = _condition(when[name[5:]], value)
        return replace(part, when=tuple(sorted(when.items())))
    return replace(part, **{name: _number_or_text(value)})


def _condition(before: Any, value: str) -> Any:
    if not isinstance(before, Bound):
        return _trait(value)
    first, number = value.split()
    if before.table == first:  # of a series: the kind of record and the longest gap
        return replace(before, value=float(number))
    return replace(before, comparator=first, value=float(number))


def _number_or_text(value: str) -> Any:
    for kind in (int, float):
        try:
            return kind(value)
        except ValueError:
            continue
    return value


def _cited(cite: Cite) -> str:
    return f"{cite.document} {cite.clause}"


# --- the facts ---------------------------------------------------------------------------------


@cache
def _nuclides() -> Mapping[str, Mapping[str, str]]:
    with NUCLIDES.open(encoding="utf-8", newline="") as lines:
        return {row["nuclide"]: row for row in csv.DictReader(lines)}


def _of_nuclide(name: str) -> dict[str, Scalar]:
    row = _nuclides().get(name)
    if row is None:
        raise CaseFault(f"there is no nuclide {name}")
    out: dict[str, Scalar] = {"nuclide": name, "half_life_days": float(row["half_life_days"])}
    out |= {one: row[one] == "yes" for one in ("gas", "alpha_emitter", "neutron_source")}
    out["hass_unlimited"] = row["HASS_TBq"] == "unlimited"
    if row["HASS_TBq"] and not out["hass_unlimited"]:
        out["hass_tbq"] = float(row["HASS_TBq"])
    return out


def _trait(text: str) -> Scalar:
    if text in ("yes", "no"):
        return text == "yes"
    try:
        return date.fromisoformat(text)
    except ValueError:
        value = _number_or_text(text)
        return float(value) if isinstance(value, int) else value


def traits_of(case: RuleCase) -> dict[str, Scalar]:
    """What the description of the subject says, with what its nuclide says."""
    said = dict(case.subject.traits)
    out: dict[str, Scalar] = {"use": "gauge"} if case.subject.kind == "source" else {}
    if nuclide := said.pop("nuclide", ""):
        out |= _of_nuclide(nuclide)
    activity = said.pop("activity", "unknown")
    if activity != "unknown":
        out["activity_bq"] = parse_activity(activity).bq
    return out | {
        NAMES.get(key, key): _trait(value) for key, value in said.items() if key not in MEASURED
    }


def _other(text: str) -> dict[str, Scalar]:
    """``NUCLIDE ACTIVITY UNIT DATE``, or ``NUCLIDE unknown``."""
    nuclide, *rest = text.split()
    out = _of_nuclide(nuclide)
    if rest != ["unknown"]:
        out["activity_bq"] = parse_activity(" ".join(rest[:-1])).bq
        out["reference_on"] = date.fromisoformat(rest[-1])
    return out


def facts_of(case: RuleCase, rules: RuleSet) -> Facts:
    """Everything that decides about the subject of a case."""
    own, refused = stays(_moves(case, gauge=False))
    of_gauge, refused_too = stays(_moves(case, gauge=True))
    if refused or refused_too:
        raise CaseFault(f"cannot have happened: {[*refused, *refused_too]}")
    gauge = GAUGE if case.subject.kind == "source" else SUBJECT
    inside = (StaySpan(LONG_AGO, OPEN_END, gauge, PLACE),)
    held = {key: _trait(value) for key, value in case.subject.gauge.items()}
    return Facts(
        *(SUBJECT, case.subject.kind, _events(case), resolved(own, {GAUGE: of_gauge})),
        traits=(Traits(LONG_AGO, traits_of(case)),),
        follow_ups=_follow_ups(case),
        schedules=(Schedule(LONG_AGO, rules, adopted_on=LONG_AGO, adopted_by="invented"),),
        settings=_settings(case),
        confirmations=tuple(
            Confirmation(case.about, one.on) for one in case.history if one.word == "confirmed"
        ),
        holders={GAUGE: Holder(traits=(Traits(LONG_AGO, held),))},
        companions=tuple(
            Companion(inside, (Traits(LONG_AGO, _other(one)),)) for one in case.subject.others
        ),
    )


def _moves(case: RuleCase, *, gauge: bool) -> list[Move]:
    begin = [Move(LONG_AGO, None, 0, "received", location=GAUGE_PLACE)] if gauge else []
    return begin + [
        _move(one, number, gauge)
        for number, one in enumerate(case.history, 1)
        if one.word.startswith("gauge.") == gauge and one.word.removeprefix("gauge.") in MOVEMENTS
    ]


#: Movements that lead to a location.
_TO_PLACE = ("received", "removed", "moved", "stored", "back", "returned", "found")


def _leads_to(verb: str, gauge: bool) -> dict[str, int]:
    """The place that a movement names; most name none."""
    if verb == "installed":
        return {"gauge": GAUGE}
    if verb in _TO_PLACE:
        return {"location": GAUGE_PLACE if gauge else PLACE}
    return {}


def _move(one: Happened, number: int, gauge: bool) -> Move:
    verb = one.word.removeprefix("gauge.")
    keeping = "stored" if verb == "stored" else (one.args or ("in_use",))[0]
    return Move(one.on, None, number, verb, keeping=keeping, **_leads_to(verb, gauge))


def _events(case: RuleCase) -> tuple[Event, ...]:
    kind = evidence_kind(case.about)
    out = []
    for number, one in enumerate(case.history, 1):
        fields = _record(one, kind)
        if fields:
            until = one.options.get("until")
            valid = date.fromisoformat(until) if until else None
            out.append(Event(number, number, on=one.on, valid_until=valid, **fields))
    return tuple(out)


def _record(one: Happened, kind: str) -> dict[str, Any]:
    """The fields of the record that a word makes; empty where it makes none."""
    match one.word:
        case "pass" | "fail" | "inconclusive":
            return {"kind": kind, "outcome": one.word, "accuses": one.word == "fail"}
        case "pass_unfit":
            return {"kind": kind, "outcome": "pass", "fit": False}
        case "pass_unaccepted":
            return {"kind": kind, "outcome": "pass", "accepted": False}
        case "sent":
            return {"kind": "wipe_sent"}
        case "done":
            return {"kind": one.args[0], "outcome": "pass"}
        case "not_seen":
            return {"kind": "accounting_check", "outcome": "fail", "accuses": True}
        case "missing":
            return {"kind": "missing", "accuses": True}
        case "happening":
            return {"kind": "happening", "what": one.args[0]}
    return {}


def _follow_ups(case: RuleCase) -> tuple[OpenPoint, ...]:
    """A failure of the requirement opens one; ``closed`` closes what is open by then."""
    kind = evidence_kind(case.about)
    closings = [one.on for one in case.history if one.word == "closed"]
    return tuple(
        OpenPoint(
            number, number, kind, one.on, min((d for d in closings if d >= one.on), default=None)
        )
        for number, one in enumerate(case.history, 1)
        if one.word == "fail"
    )


def _settings(case: RuleCase) -> tuple[Setting, ...]:
    out = []
    for number, one in enumerate(case.history, 1):
        if one.word != "set":
            continue
        said = dict(one.options)
        by, until = said["by"], said.pop("until", "")
        row = row_from(
            case.id,
            {
                **{"id": f"setting.{number}", "requirement": case.about, "authority": by},
                **{key: said[key] for key in ("months", "days", "mode") if key in said},
                **{"document": by, "clause": f"setting by {by}", "known_by": "own"},
            },
        )
        end = date.fromisoformat(until) if until else None
        out.append(Setting(one.on, row, end, number))
    return tuple(out)


# --- the questions -----------------------------------------------------------------------------


def _due(case: RuleCase, rules: RuleSet) -> Said:
    known = facts_of(case, rules)
    decision = decide(known, case.about, case.on).value
    rows = {row.id: row for row in rules.rows_for(case.about)}
    rows |= {one.row.id: one.row for one in known.settings}
    return Said(
        states=(decision.state_on(case.on),),
        due_on=decision.due_on,
        clause=_cited(rows[decision.row].cite) if decision.row else "",
        proposed=decision.proposed,
        proposed_clause=_cited(rows[decision.proposed].cite) if decision.proposed else "",
    )


def _limit(case: RuleCase, rules: RuleSet) -> Said:
    """The limit of the rule set against a figure; the guard for its uncertainty is no rule."""
    limit, said = rules.leak_limit, case.subject.traits
    result_bq = parse_activity(said["result"]).bq
    detection_bq = parse_activity(said["detection_limit"]).bq
    state = "pass"
    if hits(result_bq, limit.bq, limit.comparator):
        state = "fail"
    elif over(detection_bq, limit.required_detection_bq):
        state = "not_sensitive"
    return Said((state,), clause=_cited(limit.cite))


def _asking(case: RuleCase, rules: RuleSet) -> Ask:
    """What holds for the subject of a question that is not about a requirement."""
    here = (StaySpan(LONG_AGO, OPEN_END, None, PLACE),)
    described = (Traits(LONG_AGO, traits_of(case)),)
    known = Facts(SUBJECT, case.subject.kind, stays=here, traits=described)
    question = Question(Case(known, "leak_test"), case.on)
    return question.circumstances(Schedule(LONG_AGO, rules), case.on).ask


def _report(case: RuleCase, rules: RuleSet) -> Said:
    event_on = _days(case, "event")[0]
    rows = reports.asked(rules.reports, case.about, _asking(case, rules))
    meant = [row for row in rows if case.clause in _cited(row.cite)]
    said = [reports.deadline(row, event_on).value for row in meant]
    states = [_by(one) for one in said] or ["none"]
    return Said(tuple(states), clause=" ".join(_cited(row.cite) for row in rows))


def _by(deadline: reports.Deadline) -> str:
    if deadline.at_once:
        return "at_once"
    return deadline.by_on.isoformat() if deadline.by_on else "no_time"


def _days(case: RuleCase, word: str) -> list[date]:
    return [one.on for one in case.history if one.word == word]


def _keep(case: RuleCase, rules: RuleSet) -> Said:
    by_kind = [row for row in rules.retention if case.about in ("*", row.record_kind)]
    # One clause may stand at several kinds of record: then each of them is asked alike.
    kinds = {row.record_kind for row in by_kind}
    said = {_kept([row for row in by_kind if row.record_kind == kind], case) for kind in kinds}
    if len(said) != 1:
        raise CaseFault(f"kinds of record are kept differently: {sorted(map(str, said))}")
    return said.pop()


def _kept(rows: Iterable[Any], case: RuleCase) -> Said:
    known = retention.RecordFacts(
        record_on=_days(case, "recorded")[0],
        next_record_on=min(_days(case, "next"), default=None),
        disposed_on=min(_days(case, "disposed"), default=None),
        employment_end_on=min(_days(case, "employment_end"), default=None),
        licence_ends=_days(case, "licence_end"),
        series_end_on=min(_days(case, "series_end"), default=None),
    )
    said = retention.keep_until(rows, known)
    keep, cite = said.value, said.steps[0].cite
    state = "for_ever" if keep.for_ever else "not_yet"
    if keep.until_on is not None:
        state = keep.until_on.isoformat()
    notice = keep.tell_by.isoformat() if keep.tell_by else ""
    return Said((state,), clause=_cited(cite) if cite else "", notice=notice)


def _tolerance(case: RuleCase, rules: RuleSet) -> Said:
    row = tolerance.asked(rules.monitors, case.about, _asking(case, rules))
    if row is None:
        return Said(("undecided",))
    kept = tolerance.within(row, float(case.subject.traits["error"])).value
    return Said(("within" if kept else "outside",), clause=_cited(row.cite))


def _area(case: RuleCase, rules: RuleSet) -> Said:
    rows = [row for row in rules.areas if case.clause in _cited(row.cite)]
    states = [f"{row.quantity} {row.value:g} {row.comparator}" for row in rows]
    return Said(tuple(states), clause=" ".join(_cited(row.cite) for row in rows))


def _contamination(case: RuleCase, rules: RuleSet) -> Said:
    rows = [row for row in rules.contamination if case.clause in _cited(row.cite)]
    states = [f"{row.value:g} {row.unit}" for row in rows]
    return Said(tuple(states), clause=" ".join(_cited(row.cite) for row in rows))


_ASKED: Mapping[str, Callable[[RuleCase, RuleSet], Said]] = {
    **{"due": _due, "limit": _limit, "report": _report, "keep": _keep},
    **{"tolerance": _tolerance, "area": _area, "contamination": _contamination},
}
