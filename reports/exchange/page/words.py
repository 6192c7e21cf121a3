"""Words of the pages on which a file is loaded: fields, kinds of lists, what comes of a row."""

from __future__ import annotations

from collections.abc import Mapping

from django.utils.functional import Promise
from django.utils.translation import gettext_lazy as _

Words = Mapping[str, str | Promise]

KINDS: Words = {
    "sources": _("sources"),
    "gauges": _("gauges"),
    "monitors": _("monitors"),
    "calibrations": _("calibrations"),
    "wipes": _("wipes"),
    "other": _("something else, not loaded"),
}

#: What comes of a row: the shape before it, and the word.
STATUS: Mapping[str, tuple[str, str | Promise]] = {
    "fault": ("!", _("wrong as it stands")),
    "waits": ("?", _("waits for an answer")),
    "changes": ("≠", _("changes what is here")),
    "differs": ("≠", _("differs, left as it is here")),
    "new": ("+", _("new")),
    "adds": ("+", _("adds to what is here")),
    "twice": ("=", _("same as an earlier row")),
    "here": ("=", _("already here")),
    "left_out": ("–", _("left out")),
}

FIELDS: Words = {
    "nuclide": _("Nuclide"),
    "serial": _("Serial"),
    "serial_why": _("Why the serial is not known"),
    "serial_unknown_because": _("Why the serial is not known"),
    "gauge": _("Gauge"),
    "gauge_model": _("Model of the gauge"),
    "gauge_maker": _("Maker of the gauge"),
    "housing_serial": _("Serial of the housing"),
    "place": _("Place"),
    "maker": _("Maker"),
    "model": _("Model"),
    "remark": _("Remark"),
    "status": _("Status"),
    "activity": _("Activity"),
    "activity_unit": _("Unit of the activity"),
    "reference": _("Reference date"),
    "received": _("Received on"),
    "supplier": _("Supplier"),
    "certificate_on": _("Maker's certificate of"),
    "certificate": _("Certificate"),
    "quantity": _("Number of sources"),
    "wiped_on": _("Wiped on"),
    "result": _("Result"),
    "result_unit": _("Unit of the result"),
    "uncertainty": _("Uncertainty"),
    "claimed": _("Passed or failed"),
    "leaking": _("Leaking"),
    "wiped_by": _("Wiped by"),
    "laboratory": _("Laboratory"),
    "report": _("Report"),
    "detection_limit": _("Detection limit"),
    "counter": _("Counter"),
    "gross": _("Gross counts"),
    "background": _("Background counts"),
    "seconds": _("Counting time"),
    "background_seconds": _("Background time"),
    "counted_on": _("Counted on"),
    "counted_by": _("Counted by"),
    "nominal": _("Activity of the source"),
    "tag": _("Tag"),
    "monitor_kind": _("Kind of monitor"),
    "probe": _("Probe"),
    "calibrated_on": _("Calibrated on"),
    "valid_until": _("Valid until"),
    "passed": _("Passed"),
    "efficiency": _("Efficiency"),
    "whom_to_ask": _("Whom to ask first"),
    "label": _("Name"),
    "to": _("Place"),
}


def field_text(name: str) -> str:
    """A field in words; one without a word is shown as it is called."""
    return str(FIELDS.get(name, name.replace("_", " ")))
