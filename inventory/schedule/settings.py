"""Settings: a row for one thing alone, on the word of a label, a registration, a permit, the site
or the adviser; and taking one back."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any, Unpack

from inventory.calc.errors import DomainError
from inventory.calc.explain import Scalar
from inventory.ledger.models import Item, Record, RecordItem
from inventory.ledger.write import About, Draft, Ledger, read_body
from inventory.rules.load import row_data, row_from
from inventory.rules.rows import AUTHORITIES
from inventory.rules.schema import REQUIREMENTS, Row, RuleSet
from inventory.rules.strictness import loosens
from inventory.schedule.acting import Acting, deciding
from inventory.schedule.edits import parsed
from inventory.schedule.models import SETTING_KIND
from inventory.schedule.pieces import NOBODY, Decided
from inventory.schedule.versions import in_force, versions

#: On whose word a setting can stand; whether it takes the place of the schedule's rows or adds.
OF_SETTINGS = tuple(one for one in AUTHORITIES if one != "template")
MODES = ("replaces", "adds")
#: Of whom a thing can be asked that a setting on it is about: a gauge takes its sources along.
HOLDS = {"gauge": ("gauge", "source")}


@dataclass(frozen=True, slots=True)
class Wanted:
    """A setting before it is written. ``data``: the row's table without id and requirement."""

    requirement: str
    data: Mapping[str, Any]
    authority: str
    on: date
    until_on: date | None = None
    decided: Decided = NOBODY
    document: str = ""


@dataclass(frozen=True, slots=True)
class Standing:
    """A setting as a record has it, and until when it holds."""

    record: Record
    detail: Mapping[str, Any]
    from_on: date
    until_on: date | None

    @property
    def row(self) -> Row:
        """Its row."""
        return row_from("setting", self.detail["row"])

    def holds_on(self, day: date) -> bool:
        """Whether it is in force on a day."""
        return self.from_on <= day and (self.until_on is None or day <= self.until_on)


def settings_of(item: Item) -> list[Standing]:
    """The settings of an item, those taken back or replaced included, by their days."""
    mentions = RecordItem.objects.filter(item=item, kind=SETTING_KIND, record__replaced_by=None)
    records = Record.objects.filter(pk__in=mentions.values("record")).select_related("recorded_by")
    found = [(record, read_body(record)) for record in records.order_by("effective_on", "seq")]
    out = []
    for place, (record, body) in enumerate(found):
        detail = body["detail"]
        if detail["row"] is None:
            continue
        key = _key(detail)
        later = [one for one, text in found[place + 1 :] if _key(text["detail"]) == key]
        ends = [one.effective_on - timedelta(1) for one in later[:1]]
        stated = date.fromisoformat(detail["until_on"]) if detail["until_on"] else None
        until_on = min([*ends, *([stated] if stated else [])], default=None)
        out.append(Standing(record, detail, record.effective_on, until_on))
    return out


def _key(detail: Mapping[str, Any]) -> tuple[str, str]:
    return (detail["requirement"], detail["authority"])


def may_be_set(item: Item, requirement: str, rules: RuleSet | None) -> bool:
    """Whether a requirement can be set for an item: it is about it, or about what it holds."""
    subject = rules.subject_of(requirement) if rules else REQUIREMENTS.get(requirement, ("",))[0]
    return bool(subject) and subject in HOLDS.get(item.kind, (item.kind,))


def make_setting(item: Item, wanted: Wanted, **act: Unpack[Acting]) -> Record:
    """A row for this thing alone from a day on; a later one of the same authority for the same
    requirement takes its place. Loosening needs reason, name and day."""
    with deciding(item.site, act) as ledger:
        if done := ledger.already(act.get("request_key"), SETTING_KIND):
            return done
        rules = _rules(item, wanted.on)
        row = _row(item, wanted, rules)
        _check_days(wanted, ledger.today)
        _check_beside(item, wanted)
        if _is_looser(item, wanted, row):
            wanted.decided.require(ledger.today)
        return _append(ledger, item, wanted, row_data(row), act)


def _is_looser(item: Item, wanted: Wanted, row: Row) -> bool:
    """Whether it is looser than any schedule that it stands beside while it lasts, or than the
    setting whose place it takes: that one's end loosens as well, where this one ends sooner."""
    beside = (rules.rows_for(row.requirement) for rules in _rules_during(item, wanted))
    if any(loosens(None, row, rows) for rows in beside):
        return True
    for held in settings_of(item):
        if _key(held.detail) != (wanted.requirement, wanted.authority):
            continue
        if held.holds_on(wanted.on):
            before = row_from("setting", held.detail["row"])
            sooner = wanted.until_on is not None and wanted.until_on < (held.until_on or date.max)
            return loosens(before, row) or (sooner and loosens(before, None))
    return False


def _rules_during(item: Item, wanted: Wanted) -> list[RuleSet]:
    """The schedules that are in force while a setting lasts; none counts as one without rows."""
    every, until_on = versions(item.site), wanted.until_on or date.max
    first = in_force(every, wanted.on)
    later = [one for one in every if wanted.on < one.from_on <= until_on]
    return [one.rules for one in ([first] if first else []) + later]


def take_back(
    item: Item, requirement: str, authority: str, *, on: date, reason: str, **act: Unpack[Acting]
) -> Record:
    """End a setting: from that day on the schedule holds again."""
    with deciding(item.site, act) as ledger:
        if done := ledger.already(act.get("request_key"), SETTING_KIND):
            return done
        if not reason.strip():
            raise DomainError("taking_back_needs_reason", field="reason")
        if on > ledger.today:
            raise DomainError("effective_in_future", {"on": on}, field="on")
        held = [one for one in settings_of(item) if _key(one.detail) == (requirement, authority)]
        if not any(one.holds_on(on) for one in held):
            raise DomainError("no_such_setting", {"item": item.label, "on": on})
        wanted = Wanted(requirement, {}, authority, on)
        return _append(ledger, item, wanted, None, act, reason=reason.strip())


def _rules(item: Item, on: date) -> RuleSet | None:
    """The schedule beside which a setting stands on a day."""
    found = in_force(versions(item.site), on)
    return found.rules if found else None


def _row(item: Item, wanted: Wanted, rules: RuleSet | None) -> Row:
    if not may_be_set(item, wanted.requirement, rules):
        raise DomainError("requirement_not_of_item", {"item": item.label}, field="requirement")
    if wanted.authority not in OF_SETTINGS:
        raise DomainError("authority_unknown", {"text": wanted.authority}, field="authority")
    data = {
        **wanted.data,
        "id": f"{wanted.authority}.{wanted.requirement}",
        "requirement": wanted.requirement,
        "authority": wanted.authority,
        **{name: value for name, value in wanted.decided.text().items() if value},
    }
    row = parsed(data, rules)
    if row.mode not in MODES:
        raise DomainError("setting_mode", field="mode")
    return row


def _check_days(wanted: Wanted, today: date) -> None:
    if wanted.on > today:
        raise DomainError("effective_in_future", {"on": wanted.on}, field="on")
    if wanted.until_on is not None and wanted.until_on < wanted.on:
        raise DomainError("until_before_from", {"on": wanted.on}, field="until_on")


def _check_beside(item: Item, wanted: Wanted) -> None:
    """Two settings of one authority that begin on one day: whoever reads them cannot know which is
    meant. Those of different authorities stand beside each other, and the strictest holds."""
    for other in settings_of(item):
        begins = other.from_on == wanted.on and other.holds_on(wanted.on)
        if begins and _key(other.detail) == (wanted.requirement, wanted.authority):
            values: dict[str, Scalar] = {"seq": other.record.seq, "on": wanted.on}
            raise DomainError("settings_contradict", values, field="on")


def _append(
    ledger: Ledger,
    item: Item,
    wanted: Wanted,
    row: Mapping[str, Any] | None,
    act: Acting,
    reason: str = "",
) -> Record:
    detail = {
        "requirement": wanted.requirement,
        "authority": wanted.authority,
        "row": row,
        "until_on": wanted.until_on,
        "because": wanted.decided.because.strip() or reason,
        "decided_by": wanted.decided.by.strip(),
        "decided_on": wanted.decided.on,
        "document": wanted.document.strip(),
    }
    return ledger.append(
        Draft(
            SETTING_KIND,
            wanted.on,
            [About(item)],
            detail=detail,
            accepted=True,
            reason=reason,
            performed_by=ledger.by.name,
            request_key=act.get("request_key"),
        )
    )
