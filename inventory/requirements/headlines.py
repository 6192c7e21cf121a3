"""One sentence per site, and how fresh the knowledge is that it rests on."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from typing import Any

from django.db.models import Count, Exists, OuterRef, Q, Subquery
from django.utils.translation import gettext as _

from config.accounts.models import Site
from inventory import knowledge
from inventory.calc import due
from inventory.followups.models import FollowUp
from inventory.ledger.models import Record
from inventory.requirements.plans import PLAN_KINDS, with_booking
from inventory.requirements.wording import headline
from inventory.rules.schema import ACCOUNTING
from inventory.sentences import day_text
from inventory.timeline import RequirementSpan


@dataclass(slots=True)
class Headline:
    """How many requirements are in each state, who has the late ones, the last record, the open
    follow-ups, the schedule that all of it rests on."""

    on: date
    counts: dict[str, int] = field(default_factory=dict)
    late_booked: dict[date | None, int] = field(default_factory=dict)
    last_on: date | None = None
    checked_on: date | None = None  # the last accounting check
    waiting: int = 0
    unseen: int = 0  # of those that failed: missing, or not found by an accounting check
    proposed: int = 0  # changes by decay that nobody has confirmed
    anything: bool = True  # whether anything is required at all
    schedule: due.Schedule | None = None

    @property
    def sentence(self) -> str:
        """What needs doing, in one sentence."""
        if not self.anything:
            return _("Nothing is required yet: no source or monitor is recorded.")
        return headline(
            self.counts, self.late_booked, self.on, proposed=self.proposed, unseen=self.unseen
        )

    @property
    def freshness(self) -> str:
        """How fresh the knowledge is: *nothing is late* is worth no more than this."""
        last = (
            _("Nothing is recorded yet.")
            if self.last_on is None
            else _("Last record of %(on)s.") % {"on": day_text(self.last_on)}
        )
        checked = (
            _("No accounting check is recorded.")
            if self.checked_on is None
            else _("Last accounting check of %(on)s.") % {"on": day_text(self.checked_on)}
        )
        waiting = _("Open follow-ups: %(n)s.") % {"n": self.waiting}
        return " ".join(part for part in (last, checked, waiting, self._draft) if part)

    @property
    def _draft(self) -> str:
        if self.schedule is None:
            return _("No schedule has been set: no interval is decided.")
        if self.schedule.adopted_on is None:
            return _("The schedule is a draft: nobody has adopted it.")
        return ""


def headlines(
    day_of: Mapping[int, date], schedules: Mapping[int, Sequence[due.Schedule]] | None = None
) -> dict[int, Headline]:
    """The headline of each site (key: its day). Sites share queries as far as they share a day.
    ``schedules``: of these sites, where somebody has read them already."""
    out = {site: Headline(day) for site, day in day_of.items()}
    if schedules is None:
        schedules = knowledge.schedules_of_sites(list(day_of))
    for site, headline_of in out.items():
        headline_of.schedule = due.schedule_on(schedules.get(site, ()), headline_of.on)
    for day in set(day_of.values()):
        there = [site for site, its_day in day_of.items() if its_day == day]
        of_sites = RequirementSpan.objects.filter(site__in=there)
        spans: Any = of_sites.needs_doing(day).order_by()
        changed = Count("pk", filter=~Q(proposed=""))
        unseen = Count("pk", filter=Q(requirement=ACCOUNTING, state=due.FAILED))
        counted = spans.values_list("site", "state_on").annotate(
            n=Count("pk"), changed=changed, unseen=unseen
        )
        for site, state, n, proposed, lost in counted:
            out[site].counts[state] = n
            out[site].proposed += proposed
            out[site].unseen += lost
        late = with_booking(spans.filter(state_on=due.LATE), day)
        for site, booked_for, n in late.values_list("site", "booked_for").annotate(n=Count("pk")):
            out[site].late_booked[booked_for] = n
        for site in _asked_of_nothing([one for one in there if not out[one].counts], day):
            out[site].anything = False
        records = Record.objects.filter(effective_on__lte=day)
        records = records.exclude(kind__in=PLAN_KINDS)  # a plan is no news of any source
        # The newest by an index: the greatest of all would be looked for among all.
        newest = records.filter(site=OuterRef("pk")).order_by("-effective_on")
        last, checked = newest, newest.filter(kind=ACCOUNTING)
        both = Site.objects.filter(pk__in=there).annotate(
            last=Subquery(last.values("effective_on")[:1]),
            checked=Subquery(checked.values("effective_on")[:1]),
        )
        for site, last_on, checked_on in both.values_list("pk", "last", "checked"):
            out[site].last_on, out[site].checked_on = last_on, checked_on
        waiting = FollowUp.objects.open_on(day).filter(site__in=there).order_by()
        for site, n in waiting.values_list("site").annotate(n=Count("pk")):
            out[site].waiting = n
    return out


def _asked_of_nothing(sites: Sequence[int], day: date) -> list[int]:
    """Those of these sites on which nothing is required that day, good or not. Only asked about
    where nothing needs doing: among many thousands that are good it takes its time."""
    if not sites:
        return []
    held = RequirementSpan.objects.on(day).filter(site=OuterRef("pk"))
    return list(Site.objects.filter(~Exists(held), pk__in=sites).values_list("pk", flat=True))
