"""The first page: one sentence per site."""

from __future__ import annotations

from typing import Any

from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse

from config import clock
from config.accounts.models import Site
from reports.pages.headlines import headlines


def page(request: Any) -> HttpResponse:
    """Every site on which the person holds a role today; with one site, that site at once."""
    now = clock.now()
    sites = list(Site.objects.visible_to(request.user, now.date()))
    if len(sites) == 1:
        return redirect("due", sites[0].slug)
    said = headlines({site.pk: site.day(now) for site in sites})
    lines = [
        {
            "site": site,
            "sentence": said[site.pk].sentence,
            "freshness": said[site.pk].freshness,
            "url": reverse("due", args=[site.slug]),
        }
        for site in sites
    ]
    return render(request, "pages/home.html", {"sites": lines})
