"""Planned shutdowns of the plant: days on which what runs can be reached."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from django.db import models

from inventory.ledger.body import day
from inventory.ledger.models import Item, RecordDetail

SHUTDOWN_KIND = "shutdown_planned"


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
