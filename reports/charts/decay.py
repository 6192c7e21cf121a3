"""The picture of a decay."""

from __future__ import annotations

from datetime import date
from typing import Any

from inventory.calc.units import format_activity
from inventory.sentences import day_text
from reports.charts.drawing import (
    ACCENT,
    INK,
    MUTED,
    NARROW,
    WIDE,
    activity_axis,
    day_axis,
    drawing,
    halo,
    spread,
    svg,
)
from reports.pages.decay_curve import Curve, Level


def decay_svg(curve: Curve, *, narrow: bool) -> bytes:
    """The decay curve with the day asked about and the levels that it crosses."""
    with drawing(NARROW if narrow else WIDE) as (figure, font):
        axes = figure.add_subplot()
        days = spread(curve.start, curve.end)
        values = [curve.bq_on(date.fromordinal(day)) for day in days]
        axes.plot(days, values, color=ACCENT, linewidth=2)
        _decay_axes(axes, curve, values, font, narrow)
        for level in curve.shown:
            _level(axes, curve, level, font, narrow)
        today_bq = curve.bq_on(curve.on)
        axes.plot([curve.on.toordinal()], [today_bq], "o", color=INK, markersize=7, zorder=5)
        axes.annotate(
            f"{day_text(curve.on)}\n{format_activity(today_bq)}",
            (curve.on.toordinal(), today_bq),
            xytext=(8, 6),
            textcoords="offset points",
            bbox=halo(),
            font=font(bold=True),
            zorder=6,
        )
        return svg(figure)


def _decay_axes(axes: Any, curve: Curve, values: list[float], font: Any, narrow: bool) -> None:
    first, last = curve.start.toordinal(), curve.end.toordinal()
    axes.set_xlim(first, last)
    if curve.logarithmic:
        axes.set_yscale("log")
        axes.set_ylim(min(values) / 1.6, max(values) * 2.2)
    else:
        axes.set_ylim(0, max(values) * 1.2)
    day_axis(axes, curve.start, curve.end, font, narrow)
    activity_axis(axes, font)


def _level(axes: Any, curve: Curve, level: Level, font: Any, narrow: bool) -> None:
    """A line at a level, a mark on its day, and its words where the curve is not."""
    assert level.first_on is not None
    day = level.first_on.toordinal()
    axes.axhline(level.bq, color=MUTED, linewidth=1, linestyle=(0, (5, 3)))
    axes.plot([day], [level.bq], "|", color=INK, markersize=12, markeredgewidth=2, zorder=4)
    first, last = curve.start.toordinal(), curve.end.toordinal()
    right = (day - first) / (last - first) < 0.5  # the curve is left of it, so words go right
    said = f"{level.short}\n{level.when}" if narrow else level.sentence
    axes.annotate(
        said,
        (1.0 if right else 0.0, level.bq),
        xycoords=axes.get_yaxis_transform(),
        xytext=(-2 if right else 4, 3 if right else -3),
        textcoords="offset points",
        ha="right" if right else "left",
        va="bottom" if right else "top",
        bbox=halo(),
        font=font(),
        zorder=4,
    )
