"""Close a follow-up on a page."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.http import Http404, HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _

from inventory.followups.actions import close_follow_up
from inventory.followups.forms import CloseForm
from inventory.followups.models import FollowUp
from inventory.followups.wording import follow_up_sentence
from inventory.pages import item_of


def close(request: Any, site: str, code: str, seq: int) -> HttpResponse:
    """The supervisor closes the follow-up that record ``seq`` opened on an item."""
    item = item_of(request, code)
    follow_up = (
        FollowUp.objects.still_open()
        .filter(item=item, opened_by__seq=seq)
        .select_related("opened_by", "item__site")
        .first()
    )
    if follow_up is None:
        raise Http404
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
    context = {
        "form": form,
        "item": item,
        "followup": {"sentence": follow_up_sentence(follow_up)},
    }
    return render(request, "followups/close.html", context)
