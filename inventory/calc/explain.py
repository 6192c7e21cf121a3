"""One explanation type for every number, state and date that can be questioned.

A step is a code with values, the clause or document it rests on and the steps before it.
Codes become sentences at the edge (``inventory.sentences``), so a frozen verdict stores data
and can be shown in any language.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal
from typing import Any, Generic, TypeVar

T = TypeVar("T")
Scalar = str | int | float | Decimal | bool | date | None

#: How a clause came to us, best first.
KNOWN_BY = ("regulator_text", "copy", "secondary", "memory", "own")


@dataclass(frozen=True, slots=True)
class Cite:
    """Where a statement comes from: document, clause, edition, and how it was read.

    ``checked_on`` is the day on which the clause was last compared with the current text;
    None means that nobody has done so yet, and every output says so.
    """

    document: str
    clause: str = ""
    edition: str = ""
    known_by: str = ""
    checked_on: date | None = None
    #: Who put their own word in the place of the document's: a site, its adviser ... or nobody.
    authority: str = ""


@dataclass(frozen=True, slots=True)
class Step:
    """One step of an explanation: a code, its values (unit in the name), clause and grounds."""

    code: str
    values: Mapping[str, Scalar] = field(default_factory=dict)
    cite: Cite | None = None
    because: tuple[Step, ...] = ()

    def walk(self) -> Iterator[Step]:
        """This step and every step it rests on, depth first."""
        yield self
        for ground in self.because:
            yield from ground.walk()


@dataclass(frozen=True, slots=True)
class Explained(Generic[T]):
    """A value and the steps that made it."""

    value: T
    steps: tuple[Step, ...] = ()


def _plain(value: Scalar) -> Any:
    """A scalar as JSON data. Numbers become decimal strings: a hash must not depend on a float's
    formatting, and ``repr`` is the shortest text that gives the same float back."""
    if value is None or isinstance(value, bool | str):
        return value
    if isinstance(value, float):
        return repr(value)
    return value.isoformat() if isinstance(value, date) else str(value)


def step_to_data(step: Step) -> dict[str, Any]:
    """A step as JSON-ready data; see ``step_from_data``."""
    cite = step.cite
    return {
        "code": step.code,
        "values": {name: _plain(value) for name, value in step.values.items()},
        "document": cite.document if cite else None,
        "clause": cite.clause if cite else None,
        "edition": cite.edition if cite else None,
        "known_by": cite.known_by if cite else None,
        "checked_on": cite.checked_on.isoformat() if cite and cite.checked_on else None,
        **({"authority": cite.authority} if cite and cite.authority else {}),
        "because": [step_to_data(ground) for ground in step.because],
    }


def steps_to_data(steps: Iterable[Step]) -> list[dict[str, Any]]:
    """Several steps as JSON-ready data."""
    return [step_to_data(step) for step in steps]


def step_from_data(data: Mapping[str, Any]) -> Step:
    """The step that ``step_to_data`` wrote; its values stay text, as they were frozen."""
    cite = None
    if data.get("document"):
        checked = data.get("checked_on")
        cite = Cite(
            document=data["document"],
            clause=data.get("clause") or "",
            edition=data.get("edition") or "",
            known_by=data.get("known_by") or "",
            checked_on=date.fromisoformat(checked) if checked else None,
            authority=data.get("authority") or "",
        )
    return Step(
        code=data["code"],
        values=dict(data.get("values") or {}),
        cite=cite,
        because=tuple(step_from_data(ground) for ground in data.get("because") or ()),
    )
