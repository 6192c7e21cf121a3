"""What all pictures share. The only module that knows matplotlib; it is imported where it is used.

Each picture is an SVG of plain shapes: the same figures give the same bytes, text is drawn as paths
of the bundled font, nothing is fetched. Colours stand as attributes, so that the strict policy of
the pages holds for a picture opened alone; shown in a page it follows the reader's light or dark.
"""

from __future__ import annotations

import hashlib
import io
import math
import re
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import date
from functools import cache
from pathlib import Path
from threading import Lock
from typing import Any, Final

from inventory.calc.units import format_activity
from inventory.sentences import day_text

#: Width and height in CSS pixels, on a desk and on a phone.
WIDE: Final = (720, 380)
NARROW: Final = (340, 360)

FONTS: Final = Path(__file__).resolve().parents[1] / "static" / "fonts"
INK, MUTED, LINE = "#1b2123", "#4a5457", "#d3d4cf"
ACCENT, ALERT, PANEL = "#0b5463", "#96200f", "#ffffff"
#: Each colour of a light page and the one of a dark page (the variables of sealbook.css).
DARK: Final = {
    INK: "#e8ebeb",
    MUTED: "#b6bfc2",
    LINE: "#3c464a",
    ACCENT: "#86cad8",
    ALERT: "#ffa396",
    PANEL: "#1c2225",
}
SETTINGS: Final[Any] = {
    "svg.fonttype": "path",
    "svg.hashsalt": "sealbook",
    "axes.edgecolor": MUTED,
    "axes.labelcolor": MUTED,
    "axes.linewidth": 0.8,
    "axes.spines.top": False,
    "axes.spines.right": False,
    "xtick.color": MUTED,
    "ytick.color": MUTED,
    "grid.color": LINE,
    "grid.linewidth": 0.6,
    "text.color": INK,
    "lines.markeredgewidth": 1.3,
    "legend.frameon": False,
}
_one_at_a_time = Lock()  # matplotlib keeps its settings for the whole process


@contextmanager
def drawing(size: tuple[int, int]) -> Iterator[tuple[Any, Callable[..., Any]]]:
    """A figure of a size in CSS pixels, and its font."""
    import matplotlib as mpl
    from matplotlib.figure import Figure
    from matplotlib.font_manager import FontProperties

    def font(*, bold: bool = False, size: float = 9.5) -> Any:
        name = "SourceSans3-Semibold.ttf" if bold else "SourceSans3-Regular.ttf"
        return FontProperties(fname=FONTS / name, size=size)

    with _one_at_a_time, mpl.rc_context(SETTINGS):
        inches = (size[0] / 96, size[1] / 96)
        yield Figure(figsize=inches, layout="constrained", facecolor=PANEL), font


def svg(figure: Any) -> bytes:
    """The figure as the bytes that are sent."""
    out = io.BytesIO()
    metadata = {"Date": None, "Creator": None, "Format": None, "Type": None}
    figure.savefig(out, format="svg", metadata=metadata)
    return _plain(out.getvalue().decode()).encode()


def _plain(svg: str) -> str:
    """Style attributes as attributes of their own, and one rule that turns light into dark."""
    rules = "".join(
        f'[fill="{light}"]{{fill:{dark}}}[stroke="{light}"]{{stroke:{dark}}}'
        for light, dark in DARK.items()
    )
    style = (
        "<style>*{stroke-linejoin:round;stroke-linecap:butt}"
        f"@media (prefers-color-scheme:dark){{{rules}}}</style>"
    )
    svg = re.sub(r"<style.*?</style>", lambda _found: style, svg, count=1, flags=re.DOTALL)
    return re.sub(r' style="([^"]*)"', lambda found: _attributes(found[1]), svg)


def _attributes(style: str) -> str:
    pairs = (part.split(":", 1) for part in style.split(";") if ":" in part)
    return "".join(f' {name.strip()}="{value.strip()}"' for name, value in pairs)


def halo() -> dict[str, Any]:
    """Words stay readable over lines."""
    return {"facecolor": PANEL, "edgecolor": "none", "pad": 1, "alpha": 0.85}


def spread(start: date, end: date, most: int = 240) -> list[int]:
    """Days from start to end, both included, not more than a line needs."""
    first, last = start.toordinal(), end.toordinal()
    step = max(1, (last - first) // most)
    return [*range(first, last, step), last]


def day_axis(
    axes: Any,
    start: date,
    end: date,
    font: Any,
    narrow: bool,
    margin: float = 0.0,
    room: float = 0.0,
) -> None:
    """Days, with room at the sides as parts of the span (``room``: more, at the end)."""
    first, last = start.toordinal(), max(end.toordinal(), start.toordinal() + 30)
    span = last - first
    low = max(1, first - margin * span)
    high = min(date.max.toordinal(), last + (margin + room) * span)
    axes.set_xlim(low, high)
    ticks = list(_day_ticks(date.fromordinal(int(low)), end, 4 if narrow else 8))
    axes.set_xticks([day.toordinal() for day, _text in ticks], [text for _day, text in ticks])


def _day_ticks(start: date, end: date, most: int) -> Iterator[tuple[date, str]]:
    """First days of years, or of months where the span is short, with their texts."""
    years = max((end - start).days / 365.25, 0.05)
    if years >= 2:
        step = next((n for n in (1, 2, 5, 10, 20, 50, 100, 200, 500) if years / n <= most), 1000)
        for year in range(-(-start.year // step) * step, end.year + 1, step):
            if year >= 1 and start <= date(year, 1, 1) <= end:
                yield date(year, 1, 1), str(year)
        return
    months = next((n for n in (1, 2, 3, 6) if years * 12 / n <= most / 1.5), 6)
    for number in range(start.year * 12, end.year * 12 + 12, months):
        day = date(number // 12, number % 12 + 1, 1)
        if start <= day <= end:
            yield day, day_text(day).split(" ", 1)[1]


def activity_axis(axes: Any, font: Any) -> None:
    """Activities as people write them; on a log axis the decades, or 1, 2, 5 of few."""
    low, high = axes.get_ylim()
    if axes.get_yscale() == "log":
        axes.set_yticks(list(_log_ticks(low, high)))
        axes.minorticks_off()
    axes.yaxis.set_major_formatter(lambda value, _place: _short(value))
    axes.grid(axis="y")
    axes.set_axisbelow(True)
    fonts(axes, font)


def _log_ticks(low: float, high: float) -> Iterator[float]:
    first, last = math.floor(math.log10(low)), math.ceil(math.log10(high))
    every = max(1, math.ceil((last - first) / 7))
    figures = (1, 2, 5) if math.log10(high / low) < 2 else (1,)
    for power in range(first, last + 1):
        if power % every == 0:
            yield from (n * 10.0**power for n in figures if low <= n * 10.0**power <= high)


def _short(bq: float) -> str:
    """An activity in as few figures as say it."""
    return next(
        text
        for digits in (1, 2, 3, 4)
        for text in [format_activity(bq, digits)]
        if digits == 4 or math.isclose(float(f"{bq:.{digits - 1}e}"), bq, rel_tol=1e-6)
    )


def fonts(axes: Any, font: Any) -> None:
    """The bundled font for the texts of the ticks."""
    for label in (*axes.get_xticklabels(), *axes.get_yticklabels()):
        label.set_fontproperties(font())


def legend(figure: Any, entries: list[Any], font: Any, columns: int) -> None:
    """Marks and their words below the picture."""
    from matplotlib.lines import Line2D

    plain = {"linestyle": "none", "markersize": 7}
    handles = [Line2D([], [], **(plain | look)) for _text, look in entries]
    figure.legend(
        handles,
        [text for text, _look in entries],
        loc="outside lower left",
        ncols=columns,
        prop=font(),
        handletextpad=0.4,
        columnspacing=1.4,
    )


@cache
def edition() -> str:
    """Changes whenever the code could draw the same records in another way."""
    here = Path(__file__).resolve().parent
    code = [*sorted(here.glob("*.py")), *sorted(here.with_name("pages").glob("*_*.py"))]
    return hashlib.sha256(b"".join(path.read_bytes() for path in code)).hexdigest()[:16]
