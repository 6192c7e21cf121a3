"""The only door through which evidence is written.

    with writing(site, by=user, at=now, seen=seq) as ledger:
        ledger.append(Draft(...))

One transaction: it locks the site's chain, whatever the caller decides on is read inside, the
records are appended, and on leaving everything derived from the items touched is refreshed.
"""

from __future__ import annotations

import json
import secrets
import uuid
from collections import defaultdict
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import Any

from django.db import transaction

from config.accounts.models import Site, User
from inventory.calc.errors import DomainError
from inventory.ledger.draft import About, Draft
from inventory.ledger.models import Chain, Item, Record, RecordItem, sort_key
from inventory.ledger.rows import Row, insert, insert_rows

__all__ = [
    "About",
    "Draft",
    "Ledger",
    "NewItem",
    "Overtaken",
    "last_seq",
    "new_code",
    "read_body",
    "writing",
]

#: No vowels and no look-alikes: a code is read aloud at a gauge.
CODE_LETTERS = "23456789BCDFGHJKMNPQRSTVWXZ"


#: Longer than anybody waits for the lock of a chain (see ``config.env``: 20 s on SQLite).
LONGEST_WAIT = timedelta(seconds=30)


class Overtaken(Exception):
    """Others have written about the same items since the form was opened."""

    def __init__(self, records: list[Record]) -> None:
        super().__init__(f"{len(records)} records since")
        self.records = records


@dataclass(frozen=True, slots=True)
class NewItem:
    """What an item that does not exist yet will be called and found by."""

    kind: str
    label: str
    key: str
    continues: Item | None = None


def new_code() -> str:
    """Eight characters that name an item for ever."""
    return "".join(secrets.choice(CODE_LETTERS) for _ in range(8))


class Ledger:
    """An open transaction on one chain. Made by ``writing`` only."""

    def __init__(self, chain: Chain, by: User, at: datetime, seen: int | None) -> None:
        self.chain = chain
        self.by = by
        self.at = at
        self.seen = seen
        self.touched: set[int] = set()
        self.concerns_all = False
        self._start = chain.length
        self._pk_of = _Keys()

    @property
    def today(self) -> date:
        """The day of recording in the site's time zone."""
        return self.chain.site.day(self.at) if self.chain.site else self.at.date()

    def already(self, request_key: uuid.UUID | None, kind: str) -> Record | None:
        """The record that this request wrote before: a double click or a resend writes once."""
        if request_key is None:
            return None
        found = Record.objects.filter(request_key=request_key).first()
        if found and (found.chain_id, found.kind) != (self.chain.pk, kind):
            raise DomainError("request_key_used_elsewhere")
        return found

    def new_item(self, kind: str, label: str, key: str, continues: Item | None = None) -> Item:
        """An item that does not exist yet; its description must follow in the same act."""
        return self.new_items([NewItem(kind, label, key, continues)])[0]

    def new_items(self, wanted: Sequence[NewItem]) -> list[Item]:
        """Several of them in one statement, in the same order."""
        assert self.chain.site is not None
        items = [
            Item(
                code=new_code(),
                site=self.chain.site,
                kind=one.kind,
                label=one.label,
                label_sort=sort_key(one.label),
                key=sort_key(one.key) or "?",
                continues=one.continues,
            )
            for one in wanted
        ]
        insert_rows(Item, items)
        found = Item.objects.filter(code__in=[item.code for item in items])
        keys = dict(found.values_list("code", "pk"))
        for item in items:
            item.pk = keys[item.code]
            item._state.adding, item._state.db = False, found.db
        return items

    def append(self, draft: Draft) -> Record:
        """Write one record. Raises DomainError or Overtaken; then nothing has been saved."""
        return self.append_many([draft])[0]

    def append_many(self, drafts: Sequence[Draft]) -> list[Record]:
        """Write several records in order, with a fixed number of statements a kind."""
        rows = [Row(draft) for draft in drafts]
        with transaction.atomic():  # a caller may catch what is raised and go on in the same act
            self._catch_up()
            self._check_corrections(drafts)
            today = self.today
            for row in rows:
                self._check(row.draft, today)
            if self.seen is not None:
                self._check_seen({about.item.pk for row in rows for about in row.draft.about})
            for row in rows:
                row.seal(self.chain, self.by, self.at)
            insert(rows, self.chain, self._codes(rows))
            Chain.objects.filter(pk=self.chain.pk).update(
                length=self.chain.length, head=self.chain.head
            )
        self.touched.update(
            about.item.pk for row in rows if row.draft.derives for about in row.draft.about
        )
        self.concerns_all |= any(row.draft.concerns_all for row in rows)
        return [row.record for row in rows]

    def _catch_up(self) -> None:
        """Go on from where the chain is. It is locked, but an act inside this one may have written
        to it, and what was appended before may have been rolled back with a savepoint."""
        known = self.chain.length
        self.chain.refresh_from_db(fields=["length", "head"])
        if self.chain.length != known:
            self.at = _moment(self.chain, self.at)

    def _check(self, draft: Draft, today: date) -> None:
        if draft.effective_on > today:
            raise DomainError("effective_in_future", {"on": draft.effective_on}, field="on")
        if draft.effective_time is not None and draft.effective_time.tzinfo is not None:
            raise ValueError("a time of day is the site's own, without a time zone")
        instrument = [draft.instrument] if draft.instrument else []
        for item in (*(about.item for about in draft.about), *instrument):
            if item.site_id != self.chain.site_id:
                raise DomainError("item_of_another_site", {"item": item.label})
        if any(target.chain_id != self.chain.pk for target, _ in draft.links):
            raise ValueError("a link names a record of its own chain")

    def _check_corrections(self, drafts: Sequence[Draft]) -> None:
        pairs = [(draft, draft.replaces) for draft in drafts if draft.replaces is not None]
        if not pairs:
            return
        olds = {old.pk for _, old in pairs}
        corrected = set(
            Record.objects.filter(replaces__in=olds).values_list("replaces_id", flat=True)
        )
        named: dict[int, set[int]] = defaultdict(set)
        for record, item in RecordItem.objects.filter(record__in=olds).values_list(
            "record_id", "item_id"
        ):
            named[record].add(item)
        for draft, old in pairs:
            self._check_replaces(draft, old, old.pk in corrected, named[old.pk])
            corrected.add(old.pk)

    def _check_replaces(self, draft: Draft, old: Record, corrected: bool, named: set[int]) -> None:
        if not draft.reason.strip():
            raise DomainError("correction_needs_reason", field="reason")
        if old.chain_id != self.chain.pk or old.kind != draft.kind:
            raise DomainError("correction_of_another_kind", {"seq": old.seq})
        if corrected:
            raise DomainError("already_corrected", {"seq": old.seq})
        if named - {about.item.pk for about in draft.about}:
            # An item that the wrong record named must learn of the correction too.
            raise DomainError("correction_drops_item", {"seq": old.seq})

    def _check_seen(self, items: set[int]) -> None:
        later = (
            Record.objects.filter(
                chain=self.chain,
                seq__gt=self.seen,
                seq__lte=self._start,  # what this act itself wrote overtakes nobody
                pk__in=RecordItem.objects.filter(item__in=items).values("record"),
            )
            .select_related("recorded_by")
            .order_by("seq")
        )
        if found := list(later):
            raise Overtaken(found)

    def _codes(self, rows: Sequence[Row]) -> dict[str, int]:
        """Keys of every item code of this site that the new texts mention, in one query."""
        codes = {code for row in rows for code in row.codes()} - self._pk_of.keys()
        if codes:
            items = Item.objects.filter(site=self.chain.site, code__in=codes)
            self._pk_of.update(items.values_list("code", "pk"))
        return self._pk_of


class _Keys(dict[str, int]):
    """Items of the site by their code; any other code names nothing here."""

    def __missing__(self, code: str) -> int:
        raise DomainError("item_of_another_site", {"item": code})


def _locked_chain(site: Site | None) -> Chain:
    """The chain's row, locked until the end of the transaction; made on first use."""
    chain = Chain.objects.select_for_update().filter(site=site).first()
    if chain is None:
        Chain.objects.get_or_create(site=site)
        chain = Chain.objects.select_for_update().get(site=site)
    chain.site = site  # known already: nobody asks for it again
    return chain


def _moment(chain: Chain, at: datetime) -> datetime:
    """The moment of recording, never before that of the last record. Somebody who read the clock
    and then waited while another saved is taken along; a clock that is really behind is refused."""
    last = Record.objects.filter(chain=chain).order_by("-seq").values("seq", "recorded_at").first()
    if last is None or last["recorded_at"] <= at:
        return at
    before: datetime = last["recorded_at"]
    if before - at > LONGEST_WAIT:
        raise DomainError("clock_runs_backwards", {"seq": last["seq"]})
    return before


@contextmanager
def writing(
    site: Site | None, *, by: User, at: datetime, seen: int | None = None
) -> Iterator[Ledger]:
    """Open the ledger of a site (None: of the installation) for one act.

    ``seen`` is the number of the last record that the form knew of; later ones about the same
    items raise Overtaken. ``at`` is the moment of recording; a clock that runs backwards is
    refused, for "as it was known then" rests on the order of these moments.
    """
    from inventory import derive

    if at.tzinfo is None:
        raise ValueError("the moment of recording needs its time zone")
    with transaction.atomic():
        chain = _locked_chain(site)
        ledger = Ledger(chain, by, _moment(chain, at), seen)
        yield ledger
        derive.refresh(ledger.touched, whole_site=site if ledger.concerns_all else None)


def last_seq(site: Site) -> int:
    """The number of the site's last record: what a form remembers as ``seen``."""
    found = Chain.objects.filter(site=site).values_list("length", flat=True).first()
    return found or 0


def read_body(record: Record) -> dict[str, Any]:
    """A record's text as data."""
    data: dict[str, Any] = json.loads(record.body)
    return data
