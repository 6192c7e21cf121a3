"""What keeps the graph of modules and the words of the site whole."""

from __future__ import annotations

import ast
import re
import string
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from django.apps import apps
from django.db import models
from django.db.migrations.loader import MigrationLoader

from inventory import sentences as inventory_sentences
from inventory.schedule import sentences as schedule_sentences
from reports.exchange import sentences as exchange_sentences
from surveys import sentences as survey_sentences

ROOT = Path(__file__).parents[1]
APPS = ("config", "inventory", "surveys", "reports")
HEAVY = ("weasyprint", "matplotlib", "openpyxl", "radioactivedecay", "scipy", "numpy")
ABOVE = {
    "accounts": {"inventory", "surveys", "reports"},
    "inventory": {"surveys", "reports"},
    "surveys": {"reports"},
    "reports": set(),
}
TABLES = {"inventory": [inventory_sentences.SENTENCES, schedule_sentences.SENTENCES]}
TABLES["surveys"] = [*TABLES["inventory"], survey_sentences.SENTENCES]
TABLES["reports"] = [*TABLES["surveys"], exchange_sentences.SENTENCES]


# ---------------------------------------------------------------- layers


@pytest.mark.parametrize("app", ABOVE)
def test_no_migration_depends_on_an_app_above(app):
    disk = MigrationLoader(None).disk_migrations
    needed = {
        label
        for (owner, _name), migration in disk.items()
        if owner == app
        for label, _ in (*migration.dependencies, *migration.run_before)
    }
    assert not needed & ABOVE[app]


@pytest.mark.parametrize("app", ABOVE)
def test_no_model_points_to_an_app_above(app):
    pointed = {
        field.related_model._meta.app_label
        for model in apps.get_app_config(app).get_models()
        for field in model._meta.get_fields()
        if isinstance(field, models.ForeignKey | models.ManyToManyField)
    }
    assert not pointed & ABOVE[app]


def test_no_text_names_a_model_of_an_app_above():
    found = [
        f"{path}: {text}"
        for path, tree in trees("inventory")
        for text in strings(tree)
        if re.fullmatch(r"(surveys|reports)\.\w+", text)
    ]
    assert found == []


def test_a_plain_page_loads_nothing_heavy():
    script = f"""
import django, sys
django.setup()
from django.test import Client, RequestFactory
import config.urls, config.wsgi
assert Client().get("/login/").status_code == 200
print(sorted(set({HEAVY!r}) & set(sys.modules)))
"""
    done = subprocess.run(
        [sys.executable, "-W", "ignore", "-c", script],
        cwd=ROOT,
        env={"DJANGO_SETTINGS_MODULE": "config.settings_test", "PATH": ""},
        capture_output=True,
        text=True,
        timeout=60,
        check=False,
    )
    assert done.stdout.strip().endswith("[]"), done.stdout + done.stderr


# ---------------------------------------------------------------- sentences


def trees(*folders: str) -> Iterator[tuple[Path, ast.Module]]:
    for folder in folders:
        for path in sorted((ROOT / folder).rglob("*.py")):
            if path.parent.name != "migrations":
                tree = ast.parse(path.read_text(encoding="utf-8"))
                yield path.relative_to(ROOT), tree


def strings(tree: ast.AST) -> Iterator[str]:
    for node in ast.walk(tree):
        if isinstance(node, ast.Constant) and isinstance(node.value, str):
            yield node.value


def emitted() -> Iterator[tuple[Path, int, str, set[str] | None]]:
    """Every code that a Step or a DomainError is made with, and the names of its values, None
    where they are not written out."""
    for path, tree in trees("inventory", "surveys", "reports"):
        for node in ast.walk(tree):
            if isinstance(node, ast.Call) and _called(node) in ("Step", "DomainError"):
                for code in _texts(node.args[0]) if node.args else ():
                    yield path, node.lineno, code, _names(node)


def _called(node: ast.Call) -> str:
    return node.func.id if isinstance(node.func, ast.Name) else ""


def _texts(node: ast.expr) -> list[str]:
    if isinstance(node, ast.Constant) and isinstance(node.value, str):
        return [node.value]
    if isinstance(node, ast.IfExp):
        return _texts(node.body) + _texts(node.orelse)
    return []


def _names(node: ast.Call) -> set[str] | None:
    values: ast.expr | None = node.args[1] if len(node.args) > 1 else None
    for keyword in node.keywords:
        values = keyword.value if keyword.arg == "values" else values
    if values is None:
        return set()
    if not isinstance(values, ast.Dict) or not all(
        isinstance(key, ast.Constant) for key in values.keys
    ):
        return None
    return {str(key.value) for key in values.keys if isinstance(key, ast.Constant)}


def sentence_of(path: Path, code: str) -> Any:
    for table in TABLES.get(path.parts[0], []):
        if code in table:
            return str(table[code])
    return None


def placeholders(sentence: str) -> set[str]:
    return set(re.findall(r"%\((\w+)\)s", sentence))


def test_every_code_has_a_sentence():
    missing = [
        f"{path}:{line} {code}"
        for path, line, code, _names in emitted()
        if sentence_of(path, code) is None
    ]
    assert missing == []


def test_every_sentence_finds_the_values_that_it_needs():
    lacking = []
    for path, line, code, names in emitted():
        needed = placeholders(sentence_of(path, code) or "")
        if names is not None and not needed <= names:
            lacking.append(f"{path}:{line} {code} needs {sorted(needed - names)}")
    assert lacking == []


def test_the_scan_of_codes_sees_most_of_the_sentences():
    """A code in a variable escapes the scan; that must stay the exception."""
    codes = {code for _path, _line, code, _names in emitted()}
    assert len(codes) > 100


def test_every_sentence_can_be_filled_and_says_its_unit():
    for table in TABLES["reports"]:
        for code, text in table.items():
            filled = str(text) % dict.fromkeys(placeholders(str(text)), "x")
            assert "%(" not in filled, code


# ---------------------------------------------------------------- visible words


def templates() -> list[Path]:
    return [path for app in APPS for path in sorted((ROOT / app).rglob("templates/**/*.html"))]


#: Words that no language translates.
NAMES = {"Sealbook", "SHA-256"}
TAGS = re.compile(r"{%.*?%}|{{.*?}}|{#.*?#}", re.DOTALL)
HIDDEN = re.compile(
    r"{%\s*blocktranslate.*?{%\s*endblocktranslate\s*%}|{%\s*comment\s*%}.*?{%\s*endcomment\s*%}"
    r"|<style>.*?</style>|<!--.*?-->",
    re.DOTALL,
)
SPOKEN = re.compile(r'\b(?:alt|title|placeholder|aria-label|data-label)="([^"]*)"')


def visible(text: str) -> Iterator[str]:
    """What a reader sees, or hears, of a template that is not made by a tag."""
    text = TAGS.sub("", HIDDEN.sub("", text))
    yield from SPOKEN.findall(text)
    yield from re.sub(r"<[^>]*>", "\n", text).splitlines()


def words_of(part: str) -> set[str]:
    without = re.sub(r"&\w+;", " ", part)
    found = {word.strip(string.punctuation + "·…–") for word in without.split()}
    return {word for word in found if re.search(r"[^\W\d_]", word)} - NAMES


@pytest.mark.parametrize("path", templates(), ids=lambda path: str(path.relative_to(ROOT)))
def test_every_visible_word_of_a_template_can_be_translated(path):
    bare = {word for part in visible(path.read_text(encoding="utf-8")) for word in words_of(part)}
    assert bare == set()


def test_the_scan_of_words_sees_what_it_looks_for():
    assert list(filter(words_of, visible('<p>Plain {{ x }} <b title="Said">{# no #}</b></p>')))
    assert not list(filter(words_of, visible("<p>{% translate 'Good' %} · {{ x }}: 1.</p>")))
