"""A planned shutdown in words, for pages, documents and the time line."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from datetime import date
from typing import Any

from django.utils import formats
from django.utils.translation import gettext as _

from inventory.sentences import day_text
from inventory.shutdowns.models import Shutdown


def days_text(first: date, last: date) -> str:
    """Days from one until another: 3 to 24 Mar 2027, 28 Feb to 3 Mar 2027, 3 Mar 2027."""
    if first == last:
        return day_text(first)
    shape = "j M Y"
    if first.year == last.year:
        shape = "j" if first.month == last.month else "j M"
    values = {"first": formats.date_format(first, shape), "last": day_text(last)}
    return _("%(first)s to %(last)s") % values


def shutdown_text(shutdown: Shutdown) -> str:
    """What a shutdown is called, when and where it is; for a planned one only."""
    assert shutdown.begins_on is not None and shutdown.ends_on is not None
    days = days_text(shutdown.begins_on, shutdown.ends_on)
    return f"{shutdown.name}, {days}, {place_text(shutdown)}"


def place_text(shutdown: Shutdown) -> str:
    """Where it is."""
    return shutdown.place.label if shutdown.place else _("whole site")


def overlap_text(others: Collection[Shutdown]) -> str:
    """That others lie on some of the same days at the same place; nothing without one."""
    if not others:
        return ""
    names = "; ".join(shutdown_text(one) for one in others)
    return _("Some of its days are also those of: %(names)s.") % {"names": names}


def shutdown_line(body: Mapping[str, Any], labels: Mapping[str, str]) -> str:
    """What a record of it says, for the time line; made from its text."""
    detail, remark = body["detail"], body["remark"]
    name = detail["name"]
    if detail["begins_on"] is None:
        return _("%(name)s does not take place.") % {"name": name}
    begins, ends = (date.fromisoformat(detail[one]) for one in ("begins_on", "ends_on"))
    place = labels.get(detail["place"], detail["place"]) if detail["place"] else _("whole site")
    said = f"{name}, {days_text(begins, ends)}, {place}."
    return f"{said} {remark}" if remark else said
