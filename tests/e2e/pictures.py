"""Make the pictures of the README from the demo, as a person sees it.

Run from the repository: ``make pictures``. It loads a fresh demo into a folder of its own, serves
it, opens it in Chromium, and writes ``fixtures/pictures/*.png``; documents are the demo's own PDF
files, drawn by pdftoppm.
"""

from __future__ import annotations

import subprocess
import sys
import tempfile
from pathlib import Path

from playwright.sync_api import Page, expect, sync_playwright

from tests.e2e import conftest as browser

FOLDER = browser.ROOT / "fixtures" / "pictures"
COLOURS = 128
#: A gauge or source and its gross counts; the last one leaks.
WIPES = (("BW-110", "377"), ("LG-402", "402"), ("TBM-0302", "431 + 425"), ("TBM-0323", "99000"))


def main() -> None:
    FOLDER.mkdir(exist_ok=True)
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        environment = browser.demo_environment(folder)
        manage = [sys.executable, "manage.py"]
        subprocess.run(
            [*manage, "demo"],
            cwd=browser.ROOT,
            env=environment,
            check=True,
            stdout=subprocess.DEVNULL,
        )
        port = browser.free_port()
        log = folder / "server.log"
        with log.open("wb") as output:
            server = subprocess.Popen(
                [*manage, "runserver", "--noreload", "--insecure", f"127.0.0.1:{port}"],
                cwd=browser.ROOT,
                env=environment,
                stdout=output,
                stderr=subprocess.STDOUT,
            )
        try:
            url = f"http://127.0.0.1:{port}"
            browser.wait_until_up(server, url, log)
            take_all(url)
        finally:
            browser.end(server)
        documents(folder / "demo-output")


def take_all(url: str) -> None:
    """Every screen of the README; those of a round also as a phone shows them."""
    with sync_playwright() as playwright:
        chromium = playwright.chromium.launch(
            executable_path=browser.find_chromium(), args=browser.CHROMIUM_ARGS
        )
        for screen in ("desk", "phone"):
            context = chromium.new_context(
                base_url=url, locale="en-GB", reduced_motion="reduce", **browser.SCREENS[screen]
            )
            page = context.new_page()
            log_in(page)
            take(page, "/thornmere/", "what-needs-doing", screen)
            open_source(page, "TBM-0401")
            save(page, "leaking-source", screen)
            if screen == "desk":
                heading = page.get_by_role("heading", name="Leak tests", exact=True)
                heading.evaluate("heading => heading.scrollIntoView()")
                save(page, "leak-history", screen)
                open_session(page)
                save(page, "counting-session", screen)
            context.close()
        chromium.close()


def log_in(page: Page) -> None:
    page.goto("/login/")
    page.locator("input[name=username]").fill("supervisor")
    page.locator("input[name=password]").fill(browser.DEMO_PASSWORD)
    page.locator("form:has(input[name=password]) button").click()
    page.wait_for_url(lambda address: "/login/" not in address)


def take(page: Page, address: str, name: str, screen: str) -> None:
    page.goto(address)
    save(page, name, screen)


def open_source(page: Page, serial: str) -> None:
    page.goto(f"/thornmere/sources/?q={serial}")
    page.get_by_role("link", name=serial).first.click()
    page.wait_for_load_state("networkidle")


def open_session(page: Page) -> None:
    """A grid filled in part, with the answers of the server beside it."""
    page.goto("/thornmere/sessions/new/")
    page.get_by_label("Counter", exact=True).select_option(label="WC-1")
    page.get_by_label("Background counts").fill("389")
    page.get_by_label("Background time (s)").fill("600")
    page.get_by_label("Counting time of a wipe (s)").fill("600")
    for number, (what, counts) in enumerate(WIPES, 1):
        row = page.get_by_role("group", name=f"Wipe {number}", exact=True)
        row.get_by_label("Gauge or source").fill(what)
        row.get_by_label("Gross counts").press_sequentially(counts)
    expect(page.locator(f"#wipe-{len(WIPES)}-result")).to_contain_text("Fails")
    page.get_by_role("heading", name="Wipes", exact=True).scroll_into_view_if_needed()
    page.evaluate("document.querySelector('#wipes, h2').scrollIntoView()")


def save(page: Page, name: str, screen: str) -> None:
    """A picture of the top of the page, in few colours: it is looked at, not measured."""
    target = FOLDER / f"{name}-{screen}.png"
    page.screenshot(path=target, full_page=False)
    fewer_colours(target)


def documents(folder: Path) -> None:
    """First pages of the demo's registers."""
    for kind in ("source", "leak"):
        target = FOLDER / f"{kind}-register"
        subprocess.run(
            [
                *("pdftoppm", "-png", "-r", "80", "-f", "1", "-l", "1", "-singlefile"),
                str(folder / f"thornmere-{kind}-register.pdf"),
                str(target),
            ],
            check=True,
        )
        fewer_colours(target.with_suffix(".png"))


def fewer_colours(path: Path) -> None:
    from PIL import Image

    with Image.open(path) as picture:
        few = picture.convert("RGB").quantize(COLOURS)
    few.save(path, optimize=True)


if __name__ == "__main__":
    main()
