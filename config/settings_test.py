"""Settings of the test suite: SQLite unless DATABASE_URL names PostgreSQL."""

from __future__ import annotations

import atexit
import shutil
import tempfile
from pathlib import Path

from config import env
from config.settings_base import *  # noqa: F403 - settings build on settings

SECRET_KEY = "only-for-tests-" + "0123456789abcdef" * 4
ALLOWED_HOSTS = ["testserver", "127.0.0.1", "localhost"]
DATA_DIR = Path(tempfile.mkdtemp(prefix="sealbook-test-"))
atexit.register(shutil.rmtree, DATA_DIR, ignore_errors=True)
DATABASES = {"default": env.database("DATABASE_URL", DATA_DIR / "test.sqlite3")}
# A file, not memory: the tests of two people need a second process on the same database.
DATABASES["default"]["TEST"] = (
    {"NAME": DATA_DIR / "test.sqlite3"} if "sqlite" in DATABASES["default"]["ENGINE"] else {}
)
DATABASES["default"]["CONN_MAX_AGE"] = 0
ATTACHMENTS_DIR = DATA_DIR / "attachments"
PASSWORD_HASHERS = ["django.contrib.auth.hashers.MD5PasswordHasher"]
AXES_ENABLED = False
WHITENOISE_AUTOREFRESH = True
WHITENOISE_USE_FINDERS = True
