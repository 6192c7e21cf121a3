"""The coming year in words: months, what falls due in them, and how fresh the knowledge is."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import date
from itertools import groupby

from django.utils import formats
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from inventory.calc import ahead, due
from inventory.requirements.headlines import Headline
from inventory.requirements.wording import state_sentence
from inventory.sentences import day_text, value_text
from reports.ahead.names import Names


def month_title(month: ahead.Month) -> str:
    """March 2027; of several months together February to May 2027; where only some days of a month
    are asked about, which."""
    if month.first is None or month.last is None:
        return _("Now")
    return _months_text(month.first, month.last) % {
        "first": formats.date_format(month.first, "F"),
        "month": formats.date_format(month.last, "F Y"),
        "first_year": formats.date_format(month.first, "F Y"),
        "from": day_text(month.first),
        "until": day_text(month.last),
    }


def _months_text(first: date, last: date) -> str:
    if first.year != last.year:
        return _("%(first_year)s to %(month)s")
    if first.month != last.month:
        return _("%(first)s to %(month)s")
    if first.day > 1:
        return _("%(month)s, from %(from)s")
    return _("%(month)s") if (last + ahead.ONE_DAY).day == 1 else _("%(month)s, until %(until)s")


def together(months: Sequence[ahead.Month]) -> Iterator[ahead.Month]:
    """The months, those in a row in which nothing falls due as one."""
    for empty, found in groupby(months, lambda month: not month.rounds and month.first is not None):
        some = list(found)
        if empty:
            yield ahead.Month(some[0].first, some[-1].last, ())
        else:
            yield from some


def need_text(need: ahead.Need, on: date) -> str:
    """What a need says on a day: 9 days late, never done, due on 14 Mar 2027."""
    if need.at_once:
        state = due.DATED if need.state == due.LATE else need.state
        return state_sentence(due.Decision(state, need.due_on, need.due_on), on)
    if need.due_on is None:
        return ""
    lapses = need.state in ahead.UNDATED and need.state != due.AWAITED
    if lapses or need.state == due.LATE:  # once a hold has lapsed
        state = value_text("state", need.state)
        values = {
            "state": state_sentence(due.Decision(need.state), on) if lapses else state,
            "on": day_text(need.due_on + ahead.ONE_DAY),
        }
        return _("%(state)s from %(on)s") % values
    said = _("due on %(on)s") % {"on": day_text(need.due_on)}
    return f"{said}, {_('result awaited')}" if need.state == due.AWAITED else said


def count_text(found: ahead.Round) -> str:
    """How many fall due, and how many more are to be expected: 3, 12 projected."""
    parts = [str(len(found.needs))] if found.needs else []
    if found.projected:
        parts.append(projected_text(found.projected))
    return ", ".join(parts)


def projected_text(n: int) -> str:
    """That so many more are to be expected."""
    return _("%(n)s projected") % {"n": n}


def projected_only(
    month: ahead.Month, names: Names
) -> Iterator[tuple[str, int, list[tuple[str, int]]]]:
    """Of each kind of work that comes again in a month where nothing of it falls due: how often,
    and how often at which place."""
    found: dict[str, list[tuple[str, int]]] = {}
    for one in month.rounds:
        if not one.needs:
            found.setdefault(one.requirement, []).append((names.label(one.place), one.projected))
    for requirement, places in found.items():
        yield requirement, sum(n for _place, n in places), places


def places_text(places: Sequence[tuple[str, int]]) -> str:
    """Boiler house: 9; Stock preparation: 6. Nothing for what has no place at all, like papers."""
    if not any(place for place, _n in places):
        return ""
    return "; ".join(f"{place or _('elsewhere')}: {n}" for place, n in places)


def month_summary(month: ahead.Month) -> str:
    """How many fall due in a month, and how many more are projected."""
    n = sum(len(one.needs) for one in month.rounds)
    again = sum(one.projected for one in month.rounds)
    parts = []
    if n and month.first is None:
        parts.append(_("%(n)s to be looked at") % {"n": n})
    elif n:
        parts.append(ngettext("%(n)s falls due", "%(n)s fall due", n) % {"n": n})
    if again:
        parts.append(projected_text(again))
    return ", ".join(parts) or _("nothing that is known falls due")


def freshness(said: Headline) -> str:
    """How fresh the knowledge is that all of this rests on, and of what nothing is foreseen."""
    undecided = said.counts.get(due.UNDECIDED, 0)
    if not undecided:
        return said.freshness
    return f"{said.freshness} " + ngettext(
        "%(n)s interval is not decided: nothing of it can be foreseen.",
        "%(n)s intervals are not decided: nothing of them can be foreseen.",
        undecided,
    ) % {"n": undecided}
