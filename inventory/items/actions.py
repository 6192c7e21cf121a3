"""Writes about things: describe a new one, change or correct a description.

A description is the full snapshot after the edit. A *change* takes effect on a day; a *correction*
replaces the record that was wrong, with its day and a reason.
"""

from __future__ import annotations

import uuid
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from decimal import Decimal
from typing import Any

from config.accounts.models import Role, Site, SiteRole, User
from inventory import knowledge
from inventory.calc.dates import PartialDate
from inventory.calc.errors import DomainError
from inventory.calc.units import Activity
from inventory.items.snapshots import OF_A_SOURCE, said
from inventory.ledger.body import DESCRIBED
from inventory.ledger.models import Chain, Item, ItemKind, Record
from inventory.ledger.write import About, Draft, Ledger, NewItem, read_body, writing


def describe_new(
    ledger: Ledger,
    kind: str,
    snapshot: Mapping[str, Any],
    on: date,
    *,
    continues: Item | None = None,
    request_key: uuid.UUID | None = None,
) -> Item:
    """A new item with its first description, inside an open ledger."""
    item = ledger.new_item(kind, snapshot["label"], snapshot["key"], continues)
    ledger.append(Draft(DESCRIBED, on, [About(item)], detail=snapshot, request_key=request_key))
    return item


def describe_many(
    ledger: Ledger, wanted: Sequence[tuple[str, Mapping[str, Any], date]]
) -> list[Item]:
    """Many new items (kind, description, from which day), in a fixed number of statements."""
    items = ledger.new_items(
        [NewItem(kind, snapshot["label"], snapshot["key"]) for kind, snapshot, _ in wanted]
    )
    ledger.append_many(
        [
            Draft(DESCRIBED, on, [About(item)], detail=snapshot)
            for item, (_, snapshot, on) in zip(items, wanted, strict=True)
        ]
    )
    return items


def describe(
    site: Site,
    snapshot: Mapping[str, Any],
    *,
    kind: str,
    by: User,
    at: datetime,
    on: date,
    request_key: uuid.UUID | None = None,
    seen: int | None = None,
) -> Record:
    """Describe something that does not arrive anywhere, such as a place or a laboratory, as an act
    of its own: the site has it from that day on."""
    with writing(site, by=by, at=at, seen=seen) as ledger:
        if done := ledger.already(request_key, DESCRIBED):
            return done
        item = describe_new(ledger, kind, snapshot, on, request_key=request_key)
        return Record.objects.get(about__item=item)


def change(
    item: Item,
    snapshot: Mapping[str, Any],
    *,
    by: User,
    at: datetime,
    on: date,
    reason: str,
    request_key: uuid.UUID | None = None,
    seen: int | None = None,
) -> Record:
    """Describe an item anew from a day on, because of ``reason``."""
    if not reason.strip():
        raise DomainError("change_needs_reason", field="reason")
    with writing(item.site, by=by, at=at, seen=seen) as ledger:
        if done := ledger.already(request_key, DESCRIBED):
            return done
        _check_within(item, snapshot)
        return ledger.append(
            Draft(
                DESCRIBED,
                on,
                [About(item)],
                detail=snapshot,
                reason=reason,
                request_key=request_key,
            )
        )


def correct(
    old: Record,
    snapshot: Mapping[str, Any],
    *,
    by: User,
    at: datetime,
    reason: str,
    request_key: uuid.UUID | None = None,
    seen: int | None = None,
) -> Record:
    """Put right a description that was wrong from its day on. Both stay visible."""
    assert old.site is not None
    with writing(old.site, by=by, at=at, seen=seen) as ledger:
        if done := ledger.already(request_key, DESCRIBED):
            return done
        item = Item.objects.get(mentions__record=old)
        _check_within(item, snapshot)
        return ledger.append(
            Draft(
                DESCRIBED,
                old.effective_on,
                [About(item)],
                detail=snapshot,
                replaces=old,
                reason=reason,
                request_key=request_key,
            )
        )


def _check_within(item: Item, snapshot: Mapping[str, Any]) -> None:
    """A place cannot lie inside itself, nor inside one that lies inside it."""
    code = snapshot.get("within")
    if item.kind != ItemKind.LOCATION or not code:
        return
    places = Item.objects.filter(site=item.site, kind=ItemKind.LOCATION)
    outer = dict(places.values_list("code", "location__within__code"))
    passed: set[str] = set()
    while code and code not in passed:
        if code == item.code:
            raise DomainError("place_inside_itself", {"place": item.label}, field="within")
        passed.add(code)
        code = outer.get(code)


def description_in_force(item: Item) -> Record:
    """The record that describes an item now."""
    return Record.objects.get(pk=knowledge.load([item.pk])[item.pk].descriptions[-1].record)


def snapshot_of(record: Record) -> dict[str, Any]:
    """The description that a record holds."""
    detail: dict[str, Any] = read_body(record)["detail"]
    return detail


def open_site(
    *, slug: str, name: str, time_zone: str, address: str, by: User, at: datetime
) -> Site:
    """A new site with its chain, and the person who opens it as its supervisor."""
    if Site.objects.filter(slug=slug).exists():
        raise DomainError("site_exists", {"site": slug}, field="slug")
    site = Site(slug=slug, name=name, time_zone=time_zone, address=address)
    site.full_clean()
    site.save()
    Chain.objects.create(site=site)
    on = site.day(at)
    SiteRole.objects.create(user=by, site=site, role=Role.RPS, from_on=on)
    snapshot = {
        "label": name,
        "key": slug,
        "name": name,
        "time_zone": time_zone,
        "address": address,
    }
    with writing(site, by=by, at=at) as ledger:
        describe_new(ledger, ItemKind.SITE, snapshot, on)
    return site


_AS_ENTERED = [name for name in OF_A_SOURCE if not name.startswith("made_")]


@dataclass(frozen=True, slots=True)
class SourceText:
    """A source as its certificate states it; empty text is *not known*."""

    nuclide: str
    maker: str = ""
    model: str = ""
    serial: str = ""
    serial_unknown_because: str = ""
    activity_text: str = ""
    activity_bq: Decimal | None = None
    activity_basis: str = "certificate"
    reference_text: str = ""
    reference_on: date | None = None
    reference_precision: str = ""
    remark: str = ""
    # what rules ask for
    use: str = ""
    made_text: str = ""
    made_on: date | None = None
    made_precision: str = ""
    working_life_until: date | None = None
    special_form_certificate: str = ""
    special_form_until: date | None = None
    iso_2919: str = ""
    physical_form: str = ""
    inaccessible: bool = False

    @classmethod
    def stated(
        cls,
        data: Mapping[str, Any],
        activity: Activity | None,
        reference: PartialDate | None,
        basis: str = "certificate",
    ) -> SourceText:
        """From the cleaned fields of a form: ``nuclide``, the texts, activity and reference date as
        stated."""
        names = ("maker", "model", "serial", "serial_unknown_because", "remark")
        made: PartialDate | None = data.get("made_text")
        return cls(
            nuclide=data["nuclide"].name,
            **{name: data[name] for name in names},
            activity_text=activity.text if activity else "",
            activity_bq=activity.decimal if activity else None,
            activity_basis=basis,
            reference_text=reference.text if reference else "",
            reference_on=reference.on if reference else None,
            reference_precision=reference.precision if reference else "",
            **{name: data[name] for name in _AS_ENTERED if name in data},
            made_text=made.text if made else "",
            made_on=made.on if made else None,
            made_precision=made.precision if made else "",
        )

    def snapshot(self) -> dict[str, Any]:
        """The description to be recorded."""
        name = self.serial or "serial not known"
        return {
            "label": f"{self.nuclide} {name}",
            "key": self.serial or self.label_key(),
            "nuclide": self.nuclide,
            "maker": self.maker,
            "model": self.model,
            "serial": self.serial,
            "serial_unknown_because": self.serial_unknown_because,
            "activity_text": self.activity_text,
            "activity_bq": self.activity_bq,
            "activity_basis": self.activity_basis if self.activity_bq else "unknown",
            "reference_text": self.reference_text,
            "reference_on": self.reference_on,
            "reference_precision": self.reference_precision,
            "remark": self.remark,
            **said(**{name: getattr(self, name) for name in OF_A_SOURCE}),
        }

    def label_key(self) -> str:
        """What the source is found by while its serial is not known."""
        return f"{self.nuclide} serial not known"


def gauge_snapshot(
    tag: str,
    *,
    maker: str = "",
    model: str = "",
    housing_serial: str = "",
    whom_to_ask: str = "",
    device_kind: str = "",
    portable: bool = False,
    type_approved: bool = False,
    quality_on: date | None = None,
    detects_leak_in_water: bool = False,
) -> dict[str, Any]:
    """The description of a gauge. ``whom_to_ask``: before its shutter is closed; ``quality_on``:
    the day of the maker's certificate of quality, for one of an approved type."""
    return {
        "label": tag,
        "key": tag,
        "tag": tag,
        "maker": maker,
        "model": model,
        "housing_serial": housing_serial,
        "whom_to_ask": whom_to_ask,
        **said(
            device_kind=device_kind,
            portable=portable,
            type_approved=type_approved,
            quality_on=quality_on,
            detects_leak_in_water=detects_leak_in_water,
        ),
    }


def location_snapshot(
    name: str,
    *,
    place_kind: str = "plant_area",
    within: str | None = None,
    designation: str = "",
) -> dict[str, Any]:
    """The description of a place; ``within`` is the code of the place it lies in."""
    place = {"name": name, "place_kind": place_kind, "within": within}
    return {"label": name, "key": name, **place, **said(designation=designation)}
