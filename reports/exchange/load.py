"""Load a list of sources: parsed outside, written in one transaction; all of it or nothing."""

from __future__ import annotations

import csv
import io
import json
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any

from django.db import transaction

from config.accounts.models import Role, Site, User, roles_on
from inventory.calc.errors import DomainError
from inventory.calc.explain import Scalar
from inventory.custody.actions import Movement, record_movement
from inventory.items.actions import describe_new, gauge_snapshot, location_snapshot
from inventory.ledger import canonical
from inventory.ledger.body import DESCRIBED
from inventory.ledger.models import Item, ItemKind, Record, sort_key
from inventory.ledger.write import Ledger, writing
from inventory.sentences import day_text, error_text
from inventory.timeline import Stay
from reports.exchange.source_rows import COLUMNS, SourceRow
from surveys.leak.actions import record_leak_test
from surveys.leak.judging import judge_wipe
from surveys.leak.models import LEAK_TEST_KIND
from surveys.leak.wipe import DeclaredBy, Wipe
from surveys.sentences import SENTENCES

LARGEST_FILE = 10 * 1024 * 1024
MOST_ROWS = 20_000


@dataclass(frozen=True, slots=True)
class Row:
    """A row that was understood; ``line`` is that of the file."""

    line: int
    form: SourceRow

    @property
    def identity(self) -> tuple[str, ...]:
        """Maker, model and serial; without a serial the row is known by everything it says."""
        data = self.form.cleaned_data
        nuclide = data["nuclide"].name
        if data["serial"]:
            return (nuclide, *(sort_key(data[name]) for name in ("maker", "model", "serial")))
        return (nuclide, *(str(self.form.data.get(name, "")).strip() for name in COLUMNS))


class LoadFault(Exception):
    """The file cannot be loaded; every sentence names the row and what was expected."""

    def __init__(self, sentences: Sequence[str]) -> None:
        super().__init__("\n".join(sentences))
        self.sentences = list(sentences)


@dataclass(frozen=True, slots=True)
class Loaded:
    """What loading did, or would do."""

    added: int
    already_here: int
    wipes: int


def read(content: bytes) -> list[Row]:
    """Every row of a file, parsed. Raises LoadFault with all that is wrong with it."""
    cells = list(_cells(_text(content)))
    rows, faults = [], []
    for line, values in cells:
        form = SourceRow(values)
        if form.is_valid():
            rows.append(Row(line, form))
        else:
            faults += list(_faults(line, form))
    faults += list(_twice(rows))
    if faults:
        raise LoadFault(faults)
    if not rows:
        raise LoadFault(["The file has no rows below its heads."])
    return rows


def _text(content: bytes) -> str:
    if len(content) > LARGEST_FILE:
        raise LoadFault(["The file is larger than 10 MB: is it a list of sources?"])
    if content[:4] == b"PK\x03\x04" or content[:4] == b"%PDF":
        raise LoadFault(["This is not a CSV file: save the sheet as CSV (UTF-8) and load that."])
    try:
        text = content.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = content[: error.start].count(b"\n") + 1
        raise LoadFault(
            [f"Line {line} is not UTF-8: save the sheet as CSV (UTF-8) and load that."]
        ) from error
    if "\x00" in text:
        raise LoadFault(["This is not a CSV file: it holds bytes that no text has."])
    return text


def _cells(text: str) -> Iterator[tuple[int, dict[str, str]]]:
    """Line and cells of every row that is not blank."""
    reader = csv.DictReader(io.StringIO(text, newline=""), strict=True)
    try:
        heads = [(head or "").strip() for head in reader.fieldnames or []]
        _check_heads(heads)
        reader.fieldnames = heads
        for count, row in enumerate(reader):
            if count >= MOST_ROWS:
                raise LoadFault([f"The file has more than {MOST_ROWS} rows."])
            if None in row:
                raise LoadFault([f"Row {reader.line_num}: has more cells than there are heads."])
            values = {name: (value or "").strip() for name, value in row.items()}
            if any(values.values()):
                yield reader.line_num, values
    except csv.Error as error:
        line = reader.reader.line_num  # its own number is that of the row before
        raise LoadFault([f"Line {line} is not CSV: {error}."]) from error


def _check_heads(heads: Sequence[str]) -> None:
    missing = [name for name in COLUMNS if name not in heads]
    if len(missing) == len(COLUMNS):
        raise LoadFault(
            ["This is not the template: its first line must hold the heads " + ", ".join(COLUMNS)]
        )
    if missing:
        raise LoadFault([f"The column {name} is missing." for name in missing])
    twice = sorted({name for name in heads if name and heads.count(name) > 1})
    if twice:
        raise LoadFault([f"The column {name} stands there twice." for name in twice])


def _faults(line: int, form: SourceRow) -> Iterator[str]:
    for name, errors in form.errors.items():
        for error in errors:
            where = "" if name == "__all__" else f", {name}"
            yield f"Row {line}{where}: {error}"


def _twice(rows: Sequence[Row]) -> Iterator[str]:
    first: dict[tuple[str, ...], int] = {}
    for row in rows:
        if row.identity in first:
            yield f"Row {row.line}: is the same source as row {first[row.identity]}."
        first.setdefault(row.identity, row.line)


def load(site: Site, content: bytes, *, by: User, at: datetime, check: bool = False) -> Loaded:
    """Load a file into a site, all of it or nothing; sources that are here already stay as they
    are, so that loading the same file again changes nothing. ``check``: only say what would be."""
    if Role.RPS not in roles_on(by, site, site.day(at)):
        raise LoadFault([f"{by.username} is not radiation protection supervisor of {site.name}."])
    rows = read(content)
    with transaction.atomic():
        loaded = _Loading(site, by, at).all(rows)
        if check:
            transaction.set_rollback(True)
    return loaded


class _Loading:
    """One load: the places and gauges of the site by name, made where they are missing."""

    def __init__(self, site: Site, by: User, at: datetime) -> None:
        self.site, self.by, self.at = site, by, at
        items = Item.objects.filter(site=site)
        self.named = {(item.kind, item.key): item for item in items}
        self.here = dict(_identities(site))

    def all(self, rows: Sequence[Row]) -> Loaded:
        """Every row; the first that cannot be written ends it."""
        added = wipes = 0
        for row in rows:
            if row.identity in self.here:
                self._check_wipe_is_recorded(row, self.here[row.identity])
                continue
            try:
                wipes += self._one(row)
            except DomainError as error:
                raise LoadFault([f"Row {row.line}: {error_text(error, SENTENCES)}"]) from error
            added += 1
        return Loaded(added, len(rows) - added, wipes)

    def _check_wipe_is_recorded(self, row: Row, source: int) -> None:
        """A source that is here already is left as it is; a wipe that the file knows and the
        register does not is never passed over in silence."""
        result, on = row.form.wipe_result(), row.form.cleaned_data["last_wipe_on"]
        if result is None:
            return
        wipes = Record.objects.filter(kind=LEAK_TEST_KIND, effective_on=on, about__item=source)
        told = canonical.plain(result.text())
        for body in wipes.values_list("body", flat=True):
            detail = json.loads(body)["detail"]
            if all(detail.get(name) == value for name, value in told.items()):
                return
        raise LoadFault(
            [
                f"Row {row.line}: this source is here already, but its wipe of {day_text(on)} with "
                "this result is not recorded: record it on the source's page, or take it out."
            ]
        )

    def _one(self, row: Row) -> int:
        data = row.form.cleaned_data
        with writing(self.site, by=self.by, at=self.at) as ledger:
            on = _arrived(data) or ledger.today
            if on > ledger.today:
                raise DomainError("effective_in_future", {"on": on})
            source = self._describe(ledger, row, on)
            place = self._place(ledger, data, on)
            record_movement(
                ledger, Movement("received", source, place, on, supplier=data["supplier"])
            )
        return self._wipe(row, source)

    def _describe(self, ledger: Ledger, row: Row, on: date) -> Item:
        snapshot = row.form.source().snapshot()
        snapshot["arrival_unknown"] = row.form.cleaned_data["received_on"] is None
        snapshot["loaded_as"] = list(row.identity)
        return describe_new(ledger, ItemKind.SOURCE, snapshot, on)

    def _place(self, ledger: Ledger, data: dict[str, Any], on: date) -> Item:
        location = self._named(
            ledger, ItemKind.LOCATION, data["location"], location_snapshot(data["location"]), on
        )
        if not data["gauge"]:
            return location
        known = (ItemKind.GAUGE, sort_key(data["gauge"])) in self.named
        gauge = self._named(
            ledger, ItemKind.GAUGE, data["gauge"], gauge_snapshot(data["gauge"]), on
        )
        if not known:
            record_movement(ledger, Movement("received", gauge, location, on))
            return gauge
        stay = Stay.objects.on(on).filter(item=gauge).first()
        if stay is not None and stay.location_id != location.pk:
            values: dict[str, Scalar] = {"gauge": gauge.label, "place": location.label, "on": on}
            raise DomainError("gauge_elsewhere", values)
        return gauge

    def _named(
        self, ledger: Ledger, kind: str, name: str, snapshot: dict[str, Any], on: date
    ) -> Item:
        key = (kind, sort_key(name))
        if key not in self.named:
            self.named[key] = describe_new(ledger, kind, snapshot, on)
        return self.named[key]

    def _wipe(self, row: Row, source: Item) -> int:
        """The last wipe: accepted where it has figures, entered where it only says "passed"."""
        result = row.form.wipe_result()
        if result is None:
            return 0
        data = row.form.cleaned_data
        by = data["last_wipe_by"] or "not known"
        wipe = Wipe([source], data["last_wipe_on"], result, sampled_by=by)
        needs_reason = any(one.verdict.value.needs_acceptance for one in judge_wipe(wipe))
        bare = isinstance(result, DeclaredBy) or needs_reason
        record_leak_test(site=self.site, by=self.by, at=self.at, wipe=wipe, accepted=not bare)
        return 1


def _arrived(data: dict[str, Any]) -> date | None:
    """The day of arrival; without one, the day of the wipe proves that it was here by then."""
    day: date | None = data["received_on"] or data["last_wipe_on"]
    return day


def _identities(site: Site) -> Iterator[tuple[tuple[str, ...], int]]:
    """What the sources of the site are known by, as rows are, with their keys."""
    described = Record.objects.filter(
        site=site, kind=DESCRIBED, replaced_by__isnull=True, about__item__kind=ItemKind.SOURCE
    )
    for body, pk in described.values_list("body", "about__item"):
        data = json.loads(body)["detail"]
        if data["serial"]:
            names = ("maker", "model", "serial")
            yield (data["nuclide"], *(sort_key(data[name]) for name in names)), pk
        elif data.get("loaded_as"):
            yield tuple(data["loaded_as"]), pk
