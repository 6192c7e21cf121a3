"""Facts that a file states otherwise than the register.

What a file leaves empty says nothing. What the file still says as when it was loaded, while the
register was changed since, stays as the register has it: a file is older than a correction.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import Any

from inventory.items.actions import SourceText
from reports.exchange.fold import fold
from reports.exchange.planned import Difference
from reports.exchange.register_now import Held
from reports.exchange.understood import SourceEntry

CHANGED_SINCE = "register_changed_since"


@dataclass(frozen=True, slots=True)
class Fact:
    """Something that a file states of a thing: the keys of its description, the first of which
    tells whether it is the same, and how it is written."""

    field: str
    values: Mapping[str, Any]
    text: str

    def said_by(self, data: Mapping[str, Any]) -> bool:
        """Whether a description says the same."""
        return all(_same(data.get(name), value) for name, value in self._telling)

    @property
    def _telling(self) -> Iterable[tuple[str, Any]]:
        names = {
            "activity": ("activity_bq",),
            "reference": ("reference_on", "reference_precision"),
        }.get(self.field, (self.field,))
        return [(name, self.values[name]) for name in names]

    def as_it_was(self, data: Mapping[str, Any]) -> str:
        """How a description writes it."""
        shown = {"activity": "activity_text", "reference": "reference_text"}
        return str(data.get(shown.get(self.field, self.field)) or "")


def _same(old: Any, new: Any) -> bool:
    if isinstance(new, Decimal):
        return bool(old) and float(old) == float(new)
    if isinstance(new, date):
        return str(old or "") == new.isoformat()
    return fold(str(old or "")) == fold(str(new or ""))


def facts(**stated: str) -> list[Fact]:
    """Plain facts: those that are stated."""
    return [Fact(name, {name: text}, text) for name, text in stated.items() if text]


def source_facts(entry: SourceEntry, *, serial: bool = True) -> Iterator[Fact]:
    """What a row states of a source. ``serial`` False: its serial lost its zeros on the way."""
    source = entry.source
    yield from facts(maker=source.maker, model=source.model, remark=source.remark)
    if source.serial and serial:
        yield Fact("serial", {"serial": source.serial, "serial_unknown_because": ""}, source.serial)
    if source.serial_unknown_because and not source.serial:
        yield from facts(serial_unknown_because=source.serial_unknown_because)
    if source.activity_bq:
        names = ("activity_text", "activity_bq", "activity_basis")
        values = {name: getattr(source, name) for name in names}
        yield Fact("activity", values, source.activity_text)
    if source.reference_on:
        names = ("reference_text", "reference_on", "reference_precision")
        values = {name: getattr(source, name) for name in names}
        yield Fact("reference", values, source.reference_text)
    if entry.certificate_on:
        on = entry.certificate_on
        yield Fact("certificate_on", {"certificate_on": on}, on.isoformat())


def compare(held: Held, stated: Iterable[Fact]) -> tuple[list[Difference], dict[str, Any]]:
    """What differs, and the description that follows from what is to be written; empty: none."""
    data, loaded = held.data, held.as_loaded
    found: list[Difference] = []
    changed: dict[str, Any] = {}
    for fact in stated:
        if fact.said_by(data) or _nothing_to_say(fact, data):
            continue
        stays = CHANGED_SINCE if loaded is not None and fact.said_by(loaded) else ""
        label = held.item.label
        found.append(Difference(label, fact.field, fact.as_it_was(data), fact.text, stays))
        if not stays:
            changed.update(fact.values)
    return found, {**data, **changed, **_names(data, changed)} if changed else {}


def _nothing_to_say(fact: Fact, data: Mapping[str, Any]) -> bool:
    """Why a serial is not known is of no use once it is."""
    return fact.field == "serial_unknown_because" and bool(data.get("serial"))


def _names(data: Mapping[str, Any], changed: Mapping[str, Any]) -> dict[str, Any]:
    """Label and key of a source follow its serial."""
    if "serial" not in changed or "nuclide" not in data:
        return {}
    named = SourceText(nuclide=data["nuclide"], serial=changed["serial"]).snapshot()
    return {"label": named["label"], "key": named["key"]}
