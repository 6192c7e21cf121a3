"""Which wipes are away: sent, not corrected, and neither reported nor given up."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

from django.db.models import Exists, OuterRef, QuerySet

from config.accounts.models import Site
from inventory.calc.errors import DomainError
from inventory.knowledge import COMPLETES
from inventory.ledger.models import Item, Record, RecordLink
from inventory.ledger.write import read_body
from surveys.leak.models import SENT_KIND


def sent(site: Site) -> QuerySet[Record]:
    """The wipes that were sent and not corrected since, in the order in which they were taken."""
    found = Record.objects.filter(site=site, kind=SENT_KIND, replaced_by__isnull=True)
    return found.order_by("effective_on", "seq")


def waiting(site: Site) -> QuerySet[Record]:
    """Those of them whose result nobody has entered and that nobody has given up."""
    ended = RecordLink.objects.filter(
        target=OuterRef("pk"), role=COMPLETES, record__replaced_by__isnull=True
    )
    return sent(site).exclude(Exists(ended))


def waiting_at(laboratory: Item) -> QuerySet[Record]:
    """Those of them that are at one laboratory."""
    return waiting(laboratory.site).filter(instrument=laboratory)


@dataclass(frozen=True, slots=True)
class Away:
    """One wipe that is away, as its record says."""

    record: Record
    sources: tuple[Item, ...]
    laboratory: Item
    taken_on: date
    sent_on: date
    chase_on: date
    detail: dict[str, Any]

    @property
    def seq(self) -> int:
        return self.record.seq

    @property
    def names(self) -> str:
        """The sources that it covers."""
        return ", ".join(source.label for source in self.sources)

    @property
    def envelope(self) -> str:
        """What stands on its envelope."""
        return str(self.detail["label"])

    def days_over(self, on: date) -> int:
        """How many days ago it should have been chased; zero before."""
        return max(0, (on - self.chase_on).days)


def away(records: Iterable[Record]) -> Iterator[Away]:
    """The records of wipes sent, read; they come from ``shown``."""
    for record in records:
        detail = read_body(record)["detail"]
        laboratory = record.instrument
        assert laboratory is not None
        mentions = [one for one in record.about.all() if one.role == "subject"]
        yield Away(
            record=record,
            sources=tuple(mention.item for mention in mentions),
            laboratory=laboratory,
            taken_on=record.effective_on,
            sent_on=date.fromisoformat(detail["sent_on"]),
            chase_on=date.fromisoformat(detail["chase_on"]),
            detail=detail,
        )


def shown(records: QuerySet[Record]) -> QuerySet[Record]:
    """With everything that ``away`` reads."""
    return records.select_related("instrument").prefetch_related("about__item")


def still_away(records: QuerySet[Record], numbers: Sequence[int]) -> dict[int, Away]:
    """Those of the waiting wipes that have these numbers. Raises DomainError (its ``number`` says
    which) where one of them is not away any more, or is named twice."""
    found = {one.seq: one for one in away(shown(records.filter(seq__in=numbers)))}
    for number, seq in enumerate(numbers):
        if seq not in found or list(numbers).count(seq) > 1:
            error = DomainError("wipe_not_away", {"seq": seq})
            error.number = number
            raise error
    return found
