"""Who has what booked, and what kept people from doing it: read beside the rows of what is due.

The newest booking of a line holds. It is spent once the line was done: once a pass that counts, or
a sample whose result is awaited, lies after it (the same day and recorded later, or a later day).
That is read from the time line, so it holds for every day that can be asked about.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import date
from typing import Any

from django.db.models import Case, DateField, Exists, F, IntegerField, OuterRef, Q, Subquery, When

from config.accounts.models import Site
from inventory.calc import due
from inventory.ledger.models import Record
from inventory.requirements.models import BOOKED_KIND, NOT_DONE_KIND, Attempt, Booking
from inventory.timeline import RequirementSpan

PLAN_KINDS = (BOOKED_KIND, NOT_DONE_KIND)


def with_booking(spans: Any, on: date) -> Any:
    """Adds ``booked_for`` and ``with_whom`` (null where nobody has it booked) to rows of
    ``RequirementSpan.objects.on(on)``: for filters and counts, all in SQL."""
    booked = _newest(BOOKED_KIND, on)
    whom = Booking.objects.filter(pk=OuterRef("booking")).values("with_whom")
    day = booked.values(day=_standing(F("booking__booked_for"), DateField(), on, booked=True))
    key = booked.values(key=_standing(F("pk"), IntegerField(), on, booked=True))
    return spans.annotate(
        booked_for=Subquery(day[:1]), booking=Subquery(key[:1]), with_whom=Subquery(whom[:1])
    )


def _newest(kind: str, on: date) -> Any:
    """The records of a kind about the row, by the end of a day, the newest first."""
    detail = "booking" if kind == BOOKED_KIND else "attempt"
    return Record.objects.filter(
        about__item=OuterRef("item"),
        about__kind=kind,
        about__effective_on__lte=on,
        replaced_by__isnull=True,
        **{f"{detail}__requirement": OuterRef("requirement")},
    ).order_by("-seq")


def _standing(value: Any, output: Any, on: date, *, booked: bool = False) -> Case:
    """The value, or null when the line was done since, or the booking was taken back."""
    after = Q(record__effective_on__gt=OuterRef("effective_on")) | Q(
        record__effective_on=OuterRef("effective_on"), record__seq__gt=OuterRef("seq")
    )
    done = RequirementSpan.objects.filter(
        after,
        item=OuterRef(OuterRef("item")),
        requirement=OuterRef(OuterRef("requirement")),
        from_on__lte=on,
        state__in=(due.DATED, due.AWAITED),
    )
    gone = Q(Exists(done))
    if booked:
        gone |= Q(booking__booked_for__isnull=True)
    return Case(When(gone, then=None), default=value, output_field=output)


@dataclass(frozen=True, slots=True)
class Plans:
    """The bookings and attempts of some rows, by the key of the row."""

    bookings: dict[int, Booking] = field(default_factory=dict)
    attempts: dict[int, Attempt] = field(default_factory=dict)


def plans_of(spans: Iterable[RequirementSpan], on: date) -> Plans:
    """What rows of a page have booked and what was tried since they were last done: three
    queries, whatever their number."""
    rows = RequirementSpan.objects.filter(pk__in=[span.pk for span in spans])
    booked, tried = _newest(BOOKED_KIND, on), _newest(NOT_DONE_KIND, on)
    keys = rows.annotate(
        booking=Subquery(
            booked.values(key=_standing(F("pk"), IntegerField(), on, booked=True))[:1]
        ),
        attempt=Subquery(tried.values(key=_standing(F("pk"), IntegerField(), on))[:1]),
    ).values_list("pk", "booking", "attempt")
    found = list(keys)
    return Plans(
        _by_row(Booking, {pk: booking for pk, booking, _attempt in found if booking}),
        _by_row(Attempt, {pk: attempt for pk, _booking, attempt in found if attempt}),
    )


def _by_row(model: Any, keys: dict[int, int]) -> dict[int, Any]:
    details = model.objects.select_related("record").in_bulk(list(keys.values()))
    return {pk: details[key] for pk, key in keys.items()}


def people_with_bookings(site: Site, on: date) -> list[str]:
    """The names that bookings of a site bear, by the end of a day."""
    found = Booking.objects.filter(record__site=site, record__kind=BOOKED_KIND)
    names = found.filter(record__effective_on__lte=on).exclude(with_whom="")
    return sorted(set(names.order_by().values_list("with_whom", flat=True).distinct()))
