"""What a manager asks for, without jargon: what is overdue, what failed and what is being done
about it, what is coming that needs money or a shutdown."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, timedelta
from typing import Any

from django.db.models import Q
from django.urls import reverse
from django.utils.translation import gettext as _

from config.accounts.models import OPEN_END
from inventory.calc import due
from inventory.followups.models import FollowUp
from inventory.followups.views import steps_by_follow_up, url_of
from inventory.followups.wording import age_text, next_step, step_sentence, steps_text
from inventory.requirements.headlines import Headline
from inventory.requirements.models import Booking
from inventory.requirements.plans import Plans, plans_of
from inventory.requirements.wording import attempt_text, booking_text, state_sentence
from inventory.rules.schema import REQUIREMENTS
from inventory.sentences import day_text, value_text
from inventory.timeline import RequirementSpan
from reports.pages.due_lines import places

#: How far a manager looks ahead: a quarter of a year is what a budget or a shutdown is planned by
#: (common practice, no source).
AHEAD = timedelta(days=90)
MOST = 10


def overview(request: Any, said: Headline, on: date) -> dict[str, Any]:
    """The three answers, each with at most so many lines, in a fixed number of queries."""
    spans: Any = RequirementSpan.objects.filter(site=request.site)
    late = list(_late(spans, on)[:MOST])
    until = min(on, OPEN_END - AHEAD) + AHEAD
    coming = list(_coming(request, spans, on, until))
    rows = [*late, *coming]
    where = places([span.item_id for span in rows], on)
    plans = plans_of(rows, on)
    return {
        "overdue": [_line(request, span, where, plans, on) for span in late],
        "overdue_more": _more(said.counts.get(due.LATE, 0) - len(late)),
        **_failed(request, on),
        "coming": [
            _kind(request, requirement, found, (where, plans), on)
            for requirement in dict.fromkeys((*REQUIREMENTS, *(one.requirement for one in coming)))
            if (found := [span for span in coming if span.requirement == requirement])
        ],
        "until": day_text(until),
    }


def _late(spans: Any, on: date) -> Any:
    found = spans.with_state(on).filter(state_on=due.LATE).select_related("item")
    return found.order_by("due_on", "id")


def _coming(request: Any, spans: Any, on: date, until: date) -> Any:
    """What falls due by a day, and what is booked by then although it is late or never done."""
    booked = Booking.objects.filter(record__site=request.site, booked_for__range=(on, until))
    falls_due = Q(state_on__in=(due.DUE_SOON, due.GOOD, due.AWAITED), due_on__range=(on, until))
    planned = Q(item__in=booked.values("record__about__item"), state_on__in=(due.NEVER_DONE,))
    found = spans.with_state(on).filter(falls_due | planned).select_related("item")
    return found.order_by("due_on", "id")


def _more(n: int) -> str:
    return _("and %(n)s more in the list below") % {"n": n} if n > 0 else ""


def _line(
    request: Any, span: RequirementSpan, where: dict[int, str], plans: Plans, on: date
) -> dict[str, str]:
    booking, attempt = plans.bookings.get(span.pk), plans.attempts.get(span.pk)
    state = span.decision.state_on(on)
    coming = span.due_on is not None and state != due.LATE
    return {
        "subject": span.item.label,
        "url": reverse("item", args=[request.site.slug, span.item.code]),
        "work": value_text("requirement", span.requirement),
        "where": where.get(span.item_id, ""),
        "state": state,
        "sentence": _("due on %(on)s") % {"on": day_text(span.due_on)}  # type: ignore[arg-type]
        if coming and state != due.AWAITED
        else state_sentence(span.decision, on, span.requirement),
        "booked": _stop(booking_text(booking, on) if booking else _("with nobody")),
        "tried": _stop(attempt_text(attempt)) if attempt else "",
    }


def _failed(request: Any, on: date) -> dict[str, Any]:
    """What failed and what is being done about it: steps done, the next one, who has it."""
    still = FollowUp.objects.open_on(on).filter(site=request.site)
    shown = list(still.select_related("item", "opened_by").order_by("opened_on", "pk")[:MOST])
    steps = steps_by_follow_up(shown)
    lines = []
    for one in shown:
        coming = next_step(steps[one.pk])
        lines.append(
            {
                "subject": one.item.label,
                "url": url_of(request, one),
                "work": value_text("kind", one.kind),
                "age": age_text(one, on),
                "steps": steps_text(steps[one.pk]),
                "next": step_sentence(coming, on) if coming else "",
                "late": bool(coming and coming.by_on and coming.by_on < on),
            }
        )
    return {"failed": lines, "failed_more": _more(still.count() - len(shown))}


def _kind(
    request: Any,
    requirement: str,
    found: Sequence[RequirementSpan],
    beside: tuple[dict[int, str], Plans],
    on: date,
) -> dict[str, Any]:
    """One kind of work that is coming: how much of it, who has it, and the first lines."""
    where, plans = beside
    booked = sum(span.pk in plans.bookings for span in found)
    values = {
        "work": value_text("requirement", requirement).capitalize(),
        "n": len(found),
        "booked": booked,
        "free": len(found) - booked,
    }
    title = _("%(work)s: %(n)s, of which %(booked)s booked, %(free)s with nobody")
    if booked in (0, len(found)):
        title = _("%(work)s: %(n)s, booked") if booked else _("%(work)s: %(n)s, with nobody")
    return {
        "title": title % values,
        "lines": [_line(request, span, where, plans, on) for span in found[:MOST]],
        "more": _more(len(found) - MOST),
    }


def _stop(text: str) -> str:
    """A text as a sentence of its own."""
    said = text[:1].upper() + text[1:]
    return said if said.endswith((".", "?", "!")) else f"{said}."
