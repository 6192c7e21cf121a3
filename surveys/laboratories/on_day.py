"""What a laboratory could do on a day: the limits that it states, and whether it was authorised."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any

from inventory import knowledge
from inventory.ledger.models import Item

EXPIRED = "laboratory_authorisation_expired"


@dataclass(frozen=True, slots=True)
class StatedLimit:
    """A detection limit as the laboratory states it, with its value in Bq."""

    text: str
    bq: float


@dataclass(frozen=True, slots=True)
class LaboratoryOnDay:
    """A laboratory by the description in force on a day. ``described`` is that record's number."""

    code: str
    name: str
    described: int
    limits: Mapping[str, StatedLimit]
    general: StatedLimit | None
    unfit_because: str

    def limit_for(self, nuclide: str | None) -> StatedLimit | None:
        """What it states for a nuclide, else what it states for all of them."""
        return self.limits.get(nuclide or "", self.general)

    def text(self) -> dict[str, Any]:
        """What a record that rests on it keeps of it."""
        return {"laboratory_code": self.code, "laboratory_described": self.described}


class LaboratoriesOnDays:
    """Laboratories on any day, read in a fixed number of queries."""

    def __init__(self, laboratories: Collection[Item]) -> None:
        keys = {laboratory.pk for laboratory in laboratories}
        self._known = knowledge.load(keys) if keys else {}

    def __call__(self, laboratory: Item, on: date) -> LaboratoryOnDay:
        description = self._known[laboratory.pk].description_on(on)
        assert description is not None  # no item is without its first description
        data = description.data
        return LaboratoryOnDay(
            code=laboratory.code,
            name=data["name"],
            described=description.seq,
            limits={row["nuclide"]: _limit(row) for row in data["limits"]},
            general=_limit(data["general_limit"]) if data["general_limit"] else None,
            unfit_because=EXPIRED if _expired(data["valid_until"], on) else "",
        )


def _limit(row: Mapping[str, Any]) -> StatedLimit:
    return StatedLimit(row["text"], float(row["bq"]))


def _expired(valid_until: str | None, on: date) -> bool:
    """An authorisation without an end that anybody stated is not held against a result."""
    return bool(valid_until) and date.fromisoformat(valid_until or "") < on
