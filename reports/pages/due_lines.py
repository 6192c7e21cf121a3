"""The lines of what needs doing as a page shows them: what, where, state, why, who, what next."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import date
from itertools import groupby
from typing import Any

from django.urls import reverse
from django.utils.translation import gettext as _

from config.permissions import ENTER
from inventory import knowledge
from inventory.calc import due
from inventory.custody.wording import place_text
from inventory.evidence.kinds import is_check, own_titles
from inventory.followups.models import FollowUp
from inventory.ledger.models import Item
from inventory.requirements.plans import Plans, plans_of
from inventory.requirements.wording import attempt_text, booking_text, state_sentence
from inventory.rules.schema import CALIBRATION, LEAK_TEST
from inventory.sentences import day_text, lines, value_text
from inventory.timeline import RequirementSpan, Stay
from reports.pages.due_filter import BY_KIND, BY_ROUND
from reports.pages.planned import TO_DO, may_plan, plan_links


def work_lines(
    request: Any, spans: Sequence[RequirementSpan], on: date, back: str
) -> list[dict[str, Any]]:
    """The rows of one page, in a fixed number of queries. ``back``: the list as it is narrowed."""
    items = [span.item_id for span in spans]
    known = knowledge.load(items)
    for span in spans:  # read already; a join would be made for every line, not for one page of it
        span.item = known[span.item_id].item
    page = _Page(request, on, back, _stays(items, on), plans_of(spans, on), _failing(items))
    page.own = own_titles(request.site, {span.requirement for span in spans})
    return [page.line(span, known[span.item_id]) for span in spans]


def places(items: Sequence[int], on: date) -> dict[int, str]:
    """Where items are on a day, in words: gauge, location, or who has it."""
    return {item: _where(found) for item, found in _stays(items, on).items()}


def _where(stay: Stay | None) -> str:
    if stay is None:
        return ""
    return place_text(stay, [str(one) for one in (stay.gauge, stay.location) if one])


def _stays(items: Sequence[int], on: date) -> dict[int, Stay]:
    found = Stay.objects.on(on).filter(item__in=items).select_related("gauge", "location")
    return {stay.item_id: stay for stay in found}


def _failing(items: Sequence[int]) -> dict[int, FollowUp]:
    """The oldest open follow-up of each item."""
    found = FollowUp.objects.still_open().filter(item__in=items).select_related("opened_by")
    return {one.item_id: one for one in found.order_by("-opened_on", "-pk")}


def _place(stay: Stay | None) -> str:
    """The heading under which a round finds it."""
    return stay.location.label if stay and stay.location else _("not on site")


class _Page:
    """What the lines of one page share."""

    def __init__(
        self,
        request: Any,
        on: date,
        back: str,
        where: dict[int, Stay],
        plans: Plans,
        failing: dict[int, FollowUp],
    ) -> None:
        self.request, self.on, self.back = request, on, back
        self.where, self.plans, self.failing = where, plans, failing
        self.may_enter = bool(request.roles & ENTER)
        self.site = request.site.slug
        self.own: dict[str, str] = {}  # titles of checks that the site defines itself

    def line(self, span: RequirementSpan, known: knowledge.Known) -> dict[str, Any]:
        """One row as the page shows it."""
        said = knowledge.decide_on(known, span.requirement, self.on)
        state, item = said.value.state_on(self.on), span.item
        booking = self.plans.bookings.get(span.pk)
        attempt = self.plans.attempts.get(span.pk)
        stay = self.where.get(item.pk)
        awaits = said.value.state == due.AWAITED
        label, url = self._next_action(item, span.requirement, due.AWAITED if awaits else state)
        return {
            "value": f"{item.code}:{span.requirement}",
            "subject": item.label,
            "code": item.code,
            "url": reverse("item", args=[self.site, item.code]),
            "requirement": self.own.get(span.requirement)
            or value_text("requirement", span.requirement),
            "kind": span.requirement,
            "where": _where(stay),
            "place": _place(stay),
            "sentence": state_sentence(said.value, self.on, span.requirement),
            "since": _since(said.value, state, self.failing.get(item.pk), self.on),
            "explain": list(lines(said.steps)),
            "booked": booking_text(booking, self.on) if booking else "",
            "tried": attempt_text(attempt) if attempt else "",
            "action_label": label,
            "action_url": url,
            "plans": list(self._plans(span, state, booked=booking is not None)),
            "tick": may_plan(self.request, state),
            "state": state,
        }

    def _plans(
        self, span: RequirementSpan, state: str, *, booked: bool
    ) -> Iterator[tuple[str, str]]:
        if may_plan(self.request, state):
            args = (self.site, span.item.code, span.requirement)
            yield from plan_links(*args, booked=booked, back=self.back)

    def _next_action(self, item: Item, requirement: str, state: str) -> tuple[str, str]:
        """The one next step that this person can take here."""
        if state == due.FAILED:
            failing = self.failing.get(item.pk)
            args = [self.site, item.code]
            if failing is None:
                return _("See the follow-up"), reverse("item", args=args)
            return _("See the follow-up"), reverse("followup", args=[*args, failing.opened_by.seq])
        if state not in TO_DO or state == due.GOOD or not self.may_enter:
            return "", ""
        if state == due.AWAITED:
            return _("See what is awaited"), reverse("awaited", args=[self.site])
        if requirement == LEAK_TEST:
            url = reverse("wipe-new", args=[self.site])
            return _("Record a wipe"), f"{url}?source={item.code}"
        if requirement == CALIBRATION:
            args = [self.site, item.code]
            return _("Record a calibration"), reverse("calibration-new", args=args)
        url = check_url(self.request, requirement, item)
        return (_("Record it"), url) if url else ("", "")


def check_url(request: Any, requirement: str, item: Item) -> str:
    """Where a check of one thing is recorded; empty for what has a form of its own."""
    if not is_check(requirement):
        return ""
    return f"{reverse('check-new', args=[request.site.slug, requirement])}?item={item.code}"


def _since(decision: due.Decision, state: str, failing: FollowUp | None, on: date) -> str:
    if state == due.FAILED and failing is not None:
        return _("since %(on)s") % {"on": day_text(failing.opened_on)}
    chase = ""
    if decision.state == due.AWAITED and decision.warn_on is not None and on < decision.warn_on:
        chase = _("ask for the result from %(on)s") % {"on": day_text(decision.warn_on)}
    if decision.due_on is None:
        return chase
    values = {"on": day_text(decision.due_on)}
    said = _("was due on %(on)s") if state == due.LATE else _("due on %(on)s")
    return "; ".join(filter(None, (said % values, chase)))


def grouped(work: Sequence[dict[str, Any]], group: str) -> list[dict[str, Any]]:
    """The lines under headings: by state, by round (place and work) or by kind of work."""
    if group == BY_ROUND:
        return _groups(work, "place", "kind")
    return _groups(work, "kind") if group == BY_KIND else _groups(work, "state")


def _groups(work: Sequence[dict[str, Any]], *names: str) -> list[dict[str, Any]]:
    return [
        {
            "state": key[0] if names == ("state",) else "",
            "title": _title(names, key, found[0]["requirement"]),
            "lines": found,
        }
        for key, found in (
            (key, list(lines_of))
            for key, lines_of in groupby(work, key=lambda line: tuple(line[n] for n in names))
        )
    ]


def _title(names: Sequence[str], key: Sequence[str], work: str) -> str:
    """The heading of a group; ``work``: what its lines are about, where that is one thing."""
    if names == ("state",):
        return value_text("state", key[0])
    if names == ("kind",):
        return work
    return _("%(place)s: %(work)s") % {"place": key[0], "work": work}
