"""One module reads the clock; everything else gets the day and the moment as arguments."""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator
from pathlib import Path

import pytest

from config import clock

ROOT = Path(__file__).parents[1]
APPS = ("config", "inventory", "surveys", "reports")
#: What asks for the moment when it is called, whatever it is called on.
ASKING = {
    *("now", "today", "utcnow", "localdate", "localtime", "time_ns", "monotonic", "gmtime"),
}
#: Modules whose function ``time`` does, and model fields that ask by themselves.
TIME_MODULES = {"time"}
FIELDS = {"auto_now", "auto_now_add"}


def modules() -> Iterator[Path]:
    for app in APPS:
        # A migration repeats what Django's own models of people say.
        yield from sorted(
            path for path in (ROOT / app).rglob("*.py") if path.parent.name != "migrations"
        )
    yield ROOT / "manage.py"


def asks(tree: ast.AST) -> Iterator[int]:
    """Lines on which a module reads the clock by itself."""
    imported = _names_of_the_clock(tree)
    for node in ast.walk(tree):
        if isinstance(node, ast.keyword) and node.arg in FIELDS:
            yield node.value.lineno
        named = isinstance(node, ast.Name) and node.id in imported
        if named or (isinstance(node, ast.Attribute) and _asks(node)):
            yield node.lineno


def _asks(node: ast.Attribute) -> bool:
    on = node.value.id if isinstance(node.value, ast.Name) else ""
    on = node.value.attr if isinstance(node.value, ast.Attribute) else on
    if on in ("clock", "request", "ledger"):
        return False  # the one clock, and those who were told
    called_time = node.attr in ("time", "strftime", "localtime") and on in TIME_MODULES
    return called_time or (node.attr in ASKING and on not in ("self", ""))


def _names_of_the_clock(tree: ast.AST) -> set[str]:
    """``from time import time`` and its like."""
    return {
        alias.asname or alias.name
        for node in ast.walk(tree)
        if isinstance(node, ast.ImportFrom) and node.module in ("time", "django.utils.timezone")
        for alias in node.names
        if alias.name in ASKING | {"time"}
    }


def test_one_module_reads_the_clock():
    found = {
        f"{path.relative_to(ROOT)}:{line}"
        for path in modules()
        for line in asks(ast.parse(path.read_text(encoding="utf-8")))
    }
    assert {place.split(":")[0] for place in found} == {"config/clock.py"}, found


@pytest.mark.parametrize(
    "code",
    [
        *("datetime.now(UTC)", "datetime.datetime.utcnow()", "date.today()", "timezone.now()"),
        *("from time import time\ntime()", "import time\ntime.time()", "timezone.localdate()"),
        *("models.DateField(auto_now=True)", "field(default=timezone.now)"),
        "from django.utils.timezone import now\nnow()",
    ],
)
def test_the_scan_sees_what_it_looks_for(code):
    assert list(asks(ast.parse(code)))


def test_no_template_asks_for_the_moment():
    found = [
        path
        for app in APPS
        for path in (ROOT / app).rglob("templates/**/*.html")
        if re.search(r"{%\s*now\b|timesince|timeuntil", path.read_text(encoding="utf-8"))
    ]
    assert found == []


def test_no_database_asks_for_the_moment():
    words = re.compile(r"CURRENT_(TIME|DATE)|\bNow\(|\('now'")
    assert [path for path in modules() if words.search(path.read_text(encoding="utf-8"))] == []


def test_the_day_is_that_of_the_place():
    late = clock.datetime(2026, 3, 1, 23, 30, tzinfo=clock.UTC)
    assert clock.day_at(late, "Europe/London").day == 1
    assert clock.day_at(late, "Europe/Berlin").day == 2
    assert clock.now().tzinfo is clock.UTC
    assert clock.today("UTC") in (clock.now().date(), clock.day_at(clock.now(), "UTC"))
