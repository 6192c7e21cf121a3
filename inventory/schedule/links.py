"""The way from the page of a thing to what is decided for it alone."""

from __future__ import annotations

from typing import Any

from django.urls import reverse
from django.utils.translation import gettext as _

from config.permissions import DECIDE
from inventory.calc import due
from inventory.ledger.models import Item
from inventory.schedule.preview import KINDS


def rules_of(request: Any, item: Item) -> list[tuple[str, str]]:
    """Pages about the rules of a thing; none for one of which nothing can be required."""
    if item.kind not in KINDS:
        return []
    args = [request.site.slug, item.code]
    return [
        (_("Settings"), reverse("settings", args=args)),
        (_("What another rule set would ask"), reverse("compare", args=args)),
    ]


def proposal(request: Any, item: Item, requirement: str, said: due.Decision) -> dict[str, str]:
    """What decay proposes for a requirement, and where somebody who may confirms it."""
    if not said.proposed:
        return {}
    out = {
        "proposed": _(
            "By decay another row would decide: %(row)s. Nothing changes until a named "
            "person confirms it."
        )
        % {"row": said.proposed}
    }
    if request.roles & DECIDE:
        args = [request.site.slug, item.code, requirement]
        out["confirm_url"] = reverse("change-confirm", args=args)
    return out
