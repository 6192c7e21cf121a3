"""The door for every file: how large it is, what it is, and who reads it."""

from __future__ import annotations

import hashlib
from pathlib import Path, PurePath

from reports.exchange.opening.limits import LARGEST_FILE, MEBIBYTE, refuse
from reports.exchange.opening.textfile import read_text
from reports.exchange.opening.workbook import read_workbook
from reports.exchange.understood import Book

_ENCRYPTED = "EncryptedPackage".encode("utf-16-le")
#: First bytes of files that cannot be read, and the sentence that says what to do instead.
_NOT_READ = (
    (b"%PDF", "open_is_pdf"),
    (b"\x89PNG", "open_is_picture"),
    (b"\xff\xd8\xff", "open_is_picture"),
    (b"GIF8", "open_is_picture"),
    (b"BM\x00", "open_is_picture"),
    (b"II*\x00", "open_is_picture"),
    (b"MM\x00*", "open_is_picture"),
    (b"{\\rtf", "open_is_document"),
    (b"\x1f\x8b", "open_is_archive"),
    (b"7z\xbc\xaf", "open_is_archive"),
    (b"Rar!", "open_is_archive"),
)
_PAGES = (b"<!doctype html", b"<html", b"<table", b"<head", b"<meta", b"<?xml")


def open_path(path: Path) -> Book:
    """A file of the disk; its size is looked at before a byte of it is read."""
    size = path.stat().st_size
    if size > LARGEST_FILE:
        refuse("open_too_large", megabytes=size // MEBIBYTE, most=LARGEST_FILE // MEBIBYTE)
    with path.open("rb") as file:
        return open_book(path.name, file.read(LARGEST_FILE + 1))


def open_book(name: str, content: bytes) -> Book:
    """A file as it was uploaded. Raises LoadFault with one sentence that says what to do."""
    if len(content) > LARGEST_FILE:
        megabytes = len(content) // MEBIBYTE
        refuse("open_too_large", megabytes=megabytes, most=LARGEST_FILE // MEBIBYTE)
    if not content.strip():
        refuse("open_empty")
    name = PurePath(name.replace("\\", "/")).name[:200] or "file"
    _check_kind(content)
    digest = hashlib.sha256(content).hexdigest()
    if content.startswith(b"PK"):
        sheets, notes = read_workbook(content)
    else:
        sheets, notes = read_text(PurePath(name).stem or name, content)
    return Book(name, digest, sheets, notes)


def _check_kind(content: bytes) -> None:
    if content.startswith(b"\xd0\xcf\x11\xe0"):
        refuse("open_has_password" if _ENCRYPTED in content else "open_is_old_workbook")
    for start, code in _NOT_READ:
        if content.startswith(start):
            refuse(code)
    head = content[:512].removeprefix(b"\xef\xbb\xbf").lstrip().lower()
    if head.startswith(_PAGES):
        refuse("open_is_web_page")
