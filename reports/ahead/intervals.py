"""How often what is required comes again, by the row that decided."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from datetime import date
from typing import Any

from config.accounts.models import Site
from inventory.calc.ahead import Interval, Span
from inventory.calc.due import Schedule, schedule_on
from inventory.knowledge.surroundings import OF_GAUGE
from inventory.ledger.models import RecordItem
from inventory.rules.schema import INTERVAL, Row
from inventory.schedule.models import SETTING_KIND


class Intervals:
    """The intervals of the rows of a schedule, and of what was set for single things."""

    def __init__(
        self, site: Site, schedules: Sequence[Schedule], on: date, gauge_of: Mapping[int, int]
    ) -> None:
        self._gauge_of = gauge_of
        self._set = _settings(site, on)
        later = [one for one in schedules if one.from_on > on]
        held = schedule_on(schedules, on)
        # The schedule in force says it last: a later one only names rows of its own.
        whole = (*later, *([held] if held else ()))
        self._rows = {row.id: _of_row(row) for one in whole for row in one.rules.rows}

    def __call__(self, span: Span) -> Interval | None:
        """That of the row which a span names; a setting on a gauge holds for what is inside."""
        of_gauge = span.row.removesuffix(OF_GAUGE)
        for key in ((span.item, span.row), (self._gauge_of.get(span.item, 0), of_gauge)):
            if key in self._set:
                return self._set[key]
        return self._rows.get(span.row)


def _of_row(row: Row) -> Interval | None:
    if row.result != INTERVAL or not (row.months or row.days):
        return None
    year_end = row.ends != "anniversary"
    return Interval(row.months or 0, row.days or 0, row.grace_days, to_year_end=year_end)


def _settings(site: Site, on: date) -> dict[tuple[int, str], Interval | None]:
    """The rows set for single things by the end of a day, by item and id, from their texts: the
    newest of an id holds. One query."""
    mentions = RecordItem.objects.filter(
        item__site=site,
        kind=SETTING_KIND,
        effective_on__lte=on,
        record__replaced_by__isnull=True,
    ).order_by("effective_on", "record__seq")
    out: dict[tuple[int, str], Interval | None] = {}
    for item, body in mentions.values_list("item", "record__body"):
        row = json.loads(body)["detail"]["row"]
        if row:
            out[item, row["id"]] = _of_text(row)
    return out


def _of_text(row: Mapping[str, Any]) -> Interval | None:
    """An interval from the text of a row, in which numbers are text too."""
    months, days, grace = (int(row.get(name) or 0) for name in ("months", "days", "grace_days"))
    if row.get("result", INTERVAL) != INTERVAL or not (months or days):
        return None
    year_end = row.get("ends", "anniversary") != "anniversary"
    return Interval(months, days, grace, to_year_end=year_end)
