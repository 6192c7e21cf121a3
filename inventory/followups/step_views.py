"""The steps of a follow-up on pages: take over the usual ones, add, mark as done, take back."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from django.contrib import messages
from django.http import Http404, HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _

from inventory.followups.forms import DoneForm, ReasonForm, StepForm, SuggestedForm
from inventory.followups.models import FollowUp, FollowUpStep
from inventory.followups.step_actions import Act, Task, add_steps, mark_done, reopen, withdraw
from inventory.followups.suggestions import suggested
from inventory.followups.views import already_sent, follow_up_of, suggestions_left, url_of
from inventory.followups.wording import follow_up_sentence
from inventory.ledger.models import Record
from inventory.pages import WritingForm

Write = Callable[[WritingForm], Record]


def add(request: Any, site: str, code: str, seq: int) -> HttpResponse:
    """Add a step."""
    one = follow_up_of(request, code, seq)

    def write(form: WritingForm) -> Record:
        data = form.cleaned_data
        task = Task(data["text"], data["who"], data["by_on"])
        return add_steps(one, [task], _act(request, form))[0]

    form = _form(request, StepForm)
    return _answer(request, one, form, write, _("Add a step"), _("The step is added."))


def take_over(request: Any, site: str, code: str, seq: int) -> HttpResponse:
    """Take over the usual first steps that are ticked."""
    one = follow_up_of(request, code, seq)
    usual = suggested(one.kind)
    left = suggestions_left(one, list(FollowUpStep.objects.of(one)))

    def write(form: Any) -> Record:
        tasks = [Task(text) for text in form.chosen]
        return add_steps(one, tasks, _act(request, form), only_new=True)[0]

    form = _form(request, SuggestedForm, usual=usual, left=left)
    title = _("Take over the usual first steps")
    return _answer(request, one, form, write, title, _("The steps are added."))


def done(request: Any, site: str, code: str, seq: int, step: int) -> HttpResponse:
    """Mark a step as done."""
    one, its = follow_up_of(request, code, seq), _step_of(request, code, seq, step)

    def write(form: WritingForm) -> Record:
        data = form.cleaned_data
        return mark_done(
            its, _act(request, form), on=data["on"], note=data["note"], who=data["who"]
        )

    form = _form(request, DoneForm, on=request.today)
    return _answer(request, one, form, write, _("Step done"), _("Marked as done."), its)


def take_back(request: Any, site: str, code: str, seq: int, step: int) -> HttpResponse:
    """Withdraw a step that turned out not to be needed."""
    if already_sent(request):  # the step is gone, by this very form
        return redirect(url_of(request, follow_up_of(request, code, seq)))
    one, its = follow_up_of(request, code, seq), _step_of(request, code, seq, step)

    def write(form: WritingForm) -> Record:
        return withdraw(its, _act(request, form), reason=form.cleaned_data["reason"])

    form = _form(request, ReasonForm)
    return _answer(request, one, form, write, _("Withdraw a step"), _("Withdrawn."), its)


def open_again(request: Any, site: str, code: str, seq: int, step: int) -> HttpResponse:
    """Say that a step was not done after all."""
    one, its = follow_up_of(request, code, seq), _step_of(request, code, seq, step)

    def write(form: WritingForm) -> Record:
        return reopen(its, _act(request, form), reason=form.cleaned_data["reason"])

    form = _form(request, ReasonForm)
    title = _("A step was not done after all")
    return _answer(request, one, form, write, title, _("The step is open again."), its)


def _step_of(request: Any, code: str, seq: int, step: int) -> FollowUpStep:
    one = follow_up_of(request, code, seq)
    found = FollowUpStep.objects.of(one).filter(added_by__seq=step)
    its = found.select_related("added_by", "done_by", "opened_by", "item__site").first()
    if its is None:
        raise Http404
    return its


def _form(request: Any, form_class: Any, *, on: Any = None, **more: Any) -> Any:
    if request.method == "POST":
        return form_class(request.POST, **more)
    known = {} if on is None else {"on": on}
    return form_class(initial=form_class.fresh(request, **known), **more)


def _act(request: Any, form: WritingForm) -> Act:
    data = form.cleaned_data
    return Act(request.user, request.now, data["request_key"], data["seen"])


def _answer(
    request: Any,
    one: FollowUp,
    form: Any,
    write: Write,
    title: str,
    message: str,
    step: FollowUpStep | None = None,
) -> HttpResponse:
    """The form, or the follow-up after it was written."""
    if request.method == "POST" and form.is_valid() and form.save_with(lambda: write(form)):
        messages.success(request, message)
        return redirect(url_of(request, one))
    context = {
        "form": form,
        "title": title,
        "item": one.item,
        "followup": {"sentence": follow_up_sentence(one), "url": url_of(request, one)},
        "step": step.text if step else "",
    }
    return render(request, "followups/step.html", context)
