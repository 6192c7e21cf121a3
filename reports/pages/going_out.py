"""Out to a job and back, without the question what happened: for what is carried about; and whose
a visitor is."""

from __future__ import annotations

from datetime import date
from typing import Any

from django.urls import reverse
from django.utils.translation import gettext as _

from inventory.calc import moves
from inventory.custody.now import state_on, visits
from inventory.knowledge import Known
from inventory.ledger.models import Item
from inventory.sentences import day_text


def quick_moves(request: Any, item: Item, known: Known) -> list[tuple[str, str]]:
    """Buttons of the page of a thing: what is portable goes out, what is out or away comes back."""
    words = {moves.OUT: _("Out to a job"), moves.BACK: _("Back from the job")}
    address = reverse("movement-new", args=[request.site.slug, item.code])
    state = state_on(known.moves, request.today)
    verb = ""
    if state.whereabouts == moves.WENT_OUT:
        verb = moves.BACK
    elif state.whereabouts == moves.AT_LOCATION and not state.visiting:
        portable = known.snapshot_on(request.today).get("portable")
        verb = moves.OUT if portable else ""
    return [(words[verb], f"{address}?verb={verb}")] if verb else []


def belongs_to(known: Known, on: date) -> list[tuple[str, str]]:
    """Of what only visits: whose it is, and until when it stays."""
    state = state_on(known.moves, on)
    if not state.visiting or state.ended_by:
        return []
    visit = visits([known.item.pk], on).get(known.item.pk)
    if visit is None:
        return []
    values = {"owner": visit.owner, "until": day_text(visit.until) if visit.until else ""}
    said = _("%(owner)s; visits until %(until)s") if visit.until else _("%(owner)s; visits")
    return [(_("Belongs to"), said % values)]
