"""The picture of a monitor's calibrations."""

from __future__ import annotations

from itertools import cycle
from typing import Any, Final

from inventory.sentences import number_text
from reports.charts.drawing import (
    ACCENT,
    INK,
    MUTED,
    NARROW,
    PANEL,
    WIDE,
    day_axis,
    drawing,
    fonts,
    svg,
)
from reports.pages.efficiency_history import Calibrations, Efficiency
from reports.pages.leak_history import COVERAGE

#: Height of one panel in CSS pixels.
PANEL_HEIGHT: Final = 300
#: Height of a name as a part of the axis.
NAME_HEIGHT: Final = 0.065


def efficiency_svg(calibrations: Calibrations, *, narrow: bool) -> bytes:
    """The efficiencies over time, a panel for each basis."""
    panels = calibrations.panels
    width = NARROW[0] if narrow else WIDE[0]
    with drawing((width, efficiency_height(calibrations))) as (figure, font):
        first = calibrations.rows[0].on
        for number, (basis, of) in enumerate(panels, 1):
            axes = figure.add_subplot(len(panels), 1, number)
            axes.set_title(basis, loc="left", font=font(bold=True), color=INK)
            for marker, points in zip(cycle("osD^vP"), of.values(), strict=False):
                _efficiency(axes, points, marker)
            highest = max(_top(point) for points in of.values() for point in points)
            axes.set_ylim(0, highest * 1.08)
            day_axis(axes, first, calibrations.on, font, narrow, margin=0.06, room=0.16)
            axes.yaxis.set_major_formatter(lambda value, _place: number_text(value))
            fonts(axes, font)
            _names(axes, of, font)
        return svg(figure)


def efficiency_height(calibrations: Calibrations) -> int:
    """Its height in CSS pixels: it grows with the panels."""
    return PANEL_HEIGHT * max(1, len(calibrations.panels))


def _efficiency(axes: Any, points: list[Efficiency], marker: str) -> None:
    """The course of one nuclide; a calibration that does not hold is hollow."""
    days = [point.on.toordinal() for point in points]
    axes.plot(days, [point.value for point in points], color=ACCENT, linewidth=1.2)
    bars = [(point.on.toordinal(), point.value, point.u_rel) for point in points if point.u_rel]
    axes.vlines(
        [day for day, _value, _u in bars],
        [value * (1 - COVERAGE * u) for _day, value, u in bars],
        [value * (1 + COVERAGE * u) for _day, value, u in bars],
        color=MUTED,
        linewidth=0.7,
    )
    for good, face in ((True, INK), (False, PANEL)):
        these = [point for point in points if point.good is good]
        if these:
            look = {"color": INK, "markerfacecolor": face, "markersize": 6, "linestyle": "none"}
            at = [point.on.toordinal() for point in these]
            axes.plot(at, [point.value for point in these], marker, **look)


def _top(point: Efficiency) -> float:
    return point.value * (1 + COVERAGE * (point.u_rel or 0.0))


def _names(axes: Any, of: dict[str, list[Efficiency]], font: Any) -> None:
    """Each nuclide's name at the end of its line; names that would touch are moved apart."""
    ends = sorted(
        (points[-1].value, points[-1].on.toordinal(), name) for name, points in of.items()
    )
    gap = axes.get_ylim()[1] * NAME_HEIGHT
    level = -gap
    for value, day, name in ends:
        level = max(value, level + gap)
        look = {"textcoords": "offset points", "va": "center", "font": font()}
        axes.annotate(name, (day, level), xytext=(8, 0), **look)
