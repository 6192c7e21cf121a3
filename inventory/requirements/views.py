"""Book lines of the list, take a booking back, record that something was not done."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any

from django.contrib import messages
from django.http import Http404, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from inventory.knowledge import requirements_here
from inventory.ledger.models import Item, Record
from inventory.pages import WritingForm, item_of
from inventory.requirements.booking import Appointment, Line, book, no_longer_booked, not_done
from inventory.requirements.forms import BookForm, NotDoneForm, UnbookForm
from inventory.requirements.plans import plans_of
from inventory.requirements.wording import booking_text, state_sentence
from inventory.sentences import value_text
from inventory.timeline import RequirementSpan

#: More lines than this are not ticked by hand on one page.
MOST_LINES = 200


def book_lines(request: Any, site: str) -> HttpResponse:
    """Book the lines that were ticked (``line=CODE:requirement``) for one day."""

    def write(form: WritingForm, lines: Sequence[Line]) -> Record:
        data = form.cleaned_data
        what = Appointment(
            *(data["booked_for"], data["with_whom"], data["work_order"], data["note"])
        )
        return book(lines, what, **_act(request, form))[0]

    return _page(request, BookForm, write, "requirements/book.html", _("Booked."))


def unbook_lines(request: Any, site: str) -> HttpResponse:
    """Say that nobody has these lines booked any more."""

    def write(form: WritingForm, lines: Sequence[Line]) -> Record:
        reason = form.cleaned_data["reason"]
        return no_longer_booked(lines, reason=reason, **_act(request, form))[0]

    message = _("No longer booked. The due date is what it was.")
    return _page(request, UnbookForm, write, "requirements/unbook.html", message)


def not_done_line(request: Any, site: str, code: str, requirement: str) -> HttpResponse:
    """Say why a requirement of an item was not done."""
    line = _lines(request, [f"{item_of(request, code).code}:{requirement}"])[0]

    def write(form: WritingForm, lines: Sequence[Line]) -> Record:
        data = form.cleaned_data
        said = {name: data[name] for name in ("on", "because", "meanwhile", "performed_by")}
        return not_done(lines[0], **said, **_act(request, form))

    message = _("Recorded. It is due as before.")
    return _page(
        request, NotDoneForm, write, "requirements/not_done.html", message, [line], on=request.today
    )


def _page(
    request: Any,
    form_class: type[WritingForm],
    write: Callable[[WritingForm, Sequence[Line]], Record],
    template: str,
    message: str,
    lines: Sequence[Line] | None = None,
    **initial: Any,
) -> HttpResponse:
    """One form about some lines; afterwards back to the list as it was narrowed down."""
    sent = request.POST if request.method == "POST" else request.GET
    lines = _lines(request, sent.getlist("line")) if lines is None else lines
    back = reverse("due", args=[request.site.slug])
    narrowed = sent.get("back", "").lstrip("?")
    if narrowed:
        back = f"{back}?{narrowed}"
    if not lines:
        messages.error(request, _("Tick the lines that this is about first."))
        return redirect(back)
    if request.method == "POST":
        form = form_class(request.POST)
        if form.is_valid() and form.save_with(lambda: write(form, lines)):
            messages.success(request, message)
            return redirect(back)
    else:
        form = form_class(initial=form_class.fresh(request, **initial))
    context = {
        "form": form,
        "lines": _said(request, lines),
        "count": ngettext("%(n)s line", "%(n)s lines", len(lines)) % {"n": len(lines)},
        "back": narrowed,
        "back_url": back,
    }
    return render(request, template, context)


def _act(request: Any, form: WritingForm) -> dict[str, Any]:
    return {
        "by": request.user,
        "at": request.now,
        "request_key": form.cleaned_data["request_key"],
        "seen": form.cleaned_data["seen"],
    }


def _lines(request: Any, chosen: Sequence[str]) -> list[Line]:
    """The lines that a form or an address names; what is not on this site does not exist."""
    pairs = list(dict.fromkeys(tuple(text.upper().partition(":")[::2]) for text in chosen))
    if len(pairs) > MOST_LINES:
        raise Http404
    items = Item.objects.visible_to(request.user, request.today).filter(site=request.site)
    there = {item.code: item for item in items.filter(code__in=[code for code, _req in pairs])}
    if any(code not in there for code, _req in pairs):
        raise Http404
    lines = [Line(there[code], requirement.lower()) for code, requirement in pairs]
    known = requirements_here(list(there.values()))
    if any((line.item.pk, line.requirement) not in known for line in lines):
        raise Http404
    return lines


def _said(request: Any, lines: Sequence[Line]) -> list[dict[str, Any]]:
    """Each line as the list says it: what, state, and who has it booked now."""
    on = request.today
    rows = RequirementSpan.objects.on(on).filter(item__in=[line.item for line in lines])
    spans = {(span.item_id, span.requirement): span for span in rows}
    plans = plans_of(spans.values(), on)
    out = []
    for line in lines:
        span = spans.get((line.item.pk, line.requirement))
        booking = plans.bookings.get(span.pk) if span else None
        out.append(
            {
                "value": f"{line.item.code}:{line.requirement}",
                "subject": line.item.label,
                "url": reverse("item", args=[request.site.slug, line.item.code]),
                "requirement": value_text("requirement", line.requirement),
                "state": span.decision.state_on(on) if span else "",
                "sentence": state_sentence(span.decision, on, line.requirement) if span else "",
                "booked": booking_text(booking, on) if booking else "",
            }
        )
    return out
