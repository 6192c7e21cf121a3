"""What people plan about a requirement, and what kept them from it. Neither moves a due date."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from django.db import models

from inventory.ledger.body import day
from inventory.ledger.models import RecordDetail

BOOKED_KIND, NOT_DONE_KIND = "booked", "not_done"


class Booking(RecordDetail):
    """Somebody has a requirement of an item booked for a day; without a day: booked no longer."""

    KINDS = (BOOKED_KIND,)

    requirement = models.CharField(max_length=30)
    booked_for = models.DateField(null=True, blank=True)
    with_whom = models.CharField(max_length=200, blank=True)
    work_order = models.CharField(max_length=100, blank=True)

    def __str__(self) -> str:
        return f"{self.requirement} {self.booked_for}"

    @classmethod
    def project(cls, body: Mapping[str, Any], pk_of: Mapping[str, int]) -> dict[str, Any]:
        detail = body["detail"]
        names = ("requirement", "with_whom", "work_order")
        return {
            **{name: detail[name] for name in names},
            "booked_for": day(detail["booked_for"]),
        }


class Attempt(RecordDetail):
    """It was not done, because ...: a normal outcome, with what is done meanwhile."""

    KINDS = (NOT_DONE_KIND,)

    requirement = models.CharField(max_length=30)
    because = models.CharField(max_length=1000)
    meanwhile = models.CharField(max_length=1000, blank=True)

    def __str__(self) -> str:
        return f"{self.requirement} {self.because}"

    @classmethod
    def project(cls, body: Mapping[str, Any], pk_of: Mapping[str, int]) -> dict[str, Any]:
        return {name: body["detail"][name] for name in ("requirement", "because", "meanwhile")}
