"""What loading a file would write and did write in figures, and what keeps it from loading."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from reports.exchange.page.rows import Rows
from reports.exchange.planned import Plan


def will_write(plan: Plan) -> str:
    """Load 43 sources, 12 gauges, 57 wipes; 3 rows left out; 9 open points."""
    counts = plan.counts
    parts = list(_things(counts))
    if not parts:
        return _("Nothing new to load")
    said = [_("Load %(things)s") % {"things": ", ".join(parts)}, *_left(counts)]
    if points := sum(len(one.open_points) for one in plan.rows):
        said.append(ngettext("%(n)s open point", "%(n)s open points", points) % {"n": points})
    return "; ".join(said)


def were_written(counts: Mapping[str, int]) -> str:
    """43 sources, 12 gauges, 57 wipes; 3 rows left out."""
    return "; ".join([", ".join(_things(counts)), *_left(counts)])


def _left(counts: Mapping[str, int]) -> list[str]:
    if not counts["left_out"]:
        return []
    rows = ngettext("%(n)s row left out", "%(n)s rows left out", counts["left_out"])
    return [rows % {"n": counts["left_out"]}]


def _things(counts: Mapping[str, int]) -> Iterator[str]:
    """So many of each kind, as far as there are any."""
    for name, text in (
        ("sources", ngettext("%(n)s source", "%(n)s sources", counts["sources"])),
        ("gauges", ngettext("%(n)s gauge", "%(n)s gauges", counts["gauges"])),
        ("places", ngettext("%(n)s place", "%(n)s places", counts["places"])),
        ("monitors", ngettext("%(n)s monitor", "%(n)s monitors", counts["monitors"])),
        (
            "calibrations",
            ngettext("%(n)s calibration", "%(n)s calibrations", counts["calibrations"]),
        ),
        ("wipes", ngettext("%(n)s wipe", "%(n)s wipes", counts["wipes"])),
        (
            "described",
            ngettext(
                "%(n)s changed description", "%(n)s changed descriptions", counts["described"]
            ),
        ),
        ("moved", ngettext("%(n)s move", "%(n)s moves", counts["moved"])),
    ):
        if counts[name]:
            yield text % {"n": counts[name]}


def hindrances(rows: Rows) -> list[str]:
    """Why there is nothing to confirm yet."""
    out = list(not_ready(rows))
    if not out and not rows.plan.changes:
        out.append(_("Everything in this file is here already."))
    return out


def not_ready(rows: Rows) -> Iterator[str]:
    """What must be decided before anything is written: no row is dropped in silence."""
    plan = rows.plan
    asked = [*plan.understood.questions, *plan.questions]
    waiting = sum(not question.answer for question in asked)
    if waiting:
        text = ngettext("%(n)s question has no answer.", "%(n)s questions have no answer.", waiting)
        yield text % {"n": waiting}
    if wrong := len(plan.faulty):
        text = ngettext(
            "%(n)s row is wrong as it stands: correct it or leave it out.",
            "%(n)s rows are wrong as they stand: correct them or leave them out.",
            wrong,
        )
        yield text % {"n": wrong}
    unclear = sum(status == "waits" for status in rows.status.values())
    if unclear and not waiting:
        text = ngettext(
            "%(n)s row is not understood: correct it or leave it out.",
            "%(n)s rows are not understood: correct them or leave them out.",
            unclear,
        )
        yield text % {"n": unclear}


def also(rows: Rows) -> list[str]:
    """What else to know before it is loaded."""
    counts = Counter(rows.status.values())
    here, differs = counts["here"] + counts["twice"], rows.plan.counts["differs"]
    said = (
        (here, ngettext("%(n)s row is here already.", "%(n)s rows are here already.", here)),
        (
            differs,
            ngettext(
                "%(n)s row differs from what is here and is left so.",
                "%(n)s rows differ from what is here and are left so.",
                differs,
            ),
        ),
    )
    return [text % {"n": n} for n, text in said if n]
