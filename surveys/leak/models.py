"""Leak tests: one record a wipe, one result a source."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from django.db import models
from django.utils.translation import gettext_lazy as _

from inventory.ledger.body import day
from inventory.ledger.models import Item, RecordDetail, RecordPoint

LEAK_TEST_KIND = "leak_test"
SESSION_KIND = "counting_session"
SENT_KIND = "wipe_sent"
#: What a wipe's record says of the session in which it was counted.
COUNTED_IN = "counted_in"
GIVEN_UP_KIND = "wipe_given_up"


class Reason(models.TextChoices):
    """Why a wipe was taken."""

    ROUTINE = "routine", _("routine")
    FIRST_USE = "first_use", _("before first use")
    AFTER_EVENT = "after_event", _("after an event")
    BEFORE_TRANSFER = "before_transfer", _("before a transfer")
    RECOUNT = "recount", _("recount or repeat")


class Way(models.TextChoices):
    """How a result was come by."""

    COUNTS = "counts", _("counted here")
    REPORTED = "reported", _("reported by a laboratory")
    DECLARED = "declared", _("declared without figures")


class LeakTest(RecordDetail):
    """What one wipe shares over the sources that it covers."""

    KINDS = (LEAK_TEST_KIND,)

    way = models.CharField(max_length=20, choices=Way.choices)
    why = models.CharField(max_length=20, choices=Reason.choices)
    counted_on = models.DateField(null=True, blank=True)
    laboratory = models.CharField(max_length=200, blank=True)

    def __str__(self) -> str:
        return str(self.pk)

    @classmethod
    def project(cls, body: Mapping[str, Any], pk_of: Mapping[str, int]) -> dict[str, Any]:
        detail = body["detail"]
        return {name: detail[name] for name in ("way", "why", "counted_on", "laboratory")}


class LeakResult(RecordPoint):
    """The verdict for one source, frozen with its basis in the record's text."""

    KINDS = (LEAK_TEST_KIND,)

    item = models.ForeignKey(Item, on_delete=models.PROTECT, related_name="leak_results")
    outcome = models.CharField(max_length=20)
    finding = models.CharField(max_length=60)
    activity_bq = models.FloatField(null=True, blank=True)
    detection_limit_bq = models.FloatField(null=True, blank=True)
    upper_bound_bq = models.FloatField(null=True, blank=True)
    limit_bq = models.FloatField(null=True, blank=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["record", "item"], name="leak_result_once"),
            models.UniqueConstraint(fields=["record", "position"], name="leak_result_position"),
        ]
        indexes = [models.Index(fields=["item", "record"])]

    def __str__(self) -> str:
        return f"{self.item_id} {self.outcome}"

    @classmethod
    def project(cls, point: Mapping[str, Any], pk_of: Mapping[str, int]) -> dict[str, Any]:
        verdict = point["verdict"]
        figures = ("activity_bq", "detection_limit_bq", "upper_bound_bq", "limit_bq")
        return {
            "item_id": pk_of[point["item"]],
            "outcome": verdict["outcome"],
            "finding": verdict["finding"],
            **{name: verdict[name] for name in figures},
        }


class CountingSession(RecordDetail):
    """What a batch of wipes counted together shares: counter, background, check source."""

    KINDS = (SESSION_KIND,)

    counted_on = models.DateField()
    counted_by = models.CharField(max_length=200, blank=True)
    wipes = models.PositiveIntegerField()

    def __str__(self) -> str:
        return f"{self.counted_on} {self.counted_by}"

    @classmethod
    def project(cls, body: Mapping[str, Any], pk_of: Mapping[str, int]) -> dict[str, Any]:
        detail = body["detail"]
        return {
            "counted_on": day(detail["counted_on"]),
            "counted_by": detail["counted_by"],
            "wipes": int(detail["wipes"]),
        }


class WipeSent(RecordDetail):
    """A wipe that was taken and sent to a laboratory: its result is awaited."""

    KINDS = (SENT_KIND,)

    laboratory = models.ForeignKey(Item, on_delete=models.PROTECT, related_name="wipes_received")
    sent_on = models.DateField()
    chase_on = models.DateField()

    def __str__(self) -> str:
        return f"{self.sent_on} {self.laboratory_id}"

    @classmethod
    def project(cls, body: Mapping[str, Any], pk_of: Mapping[str, int]) -> dict[str, Any]:
        detail = body["detail"]
        return {
            "laboratory_id": pk_of[detail["laboratory"]],
            "sent_on": day(detail["sent_on"]),
            "chase_on": day(detail["chase_on"]),
        }
