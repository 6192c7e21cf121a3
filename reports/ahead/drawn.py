"""What lies ahead as the page draws it: plain data with addresses."""

from __future__ import annotations

import json
from collections.abc import Iterator
from typing import Any

from django.urls import reverse
from django.utils.translation import gettext as _

from config.permissions import ENTER
from inventory.calc import ahead
from inventory.ledger.models import ItemKind
from inventory.requirements.wording import booking_text
from inventory.sentences import day_text
from inventory.shutdowns.wording import days_text, overlap_text, place_text
from reports.ahead import other_words, stop_words, words
from reports.ahead.read import Ahead, Stop

#: More lines than this of one table are for the files, which hold all of them.
MOST = 200
#: A round, or what is held against a shutdown, is folded away when it has more lines than this.
FEW, SOME = 4, 12


class Drawn:
    """What the lines of the page share."""

    def __init__(self, request: Any, found: Ahead) -> None:
        self.found, self.on = found, found.asked.on
        self.site = request.site.slug
        self.things: dict[int, dict[str, str]] = {}
        self.needs: dict[int, dict[str, Any]] = {}  # a need stands under its month and a shutdown
        self.may_enter = bool(request.roles & ENTER)

    def month(self, month: ahead.Month) -> dict[str, Any]:
        """A month with its rounds."""
        return {
            "title": words.month_title(month),
            "summary": words.month_summary(month),
            "rounds": [self._round(one) for one in month.rounds if one.needs],
            "projected": [
                {
                    "work": self.found.kinds.word(requirement),
                    "count": words.projected_text(n),
                    "places": words.places_text(places),
                }
                for requirement, n, places in words.projected_only(month, self.found.names)
            ],
        }

    def _round(self, one: ahead.Round) -> dict[str, Any]:
        lines = [self._need(need) for need in one.needs[:MOST]]
        return {
            "work": self.found.kinds.word(one.requirement),
            "where": self.found.names.label(one.place),
            "count": words.count_text(one),
            "lines": lines,
            "folded": len(one.needs) > FEW,
            "plain": not one.projected and len(one.needs) <= FEW,  # its lines say how many
            "more": max(len(one.needs) - MOST, 0),
        }

    def _need(self, need: ahead.Need) -> dict[str, Any]:
        if need.key not in self.needs:
            booking = self.found.bookings.get(need.key)
            self.needs[need.key] = {
                **self._thing(need.item),
                "work": self.found.kinds.word(need.requirement),
                "state": need.state,
                "said": words.need_text(need, self.on),
                "booked": booking_text(booking, self.on) if booking else "",
            }
        return self.needs[need.key]

    def _thing(self, item: int) -> dict[str, str]:
        if item not in self.things:
            thing = self.found.names.things[item]
            name = "laboratory" if thing.kind == ItemKind.LABORATORY else "item"
            self.things[item] = {
                "label": thing.label,
                "url": reverse(name, args=[self.site, thing.code]),
                "where": self.found.names.where(item),
            }
        return self.things[item]

    def stop(self, stop: Stop) -> dict[str, Any]:
        """A shutdown and everything held against it."""
        planned = stop.shutdown
        assert planned.begins_on is not None and planned.ends_on is not None
        seq = planned.record.seq
        return {
            "name": planned.name,
            "days": days_text(planned.begins_on, planned.ends_on),
            "place": place_text(planned),
            "summary": stop_words.stop_summary(stop.verdicts),
            "short": stop_words.short_by_kind(stop.verdicts, self.found.kinds),
            "overlap": overlap_text(stop.overlaps),
            "remark": json.loads(planned.record.body)["remark"],
            "record": seq,
            "record_url": reverse("record", args=[self.site, seq]),
            "links": list(self._links(seq)) if self.may_enter else [],
            "lines": [self._verdict(one) for one in stop.verdicts[:MOST]],
            "folded": len(stop.verdicts) > SOME,
            "more": max(len(stop.verdicts) - MOST, 0),
        }

    def _links(self, seq: int) -> Iterator[tuple[str, str]]:
        args = [self.site, seq]
        yield _("Change it"), reverse("shutdown-change", args=args)
        yield _("It does not take place"), reverse("shutdown-take-back", args=args)

    def _verdict(self, one: ahead.Verdict) -> dict[str, Any]:
        return {
            **self._need(one.need),
            "due": day_text(one.need.due_on) if one.need.due_on else "–",
            "state": stop_words.verdict_state(one),
            "said": stop_words.verdict_text(one, self.on),
        }

    def cover(self, one: ahead.Cover) -> dict[str, Any]:
        """What can be measured, by what, and when it cannot."""
        return {
            "what": other_words.measures(one.what),
            "monitors": [self._monitor(monitor) for monitor in one.monitors],
            "gaps": [other_words.gap_text(one.what, gap) for gap in one.gaps],
            "no_gap": other_words.no_gap_text(self.found.end),
        }

    def _monitor(self, monitor: int) -> dict[str, Any]:
        booking = self.found.calibrations.get(monitor)
        return {
            **self._thing(monitor),
            "said": other_words.in_date_text(self.found.in_date.get(monitor, ()), self.on),
            "booked": booking_text(booking, self.on) if booking else "",
        }

    def year(self, year: ahead.Year) -> dict[str, Any]:
        """A year and what ends in it."""
        return {
            "title": other_words.year_title(year, self.on),
            "lines": [
                {
                    **self._thing(ending.item),
                    "day": day_text(ending.on),
                    "said": other_words.ending_text(ending),
                }
                for ending in year.endings[:MOST]
            ],
            "more": max(len(year.endings) - MOST, 0),
        }
