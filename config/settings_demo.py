"""The demo: its own database file, reachable from this computer only, plain HTTP.

``SEALBOOK_DEMO_DIR`` puts the database file and ``demo-output`` into another folder.
"""

from __future__ import annotations

import os
import secrets
from pathlib import Path

from config import env
from config.settings_base import *  # noqa: F403 - settings build on settings
from config.settings_base import BASE_DIR

DEMO = True
DEMO_DIR = Path(env.text("SEALBOOK_DEMO_DIR", str(BASE_DIR)))
DATA_DIR = DEMO_DIR / "data" / "demo"
DEMO_OUTPUT = DEMO_DIR / "demo-output"
DATA_DIR.mkdir(parents=True, exist_ok=True)
DATABASES = {"default": env.sqlite(DATA_DIR / "demo.sqlite3")}
ATTACHMENTS_DIR = DATA_DIR / "attachments"
ALLOWED_HOSTS = ["127.0.0.1", "localhost", "[::1]"]


def _key(path: Path) -> str:
    """A signing key of this demo's own, made once and kept beside its database."""
    if not path.exists():
        handle = os.open(path, os.O_WRONLY | os.O_CREAT, 0o600)
        with os.fdopen(handle, "w") as file:
            file.write(secrets.token_urlsafe(64))
    return path.read_text()


SECRET_KEY = _key(DATA_DIR / "secret-key")
WHITENOISE_USE_FINDERS = True
