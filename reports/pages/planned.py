"""What is booked of a requirement, what was tried, and where it can be booked: for the list and
for the page of an item."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date
from typing import Any
from urllib.parse import urlencode

from django.urls import reverse
from django.utils.translation import gettext as _

from config.permissions import ENTER
from inventory.calc import due
from inventory.ledger.models import Item
from inventory.requirements.plans import plans_of
from inventory.requirements.wording import attempt_text, booking_text
from inventory.timeline import RequirementSpan

#: States in which work is still to be done, so that it can be booked or turn out impossible.
TO_DO = (due.FAILED, due.LATE, due.NEVER_DONE, due.AWAITED, due.DUE_SOON, due.GOOD)


def may_plan(request: Any, state: str) -> bool:
    """Whether this person can book a line in this state, or say why it was not done."""
    return bool(request.roles & ENTER) and state in TO_DO


def plan_links(
    site: str, code: str, requirement: str, *, booked: bool, back: str = ""
) -> Iterator[tuple[str, str]]:
    """What can be planned of a line: book it, take that back, say why it was not done."""
    kept = [("back", back)] if back else []
    chosen = urlencode([("line", f"{code}:{requirement}"), *kept])
    yield (_("Book again") if booked else _("Book")), f"{reverse('book', args=[site])}?{chosen}"
    if booked:
        yield _("No longer booked"), f"{reverse('unbook', args=[site])}?{chosen}"
    tried = reverse("not-done", args=[site, code, requirement])
    yield _("Not done, because"), f"{tried}?{urlencode(kept)}" if kept else tried


def planned(request: Any, item: Item, on: date) -> dict[str, dict[str, Any]]:
    """By requirement of an item: who has it booked, the last attempt, where to book it."""
    spans = list(RequirementSpan.objects.on(on).filter(item=item))
    plans = plans_of(spans, on)
    site, out = request.site.slug, {}
    for span in spans:
        booking, attempt = plans.bookings.get(span.pk), plans.attempts.get(span.pk)
        links = plan_links(site, item.code, span.requirement, booked=booking is not None)
        state = span.decision.state_on(on)
        out[span.requirement] = {
            "booked": booking_text(booking, on) if booking else "",
            "tried": attempt_text(attempt) if attempt else "",
            "plans": list(links) if may_plan(request, state) else [],
        }
    return out
