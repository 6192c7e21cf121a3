"""Follow-ups: opened by a record that fails or accuses, closed by a record of the supervisor."""

from __future__ import annotations

from datetime import date
from typing import Self

from django.db import models

from config.accounts.models import Site
from inventory.ledger.models import Item, Record

CLOSED_KIND = "followup_closed"
STEP_KIND, STEP_DONE_KIND = "followup_step", "followup_step_done"


class FollowUpQuerySet(models.QuerySet["FollowUp"]):
    """Questions about follow-ups."""

    def open_on(self, day: date) -> Self:
        """Those open at the end of that day."""
        return self.filter(opened_on__lte=day).filter(
            models.Q(closed_on__isnull=True) | models.Q(closed_on__gt=day)
        )

    def still_open(self) -> Self:
        """Those that nobody has closed."""
        return self.filter(closed_by__isnull=True)


class FollowUp(models.Model):
    """An open point on an item. Derived from records; the row is an index on them."""

    site = models.ForeignKey(Site, on_delete=models.PROTECT, related_name="+")
    item = models.ForeignKey(Item, on_delete=models.PROTECT, related_name="followups")
    kind = models.CharField(max_length=40)
    opened_by = models.ForeignKey(Record, on_delete=models.PROTECT, related_name="opened")
    opened_on = models.DateField()
    closed_by = models.ForeignKey(
        Record, null=True, blank=True, on_delete=models.PROTECT, related_name="closed"
    )
    closed_on = models.DateField(null=True, blank=True)

    objects = FollowUpQuerySet.as_manager()

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["item", "opened_by"], name="followup_once"),
            models.CheckConstraint(
                condition=models.Q(closed_by__isnull=True, closed_on__isnull=True)
                | models.Q(closed_by__isnull=False, closed_on__isnull=False),
                name="followup_closed_by_a_record",
            ),
        ]
        indexes = [models.Index(fields=["site", "closed_on"])]

    def __str__(self) -> str:
        return f"{self.item_id} {self.kind} {self.opened_on}"


class FollowUpStepQuerySet(models.QuerySet["FollowUpStep"]):
    """Questions about steps."""

    def of(self, *follow_ups: FollowUp) -> Self:
        """The steps of these follow-ups (and perhaps of others that share item and record with
        them, when several are asked for), in the order in which they were added."""
        these = {(one.item_id, one.opened_by_id) for one in follow_ups}
        wanted = self.filter(
            item__in={item for item, _ in these}, opened_by__in={opened for _, opened in these}
        )
        return wanted.order_by("added_by")


class FollowUpStep(models.Model):
    """Something to be done before a follow-up can be closed. Derived, as the follow-up is."""

    site = models.ForeignKey(Site, on_delete=models.PROTECT, related_name="+")
    item = models.ForeignKey(Item, on_delete=models.PROTECT, related_name="followup_steps")
    opened_by = models.ForeignKey(Record, on_delete=models.PROTECT, related_name="+")
    added_by = models.ForeignKey(Record, on_delete=models.PROTECT, related_name="+")
    text = models.CharField(max_length=500)
    who = models.CharField(max_length=200, blank=True)
    by_on = models.DateField(null=True, blank=True)
    done_by = models.ForeignKey(
        Record, null=True, blank=True, on_delete=models.PROTECT, related_name="+"
    )
    done_on = models.DateField(null=True, blank=True)

    objects = FollowUpStepQuerySet.as_manager()

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["item", "added_by"], name="followup_step_once"),
            models.CheckConstraint(
                condition=models.Q(done_by__isnull=True, done_on__isnull=True)
                | models.Q(done_by__isnull=False, done_on__isnull=False),
                name="followup_step_done_by_a_record",
            ),
        ]
        indexes = [models.Index(fields=["item", "opened_by"])]

    def __str__(self) -> str:
        return self.text
