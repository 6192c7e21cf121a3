"""Record a movement, correct one: doors to ``inventory.custody.actions``."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date
from typing import Any

from django.contrib import messages
from django.db.models import Q
from django.http import Http404, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils.translation import gettext as _

from inventory.calc import moves
from inventory.calc.moves import PACKED, RECEIVED
from inventory.custody.actions import correct_movement, move
from inventory.custody.fields import MEANS
from inventory.custody.forms import MOVABLE, MovementForm, from_movement
from inventory.custody.models import Movement
from inventory.custody.now import Whereabouts, now, offered, verbs_of
from inventory.custody.wording import place_text
from inventory.followups.models import FollowUp
from inventory.ledger.models import Item, ItemKind, Record
from inventory.pages import item_of, record_of, replacing
from inventory.sentences import WORDS
from inventory.timeline import Stay

Act = Callable[[Any, MovementForm], Record]
#: So many of the last consignees and job sites are offered again.
RECENT = 12


def new_page(
    request: Any, code: str, how: Callable[[str, Item], tuple[type[MovementForm], Act]]
) -> HttpResponse:
    """Record a movement of a source, a gauge or a monitor: first what happened, then what belongs
    to it. ``how``: form and act of a verb."""
    item = item_of(request, code)
    if item.kind not in MOVABLE:
        raise Http404
    found = now(item, request.today)
    possible = offered(item, found)
    verb = request.POST.get("verb") or request.GET.get("verb") or ""
    if not verb and len(possible) == 1 and request.method == "GET" and "all" not in request.GET:
        verb = possible[0]
    if verb not in verbs_of(item):
        return _choose(request, item, possible, wrong=bool(verb))
    form_class, act = how(verb, item)
    packed = found.state.keeping == PACKED
    if request.method == "POST":
        form = form_class(request, item, verb, request.POST, packed=packed)
        if form.is_valid() and form.save_with(lambda: act(request, form), *form.TABLES):
            return _done(request, item)
    else:
        initial = MovementForm.fresh(request, **_start(request, item, verb, found))
        form = form_class(request, item, verb, initial=initial, packed=packed)
    return _page(request, item, form, None)


def record_new(request: Any, form: MovementForm) -> Record:
    """Write what the form says."""
    data = form.cleaned_data
    keys = {name: data[name] for name in ("request_key", "seen")}
    return move(form.movement(), by=request.user, at=request.now, **keys)


def correct(request: Any, site: str, seq: int) -> HttpResponse:
    """Correct a recorded movement by a replacing record."""
    old = record_of(request, seq)
    item = Item.objects.select_related("site").get(mentions__record=old)
    start = from_movement(old)
    kept: dict[str, Any] = {"replaces": old, "packed": start["keeping"] == PACKED}
    if request.method == "POST":
        form = MovementForm(request, item, old.kind, _as_it_was(request.POST, old), **kept)
        if form.is_valid() and form.save_with(lambda: _correct(request, form, old)):
            return _done(request, item)
    else:
        initial = MovementForm.fresh(request, verb=old.kind, **start)
        form = MovementForm(request, item, old.kind, initial=initial, **kept)
    return _page(request, item, form, old)


def _as_it_was(sent: Any, old: Record) -> Any:
    """A correction is of the same kind as what it corrects, whatever is sent."""
    data = sent.copy()
    data["verb"] = old.kind
    return data


def _correct(request: Any, form: MovementForm, old: Record) -> Record:
    data = form.cleaned_data
    keys = {name: data[name] for name in ("reason", "request_key", "seen")}
    return correct_movement(old, form.movement(), by=request.user, at=request.now, **keys)


def _done(request: Any, item: Item) -> HttpResponse:
    messages.success(request, _("The movement is recorded."))
    if request.POST.get("back") == "movements":
        return redirect("movements", request.site.slug)
    return redirect("item", request.site.slug, item.code)


def _start(request: Any, item: Item, verb: str, found: Whereabouts) -> dict[str, Any]:
    """What is known already: today, who is there, the place that it was at last, how it is kept,
    the last job."""
    home = found.state.home
    last = Item.objects.filter(pk=home).first() if home else None
    # Back from the store is in use unless somebody says otherwise: a hold must not stay behind.
    taken_out = verb == moves.MOVED and found.state.keeping == moves.IN_STORAGE
    keeping = moves.IN_USE if verb == RECEIVED or taken_out else found.state.keeping
    start: dict[str, Any] = {
        **{"verb": verb, "on": request.today, "performed_by": request.user.name},
        **{"keeping": keeping, "to": last if verb in (moves.BACK, moves.RETURNED) else None},
    }
    if verb == moves.OUT:
        jobs = Movement.objects.filter(record__about__item=item, record__kind=verb)
        newest = jobs.order_by("-record__seq").values_list("away_to", flat=True).first()
        start["away_to"] = newest or ""
    return start


def _choose(request: Any, item: Item, possible: list[str], *, wrong: bool) -> HttpResponse:
    """What happened: what is possible now, and below it whatever may have happened earlier."""
    address = reverse("movement-new", args=[request.site.slug, item.code])

    def lines(verbs: list[str]) -> list[dict[str, Any]]:
        return [
            {
                "label": WORDS[f"kind:{verb}"],
                "means": MEANS[verb],
                "url": f"{address}?verb={verb}",
            }
            for verb in verbs
        ]

    earlier = [verb for verb in verbs_of(item) if verb not in possible]
    context = {
        "item": item,
        "where": _where(item, request.today),
        "inside": _inside(item, request.today),
        "possible": lines(possible),
        "earlier": lines(earlier),
        "wrong": wrong,
    }
    return render(request, "custody/choose.html", context)


def _page(request: Any, item: Item, form: MovementForm, old: Record | None) -> HttpResponse:
    context = {
        "form": form,
        "item": item,
        "title": WORDS[f"kind:{form.doing}"],
        "replacing": replacing(request.site.slug, old) if old else None,
        "where": _where(item, request.today),
        "inside": _inside(item, request.today),
        "warned": _warned(item, request.today),
        "recent": _recent(request, form.doing) if "away_to" in form.fields else [],
    }
    return render(request, "custody/form.html", context)


def _recent(request: Any, verb: str) -> list[str]:
    """To whom, or to which jobs, things of the site went last."""
    found = Movement.objects.filter(record__site=request.site, record__kind=verb)
    newest = found.exclude(away_to="").order_by("-record__seq")
    names = newest.values_list("away_to", flat=True)[: 5 * RECENT]
    return list(dict.fromkeys(names))[:RECENT]


def _where(item: Item, on: date) -> str:
    stay = Stay.objects.on(on).filter(item=item).select_related("gauge", "location").first()
    if stay is None:
        return ""
    return place_text(stay, [str(one) for one in (stay.gauge, stay.location) if one])


def _warned(item: Item, on: date) -> list[str]:
    """What goes along and must not: it, or a source in it, whose follow-up is open."""
    held = Stay.objects.on(on).filter(gauge=item).values("item")
    still_open = FollowUp.objects.still_open().filter(Q(item=item) | Q(item__in=held))
    labels = still_open.order_by("item__label_sort").values_list("item__label", flat=True)
    return list(dict.fromkeys(labels))


def _inside(item: Item, on: date) -> list[str]:
    """What a gauge holds and takes along."""
    if item.kind != ItemKind.GAUGE:
        return []
    held = Stay.objects.on(on).filter(gauge=item).order_by("item__label_sort")
    return list(held.values_list("item__label", flat=True))
