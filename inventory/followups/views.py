"""Follow-ups on pages: the list, one with its steps, and closing it."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from typing import Any

from django.contrib import messages
from django.core.paginator import Paginator
from django.db.models import F
from django.http import Http404, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils.translation import gettext as _

from config.permissions import DECIDE, ENTER
from inventory.followups.actions import close_follow_up
from inventory.followups.forms import CloseForm, StepForm, SuggestedForm
from inventory.followups.models import FollowUp, FollowUpStep
from inventory.followups.reporting import SPILL, TRIGGERS_OF, ToReport, to_report
from inventory.followups.suggestions import suggested
from inventory.followups.wording import (
    age_text,
    follow_up_sentence,
    next_step,
    step_deadline,
    step_sentence,
    steps_text,
)
from inventory.ledger.models import Record
from inventory.pages import item_of, sent_key
from inventory.schedule.other_parts import how_told
from inventory.sentences import day_text, lines

PAGE = 50


def everything(request: Any, site: str) -> HttpResponse:
    """The follow-ups of a site: what is open first, the oldest of it on top."""
    found = (
        FollowUp.objects.filter(site=request.site)
        .select_related("item", "opened_by", "closed_by")
        .order_by(F("closed_on").desc(nulls_first=True), "opened_on", "pk")
    )
    shown = Paginator(found, PAGE).get_page(request.GET.get("page"))
    steps = steps_by_follow_up(list(shown))
    lines = [_listed(request, one, steps[one.pk]) for one in shown]
    context = {
        "open": [line for line in lines if line["open"]],
        "closed": [line for line in lines if not line["open"]],
        "page": shown,
    }
    return render(request, "followups/list.html", context)


def steps_by_follow_up(follow_ups: Sequence[FollowUp]) -> dict[int, list[FollowUpStep]]:
    """The steps of follow-ups by key: one query."""
    key_of = {(one.item_id, one.opened_by_id): one.pk for one in follow_ups}
    out: dict[int, list[FollowUpStep]] = defaultdict(list)
    if follow_ups:
        for step in FollowUpStep.objects.of(*follow_ups):
            if (key := key_of.get((step.item_id, step.opened_by_id))) is not None:
                out[key].append(step)
    return out


def _listed(request: Any, one: FollowUp, steps: Sequence[FollowUpStep]) -> dict[str, Any]:
    coming = next_step(steps)
    is_open = one.closed_by_id is None
    late = bool(coming and coming.by_on and coming.by_on < request.today)
    return {
        "open": is_open,
        "subject": one.item.label,
        "url": url_of(request, one),
        "sentence": follow_up_sentence(one),
        "age": age_text(one, request.today) if is_open else "",
        "steps": steps_text(steps),
        "next": step_sentence(coming, request.today) if coming and is_open else "",
        "late": late,
    }


def url_of(request: Any, one: FollowUp, name: str = "followup") -> str:
    """The address of a follow-up."""
    return reverse(name, args=[request.site.slug, one.item.code, one.opened_by.seq])


def follow_up_of(request: Any, code: str, seq: int, *, still_open: bool = False) -> FollowUp:
    """The follow-up that record ``seq`` opened on an item of the site; else 404."""
    found = FollowUp.objects.still_open() if still_open else FollowUp.objects.all()
    one = (
        found.filter(item=item_of(request, code), opened_by__seq=seq)
        .select_related("opened_by", "closed_by", "item__site")
        .first()
    )
    if one is None:
        raise Http404
    return one


def already_sent(request: Any) -> bool:
    """Whether this very form has written already: a double click, after which what the page was
    about may be gone."""
    key = sent_key(request) if request.method == "POST" else None
    return key is not None and Record.objects.filter(site=request.site, request_key=key).exists()


def page(request: Any, site: str, code: str, seq: int) -> HttpResponse:
    """A follow-up: what opened it, its steps, what can be done next."""
    one = follow_up_of(request, code, seq)
    steps = list(FollowUpStep.objects.of(one).select_related("added_by", "done_by"))
    is_open = one.closed_by_id is None
    may_enter = is_open and bool(request.roles & ENTER)
    may_decide = is_open and bool(request.roles & DECIDE)
    offered = suggestions_left(one, steps)
    context = {
        "item": one.item,
        "followup": {
            "sentence": follow_up_sentence(one),
            "open": is_open,
            "age": age_text(one, request.today) if is_open else "",
            "steps": steps_text(steps),
            "record_url": reverse("record", args=[site, one.opened_by.seq]),
            "seq": one.opened_by.seq,
        },
        "reports": [_report(request, found) for found in to_report(one)],
        "reportable": one.kind in TRIGGERS_OF,
        "steps": [_step(request, one, step, may_enter, may_decide) for step in steps],
        "add_form": StepForm(initial=StepForm.fresh(request)) if may_enter else None,
        "add_url": url_of(request, one, "followup-step-new"),
        "suggested_form": SuggestedForm(
            initial=SuggestedForm.fresh(request), usual=suggested(one.kind), left=offered
        )
        if may_decide and offered
        else None,
        "suggested_url": url_of(request, one, "followup-steps"),
        "offered": offered if is_open else [],
        "close_url": url_of(request, one, "followup-close") if may_decide else "",
        "waiting": sum(step.done_on is None for step in steps),
    }
    return render(request, "followups/page.html", context)


def _report(request: Any, found: ToReport) -> dict[str, Any]:
    row, by = found.row, found.by.value
    return {
        "whom": row.tell,
        "if_spilled": row.trigger == SPILL,
        "how": how_told(row),
        "why": list(lines(found.by.steps)),
        "by": day_text(by.by_on) if by.by_on else "",
        "at_once": by.at_once,
        "over": found.over_on(request.today),
        "content": row.content,
        "note": row.note,
    }


def suggestions_left(one: FollowUp, steps: Sequence[FollowUpStep]) -> list[str]:
    """The usual first steps that are not among the steps yet."""
    there = {step.text for step in steps}
    return [text for text in suggested(one.kind) if text not in there]


def _step(
    request: Any, one: FollowUp, step: FollowUpStep, may_enter: bool, may_decide: bool
) -> dict[str, Any]:
    args = [request.site.slug, one.item.code, one.opened_by.seq, step.added_by.seq]
    done = step.done_by
    late = done is None and step.by_on is not None and step.by_on < request.today
    return {
        "text": step.text,
        "who": step.who or _("nobody named"),
        "when": step_deadline(step, request.today),
        "done": done is not None,
        "late": late,
        "by": done.performed_by if done else "",
        "done_url": reverse("followup-step-done", args=args) if may_enter and not done else "",
        "withdraw_url": reverse("followup-step-withdraw", args=args)
        if may_decide and not done
        else "",
        "reopen_url": reverse("followup-step-reopen", args=args) if may_enter and done else "",
        "added": day_text(step.added_by.effective_on),
    }


def close(request: Any, site: str, code: str, seq: int) -> HttpResponse:
    """The supervisor closes the follow-up that record ``seq`` opened on an item."""
    if already_sent(request):
        return redirect("item", site, code)
    follow_up = follow_up_of(request, code, seq, still_open=True)
    if request.method == "POST":
        form = CloseForm(request.POST)
        if form.is_valid() and form.save_with(
            lambda: close_follow_up(
                follow_up,
                by=request.user,
                at=request.now,
                on=form.cleaned_data["on"],
                reason=form.cleaned_data["reason"],
                request_key=form.cleaned_data["request_key"],
                seen=form.cleaned_data["seen"],
            )
        ):
            messages.success(request, _("The follow-up is closed."))
            return redirect("item", site, code)
    else:
        form = CloseForm(initial=CloseForm.fresh(request, on=request.today))
    steps = list(FollowUpStep.objects.of(follow_up))
    context = {
        "form": form,
        "item": follow_up.item,
        "followup": {
            "sentence": follow_up_sentence(follow_up),
            "url": url_of(request, follow_up),
            "steps": steps_text(steps),
        },
        "waiting": [step_sentence(step, request.today) for step in steps if step.done_on is None],
    }
    return render(request, "followups/close.html", context)
