"""Every page at phone and desk width: no violation that axe knows of, nothing cut off sideways."""

from __future__ import annotations

import re

import pytest
from axe_playwright_python.sync_playwright import Axe

every_screen = pytest.mark.parametrize("screen", ["phone", "desk"], indirect=True)
PAGES = (
    *("/", "/thornmere/", "/thornmere/sources/", "/thornmere/registers/source/"),
    *(
        "/thornmere/wipes/new/",
        "/thornmere/sessions/new/",
        "/thornmere/counters/",
        "/thornmere/records/94/",
        "/thornmere/records/94/correct/",
    ),
    *("/thornmere/laboratories/", "/thornmere/laboratories/new/"),
    *("/thornmere/registers/", "/thornmere/registers/leak/", "/thornmere/registers/monitor/"),
    "/thornmere/registers/due/",
    *("/thornmere/wipes/send/", "/thornmere/wipes/awaited/", "/garnet-bluff/wipes/awaited/"),
    *("/thornmere/things/", "/thornmere/monitors/new/", "/thornmere/records/79/correct/"),
    *(f"/thornmere/items/new/{kind}/" for kind in ("source", "gauge", "location")),
    *("/thornmere/records/59/correct/", "/thornmere/records/27/correct/"),
    *("/thornmere/records/97/accept/", "/thornmere/records/1/", "/thornmere/no-such-page/"),
    *("/thornmere/nuclides/", "/thornmere/nuclides/Cs-137/", "/thornmere/nuclides/Am-241/Be/"),
    "/thornmere/records/94/documents/new/",
)


def axe_faults(page) -> list[str]:
    found = Axe().run(page).response["violations"]
    return [f"{page.url}: {one['id']}, {one['nodes'][0]['html'][:200]}" for one in found]


def too_wide(page) -> int:
    return page.evaluate(
        "document.documentElement.scrollWidth - document.documentElement.clientWidth"
    )


@every_screen
def test_every_page_is_accessible_and_fits(page, login):
    login(page, "supervisor")
    page.goto("/thornmere/sources/?q=TBM-0401")
    page.get_by_role("link", name=re.compile("TBM-0401")).first.click()
    item = page.url
    faults = []
    page.goto("/thornmere/things/?kind=monitor")
    monitor = page.locator("tbody th a").first.get_attribute("href")
    forms = (
        *(f"{item}move/", f"{item}describe/", f"{item}documents/new/", f"{item}?on=2024-05-05"),
        f"{monitor}calibrations/new/",
    )
    for address in (*PAGES, item, monitor, *forms):
        page.goto(address)
        page.evaluate("document.querySelectorAll('details').forEach(one => one.open = true)")
        faults += axe_faults(page)
        if too_wide(page) > 0:
            faults.append(f"{address}: wider than the screen")
    page.goto(item)
    page.get_by_role("link", name="Close this follow-up").click()
    faults += axe_faults(page)
    assert faults == []
