"""What is wrong with a page as it is shown: what axe finds, and what does not fit its width."""

from __future__ import annotations

from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Page

AXE = Axe()
OPTIONS = {"resultTypes": ["violations"], "elementRef": False, "preload": False}
OPEN = "document.querySelectorAll('details').forEach(one => one.open = true)"
TOO_WIDE = "document.documentElement.scrollWidth - document.documentElement.clientWidth"


def faults_of(page: Page, *, contrast: bool | None = None) -> list[str]:
    """Each fault of the page with everything unfolded; [] when there is none.

    Contrast takes three quarters of the time. Where nothing is said of it, it is looked at on a
    narrow screen only: the style sheet has the same colours at every width."""
    page.evaluate(OPEN)
    if contrast is None:
        contrast = page.viewport_size is None or page.viewport_size["width"] < 600
    rules = {"color-contrast": {"enabled": contrast}}
    found = AXE.run(page, options=OPTIONS | {"rules": rules}).response["violations"]
    faults = [f"{page.url}: {one['id']}, {one['nodes'][0]['html'][:200]}" for one in found]
    return [*faults, *too_wide(page)]


def looks_right(page: Page) -> None:
    """Assert that the page has no fault."""
    assert faults_of(page) == []


def too_wide(page: Page) -> list[str]:
    """The fault of a page that is wider than the screen."""
    wide = page.evaluate(TOO_WIDE)
    return [f"{page.url}: {wide} px wider than the screen"] if wide > 0 else []
