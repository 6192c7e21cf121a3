"""Shutdowns in words: how what falls due stands to them."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from datetime import date

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from inventory.calc import ahead
from reports.ahead.names import Kinds
from reports.ahead.words import need_text


def verdict_state(found: ahead.Verdict) -> str:
    """The code of its mark."""
    return found.need.state if found.verdict == ahead.NO_DATE else found.verdict


def verdict_text(found: ahead.Verdict, on: date) -> str:
    """How a need stands to a shutdown."""
    days, need = found.days, found.need
    if found.verdict == ahead.NO_DATE:
        return _("%(state)s: no date to hold against it") % {"state": need_text(need, on)}
    if found.verdict == ahead.FALLS_SHORT:
        text = ngettext("falls short by %(n)s day", "falls short by %(n)s days", days)
    elif found.verdict == ahead.REACHED:
        text, days = _("reaches it: due on day %(n)s of it"), days + 1
    else:
        text = ngettext(
            "can be taken along: due %(n)s day after it",
            "can be taken along: due %(n)s days after it",
            days,
        )
    said = text % {"n": days}
    late = _("%(late)s already") % {"late": need_text(need, on)} if need.at_once else ""
    return f"{said}; {late}" if late else said


def stop_summary(verdicts: Sequence[ahead.Verdict]) -> str:
    """How many stand how: 3 fall short, 12 reach it, 2 can be taken along, 1 has no date."""
    counts = Counter(one.verdict for one in verdicts)
    return "; ".join(_counted(counts)) or _("nothing that is known falls due there in that time")


def short_by_kind(verdicts: Sequence[ahead.Verdict], kinds: Kinds) -> str:
    """Of which work those are that fall short: what comes every month falls short of any shutdown,
    and hides what does not."""
    short = [one.need.requirement for one in verdicts if one.verdict == ahead.FALLS_SHORT]
    counts = Counter(short).most_common()
    if len(counts) < 2:
        return ""
    named = ", ".join(f"{kinds.word(requirement)} {n}" for requirement, n in counts)
    return _("Of those that fall short: %(kinds)s.") % {"kinds": named}


def _counted(counts: Counter[str]) -> Iterator[str]:
    n = counts[ahead.FALLS_SHORT]
    if n:
        yield ngettext("%(n)s falls short", "%(n)s fall short", n) % {"n": n}
    if n := counts[ahead.NO_DATE]:
        yield ngettext("%(n)s has no date", "%(n)s have no date", n) % {"n": n}
    if n := counts[ahead.REACHED]:
        yield ngettext("%(n)s reaches it", "%(n)s reach it", n) % {"n": n}
    if n := counts[ahead.TAKE_ALONG]:
        text = ngettext("%(n)s can be taken along", "%(n)s can be taken along", n)
        yield text % {"n": n}


def beyond_text(months: int) -> str:
    """How long after its end something may be due and still be taken along in a shutdown."""
    if not months:
        return _("What is due later than its last day is left out.")
    return ngettext(
        "To be taken along: due up to %(n)s month after its end.",
        "To be taken along: due up to %(n)s months after its end.",
        months,
    ) % {"n": months}
