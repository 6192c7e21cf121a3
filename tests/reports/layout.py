"""Where the words of a PDF lie: what the tests of documents share."""

from __future__ import annotations

import os
import shutil
import subprocess
from collections.abc import Iterator
from itertools import takewhile
from pathlib import Path
from typing import Any
from xml.etree import ElementTree

import pytest

Box = tuple[float, float, float, float, str]


def run(tool: str, *arguments: str) -> str:
    """What a command prints. A site needs none of these tools, so without one a test is skipped;
    where the whole is checked it fails, for a test without its tool has not passed."""
    if not shutil.which(tool):
        missing = f"{tool} is not installed: apt-get install poppler-utils qpdf"
        if "CI" in os.environ:
            pytest.fail(missing)
        pytest.skip(missing)
    done = subprocess.run([tool, *arguments], capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stdout + done.stderr
    return done.stdout


def assert_sound(data: bytes, tmp_path: Path) -> None:
    """A file that qpdf reads without a complaint."""
    file = tmp_path / "whole.pdf"
    file.write_bytes(data)
    assert "No syntax or stream encoding errors" in run("qpdf", "--check", str(file))


def pages_of(data: bytes, tmp_path: Path) -> list[str]:
    """The text of every page; quicker than pypdf where there are many."""
    file = tmp_path / "pages.pdf"
    file.write_bytes(data)
    return run("pdftotext", "-layout", str(file), "-").split("\f")[:-1]


def words(data: bytes, tmp_path: Path) -> Iterator[tuple[float, float, list[Box]]]:
    """Every word with its box, page by page: (width, height, [(x0, y0, x1, y1, word)])."""
    file = tmp_path / "register.pdf"
    file.write_bytes(data)
    page_tag, word_tag = "{http://www.w3.org/1999/xhtml}page", "{http://www.w3.org/1999/xhtml}word"
    found = ElementTree.fromstring(run("pdftotext", "-bbox", str(file), "-"))  # noqa: S314 - ours
    for page in found.iter(page_tag):
        boxes: list[Any] = [
            (*(float(word.get(at, "")) for at in ("xMin", "yMin", "xMax", "yMax")), word.text)
            for word in page.iter(word_tag)
        ]
        yield float(page.get("width", "")), float(page.get("height", "")), boxes


def overlap(one: Box, other: Box) -> bool:
    """Whether two words lie on each other; a font's box is higher than its line, a little."""
    across = min(one[2], other[2]) - max(one[0], other[0])
    down = min(one[3], other[3]) - max(one[1], other[1])
    return across > 0.5 and down > 0.35 * min(one[3] - one[1], other[3] - other[1])


def assert_laid_out(data: bytes, tmp_path: Path) -> None:
    """No word outside its page, none over another."""
    for width, height, boxes in words(data, tmp_path):
        for box in boxes:
            assert min(box[0], box[1], width - box[2], height - box[3]) > 20, box
        boxes.sort()
        for place, box in enumerate(boxes):
            near = takewhile(lambda other, end=box[2]: other[0] < end, boxes[place + 1 :])
            assert not [other for other in near if overlap(box, other)], box
