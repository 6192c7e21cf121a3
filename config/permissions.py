"""Who may open which page: one table over the resolver, denied where nothing is said.

Pages of a site carry its short name in the address. A site on which a person holds no role does
not exist for them (404); too little role is refused (403).
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from django.core.exceptions import PermissionDenied
from django.http import Http404, HttpRequest, HttpResponse
from django.utils.functional import SimpleLazyObject

from config import clock
from config.accounts.models import Role, Site, roles_on

PUBLIC = "public"
ANYONE = "anyone who is logged in"

READ = frozenset({Role.RPS, Role.TECHNICIAN, Role.MANAGER, Role.INSPECTOR})
ENTER = frozenset({Role.RPS, Role.TECHNICIAN})
DECIDE = frozenset({Role.RPS})

#: Name of the address -> who may open it.
TABLE: dict[str, str | frozenset[str]] = {
    "healthz": PUBLIC,
    "login": PUBLIC,
    "logout": ANYONE,
    "home": ANYONE,
    "due": READ,
    "sources": READ,
    "things": READ,
    "movements": READ,
    "item": READ,
    "record": READ,
    "record-correct": ENTER,
    "record-accept": DECIDE,
    "wipe-new": ENTER,
    "session-new": ENTER,
    "session": READ,
    "session-accept": DECIDE,
    "counters": READ,
    "wipes-send": ENTER,
    "awaited": READ,
    "report-new": ENTER,
    "wipe-give-up": ENTER,
    "laboratories": READ,
    "laboratory": READ,
    "laboratory-new": DECIDE,
    "calibration-new": ENTER,
    "movement-new": ENTER,
    "check-new": ENTER,
    "happening-new": ENTER,
    "monitor-new": DECIDE,
    "item-new": DECIDE,
    "item-describe": DECIDE,
    "followups": READ,
    "followup": READ,
    "followup-close": DECIDE,
    "followup-steps": DECIDE,
    "followup-step-new": ENTER,
    "followup-step-done": ENTER,
    "followup-step-withdraw": DECIDE,
    "followup-step-reopen": ENTER,
    "book": ENTER,
    "unbook": ENTER,
    "not-done": ENTER,
    "ahead": READ,
    "ahead-file": READ,
    "shutdown-new": ENTER,
    "shutdown-change": ENTER,
    "shutdown-take-back": ENTER,
    "document-new": ENTER,
    "document-attach": ENTER,
    "document": READ,
    "chart": READ,
    "nuclides": READ,
    "nuclide": READ,
    "load-new": DECIDE,
    "load-template": DECIDE,
    "load-file": DECIDE,
    "load-done": DECIDE,
    "schedule": READ,
    "schedule-differences": READ,
    "schedule-effects": READ,
    "schedule-rule-sets": DECIDE,
    "schedule-draft": DECIDE,
    "schedule-adopt": DECIDE,
    "schedule-kind-new": DECIDE,
    "schedule-row-new": DECIDE,
    "schedule-row": DECIDE,
    "schedule-row-change": DECIDE,
    "schedule-row-remove": DECIDE,
    "compare": READ,
    "settings": READ,
    "setting-new": DECIDE,
    "setting-end": DECIDE,
    "change-confirm": DECIDE,
    "registers": READ,
    "register": READ,
    "register-file": READ,
}


class SitePermissionMiddleware:
    """Applies the table before a view runs; sets ``request.site``, ``request.roles`` and
    ``request.today`` (the day in the site's time zone) on pages of a site."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        return self.get_response(request)

    def process_view(
        self, request: Any, view: Any, args: tuple[Any, ...], kwargs: dict[str, Any]
    ) -> None:
        """Refuse what the table does not allow."""
        match = request.resolver_match
        allowed = TABLE.get(match.view_name or "")
        if allowed is None:
            raise PermissionDenied
        if allowed == PUBLIC or not request.user.is_authenticated:
            return  # LoginRequiredMiddleware sends the others to log in
        if allowed == ANYONE:
            return
        request.now = clock.now()
        site = Site.objects.filter(slug=kwargs["site"]).first()
        if site is None:
            raise Http404
        request.today = site.day(request.now)
        roles = roles_on(request.user, site, request.today)
        if not roles:
            raise Http404
        if not roles & set(allowed):
            raise PermissionDenied
        request.site, request.roles = site, roles


def site_of_page(request: Any) -> dict[str, Any]:
    """What every template of a site page needs."""
    site = getattr(request, "site", None)
    if site is None:
        return {}
    from inventory.access import schedule_line

    return {
        "site": site,
        "roles": request.roles,
        "may_enter": bool(request.roles & ENTER),
        "may_decide": bool(request.roles & DECIDE),
        # As of the day that the page is about: it says by which schedule all of it was decided.
        "schedule_line": SimpleLazyObject(
            lambda: schedule_line(site, getattr(request, "on", request.today))
        ),
    }
