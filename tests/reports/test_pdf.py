import gc
import hashlib
import os
import re
import subprocess
import sys
import unicodedata
from dataclasses import replace
from datetime import UTC, datetime
from functools import cache
from io import BytesIO
from pathlib import Path

import pytest
from django.utils import translation
from pypdf import PdfReader

from inventory.calc.asof import AsOf
from reports import pdf
from reports.registers.base import STATE_MARKS, Cell, Note, cells
from reports.registers.csv_out import to_csv, to_json

from .invented import COLUMNS, ON, register
from .layout import assert_laid_out, assert_sound, pages_of, run

ROOT = Path(pdf.__file__).resolve().parents[1]
LONG = "X9" * 120
HOSTILE = (
    "<script>alert(1)</script>",
    "{{ register.number }}{% now 'Y' %}",
    LONG,
    "&lt;b&gt; &amp; \"quoted\" 'too'",
    '<img src="file:///etc/passwd"><link rel=attachment href="file:///etc/hostname">',
    "]]> --> </td></table><style>*{display:none}</style>",
    "Μέτρηση µSv/h ≥ 3 × 10⁻⁹ Łódź Жук ′",
)


@cache
def drawn(rows, paper="A4"):
    return pdf.render(register(rows), paper)


def read(data):
    return PdfReader(BytesIO(data))


def squeezed(text):
    """Text without the breaks that lines, columns and pages put into it."""
    return "".join(unicodedata.normalize("NFC", text).split())


def text_of(data):
    return squeezed(" ".join(page.extract_text() for page in read(data).pages))


def row_of(*texts, state=""):
    filled = (*texts, *[""] * len(COLUMNS))[: len(COLUMNS)]
    return tuple(Cell(text, state=state if text else "") for text in filled)


def tags(data):
    """The structure elements, in order of the document."""
    pending = [read(data).trailer["/Root"]["/StructTreeRoot"]]
    while pending:
        element = pending.pop()
        if "/S" in element:
            yield element
        kids = element.get("/K", [])
        kids = kids if isinstance(kids, list) else [kids]
        pending += [k for kid in reversed(kids) if hasattr(k := kid.get_object(), "keys")]


@pytest.mark.parametrize(
    ("rows", "paper"),
    [(0, "A4"), (1, "A4"), (3, "A4"), (60, "A4"), (200, "A4"), (3, "Letter"), (50, "Letter")],
)
def test_it_is_whole_and_nothing_lies_outside_or_on_another(rows, paper, tmp_path):
    data = drawn(rows, paper)

    assert_sound(data, tmp_path)
    assert_laid_out(data, tmp_path)


@pytest.mark.parametrize(("paper", "size"), [("A4", (841.89, 595.28)), ("Letter", (792, 612))])
@pytest.mark.parametrize("landscape", [True, False])
def test_it_has_the_size_of_the_paper(paper, size, landscape):
    data = drawn(3, paper) if landscape else pdf.render(register(3, landscape=False), paper)
    box = read(data).pages[0].mediabox
    size = size if landscape else size[::-1]

    assert (float(box.width), float(box.height)) == pytest.approx(size, abs=0.1)


@pytest.mark.parametrize("rows", [1, 3, 60])
def test_it_prints_every_cell_note_total_and_caution(rows):
    whole, text = register(rows), text_of(drawn(rows))

    for row in cells(whole):
        for cell in row:
            assert squeezed(cell.shape + cell.text) in text
    for sentence in (*(note.text for note in whole.notes), *whole.totals, *whole.cautions):
        assert squeezed(sentence) in text


def test_its_title_block_says_what_where_when_and_by_whom():
    whole, text = register(3), text_of(drawn(3))

    for words_ in (
        whole.title,
        whole.site_name,
        whole.site_address,
        "As of 24 Nov 2026",
        "24 Nov 2026, 13:05 (Europe/Lisbon, UTC+00:00), by R. Example",
        whole.number,
        whole.schedule_line,
        whole.chain_head,
        "SHA-256 after record 4,213",
        "manage.py check_records",
        "Name Role Signature Date",
        "End of the table: 3 rows.",
    ):
        assert squeezed(words_) in text, words_
    assert "asitwasknown" not in text


def test_it_says_what_was_known_then():
    known = datetime(2026, 7, 1, 23, 30, tzinfo=UTC)
    text = text_of(pdf.render(register(1, at=AsOf(ON, known))))

    assert squeezed("As of 24 Nov 2026, as it was known on 2 Jul 2026, 00:30") in text


def test_it_says_in_a_sentence_that_there_is_nothing():
    text = text_of(drawn(0))

    assert squeezed("There is nothing to list in this register as of 24 Nov 2026.") in text
    assert "Endofthetable" not in text


def test_every_page_says_what_it_belongs_to(tmp_path):
    pages = pages_of(drawn(200), tmp_path)

    assert len(pages) > 5
    for number, text in enumerate(pages, 1):
        for part in (
            "AQ-2026-0017",
            "Alder Quay Works",
            "as of 24 Nov 2026",
            "records 80914f0274ce",
        ):
            assert part in text
        assert f"page {number} of {len(pages)}" in text


def test_every_page_with_rows_repeats_the_heads_and_cuts_no_row(tmp_path):
    for text in pages_of(drawn(200), tmp_path):
        if "serial EI" in text:
            assert "Reference date" in text and "Open points" in text
        # maker and serial number are two lines of one cell
        assert text.count("Example Isotopes") == text.count("serial EI")


def test_it_is_tagged_in_a_language_and_shows_its_title():
    root = read(drawn(3)).trailer["/Root"]

    assert root["/MarkInfo"]["/Marked"].value is True
    assert root["/Lang"] == "en"
    assert root["/ViewerPreferences"]["/DisplayDocTitle"].value is True
    assert b"pdfuaid:part" in root["/Metadata"].get_data()
    kinds = [element["/S"] for element in tags(drawn(3))]
    assert kinds.count("/H1") == 1
    # the rows, each with its head, and the four facts of the title block
    assert kinds.count("/TD") == 3 * (len(COLUMNS) - 1) + 4
    assert kinds.count("/TH") == 3 + len(COLUMNS) + 4


def test_every_head_says_what_it_heads():
    scopes = [head["/A"]["/Scope"] for head in tags(drawn(3)) if head["/S"] == "/TH"]

    assert scopes == ["/Row"] * 4 + ["/Column"] * len(COLUMNS) + ["/Row"] * 3


def test_it_is_in_the_language_that_is_active():
    with translation.override("de"):
        assert read(pdf.render(register(1))).trailer["/Root"]["/Lang"] == "de"


def test_its_metadata_are_those_of_the_register():
    facts = read(drawn(3)).metadata

    assert facts.title == "Register of sealed sources, Alder Quay Works, 24 Nov 2026"
    assert facts.author == "R. Example"
    assert facts.creation_date == facts.modification_date == register(3).made_at


def test_the_same_rows_are_attached_for_programs():
    whole, held = register(60), read(drawn(60))
    root = held.trailer["/Root"]

    assert held.attachments == {
        "source-register.csv": [to_csv(whole)],
        "source-register.json": [to_json(whole)],
    }
    assert [file.get_object()["/AFRelationship"] for file in root["/AF"]] == ["/Data", "/Data"]


def test_it_embeds_the_bundled_fonts_and_no_other(tmp_path):
    file = tmp_path / "fonts.pdf"
    file.write_bytes(pdf.render(register([row_of(*HOSTILE, "שלום عربي 漢字 😀")])))
    fonts = [line.split() for line in run("pdffonts", str(file)).splitlines()[2:]]

    assert sorted(font[0].split("+")[1] for font in fonts) == [
        "Document-Sans",
        "Document-Sans-Semi-Bold",
    ]
    assert all("Identity-H yes yes yes" in " ".join(font) for font in fonts)


def test_the_bundled_fonts_are_those_of_the_vendor_file():
    listed = dict(
        re.findall(
            r"\| ([0-9a-f]{64}) \| (\S+) \|", (pdf.FONTS[0].parent / "VENDOR.md").read_text()
        )
    )
    for digest, name in listed.items():
        held = (pdf.FONTS[0].parent / name).read_bytes()
        assert hashlib.sha256(held).hexdigest() == digest, name
    assert {path.name for path in pdf.FONTS} <= set(listed.values())


def test_the_bundled_fonts_have_what_the_trade_writes():
    needed = "µαβγλΩ≥≤±×≈²³⁻¹·–—−′“”…°§ÅéßŁő" + "".join(STATE_MARKS.values())

    assert set(needed) <= pdf.printable()


@pytest.mark.parametrize("zone", ["UTC", "Pacific/Auckland"])
def test_the_same_register_gives_the_same_bytes(zone):
    code = (
        "import django, hashlib; django.setup()\n"
        "from reports.pdf import render\nfrom tests.reports.invented import register\n"
        "print(hashlib.sha256(render(register(3))).hexdigest())"
    )
    environment = {
        **os.environ,
        "PYTHONHASHSEED": str(len(zone)),
        "TZ": zone,
        "DJANGO_SETTINGS_MODULE": "config.settings_test",
    }
    done = subprocess.run(
        [sys.executable, "-c", code],
        cwd=ROOT,
        env=environment,
        capture_output=True,
        text=True,
        check=False,
    )

    assert done.stdout.strip() == hashlib.sha256(drawn(3)).hexdigest(), done.stderr


def test_another_register_gives_other_bytes():
    assert pdf.render(register(1, number="AQ-2026-0018")) != drawn(1)


def test_hostile_words_are_words(tmp_path):
    data = pdf.render(
        register(
            [row_of(*HOSTILE, state="late"), row_of("", LONG, "", LONG, LONG, LONG)],
            site_name='Works "<b>" ' + LONG,
            site_address="</p></section>" + LONG,
            made_by="<i>" + LONG,
            number="N-" + "7" * 90,
            schedule_line="{{ schedule }} " + LONG,
            notes=(Note("<1>", "<u>note</u> " + LONG * 3),),
            totals=("<h1>total</h1> " + LONG * 3,),
            cautions=(LONG * 3,),
        )
    )
    text = text_of(data)

    for words_ in HOSTILE:
        assert squeezed(words_) in text, words_
    for words_ in ("</p></section>", "<i>X9", "{{schedule}}", "<u>note</u>", "<h1>total</h1>"):
        assert words_ in text, words_
    assert_laid_out(data, tmp_path)
    assert len(read(data).attachments) == 2  # none that a cell has asked for


def test_a_row_higher_than_a_page_loses_nothing(tmp_path):
    long = " ".join(f"word{number}" for number in range(1200))
    data = pdf.render(register([row_of("1", "before"), row_of("2", long), row_of("3", "after")]))
    text = text_of(data)

    for number in (*range(0, 1200, 97), 1199):
        assert f"word{number}" in text
    assert "after" in text
    assert_laid_out(data, tmp_path)


def test_what_the_fonts_lack_has_a_stand_in_and_a_note():
    whole = register([row_of("1", "serial \u202e123\u202c", "שלום", "😀", "nul\x00 bell\x07")])
    data = pdf.render(whole)
    text = text_of(data)

    assert squeezed("serial □123□ □□□□ □ nul□ bell□") in text
    assert squeezed("□ also stands for a character that cannot be printed here") in text
    assert read(data).attachments["source-register.csv"] == [to_csv(whole)]
    assert "alsostands" not in text_of(drawn(1))


def test_it_fetches_nothing():
    fetcher = pdf._fetcher()

    for url in ("http://example.invalid/", "file:///etc/hostname", "data:text/plain,x"):
        with pytest.raises(ValueError, match="fetches nothing"):
            fetcher.fetch(url)
    assert fetcher.fetch(pdf.FONTS[0].as_uri()).read() == pdf.FONTS[0].read_bytes()


@pytest.mark.parametrize("was_on", [True, False])
def test_the_collector_is_left_as_it_was(was_on, monkeypatch):
    def fail(*_):
        assert not gc.isenabled()
        raise RuntimeError

    monkeypatch.setattr(pdf, "_write", fail)
    (gc.enable if was_on else gc.disable)()
    try:
        with pytest.raises(RuntimeError):
            pdf.render(register(1))
        assert gc.isenabled() is was_on
    finally:
        gc.enable()


def test_a_register_is_read_once():
    class Once(type(register(1).rows)):
        passes = 0

        def chunks(self, size=500):
            Once.passes += 1
            return super().chunks(size)

    pdf.render(replace(register(1), rows=Once([row_of("1")])))

    assert Once.passes == 1
