"""Nuclides: what the table knows of each, with its sources, and who has it on site."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator
from datetime import date
from typing import Any

from django.http import Http404, HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.utils.html import format_html
from django.utils.translation import gettext as _

from inventory.calc import decay
from inventory.calc.category import BQ_PER_TBQ, CATEGORY_FROM
from inventory.calc.errors import DomainError
from inventory.calc.nuclides import NuclideData, resolve
from inventory.calc.units import NO_BREAK_SPACE, format_activity
from inventory.items.models import Source
from inventory.ledger.models import Item, ItemKind
from inventory.nuclides.read import nuclides
from inventory.sentences import number_text
from inventory.timeline import Stay
from reports.pages.contents import total_text
from reports.pages.paging import show_page
from reports.pages.sources import SourceTable


def listing(request: Any, site: str) -> HttpResponse:
    """The nuclides of the sources that are on site today."""
    table = nuclides()
    here = Stay.objects.on(request.today).filter(site=request.site, item__kind=ItemKind.SOURCE)
    rows = Source.objects.filter(item__in=here.values("item")).values_list(
        "nuclide", "activity_bq", "reference_on"
    )
    found: dict[str, list[float | None]] = defaultdict(list)
    for name, activity_bq, reference_on in rows:
        found[name].append(_today(table.get(name), activity_bq, reference_on, request.today))
    context = {
        "rows": [
            {
                "name": name,
                "url": _url(site, name) if name in table else "",
                "half_life": half_life(table[name]) if name in table else _("not in the table"),
                "emission": table[name].main_use_emission if name in table else "–",
                "count": len(found[name]),
                "total": total_text(found[name], request.today),
            }
            for name in sorted(found)
        ],
        "others": [(name, _url(site, name)) for name in sorted(table.keys() - found.keys())],
    }
    return render(request, "pages/nuclides.html", context)


def _today(
    nuclide: NuclideData | None, activity_bq: float | None, reference_on: date | None, on: date
) -> float | None:
    if nuclide is None or not activity_bq or reference_on is None:
        return None
    return decay.activity_on(activity_bq, reference_on, on, nuclide.half_life_days).value


def page(request: Any, site: str, name: str) -> HttpResponse:
    """One nuclide, by any name that people write, and the sources of the site with it."""
    try:
        nuclide = resolve(name, nuclides())
    except DomainError as error:
        raise Http404 from error
    found = (
        Item.objects.visible_to(request.user, request.today)
        .filter(site=request.site, kind=ItemKind.SOURCE, source__nuclide=nuclide.name)
        .select_related("source")
    )
    table = SourceTable(found, site=site, on=request.today)
    show_page(request, table)
    table.look_up()
    context = {
        "nuclide": nuclide,
        "facts": list(facts(nuclide)),
        "half_life": half_life(nuclide),
        "left": left_after(nuclide),
        "daughters": daughters(nuclide),
        "table": table,
    }
    return render(request, "pages/nuclide.html", context)


def nuclide_link(site: str, nuclide: NuclideData) -> str:
    """A nuclide with its half-life, and the way to its page."""
    said = _(", half-life %(half_life)s") % {"half_life": half_life(nuclide)}
    return format_html('<a href="{}">{}</a>{}', _url(site, nuclide.name), nuclide.name, said)


def _url(site: str, name: str) -> str:
    return reverse("nuclide", args=[site, name])


def half_life(nuclide: NuclideData) -> str:
    """30.05 y: as the table has it."""
    return f"{nuclide.half_life:g} {nuclide.half_life_unit}"


def left_after(nuclide: NuclideData) -> list[tuple[str, str]]:
    """What is left of an activity after a while, in per cent."""
    year = decay.DAYS_PER_YEAR
    spans = ((_("1 year"), year), (_("5 years"), 5 * year), (_("15 years"), 15 * year))
    out = []
    for text, days in spans:
        percent = 100 * decay.fraction(days, nuclide.half_life_days)
        number = _("less than 0.01") if percent < 0.01 else number_text(percent)
        left = f"{number}{NO_BREAK_SPACE}%"
        out.append((text, left))
    return out


def daughters(nuclide: NuclideData) -> list[str]:
    """Each daughter in equilibrium with its activity per activity of the parent."""
    return [
        _("%(name)s, %(ratio)s per decay of %(parent)s")
        % {"name": name, "ratio": number_text(ratio, 4), "parent": nuclide.name}
        for name, ratio in nuclide.daughters
    ]


def facts(nuclide: NuclideData) -> Iterator[tuple[str, str, str]]:
    """Every value with where it comes from; what is not known says so."""
    memory = _("from memory")
    yield _("Element"), nuclide.element, ""
    yield _("Emission used"), nuclide.main_use_emission, ""
    yield _("Half-life"), _half_life_full(nuclide), nuclide.half_life_source
    yield _("How a wipe can be counted"), nuclide.wipe_counting or _("not known"), ""
    yield _("D-value"), _tbq(nuclide.d_tbq, nuclide.d_unlimited), nuclide.d_source
    if nuclide.category_d_tbq is not None:
        yield _("Category boundaries"), _boundaries(nuclide.category_d_tbq), nuclide.d_source
    hass = _tbq(nuclide.hass_tbq, nuclide.hass_unlimited)
    yield _("High-activity source from"), hass, nuclide.hass_source
    yield _("Exemption activity"), _bq(nuclide.exempt_bq), nuclide.exempt_source
    yield _("A1 (transport)"), _tbq(nuclide.a1_tbq, nuclide.a1_unlimited), nuclide.a_source
    yield _("A2 (transport)"), _tbq(nuclide.a2_tbq, nuclide.a2_unlimited), nuclide.a_source
    if nuclide.h10_usv_m2_per_gbq_h is not None:
        text = _("%(value)s µSv m²/(GBq h)") % {"value": number_text(nuclide.h10_usv_m2_per_gbq_h)}
        yield _("Dose-rate constant H*(10)"), text, nuclide.gamma_constant_source
    if nuclide.typical_uses:
        yield _("Used as"), nuclide.typical_uses, memory
    if nuclide.caveat:
        yield _("Take care"), nuclide.caveat, memory
    if nuclide.notes:
        yield _("Note"), nuclide.notes, ""


def _half_life_full(nuclide: NuclideData) -> str:
    said = half_life(nuclide)
    if nuclide.half_life_uncertainty is not None:
        said += f" ± {nuclide.half_life_uncertainty:g} {nuclide.half_life_unit}"
    days = {"days": f"{nuclide.half_life_days:.9g}"}
    return said if nuclide.half_life_unit == "d" else f"{said} ({_('%(days)s d') % days})"


def _boundaries(d_tbq: float) -> str:
    parts = [
        _("category %(number)s from %(activity)s")
        % {"number": number, "activity": format_activity(least * d_tbq * BQ_PER_TBQ)}
        for number, least in CATEGORY_FROM
    ]
    return "; ".join(parts)


def _tbq(value: float | None, unlimited: bool) -> str:
    if unlimited:
        return _("unlimited")
    return _bq(None if value is None else value * BQ_PER_TBQ)


def _bq(value: float | None) -> str:
    return _("not known") if value is None else format_activity(value)
