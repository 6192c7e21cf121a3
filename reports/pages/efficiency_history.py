"""The calibrations of a monitor: each nuclide's efficiency over time, as picture and as table."""

from __future__ import annotations

import json
from collections import defaultdict
from dataclasses import dataclass
from datetime import date

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from inventory import knowledge
from inventory.ledger.models import Record
from inventory.sentences import day_text, number_text, value_text
from surveys.monitors.models import CALIBRATION_KIND, Basis


@dataclass(frozen=True, slots=True)
class Efficiency:
    """One efficiency of one certificate."""

    on: date
    seq: int
    nuclide: str
    basis: str
    value: float
    u_rel: float | None
    good: bool

    @property
    def text(self) -> str:
        """The figure with its uncertainty as the certificate has it."""
        said = number_text(self.value)
        return said if self.u_rel is None else f"{said} ± {number_text(100 * self.u_rel)} %"

    @property
    def basis_text(self) -> str:
        """What it is counted per."""
        return str(Basis(self.basis).label) if self.basis in Basis.values else self.basis


@dataclass(frozen=True, slots=True)
class Calibration:
    """A calibration as a row of the table."""

    on: date
    seq: int
    outcome: str
    verdict: str
    certificate: str
    valid_until: str
    why_not: str
    efficiencies: tuple[Efficiency, ...]


@dataclass(frozen=True, slots=True)
class Calibrations:
    """The calibrations of a monitor up to a day, oldest first."""

    label: str
    on: date
    rows: tuple[Calibration, ...]

    @property
    def panels(self) -> list[tuple[str, dict[str, list[Efficiency]]]]:
        """What can share an axis: by basis, then by nuclide, oldest first."""
        found: dict[str, dict[str, list[Efficiency]]] = defaultdict(lambda: defaultdict(list))
        for row in self.rows:
            for one in row.efficiencies:
                found[one.basis_text][one.nuclide].append(one)
        return [(basis, dict(sorted(of.items()))) for basis, of in sorted(found.items())]

    @property
    def alternative(self) -> str:
        """What the picture says."""
        count = len(self.rows)
        values = {"label": self.label, "n": count}
        parts = [
            ngettext(
                "Efficiencies of %(label)s from %(n)s calibration.",
                "Efficiencies of %(label)s from %(n)s calibrations.",
                count,
            )
            % values
        ]
        for basis, of in self.panels:
            for nuclide, points in of.items():
                parts.append(_course(nuclide, basis, points))
        return " ".join([*parts, _("The table below has the same figures.")])


def _course(nuclide: str, basis: str, points: list[Efficiency]) -> str:
    first, last = points[0], points[-1]
    values = {
        "nuclide": nuclide,
        "basis": basis,
        "first": number_text(first.value),
        "from": day_text(first.on),
        "last": number_text(last.value),
        "to": day_text(last.on),
    }
    if first is last:
        return _("%(nuclide)s: %(last)s %(basis)s on %(to)s.") % values
    return _("%(nuclide)s: %(first)s %(basis)s on %(from)s, %(last)s on %(to)s.") % values


def calibrations_of(known: knowledge.Known, on: date) -> Calibrations:
    """The calibrations of a monitor up to a day: one query beside what is known."""
    events = [
        one
        for one in known.events
        if one.kind == CALIBRATION_KIND and one.on <= on and one.live and one.outcome
    ]
    texts = Record.objects.filter(pk__in=[one.record for one in events])
    bodies = {pk: json.loads(text) for pk, text in texts.values_list("pk", "body")}
    rows = []
    for event in sorted(events, key=lambda one: one.order):
        body = bodies[event.record]
        accepted = event.accepted and (event.accepted_on or event.on) <= on
        good = event.outcome == "pass" and event.fit and accepted
        rows.append(
            Calibration(
                on=event.on,
                seq=event.seq,
                outcome=event.outcome,
                verdict=value_text("outcome", event.outcome),
                certificate=body["detail"].get("certificate") or "–",
                valid_until=day_text(event.valid_until) if event.valid_until else "–",
                why_not="" if accepted else _("entered, not accepted"),
                efficiencies=tuple(
                    Efficiency(
                        *(event.on, event.seq, point["nuclide"], point["basis"]),
                        float(point["efficiency"]),
                        float(point["u_rel"]) if point.get("u_rel") else None,
                        good,
                    )
                    for point in body["points"]
                ),
            )
        )
    label = known.snapshot_on(on).get("label") or known.item.label
    return Calibrations(label, on, tuple(rows))
