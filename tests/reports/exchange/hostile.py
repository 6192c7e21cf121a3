"""Files that nobody should be able to hurt a server with."""

from __future__ import annotations

import io
import zipfile
from collections.abc import Callable, Mapping

SPACE = "http://schemas.openxmlformats.org/spreadsheetml/2006/main"
TYPES = "http://schemas.openxmlformats.org/package/2006/content-types"
LINKS = "http://schemas.openxmlformats.org/package/2006/relationships"
OFFICE = "http://schemas.openxmlformats.org/officeDocument/2006/relationships"
APPLICATION = "application/vnd.openxmlformats-officedocument.spreadsheetml"
HEADS = ("Nuclide", "Activity", "Serial", "Location")
ROW = ("Cs-137", "100 mCi", "H-1", "Store")


def inline(row: int, texts: tuple[str, ...]) -> str:
    cells = "".join(f'<c t="inlineStr"><is><t>{text}</t></is></c>' for text in texts)
    return f'<row r="{row}">{cells}</row>'


GOOD_ROWS = inline(1, HEADS) + inline(2, ROW)


def sheet(rows: str, *, before: str = "", after: str = "", prolog: str = "") -> str:
    return (
        f'<?xml version="1.0" encoding="UTF-8"?>{prolog}<worksheet xmlns="{SPACE}">{before}'
        f"<sheetData>{rows}</sheetData>{after}</worksheet>"
    )


def parts(sheet_xml: str | bytes, **more: str | bytes) -> dict[str, str | bytes]:
    """The fewest parts that a workbook needs; names with ``__`` for a slash."""
    out: dict[str, str | bytes] = {
        "[Content_Types].xml": (
            f'<Types xmlns="{TYPES}"><Default Extension="xml" ContentType="application/xml"/>'
            '<Default Extension="rels" ContentType='
            '"application/vnd.openxmlformats-package.relationships+xml"/>'
            f'<Override PartName="/xl/workbook.xml" ContentType="{APPLICATION}.sheet.main+xml"/>'
            f'<Override PartName="/xl/worksheets/sheet1.xml" ContentType='
            f'"{APPLICATION}.worksheet+xml"/>'
            f'<Override PartName="/xl/styles.xml" ContentType="{APPLICATION}.styles+xml"/></Types>'
        ),
        "_rels/.rels": (
            f'<Relationships xmlns="{LINKS}"><Relationship Id="rId1" '
            f'Type="{OFFICE}/officeDocument" Target="xl/workbook.xml"/></Relationships>'
        ),
        "xl/workbook.xml": (
            f'<workbook xmlns="{SPACE}" xmlns:r="{OFFICE}"><sheets>'
            '<sheet name="Sources" sheetId="1" r:id="rId1"/></sheets></workbook>'
        ),
        "xl/_rels/workbook.xml.rels": (
            f'<Relationships xmlns="{LINKS}"><Relationship Id="rId1" '
            f'Type="{OFFICE}/worksheet" Target="worksheets/sheet1.xml"/></Relationships>'
        ),
        "xl/worksheets/sheet1.xml": sheet_xml,
    }
    out.update({name.replace("__", "/"): text for name, text in more.items()})
    return out


def packed(files: Mapping[str, str | bytes]) -> bytes:
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED, compresslevel=9) as package:
        for name, text in files.items():
            package.writestr(name, text)
    return out.getvalue()


def workbook(rows: str = GOOD_ROWS, **options: str) -> bytes:
    return packed(parts(sheet(rows, **options)))


# ---------------------------------------------------------------- refused


def zip_bomb() -> bytes:
    """A sheet of three hundred megabytes in a third of one."""
    out = io.BytesIO()
    files = parts("")
    del files["xl/worksheets/sheet1.xml"]
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as package:
        for name, text in files.items():
            package.writestr(name, text)
        with package.open("xl/worksheets/sheet1.xml", "w", force_zip64=True) as part:
            part.write(sheet(GOOD_ROWS).encode()[:-20])
            chunk = b" " * (1024 * 1024)
            for _ in range(300):
                part.write(chunk)
    return out.getvalue()


def lying_bomb() -> bytes:
    """A zip that declares a hundredth of what it holds."""
    content = bytearray(packed(parts(sheet(GOOD_ROWS) + " " * 3_000_000)))
    real = len(sheet(GOOD_ROWS)) + 3_000_000
    at = content.rfind(real.to_bytes(4, "little"))
    while at >= 0:
        content[at : at + 4] = (30_000).to_bytes(4, "little")
        at = content.rfind(real.to_bytes(4, "little"))
    return bytes(content)


def many_parts() -> bytes:
    files = parts(sheet(GOOD_ROWS))
    return packed(files | {f"xl/media/{n}.png": "" for n in range(30_000)})


def billion_laughs() -> bytes:
    entities = "".join(
        f'<!ENTITY a{n} "{f"&a{n - 1};" * 10}">' if n else '<!ENTITY a0 "ha">' for n in range(10)
    )
    prolog = f"<!DOCTYPE worksheet [{entities}]>"
    return workbook(inline(1, ("&a9;",)), prolog=prolog)


def outside_entity() -> bytes:
    prolog = '<!DOCTYPE worksheet [<!ENTITY x SYSTEM "file:///etc/hostname">]>'
    return workbook(inline(1, ("&x;",)), prolog=prolog)


def entities_in_utf_16() -> bytes:
    prolog = '<!DOCTYPE worksheet [<!ENTITY x "y">]>'
    text = sheet(inline(1, ("&x;",)), prolog=prolog).replace("UTF-8", "UTF-16")
    return packed(parts(text.encode("utf-16")))


def entities_in_styles() -> bytes:
    styles = f'<!DOCTYPE s [<!ENTITY x "y">]><styleSheet xmlns="{SPACE}">&x;</styleSheet>'
    return packed(parts(sheet(GOOD_ROWS)) | {"xl/styles.xml": styles})


def deeply_nested() -> bytes:
    depth = 300_000
    return workbook(f'<row r="1">{"<c>" * depth}{"</c>" * depth}</row>')


def endless_row() -> bytes:
    return workbook(f'<row r="1">{"<c><v>1</v></c>" * 400_000}</row>')


def endless_text() -> bytes:
    return workbook(inline(1, ("x" * 2_000_000,)))


def many_texts() -> bytes:
    texts = "".join(f"<si><t>{n * 7919 % 1_500_007}</t></si>" for n in range(1_500_000))
    return packed(
        parts(sheet(GOOD_ROWS)) | {"xl/sharedStrings.xml": f'<sst xmlns="{SPACE}">{texts}</sst>'}
    )


def long_shared_text() -> bytes:
    text = f'<sst xmlns="{SPACE}"><si>{"<t>" + "x" * 250_000 + "</t>"}</si></sst>'
    return packed(parts(sheet(GOOD_ROWS)) | {"xl/sharedStrings.xml": text})


def truncated() -> bytes:
    content = workbook()
    return content[: len(content) // 2]


def broken_part() -> bytes:
    content = bytearray(workbook(GOOD_ROWS * 50))
    at = content.find(b"xl/worksheets/sheet1.xml") + 60
    content[at : at + 40] = b"\xff" * 40
    return bytes(content)


def unclosed_xml() -> bytes:
    return packed(parts(sheet(GOOD_ROWS)[:-30]))


def bad_reference() -> bytes:
    return workbook('<row r="1"><c r="A1" t="s"><v>999999</v></c></row>')


def many_sheets() -> bytes:
    files = parts(sheet(GOOD_ROWS))
    names = "".join(f'<sheet name="S{n}" sheetId="{n}" r:id="rId1"/>' for n in range(1, 61))
    files["xl/workbook.xml"] = (
        f'<workbook xmlns="{SPACE}" xmlns:r="{OFFICE}"><sheets>{names}</sheets></workbook>'
    )
    return packed(files)


def encrypted_zip() -> bytes:
    content = bytearray(workbook())
    at = content.find(b"PK\x01\x02")
    while at >= 0:
        content[at + 8] |= 1
        at = content.find(b"PK\x01\x02", at + 4)
    return bytes(content)


def open_document() -> bytes:
    mimetype = "application/vnd.oasis.opendocument.spreadsheet"
    return packed({"mimetype": mimetype, "content.xml": "<x/>"})


def password() -> bytes:
    return b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + "EncryptedPackage".encode("utf-16-le") * 9


def two_million_full_rows() -> bytes:
    return ("Cs-137,1 GBq\n" * 700_000).encode()


OLD = b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + bytes(99)
UNCLOSED = b'Nuclide,Serial\nCs-137,"A\n'
ENDLESS = b"Nuclide,Serial\nCs-137," + b"x" * 60_000

REFUSED: Mapping[str, tuple[Callable[[], bytes], str]] = {
    "bytes that are no text": (lambda: bytes(range(256)) * 40, "open_not_a_list"),
    "nothing": (lambda: b" \n", "open_empty"),
    "a PDF": (lambda: b"%PDF-1.7\n%\xe2\xe3", "open_is_pdf"),
    "a picture": (lambda: b"\x89PNG\r\n\x1a\n" + bytes(99), "open_is_picture"),
    "a web page": (lambda: b"<html><table><tr><td>Cs-137</table>", "open_is_web_page"),
    "an old workbook": (lambda: OLD, "open_is_old_workbook"),
    "a password": (password, "open_has_password"),
    "a zip with a password": (encrypted_zip, "open_has_password"),
    "a binary workbook": (lambda: packed({"xl/workbook.bin": "x"}), "open_is_binary_workbook"),
    "an OpenDocument": (open_document, "open_is_open_document"),
    "a text document": (lambda: packed({"word/document.xml": "<x/>"}), "open_is_document"),
    "another archive": (lambda: packed({"a.txt": "x"}), "open_is_archive"),
    "a zip bomb": (zip_bomb, "open_bomb"),
    "a bomb that lies about its size": (lying_bomb, "open_damaged"),
    "very many parts": (many_parts, "open_bomb"),
    "entities that grow": (billion_laughs, "open_xml_entities"),
    "an entity from outside": (outside_entity, "open_xml_entities"),
    "entities in UTF-16": (entities_in_utf_16, "open_xml_entities"),
    "entities in the styles": (entities_in_styles, "open_xml_entities"),
    "elements without end inside another": (deeply_nested, "open_bomb"),
    "a row without end": (endless_row, "open_bomb"),
    "a text without end": (endless_text, "open_text_without_end"),
    "very many shared texts": (many_texts, "open_bomb"),
    "a shared text that is too long": (long_shared_text, "open_text_without_end"),
    "a truncated zip": (truncated, "open_damaged"),
    "a part with broken bytes": (broken_part, "open_damaged"),
    "XML that ends too soon": (unclosed_xml, "open_damaged"),
    "a text that is not there": (bad_reference, "open_damaged"),
    "very many sheets": (many_sheets, "open_too_many_sheets"),
    "a CSV with very many rows": (two_million_full_rows, "open_too_many_rows"),
    "a quotation mark that is not closed": (lambda: UNCLOSED, "open_csv_broken"),
    "a cell without end": (lambda: ENDLESS, "open_cell_too_long"),
}  # fmt: skip


# ---------------------------------------------------------------- read all the same


def empty_rows() -> bytes:
    """Two million empty rows below two rows of a list; the sheet says that it is full."""
    dimension = '<dimension ref="A1:XFD2000000"/>'
    rows = "".join(f'<row r="{n}"/>' for n in range(3, 2_000_003))
    return workbook(GOOD_ROWS + rows, before=dimension)


def formatted_rows() -> bytes:
    """A hundred thousand rows whose cells have a look and nothing else."""
    rows = "".join(
        f'<row r="{n}"><c r="A{n}" s="0"/><c r="B{n}" s="0"/></row>' for n in range(3, 300_000)
    )
    return workbook(GOOD_ROWS + rows)


def macros() -> bytes:
    return packed(parts(sheet(GOOD_ROWS)) | {"xl/vbaProject.bin": b"\xd0\xcf\x11\xe0" + bytes(999)})


def outside_links() -> bytes:
    link = (
        f'<externalLink xmlns="{SPACE}"><externalBook xmlns:r="{OFFICE}" r:id="rId1"/>'
        "</externalLink>"
    )
    rels = (
        f'<Relationships xmlns="{LINKS}"><Relationship Id="rId1" Type="{OFFICE}/externalLinkPath" '
        'Target="https://invalid.example/other.xlsx" TargetMode="External"/></Relationships>'
    )
    formula = "<c><f>[1]Other!A1</f><v>5</v></c>"
    rows = GOOD_ROWS.replace("</row>", f"{formula}</row>", 2)
    return packed(
        parts(sheet(rows))
        | {
            "xl/externalLinks/externalLink1.xml": link,
            "xl/externalLinks/_rels/externalLink1.xml.rels": rels,
        }
    )


def wide_merge() -> bytes:
    merge = '<mergeCells count="1"><mergeCell ref="A2:XFD1048576"/></mergeCells>'
    return workbook(after=merge)


def blank_csv() -> bytes:
    return b"Nuclide,Activity,Serial,Location\nCs-137,100 mCi,H-1,Store\n" + b",,,\n" * 2_000_000


READ: Mapping[str, tuple[Callable[[], bytes], str]] = {
    "two million empty rows": (empty_rows, ""),
    "rows with nothing but a look": (formatted_rows, ""),
    "two million blank lines of CSV": (blank_csv, ""),
    "macros": (macros, "opened_macros_left_alone"),
    "links to other files": (outside_links, "opened_links_not_followed"),
    "a merge over the whole sheet": (wide_merge, ""),
}
