"""A real browser on a real server, each test with a database file of its own.

``python manage.py demo`` runs once and fills a folder with the demo's data. Before every test the
server's data are made anew from there, while no page is open; so a test may change anything, and
nothing is ever flushed. No test here uses the ORM.

Run with ``.venv/bin/python -m pytest tests/e2e``; a plain ``pytest`` leaves them out. Fixtures:

``page``          from pytest-playwright, at the width of a desk screen; ``page.goto("/login/")``
                  goes to this test's server. Another width:
                  ``@pytest.mark.parametrize("screen", ["phone", "desk"], indirect=True)``
``login``         ``login(page, "supervisor")`` logs a demo user in
``screenshot``    ``screenshot(page, "register")`` keeps a picture in ``test-results/``, if
                  the command line says ``--screenshot=on``
``site``          the server: ``site.url``, ``site.folder`` (its database and attachments)

What a test left on the screen when it failed, and what the server said, is in ``test-results/``
too, in a folder named after the test. SEALBOOK_DEMO_PASSWORD is for a demo made with another one;
SEALBOOK_PREPARED_DEMO names a folder in which today's demo is made already.
"""

from __future__ import annotations

import os
import re
import shutil
import socket
import subprocess
import sys
import time
import urllib.error
import urllib.request
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Page

ROOT = Path(__file__).resolve().parent.parent.parent
DEMO_PASSWORD = os.environ.get("SEALBOOK_DEMO_PASSWORD", "sealbook-demo")
DEMO_SECONDS = 300
START_SECONDS = 30

SCREENS: dict[str, dict[str, Any]] = {
    "phone": {"viewport": {"width": 390, "height": 844}, "is_mobile": True, "has_touch": True},
    "desk": {"viewport": {"width": 1280, "height": 900}},
}
CHROMIUM_ARGS = [
    "--no-sandbox",  # Chromium refuses to run as root with it, and CI is root
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--no-first-run",
    "--disable-gpu",
]


@dataclass(frozen=True)
class Server:
    """A running server, the folder it keeps its data in and the file it writes to."""

    url: str
    folder: Path
    log: Path


def pytest_configure(config: pytest.Config) -> None:
    """Keep a picture of every failure, unless the command line says otherwise."""
    if config.option.screenshot == "off":
        config.option.screenshot = "only-on-failure"


def find_chromium() -> str:
    """The system's Chromium; browsers that Playwright downloads itself are not used. The one that
    never has a window of its own comes first: the same engine in two thirds of the time."""
    for name in ("chromium-headless-shell", "chromium"):
        if (path := shutil.which(name)) is not None:
            return path
    pytest.fail(
        "The browser tests need Chromium (Debian/Ubuntu: apt-get install -y chromium).",
        pytrace=False,
    )


def demo_environment(folder: Path) -> dict[str, str]:
    """The environment of a process that works on the demo in this folder and on nothing else."""
    inherited = {name: value for name, value in os.environ.items() if name != "DATABASE_URL"}
    return inherited | {
        "DJANGO_SETTINGS_MODULE": "config.settings_demo",
        "SEALBOOK_DEMO_DIR": str(folder),
        "PYTHONUNBUFFERED": "1",
    }


def free_port() -> int:
    """A port that nothing listens on just now."""
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])


def answers(url: str) -> bool:
    """Whether the server says it is well; never asked through a proxy."""
    direct = urllib.request.build_opener(urllib.request.ProxyHandler({}))
    try:
        with direct.open(url, timeout=5) as response:
            return bool(response.status == 200)
    except urllib.error.HTTPError as error:
        error.close()
        return False
    except OSError:
        return False


def wait_until_up(server: subprocess.Popen[bytes], url: str, log: Path) -> None:
    """Return when the server answers; fail with its own words when it does not."""
    deadline = time.monotonic() + START_SECONDS
    while server.poll() is None and time.monotonic() < deadline:
        if answers(url + "/healthz"):
            return
        time.sleep(0.1)
    state = "does not answer" if server.poll() is None else f"ended ({server.returncode})"
    said = log.read_text(encoding="utf-8", errors="replace")[-4000:]
    pytest.fail(f"The server {state} on {url}/healthz. It said:\n{said}", pytrace=False)


def end(server: subprocess.Popen[bytes]) -> None:
    """Ask the server to end; make it, if it does not within ten seconds."""
    server.terminate()
    try:
        server.wait(timeout=10)
    except subprocess.TimeoutExpired:
        server.kill()
        server.wait()


@pytest.fixture(scope="session")
def prepared_demo(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with a fresh demo; never changed, only copied."""
    if (made := os.environ.get("SEALBOOK_PREPARED_DEMO")) is not None:
        if not (Path(made) / "data" / "demo" / "demo.sqlite3").exists():
            pytest.fail(f"SEALBOOK_PREPARED_DEMO: there is no demo in {made}.", pytrace=False)
        return Path(made)
    folder = tmp_path_factory.mktemp("prepared-demo")
    result = subprocess.run(
        [sys.executable, "manage.py", "demo"],
        cwd=ROOT,
        env=demo_environment(folder),
        stdin=subprocess.DEVNULL,
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        text=True,
        timeout=DEMO_SECONDS,
        check=False,
    )
    if result.returncode:
        pytest.fail(f"'manage.py demo' failed. It said:\n{result.stdout[-4000:]}", pytrace=False)
    return folder


def begin_again(folder: Path, prepared: Path) -> None:
    """Put the prepared demo's data in the place of what a test left."""
    shutil.rmtree(folder / "data", ignore_errors=True)
    shutil.copytree(prepared / "data" / "demo", folder / "data" / "demo")


@pytest.fixture(scope="session")
def server(prepared_demo: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Server]:
    """One server process for the run. It keeps nothing of a demo between two requests."""
    folder = tmp_path_factory.mktemp("demo")
    begin_again(folder, prepared_demo)
    port = free_port()
    url = f"http://127.0.0.1:{port}"
    log = tmp_path_factory.mktemp("server") / "server.log"
    command = [sys.executable, "manage.py", "runserver", "--noreload", "--insecure"]
    with log.open("wb") as output:
        process = subprocess.Popen(
            [*command, f"127.0.0.1:{port}"],
            cwd=ROOT,
            env=demo_environment(folder),
            stdin=subprocess.DEVNULL,
            stdout=output,
            stderr=subprocess.STDOUT,
        )
    try:
        wait_until_up(process, url, log)
        yield Server(url, folder, log)
    finally:
        end(process)


@pytest.fixture
def site(server: Server, prepared_demo: Path, output_path: str) -> Iterator[Server]:
    """The server, with the demo as it was made."""
    begin_again(server.folder, prepared_demo)
    before = server.log.stat().st_size
    yield server
    said = server.log.read_bytes()[before:]
    # The first place to look after a failure; of a test that passed nobody needs it.
    if b"Traceback" in said:
        Path(output_path).mkdir(parents=True, exist_ok=True)
        (Path(output_path) / server.log.name).write_bytes(said)


@pytest.fixture
def screen(request: pytest.FixtureRequest) -> str:
    """The width the page is shown at: a name of SCREENS."""
    return str(getattr(request, "param", "desk"))


@pytest.fixture(scope="session")
def base_url() -> None:
    """None for the whole run: each test has its own (see browser_context_args).

    It also stands in for pytest-playwright's fixture of this name, a method, which pytest 9 warns
    about, and a warning is an error here.
    """


@pytest.fixture(scope="session")
def browser_type_launch_args(browser_type_launch_args: dict[str, Any]) -> dict[str, Any]:
    """Launch the system's Chromium."""
    return browser_type_launch_args | {"executable_path": find_chromium(), "args": CHROMIUM_ARGS}


@pytest.fixture
def browser_context_args(
    browser_context_args: dict[str, Any], site: Server, screen: str
) -> dict[str, Any]:
    """Every page belongs to this test's server and has this test's width."""
    return browser_context_args | SCREENS[screen] | {"base_url": site.url, "locale": "en-GB"}


@pytest.fixture
def login() -> Callable[..., None]:
    """A function that logs a demo user in and leaves the page where the site leads them."""

    def log_in(page: Page, username: str, password: str = DEMO_PASSWORD) -> None:
        page.goto("/login/")
        page.locator("input[name=username]").fill(username)
        page.locator("input[name=password]").fill(password)
        page.locator("form:has(input[name=password]) button").click()
        page.wait_for_url(lambda url: "/login/" not in url)

    return log_in


@pytest.fixture
def screenshot(pytestconfig: pytest.Config, output_path: str, screen: str) -> Callable[..., None]:
    """A function that keeps a picture of the whole page under a name, if pictures are wanted."""

    def take(page: Page, name: str) -> None:
        if pytestconfig.option.screenshot == "on":
            name = re.sub(r"[^a-z0-9-]+", "-", name.lower())
            page.screenshot(path=Path(output_path) / f"{name}-{screen}.png", full_page=True)

    return take
