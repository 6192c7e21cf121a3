"""An XLSX file is a zip of XML parts: what is checked before any of them is parsed.

``zipfile`` never gives more of a part than its entry declares, so that the declared sizes bound
what unpacking can cost. Nothing is ever written to the disk.
"""

from __future__ import annotations

import io
import re
import struct
import zipfile
import zlib
from collections.abc import Collection, Iterator
from typing import Any
from xml.etree.ElementTree import Element  # the type only; defusedxml parses

from reports.exchange.opening.limits import LONGEST_CELL, MEBIBYTE, Filled, refuse

MOST_PARTS = 2_000
#: Of the list of parts at the end of a zip, which is read whole.
LARGEST_DIRECTORY = MEBIBYTE
#: Unpacked: all parts, one sheet, the table of texts, and every other part that is parsed.
LARGEST_PACKAGE = 200 * MEBIBYTE
LARGEST_SHEET = 90 * MEBIBYTE
LARGEST_TEXTS = 40 * MEBIBYTE
LARGEST_OTHER = 4 * MEBIBYTE
#: A sheet packs ten to thirty times smaller; a bomb a thousand times.
LARGEST_RATIO, RATIO_FROM = 150, 20 * MEBIBYTE
#: Tags in a part other than a sheet, elements in one row, and one inside the other.
MOST_TAGS, MOST_IN_ONE, DEEPEST = 4_000_000, 40_000, 40
#: Bytes between two tags: a full cell, each sign written as a reference of the XML.
LONGEST_RUN = 10 * LONGEST_CELL
_CHUNK = 256 * 1024
_EMPTY = re.compile(rb'<(?:row|c) r="[^<>]*/>')
#: What reading a broken or hostile package raises, here and inside openpyxl.
BROKEN = (
    *(zipfile.BadZipFile, zlib.error, EOFError, OSError, NotImplementedError, RuntimeError),
    *(ValueError, TypeError, KeyError, IndexError, AttributeError, ArithmeticError, SyntaxError),
)


def open_package(content: bytes) -> zipfile.ZipFile:
    """The zip, once its parts were found to be few, small and plain."""
    _check_directory(content)
    try:
        package = zipfile.ZipFile(io.BytesIO(content))
    except BROKEN:
        refuse("open_damaged")
    parts = package.infolist()
    names = {part.filename for part in parts}
    _check_is_workbook(package, names)
    if len(parts) > MOST_PARTS or len(names) != len(parts):
        refuse("open_bomb")
    if any(part.flag_bits & 1 for part in parts):
        refuse("open_has_password")
    unpacked, packed = sum(part.file_size for part in parts), len(content)
    if unpacked > LARGEST_PACKAGE or unpacked > max(RATIO_FROM, LARGEST_RATIO * packed):
        refuse("open_bomb")
    for part in parts:
        if part.file_size > _largest(part.filename):
            refuse("open_bomb")
    return package


def _check_directory(content: bytes) -> None:
    """The list of parts is bounded before ``zipfile`` reads it."""
    at = content.rfind(b"PK\x05\x06", max(0, len(content) - 22 - 0xFFFF))
    if at < 0 or len(content) < at + 22:
        refuse("open_damaged")
    count, size = struct.unpack_from("<HI", content, at + 10)
    if count > MOST_PARTS or size > LARGEST_DIRECTORY:
        refuse("open_bomb")


def _check_is_workbook(package: zipfile.ZipFile, names: Collection[str]) -> None:
    if "xl/workbook.bin" in names:
        refuse("open_is_binary_workbook")
    if "mimetype" in names or "content.xml" in names:
        refuse("open_is_open_document")
    if any(name.startswith(("word/", "ppt/")) for name in names):
        refuse("open_is_document")
    if "[Content_Types].xml" not in names or not any(name.startswith("xl/") for name in names):
        refuse("open_is_archive")


def _largest(name: str) -> int:
    if not name.endswith((".xml", ".rels")):
        return LARGEST_PACKAGE  # never parsed: pictures, macros
    if name.startswith("xl/worksheets/"):
        return LARGEST_SHEET
    return LARGEST_TEXTS if name.endswith("sharedStrings.xml") else LARGEST_OTHER


def is_parsed(name: str) -> bool:
    """Whether a part is looked at: the workbook, its styles, texts and sheets, and what links
    them. Outside links, drawings, macros and comments never are."""
    if not name.endswith((".xml", ".rels")):
        return False
    inner = name.removeprefix("xl/")
    plain = inner.count("/") == 0 or inner.startswith(("worksheets/sheet", "_rels/", "theme/"))
    return name in ("[Content_Types].xml", "_rels/.rels") or (name.startswith("xl/") and plain)


def check_parts(package: zipfile.ZipFile) -> None:
    """Every part that will be parsed: plain XML in UTF-8 without declarations of its own, no
    text without end, not too many tags."""
    for name in filter(is_parsed, package.namelist()):
        try:
            tags = _check_part(package, name)
        except BROKEN:
            refuse("open_damaged")
        if tags > MOST_TAGS and not name.startswith("xl/worksheets/"):
            refuse("open_bomb")


def _check_part(package: zipfile.ZipFile, name: str) -> int:
    """Count the tags of a part, looking for what no spreadsheet program writes."""
    tags, run, tail = 0, 0, b""
    with package.open(name) as part:
        while chunk := part.read(_CHUNK):
            both = tail + chunk
            if b"<!DOCTYPE" in both or b"<!ENTITY" in both or b"\x00" in chunk:
                refuse("open_xml_entities")
            tail = chunk[-12:]
            first, last = chunk.find(b"<"), chunk.rfind(b"<")
            run += first if first >= 0 else len(chunk)
            if run > LONGEST_RUN or (first >= 0 and _has_long_run(chunk)):
                refuse("open_text_without_end", most=LONGEST_CELL)
            if last >= 0:
                run = len(chunk) - last
            tags += chunk.count(b"<")
    return tags


def _has_long_run(chunk: bytes) -> bool:
    return len(chunk) > LONGEST_RUN and any(len(one) > LONGEST_RUN for one in chunk.split(b"<"))


class WithoutEmpty:
    """The bytes of a sheet without the rows and cells that hold nothing but their number and look:
    a sheet may have millions of them, and the parser would stop at each."""

    def __init__(self, source: Any, filled: Filled) -> None:
        self._source = source
        self._filled = filled
        self._rest = b""

    def read(self, size: int = _CHUNK) -> bytes:
        """Some bytes, whole tags only; nothing once the sheet has ended."""
        while chunk := self._source.read(_CHUNK):
            both = self._rest + chunk
            cut = both.rfind(b"<")
            if b">" in both[cut:] or cut < 0:
                cut = len(both)
            self._rest = both[cut:]
            if kept := _EMPTY.sub(b"", both[:cut]):
                self._filled.parse(kept.count(b"<") - kept.count(b"</"))
                return kept
        kept, self._rest = self._rest, b""
        return kept


def elements(source: Any, *wanted: str) -> Iterator[Element]:
    """Each element with one of the tags (as ``{space}name``), whole; all else is dropped as soon
    as it was read, so that memory does not grow with the file."""
    from defusedxml.ElementTree import iterparse

    open_now: list[Element] = []
    inside = count = 0
    for event, element in iterparse(source, events=("start", "end"), forbid_dtd=True):
        if event == "start":
            open_now.append(element)
            if inside or element.tag in wanted:
                inside, count = inside + 1, count + 1
            if count > MOST_IN_ONE or len(open_now) > DEEPEST:
                refuse("open_bomb")
            continue
        open_now.pop()
        inside -= bool(inside)
        if inside:
            continue
        if count:
            count = 0
            yield element
        if open_now:
            open_now[-1].clear()
