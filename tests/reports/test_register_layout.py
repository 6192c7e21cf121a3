"""How every kind of register lies on paper, with 110 rows and with texts that are far too long."""

from __future__ import annotations

from io import BytesIO
from typing import Any

import pytest
from pypdf import PdfReader

from reports import pdf

from .invented_registers import MAKERS, register_of
from .layout import assert_laid_out, assert_sound, pages_of

ROWS = 110
LONG_NAMES: dict[str, Any] = {
    "site_name": "Works " + "X9" * 60,
    "number": "N-" + "7" * 90,
    "made_by": "Somebody with a name of many words and of one " + "W" * 80,
}
CASES = [(kind, paper) for kind in MAKERS for paper in ("A4", "Letter")]


def drawn(kind: str, paper: Any) -> bytes:
    names = LONG_NAMES if paper == "Letter" else {}
    return pdf.render(register_of(kind, ROWS, long=True, **names), paper)


@pytest.mark.parametrize(("kind", "paper"), CASES)
def test_it_is_sound_and_every_word_and_row_is_where_it_belongs(kind, paper, tmp_path):
    data = drawn(kind, paper)
    assert_sound(data, tmp_path)
    assert_laid_out(data, tmp_path)
    pages = pages_of(data, tmp_path)
    assert_every_page_is_headed(kind, pages)
    assert_every_row_is_there(kind, "\n".join(pages))
    box = PdfReader(BytesIO(data)).pages[0].mediabox
    assert (box.width > box.height) is (kind != "due")


def assert_every_page_is_headed(kind: str, pages: list[str]) -> None:
    """Heads on every page of the table, and which page of how many this is."""
    columns = register_of(kind, 0).columns_for("people")
    heads = {word for column in columns for word in column.head.split()}
    assert len(pages) > 5
    for number, text in enumerate(pages, 1):
        assert f"page {number} of {len(pages)}" in text
        if "Notes" not in text.split() and "Signatures" not in text:
            assert heads <= set(text.split()), number


def assert_every_row_is_there(kind: str, text: str) -> None:
    """In order, and counted."""
    keys = [f"EI {4100 + number}" if kind == "leak" else f"{number:08d}" for number in range(ROWS)]
    places = [text.find(key) for key in keys]
    assert -1 not in places and places == sorted(places)
    assert f"End of the table: {ROWS} rows." in text
