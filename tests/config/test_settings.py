"""A real site refuses unsafe settings at start, in one sentence; without any it is the demo."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
KEY = "Zk3vQ9xT-71bLw0hYpR5dNfC8sJmUeXa2GoViB6tHrKyPzq4"
GOOD = {"SEALBOOK_SECRET_KEY": KEY + KEY, "SEALBOOK_HOSTS": "sealbook.example"}
SHOW = (
    "import django; django.setup(); from django.conf import settings as s;"
    "print(s.DEBUG, s.SECURE_SSL_REDIRECT, s.SESSION_COOKIE_SECURE, s.ALLOWED_HOSTS,"
    "s.DATABASES['default']['ENGINE'])"
)


def run(folder: Path, *command: str, **environment: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, *command],
        cwd=ROOT,
        env={"PATH": os.environ["PATH"], "SEALBOOK_DEMO_DIR": str(folder), **environment},
        capture_output=True,
        text=True,
        timeout=60,
        check=False,
    )


def start(folder: Path, **environment: str) -> subprocess.CompletedProcess[str]:
    settings = {"DJANGO_SETTINGS_MODULE": "config.settings", "SEALBOOK_DATA": str(folder)}
    return run(folder, "-c", SHOW, **settings, **environment)


def test_a_site_that_is_set_up_starts_safely(tmp_path):
    done = start(tmp_path, **GOOD)
    assert done.stdout.split(" ", 3)[:3] == ["False", "True", "True"], done.stderr
    assert "['sealbook.example'] django.db.backends.sqlite3" in done.stdout


BAD = {
    "no key": ({"SEALBOOK_SECRET_KEY": ""}, "Set the environment variable SEALBOOK_SECRET_KEY."),
    "a short key": ({"SEALBOOK_SECRET_KEY": KEY[:49]}, "at least 50 characters"),
    "a key of one letter": ({"SEALBOOK_SECRET_KEY": "a" * 80}, "at least 50 characters"),
    "no hosts": ({"SEALBOOK_HOSTS": ""}, "must list the host names"),
    "commas alone": ({"SEALBOOK_HOSTS": " , "}, "must list the host names"),
    "every host": ({"SEALBOOK_HOSTS": "*"}, "without '*'"),
    "every host among others": ({"SEALBOOK_HOSTS": "sealbook.example,*"}, "without '*'"),
    "another database": ({"DATABASE_URL": "mysql://u:p@h/name"}, "DATABASE_URL must look like"),
    "a database without a name": ({"DATABASE_URL": "postgresql://h"}, "DATABASE_URL must look"),
    "no database": ({"DATABASE_URL": "sealbook"}, "DATABASE_URL must look like"),
    "perhaps": ({"SEALBOOK_HTTPS": "perhaps"}, "SEALBOOK_HTTPS must be yes or no"),
    "perhaps a proxy": ({"SEALBOOK_PROXY": "2"}, "SEALBOOK_PROXY must be yes or no"),
    "every host of a domain": ({"SEALBOOK_HOSTS": "*.example"}, "without '*'"),
    "a port that is none": ({"DATABASE_URL": "postgresql://h:x/name"}, "DATABASE_URL must look"),
    "a file without a name": ({"DATABASE_URL": "sqlite:///"}, "DATABASE_URL must look like"),
}


@pytest.mark.parametrize("what", BAD)
def test_nonsense_is_refused_at_start_in_one_sentence(tmp_path, what):
    change, said = BAD[what]
    done = start(tmp_path, **GOOD | change)
    assert done.returncode != 0
    assert done.stdout == ""
    last = done.stderr.strip().splitlines()[-1]
    assert last.startswith("django.core.exceptions.ImproperlyConfigured: ")
    assert said in last


@pytest.mark.parametrize("secret", [KEY[:49], "a" * 80])
def test_a_bad_key_is_not_repeated(tmp_path, secret):
    done = start(tmp_path, **GOOD | {"SEALBOOK_SECRET_KEY": secret})
    assert secret not in done.stderr


def test_a_password_in_a_bad_database_address_is_not_repeated(tmp_path):
    done = start(tmp_path, **GOOD, DATABASE_URL="mysql://u:invented-word@h/name")
    assert "invented-word" not in done.stderr


def test_without_a_key_commands_use_the_demo_and_say_so(tmp_path):
    done = run(tmp_path, "manage.py", "diffsettings", "--output", "unified")
    assert done.returncode == 0, done.stderr
    assert done.stderr == "SEALBOOK_SECRET_KEY is not set: this works on the demo's database.\n"
    assert str(tmp_path / "data" / "demo" / "demo.sqlite3") in done.stdout
    assert "+ DEBUG = True" not in done.stdout


def test_with_a_key_commands_use_the_site(tmp_path):
    done = run(
        tmp_path, "manage.py", "diffsettings", **GOOD, SEALBOOK_DATA=str(tmp_path / "of the site")
    )
    assert done.stderr == ""
    assert "of the site" in done.stdout
    assert "demo.sqlite3" not in done.stdout


def test_named_settings_are_used_as_they_are(tmp_path):
    done = run(tmp_path, "manage.py", "check", DJANGO_SETTINGS_MODULE="config.settings_test")
    assert (done.returncode, done.stderr) == (0, "")


def test_a_real_site_passes_the_check_for_deployment(tmp_path):
    done = run(
        *(tmp_path, "manage.py", "check", "--deploy", "--fail-level", "WARNING"),
        **GOOD,
        **{"SEALBOOK_DATA": str(tmp_path)},
    )
    assert done.returncode == 0, done.stderr


def test_the_key_of_a_demo_is_its_own_and_readable_by_its_owner_alone(tmp_path):
    run(tmp_path, "manage.py", "check")
    path = tmp_path / "data" / "demo" / "secret-key"
    first = path.read_text()
    assert path.stat().st_mode & 0o077 == 0
    run(tmp_path, "manage.py", "check")
    assert path.read_text() == first != ""


def test_the_folder_of_the_data_is_made(tmp_path):
    assert start(tmp_path / "not" / "there", **GOOD).returncode == 0
    assert (tmp_path / "not" / "there").is_dir()


def test_a_folder_that_cannot_be_made_is_said_in_one_sentence(tmp_path):
    (tmp_path / "file").write_text("in the way")
    done = start(tmp_path / "file" / "data", **GOOD)
    assert done.returncode != 0
    assert "SEALBOOK_DATA: the folder" in done.stderr and "cannot be made" in done.stderr


def test_whoever_stops_reading_ends_a_command_without_a_trace(tmp_path):
    with subprocess.Popen(
        [sys.executable, "manage.py", "diffsettings"],
        cwd=ROOT,
        env={"PATH": os.environ["PATH"], "SEALBOOK_DEMO_DIR": str(tmp_path)},
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
    ) as process:
        assert process.stdout and process.stderr
        process.stdout.close()
        said = process.stderr.read()
    assert said == "SEALBOOK_SECRET_KEY is not set: this works on the demo's database.\n"
    assert process.returncode == 1
