"""Time lines: what changes with the day is a row (from, until, value), both days included."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date, timedelta
from typing import Self

from django.db import models
from django.db.models import Case, F, Value, When

from config.accounts.models import OPEN_END, Site
from inventory.calc import due
from inventory.calc.stays import IN_USE
from inventory.ledger.models import Item, Record

LAST = OPEN_END
#: States that a person must look at whatever the day.
PRESSING = (due.FAILED, due.NEVER_DONE, due.UNDECIDED, due.AWAITED)


class SpanQuerySet(models.QuerySet):
    """Questions about time lines."""

    def on(self, day: date) -> Self:
        """The rows that hold at the end of that day."""
        return self.filter(from_on__lte=day, until_on__gte=day)

    def live(self) -> Self:
        """The rows that have no end yet."""
        return self.filter(until_on=OPEN_END)


class Span(models.Model):
    """A value from a day until a day. Derived: made from records, compared by check_records."""

    site = models.ForeignKey(Site, on_delete=models.PROTECT, related_name="+")
    item = models.ForeignKey(Item, on_delete=models.PROTECT, related_name="%(class)ss")
    from_on = models.DateField()
    until_on = models.DateField(default=OPEN_END)

    class Meta:
        abstract = True


class Stay(Span):
    """Where an item is. In a gauge: the gauge *and* its location, so one join shows both."""

    gauge = models.ForeignKey(
        Item, null=True, blank=True, on_delete=models.PROTECT, related_name="stays_inside"
    )
    location = models.ForeignKey(
        Item, null=True, blank=True, on_delete=models.PROTECT, related_name="stays_at"
    )
    whereabouts = models.CharField(max_length=20)
    keeping = models.CharField(max_length=20, default=IN_USE)
    away_to = models.CharField(max_length=200, blank=True)

    objects = SpanQuerySet.as_manager()

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["item", "from_on"], name="stay_once"),
            models.UniqueConstraint(
                fields=["item"], condition=models.Q(until_on=OPEN_END), name="stay_one_open"
            ),
            models.CheckConstraint(
                condition=models.Q(until_on__gte=F("from_on")), name="stay_from_before_until"
            ),
        ]
        indexes = [
            models.Index(fields=["location", "until_on", "from_on"]),
            models.Index(fields=["site", "until_on"]),
            # What is not here, among the many that are. Not a partial index: SQLite does not find
            # that a list of bound values is the list of its condition.
            models.Index(fields=["site", "whereabouts", "until_on"], name="stay_by_whereabouts"),
        ]

    def __str__(self) -> str:
        return f"{self.item_id} {self.from_on}"


#: The columns of a decision, in the order of its own fields.
DECISION_FIELDS = ("state", "due_on", "warn_on", "record_id", "row", "since", "proposed")


class RequirementSpanQuerySet(SpanQuerySet):
    """Questions about what is due."""

    def with_state(self, day: date) -> Self:
        """Adds ``state_on`` (as people see it on the day) and ``urgency`` (0 first)."""
        dated = models.Q(state=due.DATED)
        waits = models.Q(state=due.AWAITED)
        shown = Case(
            When((dated | waits) & models.Q(due_on__lt=day), then=Value(due.LATE)),
            When(waits, then=Value(due.AWAITED)),
            When(dated & models.Q(warn_on__lte=day), then=Value(due.DUE_SOON)),
            When(dated, then=Value(due.GOOD)),
            default=F("state"),
            output_field=models.CharField(),
        )
        rank = Case(
            *[When(state_on=state, then=Value(place)) for place, state in enumerate(due.URGENCY)],
            default=Value(len(due.URGENCY)),
            output_field=models.IntegerField(),
        )
        return self.on(day).annotate(state_on=shown).annotate(urgency=rank)

    def decisions(self) -> Iterator[tuple[int, str, due.Decision]]:
        """Item, requirement and what is said of it; of tens of thousands without an object each."""
        fields = ("item_id", "requirement", *DECISION_FIELDS)
        for item, requirement, *said in self.values_list(*fields).iterator(chunk_size=10_000):
            yield item, requirement, due.Decision(*said)

    def needs_doing(self, day: date, ahead: timedelta = timedelta(0)) -> Self:
        """What a person must look at: everything but good, on hold and not required, and every
        change by decay that waits for a person; with ``ahead`` also what falls due within that
        time. Said in stored columns, so that an index finds it among many."""
        soon = models.Q(warn_on__lte=day)
        if ahead:
            soon |= models.Q(due_on__lte=min(day, LAST - ahead) + ahead)
        pressing = models.Q(state__in=PRESSING) | models.Q(state=due.DATED) & soon
        found = self.filter(pressing | ~models.Q(proposed=""), state__in=due.STORED)
        shown: Self = found.with_state(day).order_by("urgency", "due_on", "id")
        return shown


class RequirementSpan(Span):
    """What a requirement says of an item, from a day until a day."""

    requirement = models.CharField(max_length=30)
    state = models.CharField(max_length=20)
    due_on = models.DateField(null=True, blank=True)
    warn_on = models.DateField(null=True, blank=True)
    record = models.ForeignKey(
        Record, null=True, blank=True, on_delete=models.PROTECT, related_name="+"
    )
    row = models.CharField(max_length=60, blank=True)
    proposed = models.CharField(max_length=60, blank=True)
    since = models.DateField(null=True, blank=True)  # awaited: the day it was taken
    closed = models.BooleanField(default=False)

    objects = RequirementSpanQuerySet.as_manager()

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["item", "requirement", "from_on"], name="requirement_span_once"
            ),
            models.CheckConstraint(
                condition=models.Q(until_on__gte=F("from_on")),
                name="requirement_span_from_before_until",
            ),
        ]
        indexes = [
            models.Index(
                fields=["site", "due_on"],
                condition=models.Q(closed=False),
                name="requirement_open_by_site",
            ),
            # All that the list of what needs doing asks, so that what needs nothing is not read.
            models.Index(
                fields=[
                    *("site", "state", "until_on", "warn_on", "due_on", "proposed", "from_on"),
                ],
                name="requirement_by_state",
            ),
            models.Index(
                fields=["site", "until_on"],
                condition=~models.Q(proposed=""),
                name="requirement_proposed",
            ),
            models.Index(
                fields=["requirement", "due_on"],
                condition=models.Q(closed=False),
                name="requirement_open_by_kind",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.item_id} {self.requirement} {self.from_on}"

    @property
    def decision(self) -> due.Decision:
        """What the row says, as ``decide`` said it."""
        return due.Decision(*(getattr(self, name) for name in DECISION_FIELDS))
