"""Wipes that a laboratory counts: send them, see which are away, enter the report, give one up."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import date
from typing import Any

from django.contrib import messages
from django.core.paginator import Paginator
from django.http import Http404, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from config.permissions import ENTER
from inventory.calc import due
from inventory.ledger.models import Item, ItemKind, Record
from inventory.pages import item_of, record_of, replacing
from inventory.rules.schema import LEAK_TEST
from inventory.sentences import day_text
from inventory.timeline import RequirementSpan
from surveys.awaited.actions import give_up
from surveys.awaited.forms import MOST_ROWS, GiveUpForm, SendForm, names_for
from surveys.awaited.sending import correct_sent, send_wipes
from surveys.awaited.waiting import Away, away, shown, waiting
from surveys.leak.models import SENT_KIND
from surveys.sentences import SENTENCES

PAGE = 50
#: What a round wipes: everything that is due.
TO_WIPE = (due.LATE, due.NEVER_DONE, due.DUE_SOON)


def page(request: Any, site: str) -> HttpResponse:
    """The wipes that are away, the longest first."""
    found = shown(waiting(request.site))
    shown_page = Paginator(found, PAGE).get_page(request.GET.get("page"))
    context = {
        "wipes": [_line(one, request.today) for one in away(shown_page)],
        "page": shown_page,
        "laboratories": laboratories_with_wipes(request),
    }
    return render(request, "awaited/list.html", context)


def _line(one: Away, on: date) -> dict[str, Any]:
    over = one.days_over(on)
    return {
        "away": one,
        "taken": day_text(one.taken_on),
        "sent": day_text(one.sent_on),
        "chase": day_text(one.chase_on),
        "over": ngettext("%(n)s day over", "%(n)s days over", over) % {"n": over} if over else "",
        "chasing": one.chase_on <= on,
    }


def lines_of(wipes: Sequence[Away], on: date) -> list[dict[str, Any]]:
    """Wipes that are away as rows of a page."""
    return [_line(one, on) for one in wipes]


def laboratories_with_wipes(request: Any) -> Any:
    """The laboratories that have wipes of the site."""
    there = waiting(request.site).values("instrument")
    return Item.objects.filter(pk__in=there).order_by("label_sort")


def send(request: Any, site: str) -> HttpResponse:
    """Send wipes away; ``?source=CODE`` (repeated) or ``?due=1`` fills the rows."""
    if request.method == "POST":
        form = SendForm(request, request.POST)
        if form.is_valid() and form.save_with(lambda: _send(request, form), SENTENCES):
            count = len(form.rows.written)
            said = ngettext(
                "%(n)s wipe is recorded as sent.", "%(n)s wipes are recorded as sent.", count
            )
            messages.success(request, said % {"n": count})
            return redirect("awaited", site)
    else:
        initial = SendForm.fresh(request, **_new(request))
        form = SendForm(request, initial=initial, rows=list(_rows(request)))
    return _send_page(request, form, None)


def _send_page(request: Any, form: SendForm, old: Record | None) -> HttpResponse:
    laboratories: Any = form.fields["laboratory"]
    context = {
        "form": form,
        "no_laboratory": not laboratories.queryset.exists(),
        "replacing": replacing(request.site.slug, old) if old else None,
    }
    return render(request, "awaited/send.html", context)


def _new(request: Any) -> dict[str, Any]:
    """Today, by the person at the form, to the only laboratory there is."""
    labs = Item.objects.filter(site=request.site, kind=ItemKind.LABORATORY)
    only = list(labs.values_list("code", flat=True)[:2])
    return {
        "laboratory": only[0] if len(only) == 1 else None,
        "sent_on": request.today,
        "wiped_on": request.today,
        "wiped_by": request.user.name,
        "why": "routine",
    }


def _rows(request: Any) -> Iterator[dict[str, str]]:
    """The sources that the page was opened for."""
    sources = Item.objects.filter(site=request.site, kind=ItemKind.SOURCE)
    if request.GET.get("due"):
        spans: Any = RequirementSpan.objects.filter(site=request.site, requirement=LEAK_TEST)
        found = spans.with_state(request.today).filter(state_on__in=TO_WIPE)
        sources = sources.filter(pk__in=found.values("item"))
    else:
        sources = sources.filter(code__in=[one.upper() for one in request.GET.getlist("source")])
    chosen = list(sources.order_by("label_sort")[: MOST_ROWS // 2])
    names = names_for(request.site, chosen)
    for source in chosen:
        yield {"sources": names[source.pk]}


def _send(request: Any, form: SendForm) -> Record:
    data = form.cleaned_data
    return send_wipes(
        request.site,
        form.parcel(),
        form.taken(),
        by=request.user,
        at=request.now,
        request_key=data["request_key"],
        seen=data["seen"],
    )


def correct(request: Any, site: str, seq: int) -> HttpResponse:
    """Correct what was recorded of a wipe sent away."""
    old = record_of(request, seq)
    (one,) = away(shown(Record.objects.filter(pk=old.pk)))
    if request.method == "POST":
        form = SendForm(request, request.POST, replaces=old)
        if form.is_valid():
            record = form.save_with(lambda: _put_right(request, form, old), SENTENCES)
            if record is not None:
                return redirect("record", site, record.seq)
    else:
        names = ("sent_on", "chase_on", "why", "method")
        initial = SendForm.fresh(
            request,
            laboratory=one.laboratory.code,
            wiped_on=one.taken_on,
            wiped_by=old.performed_by,
            **{name: one.detail[name] for name in names},
        )
        named = names_for(request.site, one.sources)
        row = {
            "sources": "; ".join(named[source.pk] for source in one.sources),
            "point_wiped": one.detail["point_wiped"],
            "label": one.envelope,
        }
        form = SendForm(request, initial=initial, rows=[row], replaces=old)
    return _send_page(request, form, old)


def _put_right(request: Any, form: SendForm, old: Record) -> Record:
    data = form.cleaned_data
    return correct_sent(
        old,
        form.parcel(),
        form.taken()[0],
        by=request.user,
        at=request.now,
        reason=data["because"],
        request_key=data["request_key"],
        seen=data["seen"],
    )


def lost(request: Any, site: str, seq: int) -> HttpResponse:
    """Give up a wipe whose result will not come."""
    record = record_of(request, seq)
    if record.kind != SENT_KIND:
        raise Http404
    if request.method == "POST":
        form = GiveUpForm(request.POST)
        if form.is_valid() and form.save_with(lambda: _give_up(request, record, form), SENTENCES):
            messages.success(request, _("Nobody waits for this result any more."))
            return redirect("awaited", site)
    else:
        form = GiveUpForm(initial=GiveUpForm.fresh(request, on=request.today))
    (one,) = away(shown(Record.objects.filter(pk=record.pk)))
    context = {"form": form, "line": _line(one, request.today), "of": replacing(site, record)}
    return render(request, "awaited/give_up.html", context)


def _give_up(request: Any, record: Record, form: GiveUpForm) -> Record:
    data = form.cleaned_data
    return give_up(
        record,
        by=request.user,
        at=request.now,
        on=data["on"],
        reason=data["reason"],
        request_key=data["request_key"],
        seen=data["seen"],
    )


def next_acts(request: Any, record: Record) -> list[dict[str, str]]:
    """What can be done with a wipe while it is away, from its record."""
    away_still = record.kind == SENT_KIND and waiting(request.site).filter(pk=record.pk).exists()
    if not away_still or not request.roles & ENTER or record.instrument is None:
        return []
    report = reverse("report-new", args=[request.site.slug, record.instrument.code])
    given_up = reverse("wipe-give-up", args=[request.site.slug, record.seq])
    return [
        {"label": _("Enter the report"), "url": f"{report}?wipe={record.seq}"},
        {"label": _("Give it up"), "url": given_up},
    ]


def laboratory_of(request: Any, code: str) -> Item:
    """The laboratory with this code; another thing is none (404)."""
    item = item_of(request, code)
    if item.kind != ItemKind.LABORATORY:
        raise Http404
    return item
