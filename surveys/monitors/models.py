"""Monitors (rate unit and probe, valid as a pair) and their calibrations."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from django.db import models
from django.utils.translation import gettext_lazy as _

from inventory.ledger.models import ItemDetail, ItemKind, RecordDetail, RecordPoint

CALIBRATION_KIND = "calibration"


class MonitorKind(models.TextChoices):
    """What a monitor measures."""

    WIPE_COUNTER = "wipe_counter", _("wipe counter")
    CONTAMINATION = "contamination", _("contamination monitor")
    DOSE_RATE = "dose_rate", _("dose-rate monitor")
    PERSONAL = "personal", _("personal dose meter")
    NEUTRON = "neutron", _("neutron monitor")


class Basis(models.TextChoices):
    """What an efficiency is counted per."""

    PER_DECAY = "per_decay", _("counts per decay")
    PER_2PI_EMISSION = "per_2pi_emission", _("counts per emission into 2π")
    SURFACE_RESPONSE = "surface_response", _("1/s per Bq/cm²")


class Monitor(ItemDetail):
    """A monitor as described."""

    KIND = ItemKind.MONITOR

    tag = models.CharField(max_length=100)
    maker = models.CharField(max_length=100, blank=True)
    model = models.CharField(max_length=100, blank=True)
    serial = models.CharField(max_length=100, blank=True)
    monitor_kind = models.CharField(max_length=20, choices=MonitorKind.choices)

    def __str__(self) -> str:
        return self.tag

    @classmethod
    def project(cls, snapshot: Mapping[str, Any], pk_of: Mapping[str, int]) -> dict[str, Any]:
        return {
            name: snapshot[name] for name in ("tag", "maker", "model", "serial", "monitor_kind")
        }


class Calibration(RecordDetail):
    """A calibration certificate of a monitor."""

    KINDS = (CALIBRATION_KIND,)

    certificate = models.CharField(max_length=100, blank=True)
    laboratory = models.CharField(max_length=200, blank=True)
    valid_until = models.DateField(null=True, blank=True)

    def __str__(self) -> str:
        return self.certificate

    @classmethod
    def project(cls, body: Mapping[str, Any], pk_of: Mapping[str, int]) -> dict[str, Any]:
        detail = body["detail"]
        return {
            "certificate": detail["certificate"],
            "laboratory": detail["laboratory"],
            "valid_until": detail["valid_until"],
        }


class CalibrationEfficiency(RecordPoint):
    """Efficiency for one nuclide, with its relative uncertainty (k = 1) and its basis."""

    KINDS = (CALIBRATION_KIND,)

    nuclide = models.CharField(max_length=20)
    efficiency = models.FloatField()
    u_rel = models.FloatField(null=True, blank=True)
    basis = models.CharField(max_length=20, choices=Basis.choices)
    source_efficiency = models.FloatField(null=True, blank=True)
    window_cm2 = models.FloatField(null=True, blank=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["record", "nuclide"], name="efficiency_once"),
            models.UniqueConstraint(fields=["record", "position"], name="efficiency_position"),
        ]

    def __str__(self) -> str:
        return f"{self.nuclide} {self.efficiency}"

    @classmethod
    def project(cls, point: Mapping[str, Any], pk_of: Mapping[str, int]) -> dict[str, Any]:
        names = ("nuclide", "efficiency", "u_rel", "basis", "source_efficiency", "window_cm2")
        return {name: point[name] for name in names}
