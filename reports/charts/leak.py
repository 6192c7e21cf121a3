"""The picture of leak tests against the limit."""

from __future__ import annotations

import math
from itertools import cycle, groupby
from typing import Any, Final

from django.utils.translation import gettext as _

from reports.charts.drawing import (
    ALERT,
    INK,
    NARROW,
    PANEL,
    WIDE,
    activity_axis,
    day_axis,
    drawing,
    legend,
    svg,
)
from reports.pages.leak_history import (
    BELOW,
    COVERAGE,
    FAIL,
    INCONCLUSIVE,
    NO_FIGURE,
    NOT_EVALUABLE,
    VALUE,
    History,
    Result,
    limit_text,
)

_SHAPES: Final = {VALUE: "o", BELOW: "v", FAIL: "X", INCONCLUSIVE: "D", NOT_EVALUABLE: "s"}
_SHAPES_ALL: Final = {**_SHAPES, NO_FIGURE: "P"}
#: Lines of several limits, in order.
STROKES: Final = ("-", (0, (6, 2)), (0, (2, 2)))
#: Height of a row of words in CSS pixels.
ROW_HEIGHT: Final = 20
#: Where a result without a figure stands, as a part of the axis.
BOTTOM: Final = 0.035
_SIZES: Final = {VALUE: 7, BELOW: 8, FAIL: 11, INCONCLUSIVE: 7, NOT_EVALUABLE: 7, NO_FIGURE: 8}


def leak_svg(history: History, *, narrow: bool) -> bytes:
    """The results against the limit on a log axis."""
    size = (NARROW if narrow else WIDE)[0], leak_height(history, narrow=narrow)
    with drawing(size) as (figure, font):
        axes = figure.add_subplot()
        axes.set_yscale("log")
        results = history.drawn
        low, high = _reach(history)
        axes.set_ylim(low, high)
        for (bq, _comparator), stroke in zip(history.limits, cycle(STROKES), strict=False):
            axes.axhline(bq, color=ALERT, linewidth=1.6, linestyle=stroke)
        if len(history.limits) == 1:
            _limit(axes, *history.limits[0], font)
        _bars(axes, [one for one in results if one.bq and one.u_bq], low)
        looks = groupby(sorted(results, key=_look), key=_look)
        for (shape, relied_on, at_bottom), alike in looks:
            _marks(axes, list(alike), shape, relied_on, at_bottom)
        first = min(one.on for one in results)
        day_axis(axes, first, history.on, font, narrow, margin=0.06)
        activity_axis(axes, font)
        legend(figure, _entries(history), font, _columns(narrow))
        return svg(figure)


def leak_height(history: History, *, narrow: bool) -> int:
    """Its height in CSS pixels: it grows with the words below it."""
    rows = math.ceil(len(_entries(history)) / _columns(narrow))
    return (NARROW if narrow else WIDE)[1] + ROW_HEIGHT * max(0, rows - 2)


def _columns(narrow: bool) -> int:
    return 1 if narrow else 2


def _limit(axes: Any, bq: float, comparator: str, font: Any) -> None:
    """The words of the limit on its line; of several they stand below the picture."""
    axes.annotate(
        limit_text(bq, comparator),
        (0.0, bq),
        xycoords=axes.get_yaxis_transform(),
        xytext=(4, 4),
        textcoords="offset points",
        font=font(),
        color=ALERT,
        zorder=6,
    )


def _reach(history: History) -> tuple[float, float]:
    """The ends of the axis: everything that is drawn, the limits, and room for words."""
    values = [one.bq for one in history.drawn if one.bq]
    values += [bq for bq, _comparator in history.limits]
    highest = [one.bq + COVERAGE * one.u_bq for one in history.drawn if one.bq and one.u_bq]
    if not values:
        return 1.0, 1000.0
    low, high = min(values) / 3, max([*values, *highest]) * 3
    return min(low, high / 1000), high


def _bars(axes: Any, results: list[Result], floor: float) -> None:
    """Two standard uncertainties up and down; an axis of logarithms has no zero to reach."""
    for fails, colour in ((True, ALERT), (False, INK)):
        bars = [
            (one.on.toordinal(), one.bq or 0.0, COVERAGE * (one.u_bq or 0.0))
            for one in results
            if (one.shape == FAIL) is fails
        ]
        axes.vlines(
            [day for day, _bq, _half in bars],
            [max(bq - half, floor / 10) for _day, bq, half in bars],
            [bq + half for _day, bq, half in bars],
            color=colour,
            linewidth=1.2,
        )


def _look(one: Result) -> tuple[str, bool, bool]:
    return one.shape, one.relied_on, one.bq is None


def _marks(axes: Any, results: list[Result], shape: str, relied_on: bool, at_bottom: bool) -> None:
    """Results of one shape: filled when they are relied on, hollow with a bar when not."""
    colour = ALERT if shape == FAIL else INK
    filled = relied_on and shape != BELOW
    place = {"transform": axes.get_xaxis_transform()} if at_bottom else {}
    look = {"color": colour, "linestyle": "none", "clip_on": False, **place}
    days = [one.on.toordinal() for one in results]
    values = [BOTTOM if one.bq is None else one.bq for one in results]
    axes.plot(
        *(days, values, _SHAPES_ALL[shape]),
        markersize=_SIZES[shape],
        markerfacecolor=colour if filled else PANEL,
        zorder=4,
        **look,
    )
    if not relied_on:
        axes.plot(days, values, "_", markersize=14, zorder=5, **look)


def _entries(history: History) -> list[tuple[str, dict[str, Any]]]:
    """Each shape that occurs, in words, and several limits."""
    results = history.drawn
    words = {
        VALUE: _("activity; bar: ± 2 u (k = 2)"),
        BELOW: _("not detected, or “<”: what it could have seen"),
        FAIL: _("fails"),
        INCONCLUSIVE: _("inconclusive"),
        NOT_EVALUABLE: _("not evaluable"),
        NO_FIGURE: _("no figure above zero: at the bottom"),
    }
    out = []
    for shape, text in words.items():
        if any(one.shape == shape for one in results):
            colour = ALERT if shape == FAIL else INK
            look = {"marker": _SHAPES_ALL[shape], "color": colour}
            look |= {"markerfacecolor": PANEL} if shape == BELOW else {}
            out.append((text, look))
    if not all(one.relied_on for one in results):
        out.append((_("bar through it, hollow: not relied on"), {"marker": "_", "color": INK}))
    if any(one.bq is None and one.shape != NO_FIGURE for one in results):
        out.append((_("at the bottom: without a figure"), {"marker": ""}))
    if len(history.limits) > 1:
        for limit, stroke in zip(history.limits, cycle(STROKES), strict=False):
            line: dict[str, Any] = {"linestyle": stroke, "color": ALERT}
            out.append((limit_text(*limit), line))
    return out
