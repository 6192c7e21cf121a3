"""The first page: one sentence per site."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse

from config import clock
from config.accounts.models import Site, SiteRole, User
from inventory.requirements.headlines import headlines


def page(request: Any) -> HttpResponse:
    """Every site on which the person holds a role today; with one site, that site at once."""
    now = clock.now()
    sites = _sites(request.user, now)
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


def _sites(user: User, now: datetime) -> list[Site]:
    """The sites on which a person holds a role on the day that it is there."""
    roles = SiteRole.objects.filter(user=user).select_related("site")
    held = {role.site for role in roles if role.from_on <= role.site.day(now) <= role.until_on}
    return sorted(held, key=lambda site: (site.name, site.pk))
