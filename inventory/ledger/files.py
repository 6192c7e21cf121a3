"""Attachments on disk, each under the SHA-256 of its content."""

from __future__ import annotations

import hashlib
import os
import tempfile
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from django.conf import settings


@dataclass(frozen=True, slots=True)
class Stored:
    """A file that lies on disk."""

    name: str
    sha256: str
    size: int

    def text(self) -> dict[str, Any]:
        """What a record's text says of it."""
        return {"name": self.name, "sha256": self.sha256, "size": self.size}


@dataclass(frozen=True, slots=True)
class Upload:
    """A file to be attached."""

    name: str
    content: bytes

    def stored(self) -> Stored:
        """Write the content under its hash and answer where it lies.

        It is on disk before the transaction ends: a crash leaves a file too many, never a record
        without its file.
        """
        digest = hashlib.sha256(self.content).hexdigest()
        target = path_of(digest)
        if digest_of(digest) != digest:  # not there, or spoilt since: write it anew
            target.parent.mkdir(parents=True, exist_ok=True)
            handle, name = tempfile.mkstemp(dir=target.parent)
            with os.fdopen(handle, "wb") as file:
                file.write(self.content)
                file.flush()
                os.fsync(file.fileno())
            Path(name).replace(target)
            _sync_folder(target.parent)
        return Stored(self.name, digest, len(self.content))


def path_of(sha256: str) -> Path:
    """Where the content with this hash lies."""
    return Path(settings.ATTACHMENTS_DIR) / sha256[:2] / sha256


def _sync_folder(folder: Path) -> None:
    """A new name is safe from a power cut only once its folder is written too."""
    handle = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)


def digest_of(sha256: str) -> str | None:
    """The SHA-256 of what lies under this name; None when nothing there can be read."""
    try:
        with path_of(sha256).open("rb") as file:
            return hashlib.file_digest(file, "sha256").hexdigest()
    except OSError:
        return None
