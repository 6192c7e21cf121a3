"""Settings of a real site. Everything unsafe must be asked for, and nonsense is refused at start.

SEALBOOK_SECRET_KEY, SEALBOOK_HOSTS   required
SEALBOOK_DATA                         folder for the database file and attachments (default: data)
DATABASE_URL                          postgresql://... ; without it SQLite in the data folder
SEALBOOK_HTTPS                        no only behind nothing but a closed plant network
SEALBOOK_PROXY                        yes when a proxy sets X-Forwarded-Proto
"""

from __future__ import annotations

from config import env
from config.settings_base import *  # noqa: F403 - settings build on settings
from config.settings_base import BASE_DIR

SECRET_KEY = env.secret_key("SEALBOOK_SECRET_KEY")
ALLOWED_HOSTS = env.hosts("SEALBOOK_HOSTS")
DATA_DIR = env.folder("SEALBOOK_DATA", BASE_DIR / "data")
DATABASES = {"default": env.database("DATABASE_URL", DATA_DIR / "sealbook.sqlite3")}
ATTACHMENTS_DIR = DATA_DIR / "attachments"

HTTPS = env.flag("SEALBOOK_HTTPS", True)
SECURE_SSL_REDIRECT = HTTPS
SESSION_COOKIE_SECURE = HTTPS
CSRF_COOKIE_SECURE = HTTPS
SECURE_HSTS_SECONDS = 365 * 24 * 3600 if HTTPS else 0
SECURE_HSTS_INCLUDE_SUBDOMAINS = HTTPS
SECURE_HSTS_PRELOAD = HTTPS
CSRF_TRUSTED_ORIGINS = env.words("SEALBOOK_ORIGINS")
if env.flag("SEALBOOK_PROXY", False):
    SECURE_PROXY_SSL_HEADER = ("HTTP_X_FORWARDED_PROTO", "https")

STORAGES = {
    "default": {"BACKEND": "django.core.files.storage.FileSystemStorage"},
    "staticfiles": {"BACKEND": "whitenoise.storage.CompressedManifestStaticFilesStorage"},
}
