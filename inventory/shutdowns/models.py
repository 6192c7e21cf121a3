"""Planned shutdowns of the plant: days on which what runs can be reached."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from typing import Any, Self

from django.db import models

from config.accounts.models import Site
from inventory.ledger.body import day
from inventory.ledger.models import Item, RecordDetail

SHUTDOWN_KIND = "shutdown_planned"


class ShutdownQuerySet(models.QuerySet):
    """Questions about planned shutdowns."""

    def planned_on(self, site: Site, on: date) -> Self:
        """What the site had planned at the end of a day: a change or a taking back holds from its
        own day on, so that what was planned on a past day does not change afterwards."""
        planned = self.filter(record__site=site, record__effective_on__lte=on)
        planned = planned.filter(begins_on__isnull=False)
        return planned.exclude(record__replaced_by__effective_on__lte=on).order_by(
            "begins_on", "ends_on", "record__seq"
        )

    def not_over(self, on: date) -> Self:
        """Those that still have a day to come, ``on`` included."""
        return self.filter(ends_on__gte=on)


class Shutdown(RecordDetail):
    """A shutdown of a place (empty: of the whole site), both days included; without days it is
    taken back. Its record is about the site."""

    KINDS = (SHUTDOWN_KIND,)

    name = models.CharField(max_length=200)
    place = models.ForeignKey(
        Item, null=True, blank=True, on_delete=models.PROTECT, related_name="shutdowns"
    )
    begins_on = models.DateField(null=True, blank=True)
    ends_on = models.DateField(null=True, blank=True)

    objects = ShutdownQuerySet.as_manager()

    def __str__(self) -> str:
        return self.name

    @classmethod
    def project(cls, body: Mapping[str, Any], pk_of: Mapping[str, int]) -> dict[str, Any]:
        detail = body["detail"]
        return {
            "name": detail["name"],
            "place_id": pk_of[detail["place"]] if detail["place"] else None,
            "begins_on": day(detail["begins_on"]),
            "ends_on": day(detail["ends_on"]),
        }
