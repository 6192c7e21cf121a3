"""Typed columns of things: indexes on their description in force."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from django.db import models
from django.utils.translation import gettext_lazy as _

from inventory.ledger.models import Item, ItemDetail, ItemKind


class LocationKind(models.TextChoices):
    """What a place is."""

    AREA = "plant_area", _("plant area")
    STORE = "source_store", _("source store")
    WORKSHOP = "workshop", _("workshop")
    OFF_SITE = "off_site", _("off site")


class Location(ItemDetail):
    """A place on a site, perhaps inside another."""

    KIND = ItemKind.LOCATION

    name = models.CharField(max_length=200)
    place_kind = models.CharField(max_length=20, choices=LocationKind.choices)
    within = models.ForeignKey(
        Item, null=True, blank=True, on_delete=models.PROTECT, related_name="contains"
    )

    def __str__(self) -> str:
        return self.name

    @classmethod
    def project(cls, snapshot: Mapping[str, Any], pk_of: Mapping[str, int]) -> dict[str, Any]:
        within = snapshot.get("within")
        return {
            "name": snapshot["name"],
            "place_kind": snapshot["place_kind"],
            "within_id": pk_of[within] if within else None,
        }


class Gauge(ItemDetail):
    """A device that holds none, one or several sources."""

    KIND = ItemKind.GAUGE

    tag = models.CharField(max_length=100)
    maker = models.CharField(max_length=100, blank=True)
    model = models.CharField(max_length=100, blank=True)
    housing_serial = models.CharField(max_length=100, blank=True)

    def __str__(self) -> str:
        return self.tag

    @classmethod
    def project(cls, snapshot: Mapping[str, Any], pk_of: Mapping[str, int]) -> dict[str, Any]:
        return {name: snapshot[name] for name in ("tag", "maker", "model", "housing_serial")}


class Source(ItemDetail):
    """A sealed source: identity and activity as stated on its certificate."""

    KIND = ItemKind.SOURCE

    maker = models.CharField(max_length=100, blank=True)
    model = models.CharField(max_length=100, blank=True)
    serial = models.CharField(max_length=100, blank=True)
    nuclide = models.CharField(max_length=20)
    activity_bq = models.FloatField(null=True, blank=True)
    reference_on = models.DateField(null=True, blank=True)

    def __str__(self) -> str:
        return self.serial or self.nuclide

    @classmethod
    def project(cls, snapshot: Mapping[str, Any], pk_of: Mapping[str, int]) -> dict[str, Any]:
        stated = snapshot["activity_bq"]
        return {
            **{name: snapshot[name] for name in ("maker", "model", "serial", "nuclide")},
            "activity_bq": float(stated) if stated else None,
            "reference_on": snapshot["reference_on"] or None,
        }


class SiteDetail(ItemDetail):
    """The site itself as a subject: its name and time zone are facts with a history too."""

    KIND = ItemKind.SITE

    name = models.CharField(max_length=200)
    time_zone = models.CharField(max_length=60)

    def __str__(self) -> str:
        return self.name

    @classmethod
    def project(cls, snapshot: Mapping[str, Any], pk_of: Mapping[str, int]) -> dict[str, Any]:
        return {"name": snapshot["name"], "time_zone": snapshot["time_zone"]}


class Permit(ItemDetail):
    """A licence, registration or permit that the site holds."""

    KIND = ItemKind.PERMIT

    number = models.CharField(max_length=100)
    issued_by = models.CharField(max_length=200, blank=True)
    valid_until = models.DateField(null=True, blank=True)

    def __str__(self) -> str:
        return self.number

    @classmethod
    def project(cls, snapshot: Mapping[str, Any], pk_of: Mapping[str, int]) -> dict[str, Any]:
        return {
            "number": snapshot["number"],
            "issued_by": snapshot["issued_by"],
            "valid_until": snapshot["valid_until"] or None,
        }


class Person(ItemDetail):
    """Somebody with duties under the local rules: appointments and training are due for them."""

    KIND = ItemKind.PERSON

    name = models.CharField(max_length=200)
    duty = models.CharField(max_length=200, blank=True)

    def __str__(self) -> str:
        return self.name

    @classmethod
    def project(cls, snapshot: Mapping[str, Any], pk_of: Mapping[str, int]) -> dict[str, Any]:
        return {"name": snapshot["name"], "duty": snapshot["duty"]}
