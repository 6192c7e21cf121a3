"""Movements: received, installed, moved."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from django.db import models

from inventory.calc.stays import IN_USE, VERBS
from inventory.ledger.body import day
from inventory.ledger.models import Item, RecordDetail

#: Fields that movements of the first edition do not have.
_TEXTS = ("away_to", "owner", "authorisation", "document")


class Movement(RecordDetail):
    """Where a source, gauge or monitor went."""

    KINDS = VERBS

    gauge = models.ForeignKey(
        Item, null=True, blank=True, on_delete=models.PROTECT, related_name="movements_into"
    )
    location = models.ForeignKey(
        Item, null=True, blank=True, on_delete=models.PROTECT, related_name="movements_to"
    )
    supplier = models.CharField(max_length=200, blank=True)
    keeping = models.CharField(max_length=20, default=IN_USE)
    away_to = models.CharField(max_length=200, blank=True)  # job site, consignee or who took it
    expected_on = models.DateField(null=True, blank=True)  # back, there, or the visit's end
    owner = models.CharField(max_length=200, blank=True)  # of a visiting source
    authorisation = models.CharField(max_length=200, blank=True)
    document = models.CharField(max_length=200, blank=True)

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=models.Q(gauge__isnull=True) | models.Q(location__isnull=True),
                name="movement_to_one_place",
            ),
        ]
        indexes = [
            models.Index(
                fields=["expected_on"],
                condition=~models.Q(owner=""),
                name="movement_visiting",
            ),
        ]

    def __str__(self) -> str:
        return str(self.pk)

    @classmethod
    def project(cls, body: Mapping[str, Any], pk_of: Mapping[str, int]) -> dict[str, Any]:
        detail = body["detail"]
        return {
            "gauge_id": pk_of[detail["gauge"]] if detail["gauge"] else None,
            "location_id": pk_of[detail["location"]] if detail["location"] else None,
            "supplier": detail["supplier"],
            "keeping": detail.get("keeping", IN_USE),
            "expected_on": day(detail.get("expected_on")),
            **{name: detail.get(name, "") for name in _TEXTS},
        }
