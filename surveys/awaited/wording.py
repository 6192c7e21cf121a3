"""A wipe that was sent away as people read it, from its record's own text."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from django.utils.translation import gettext as _

from inventory.knowledge import COMPLETES
from inventory.sentences import value_text
from surveys.sentences import SENTENCES


def sent_lines(body: Mapping[str, Any], role: str = "subject") -> Iterator[str]:
    """Where it went and when its result is asked for; ``role``: as what the record names the
    source."""
    if role == "withdrawn":
        yield _("This wipe turned out not to cover it.")
        return
    detail = body["detail"]
    values = {
        "laboratory": detail["laboratory_name"],
        "sent": value_text("sent_on", detail["sent_on"]),
        "chase": value_text("chase_on", detail["chase_on"]),
    }
    text = _("Sent to %(laboratory)s on %(sent)s; its result is to be asked for from %(chase)s.")
    yield text % values


def completes_lines(body: Mapping[str, Any]) -> Iterator[str]:
    """Which wipes that were sent away a record gives the result of, or gives up."""
    for link in body["links"]:
        if link["role"] == COMPLETES:
            yield _("Completes record %(seq)s (wipe sent to a laboratory).") % {"seq": link["seq"]}


def sent_inputs(body: Mapping[str, Any]) -> list[tuple[str, str]]:
    """What was entered with it."""
    detail = body["detail"]
    pairs = [
        (_("Laboratory"), detail["laboratory_name"]),
        (_("Sent on"), value_text("sent_on", detail["sent_on"])),
        (_("Ask for the result from"), value_text("chase_on", detail["chase_on"])),
        (_("Reason"), value_text("why", detail["why"], SENTENCES)),
        (_("Method"), detail["method"]),
        (_("Point wiped"), detail["point_wiped"]),
        (_("On the envelope"), detail["label"]),
        (_("Remark"), body["remark"]),
    ]
    return [(term, text) for term, text in pairs if text]
