"""A register on paper. The only module that knows WeasyPrint; it is imported where it is used.

The document is tagged, in one language, with bundled fonts only, and fetches nothing: the same
register gives the same bytes. It is made to the rules of PDF/UA-1 as far as WeasyPrint keeps them;
no validator has proven it, so it claims no more than its marker.
"""

from __future__ import annotations

import unicodedata
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from functools import cache
from itertools import cycle
from pathlib import Path
from typing import Any, Literal
from zoneinfo import ZoneInfo

from django.template.loader import render_to_string
from django.utils import formats
from django.utils.translation import get_language, ngettext
from django.utils.translation import gettext as _

from config.collector import collector_off
from inventory.sentences import day_text

from .registers.base import Cell, Column, Register, cells
from .registers.csv_out import to_csv, to_json

Paper = Literal["A4", "Letter"]

STATIC = Path(__file__).resolve().parent / "static"
STYLESHEET = STATIC / "css" / "document.css"
FONTS = tuple(
    STATIC / "fonts" / name for name in ("SourceSans3-Regular.ttf", "SourceSans3-Semibold.ttf")
)
SIZES: dict[Paper, str] = {"A4": "A4", "Letter": "letter"}
STAND_IN = "□"
#: The footer has room for this many characters; the title block has the whole text.
FOOT_LENGTH, FOOT_LENGTH_UPRIGHT = 110, 92
HEAD_LENGTH = 12


@dataclass(frozen=True, slots=True)
class Head:
    """A column's head as the template draws it."""

    text: str
    unit: str
    css: str
    percent: str


@dataclass(frozen=True, slots=True)
class Line:
    """A row as the template draws it: first cell, other cells, and whether it has a stripe."""

    first: Printed
    others: list[Printed]
    stripe: str
    heading: str = ""  # over this row and those that follow


@dataclass(frozen=True, slots=True)
class Printed:
    """A cell as the template draws it."""

    text: str
    mark: str
    css: str


def render(register: Register, paper: Paper = "A4") -> bytes:
    """The register as a PDF, with its rows attached as CSV and JSON.

    1,000 rows of 11 columns take 5 to 10 s and up to 400 MB: never inside a transaction.
    """
    rows = list(cells(register))
    html = document_html(register, rows, paper)
    with collector_off():
        return _write(html, _attachments(register, rows))


def document_html(register: Register, rows: Sequence[Sequence[Cell]], paper: Paper = "A4") -> str:
    """The document as HTML, every character of which the bundled fonts can print."""
    html = _template(register, rows, paper, lacking=False)
    lacking = set(html) - printable()
    if not lacking:
        return html
    # Another font of the machine would print them, but not the same one everywhere.
    html = _template(register, rows, paper, lacking=True)
    return html.translate({ord(character): STAND_IN for character in lacking})


def _template(
    register: Register, rows: Sequence[Sequence[Cell]], paper: Paper, *, lacking: bool
) -> str:
    columns = register.columns_for("people")
    context = {
        "register": register,
        "language": get_language() or "en",
        "size": f"{SIZES[paper]} {'landscape' if register.landscape else 'portrait'}",
        "created": register.made_at.astimezone(UTC).strftime("%Y-%m-%dT%H:%M:%SZ"),
        "heads": _heads([column for column in columns if column.kind != "heading"]),
        "lines": _lines(columns, [register.cells_for("people", row) for row in rows]),
        "stand_in": STAND_IN if lacking else "",
        **_title_block(register),
    }
    return render_to_string("registers/document.html", context)


def _title_block(register: Register) -> dict[str, str]:
    """The sentences above the table and at its end, and what stands on every page."""
    at, count = register.at, len(register.rows)
    made = moment_text(register.made_at, register.zone)
    on = day_text(at.on)
    records = formats.number_format(register.chain_seq, use_l10n=True, force_grouping=True)
    return {
        "on": on,
        "since": "" if register.from_on is None else day_text(register.from_on),
        "known": "" if at.known is None else moment_text(at.known, register.zone),
        "made": made,
        "head": f"{register.title} · {register.number}",
        "records": records,
        "foot": foot_text(register, on),
        "end": ngettext("End of the table: %(n)d row.", "End of the table: %(n)d rows.", count)
        % {"n": count},
    }


def foot_text(register: Register, on: str) -> str:
    """The line at the foot of every page: number, site, day and the beginning of the head."""
    room = FOOT_LENGTH if register.landscape else FOOT_LENGTH_UPRIGHT
    tail = _("as of %(on)s · records %(head)s…") % {
        "on": on,
        "head": register.chain_head[:HEAD_LENGTH],
    }
    start = f"{register.number} · {register.site_name}"
    room -= len(tail)
    start = start if len(start) <= room else start[: room - 1] + "…"
    return f"{start} · {tail}"


def moment_text(moment: datetime, zone: ZoneInfo) -> str:
    """A moment on the site's clock: 24 Nov 2026, 14:05 (Europe/Lisbon, UTC+00:00)."""
    local = moment.astimezone(zone)
    offset = local.isoformat(timespec="minutes")[-6:]
    return f"{day_text(local.date())}, {local:%H:%M} ({zone.key}, UTC{offset})"


def _heads(columns: Sequence[Column]) -> list[Head]:
    whole = sum(column.width for column in columns)
    return [
        Head(column.head, column.unit, _css(column), f"{100 * column.width / whole:.3f}")
        for column in columns
    ]


def _lines(columns: Sequence[Column], rows: Sequence[Sequence[Cell]]) -> Iterator[Line]:
    kinds = [(column, _css(column)) for column in columns]
    over = ""
    for row, stripe in zip(rows, cycle(("", "s")), strict=False):
        pairs = list(zip(kinds, row, strict=True))
        drawn = [
            Printed(_printed(column, cell), cell.mark, css)
            for (column, css), cell in pairs
            if column.kind != "heading"
        ]
        heading = "".join(cell.text for (column, _of), cell in pairs if column.kind == "heading")
        yield Line(drawn[0], drawn[1:], stripe, heading if heading != over else "")
        over = heading


def _css(column: Column) -> str:
    return "n" if column.kind == "number" else ""


def _printed(column: Column, cell: Cell) -> str:
    """The words of a cell: shape before the state; a number stays with its unit, a day whole."""
    text = unicodedata.normalize("NFC", cell.text)
    if column.kind in ("number", "date"):
        first, end, more = text.partition("\n")
        text = first.replace(" ", "\u00a0") + end + more
    return f"{cell.shape}\u00a0{text}" if cell.shape else text


@cache
def printable() -> frozenset[str]:
    """The characters that every bundled font has, without those that turn the direction of text.

    A mark that turns direction can make one serial number look like another.
    """
    from fontTools.ttLib import TTFont  # type: ignore[import-untyped, unused-ignore]

    codes = []
    for path in FONTS:
        with TTFont(path) as font:
            codes.append(set(font.getBestCmap()))
    shared = {chr(code) for code in set.intersection(*codes)}
    turning = {c for c in shared if unicodedata.bidirectional(c) in _TURNING}
    return frozenset((shared - turning - {"\u200e", "\u200f"}) | set("\n\r\t "))


_TURNING = {"R", "AL", "LRE", "LRO", "RLE", "RLO", "PDF", "LRI", "RLI", "FSI", "PDI"}


def _attachments(register: Register, rows: Sequence[Sequence[Cell]]) -> list[Any]:
    from weasyprint import Attachment

    made = register.made_at.astimezone(UTC)
    data = (
        ("csv", to_csv(register, rows), _("The rows as CSV, values in full precision")),
        ("json", to_json(register, rows), _("The whole register as JSON")),
    )
    return [
        Attachment(
            string=content,
            name=f"{register.kind}-register.{ending}",
            description=description,
            created=made,
            modified=made,
            relationship="Data",
        )
        for ending, content, description in data
    ]


def _write(html: str, attachments: list[Any]) -> bytes:
    from weasyprint import CSS, HTML
    from weasyprint.text.fonts import FontConfiguration

    fonts, fetcher = FontConfiguration(), _fetcher()
    css = CSS(
        string=STYLESHEET.read_text(encoding="utf-8"),
        base_url=STYLESHEET.as_uri(),
        font_config=fonts,
        url_fetcher=fetcher,
    )
    document = HTML(string=html, base_url=STYLESHEET.as_uri(), url_fetcher=fetcher)
    pdf: bytes = document.write_pdf(
        font_config=fonts,
        stylesheets=[css],
        pdf_variant="pdf/ua-1",
        pdf_identifier=True,
        attachments=attachments,
        finisher=_finish,
    )
    return pdf


def _finish(document: Any, pdf: Any) -> None:
    """What WeasyPrint leaves out of this variant, put in before the file is written."""
    entries: list[Any] = [entry for entry in pdf.objects if isinstance(entry, dict)]
    _say_what_is_attached(pdf, [entry for entry in entries if entry.get("Type") == "/Filespec"])
    _say_what_heads_head(pdf, [entry for entry in entries if entry.get("S") == "/TH"])


def _say_what_is_attached(pdf: Any, files: list[Any]) -> None:
    """Name the attachments as the data of this document, as PDF/A-3 asks."""
    for file in files:
        file["AFRelationship"] = "/Data"
    pdf.catalog["AF"] = b"[" + b" ".join(file.reference for file in files) + b"]"


def _say_what_heads_head(pdf: Any, heads: list[Any]) -> None:
    """Tell a reading program whether a head stands over a column or before a row."""

    def parent(entry: Any) -> Any:
        return pdf.objects[int(entry["P"].split()[0])]

    for head in heads:
        over = parent(parent(head))["S"] == "/THead"
        head["A"]["Scope"] = "/Column" if over else "/Row"


def _fetcher() -> Any:
    """A fetcher that has the bundled fonts in its hand and refuses everything else."""
    from weasyprint.urls import URLFetcher, URLFetcherResponse

    held = {path.as_uri(): path.read_bytes() for path in FONTS}

    class Bundled(URLFetcher):  # type: ignore[misc, unused-ignore]
        def fetch(self, url: str, headers: object = None) -> Any:
            if url not in held:
                raise ValueError(f"a register fetches nothing: {url}")
            return URLFetcherResponse(url, held[url], {"Content-Type": "font/ttf"})

    return Bundled()
