"""Every code that reading a file makes has a sentence, and the values that it needs."""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator
from pathlib import Path

import pytest

from inventory.sentences import SENTENCES as INVENTORY
from inventory.sentences import fill
from reports.exchange.reading.layout import KINDS
from reports.exchange.reading.vocabulary import PHRASES, UNUSED
from reports.exchange.sentences import SENTENCES
from reports.exchange.understood import Question
from tests.reports.exchange.messes import ANSWERS
from tests.reports.exchange.test_messy import MADE, read, shipped_nuclides, unanswered

__all__ = ["shipped_nuclides"]
FOLDER = Path(__file__).parents[3] / "reports" / "exchange"
#: Calls that make a step, and where their values stand: a dict, or keywords.
MAKERS = {"Step": 1, "note": 1, "fault": 2, "refuse": None, "CellFault": None, "_ask": None}
TABLE = {**INVENTORY, **SENTENCES}


def made() -> Iterator[tuple[str, int, str, set[str] | None]]:
    for folder in ("opening", "reading"):
        for path in sorted((FOLDER / folder).glob("*.py")):
            for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
                if isinstance(node, ast.Call) and name_of(node) in MAKERS and node.args:
                    for code in texts(node.args[0]):
                        yield path.name, node.lineno, code, names(node)


def name_of(node: ast.Call) -> str:
    return getattr(node.func, "id", getattr(node.func, "attr", ""))


def texts(node: ast.expr) -> list[str]:
    if isinstance(node, ast.Constant) and isinstance(node.value, str):
        return [node.value]
    return texts(node.body) + texts(node.orelse) if isinstance(node, ast.IfExp) else []


def names(node: ast.Call) -> set[str] | None:
    at = MAKERS[name_of(node)]
    if at is None:
        return {keyword.arg or "" for keyword in node.keywords}
    if len(node.args) <= at:
        return set()
    values = node.args[at]
    if isinstance(values, ast.Dict):
        return {key.value for key in values.keys if isinstance(key, ast.Constant)}
    return None


def test_every_code_has_its_sentence_with_its_values():
    wrong = []
    for path, line, code, given in made():
        if code not in TABLE:
            wrong.append(f"{path}:{line} {code} has no sentence")
            continue
        needed = set(re.findall(r"%\((\w+)\)s", str(TABLE[code])))
        if given is not None and not needed <= given:
            wrong.append(f"{path}:{line} {code} needs {needed - given}")
    assert wrong == []
    assert len({code for _, _, code, _ in made()}) > 90


def test_every_field_and_every_kind_can_be_named():
    fields = {f"read_field_{name}" for phrases in PHRASES.values() for name in phrases}
    assert fields - {f"read_field_{UNUSED}"} <= set(SENTENCES)
    assert {f"read_kind_{kind}" for kind in KINDS} <= set(SENTENCES)


def questions() -> list[Question]:
    found = [one for name in MADE for one in (*unanswered(name).questions, *read(name).questions)]
    return list({one.key: one for one in found}.values())


def test_every_question_of_the_sample_reads_as_a_sentence_with_its_answers():
    assert {one.key for one in questions()} == set(ANSWERS)
    for question in questions():
        said = [fill(question.text.code, question.text.values, TABLE)]
        said += [fill(one.label.code, one.label.values, TABLE) for one in question.options]
        assert not [text for text in said if "[no sentence" in text or "%(" in text]


@pytest.mark.parametrize("name", MADE)
def test_everything_that_is_said_of_the_sample_is_a_sentence(name):
    steps = [*read(name).notes, *(one.why for one in read(name).skipped)]
    for row in (*read(name).rows, *unanswered(name).rows):
        steps += [*row.notes, *(fault.text for fault in row.faults)]
    said = [fill(step.code, step.values, TABLE) for step in steps]
    assert not [text for text in said if "[no sentence" in text or "%(" in text]
