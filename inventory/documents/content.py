"""What a file is, told from its content, and the name under which it is kept.

A file is only ever handed out again as a download, never shown in place; what is not on this list
is refused all the same, for a register of evidence must be readable in twenty years.
"""

from __future__ import annotations

import io
import unicodedata
import zipfile
from dataclasses import dataclass
from typing import Final

from inventory.calc.errors import DomainError
from inventory.calc.explain import Scalar

LARGEST: Final = 10 * 1024 * 1024
LONGEST_NAME: Final = 120
_OFFICE = "application/vnd.openxmlformats-officedocument"


@dataclass(frozen=True, slots=True)
class FileType:
    """A kind of file that may be attached, and the endings that its name may have."""

    word: str
    media_type: str
    endings: tuple[str, ...]


PDF: Final = FileType("PDF", "application/pdf", (".pdf",))
PNG: Final = FileType("PNG", "image/png", (".png",))
JPEG: Final = FileType("JPEG", "image/jpeg", (".jpg", ".jpeg"))
TEXT: Final = FileType("text", "text/plain; charset=utf-8", (".txt", ".csv"))
XLSX: Final = FileType("XLSX", f"{_OFFICE}.spreadsheetml.sheet", (".xlsx",))
DOCX: Final = FileType("DOCX", f"{_OFFICE}.wordprocessingml.document", (".docx",))
ODS: Final = FileType("ODS", "application/vnd.oasis.opendocument.spreadsheet", (".ods",))
TYPES: Final = (PDF, PNG, JPEG, TEXT, XLSX, DOCX, ODS)

#: First bytes (PDF: ISO 32000-1 7.5.2; PNG: ISO/IEC 15948 5.2; JPEG: SOI marker of ITU-T T.81
#: Annex B and the next marker's first byte; ZIP local file header: APPNOTE 4.3.7), from memory.
_STARTS: Final = ((b"%PDF-", PDF), (b"\x89PNG\r\n\x1a\n", PNG), (b"\xff\xd8\xff", JPEG))
_ZIP: Final = b"PK\x03\x04"
#: An OpenDocument package begins with its type, stored as it is (OpenDocument 1.2 part 3, 3.3),
#: from memory.
_ODS_START: Final = b"mimetype" + ODS.media_type.encode()


def checked(name: str, content: bytes) -> tuple[str, FileType]:
    """The clean name of a file and its type.

    Raises DomainError document_empty, document_too_large, document_type, document_macros,
    document_ending.
    """
    name = clean_name(name)
    if not content:
        raise DomainError("document_empty", {"text": name}, field="file")
    check_size(name, len(content))
    kind = type_of(content)
    if kind is None:
        raise DomainError("document_type", {"text": name}, field="file")
    if not name.lower().endswith(kind.endings):
        values = {"text": name, "found": kind.word, "place": kind.endings[0]}
        raise DomainError("document_ending", values, field="file")
    return name, kind


def check_size(name: str, size: int) -> None:
    """Refuse what is too large, before its content is read. Raises document_too_large."""
    if size > LARGEST:
        megabytes = LARGEST // 1024**2
        values: dict[str, Scalar] = {"text": clean_name(name), "megabytes": megabytes}
        raise DomainError("document_too_large", values, field="file")


def clean_name(name: str) -> str:
    """A name without folders, without signs that cannot be seen, of bearable length.

    Signs that turn the direction of writing could make an ending look like another one.
    """
    last = unicodedata.normalize("NFC", name).replace("\\", "/").rsplit("/", 1)[-1]
    seen = "".join(c for c in last if unicodedata.category(c)[0] != "C" and c not in '<>:"|?*')
    tidy = " ".join(seen.split()).lstrip(".- ")
    stem, dot, ending = tidy.rpartition(".")
    if not dot:
        return (tidy or "file")[:LONGEST_NAME]
    ending = ending[:10]
    return f"{stem[: LONGEST_NAME - len(ending) - 1].rstrip() or 'file'}.{ending}"


def type_of(content: bytes) -> FileType | None:
    """The type of a file by its content; None for what may not be attached.

    Raises DomainError document_macros.
    """
    for start, kind in _STARTS:
        if content.startswith(start):
            return kind
    if content.startswith(_ZIP):
        return _package(content)
    return TEXT if _is_text(content) else None


def _package(content: bytes) -> FileType | None:
    """An office file: told by the names inside, of which nothing is unpacked."""
    try:
        with zipfile.ZipFile(io.BytesIO(content)) as package:
            names = package.namelist()
    except (zipfile.BadZipFile, ValueError, OSError, NotImplementedError):
        return None
    if any(name.lower().endswith("vbaproject.bin") for name in names):
        raise DomainError("document_macros", field="file")
    if content[30 : 30 + len(_ODS_START)] == _ODS_START:
        return ODS
    if "[Content_Types].xml" not in names:
        return None
    folders = {name.split("/", 1)[0] for name in names if "/" in name}
    return XLSX if "xl" in folders else DOCX if "word" in folders else None


def _is_text(content: bytes) -> bool:
    """UTF-8 or a western one-byte text, without control characters."""
    try:
        text = content.decode("utf-8-sig")
    except UnicodeDecodeError:
        text = content.decode("cp1252", errors="replace")
    return not any(
        (unicodedata.category(sign) == "Cc" and sign not in "\t\r\n\f") or sign == "\ufffd"
        for sign in text
    )
