"""Looks at the computer before Sealbook is installed, and says in one sentence what is missing.

``python3 config/preflight.py``               before ``.venv`` is made
``.venv/bin/python config/preflight.py --pdf`` after its packages are installed

Standard library only and syntax that Python 3.8 reads: an old Python must get a sentence from
here, not a SyntaxError. For the same reason nothing of Sealbook or Django is imported.
"""

from __future__ import annotations

import argparse
import importlib
import importlib.util
import os
import re
import shutil
import subprocess
import sys
from collections.abc import Callable, Mapping, Sequence
from pathlib import Path

OLDEST = (3, 11)
VENV = Path(__file__).resolve().parent.parent / ".venv"
DEBIAN_PACKAGES = ("python3-venv", "libpangoft2-1.0-0", "libharfbuzz-subset0")

HOW_TO_INSTALL = (
    "Debian/Ubuntu: apt-get install -y " + " ".join(DEBIAN_PACKAGES) + "; "
    "Fedora: dnf install pango harfbuzz; "
    "macOS: brew install pango; "
    "Windows: pacman -S mingw-w64-x86_64-pango in MSYS2, or use WSL"
)

# WeasyPrint only warns about a missing harfbuzz-subset (and subsets fonts in another, slower way,
# until a later version of it demands the library); without its other libraries it raises OSError.
PDF_PROBE = """
import sys, warnings
warnings.simplefilter("ignore")
from weasyprint.text import ffi
if getattr(ffi, "harfbuzz_subset", True) is None:
    sys.exit("cannot load library 'libharfbuzz-subset'")
"""


class Missing(Exception):
    """Something Sealbook cannot do without; the message is the sentence to show."""


def dotted(version: Sequence[int]) -> str:
    """3.11 for (3, 11)."""
    return ".".join(str(part) for part in version)


def version_fault(version: Sequence[int], executable: str) -> str | None:
    """The sentence about a Python that is too old, or None."""
    if tuple(version) >= OLDEST:
        return None
    return (
        f"Sealbook needs Python {dotted(OLDEST)} or newer, and {executable} is Python "
        f"{dotted(version)}: install a newer one and name it, "
        "for instance 'make demo PYTHON=python3.12'."
    )


def venv_module_fault() -> str | None:
    """The sentence about a Python without venv or pip of its own (Debian's bare one), or None."""
    if all(importlib.util.find_spec(name) for name in ("venv", "ensurepip")):
        return None
    return (
        f"This Python ({sys.executable}) cannot make virtual environments: install its venv "
        "package (Debian/Ubuntu: apt-get install -y python3-venv, "
        f"or python{dotted(sys.version_info[:2])}-venv for a Python that is not the system's own)."
    )


def venv_fault(folder: Path) -> str | None:
    """Why the virtual environment in this folder cannot be used, or None if it can or is not there.

    ``python3 -m venv`` on a Debian without python3-venv leaves a folder without pip, an
    interrupted one any part of it, and an upgrade of the system's Python a dead interpreter.
    """
    if not folder.exists() and not folder.is_symlink():
        return None
    scripts = folder / ("Scripts" if os.name == "nt" else "bin")
    suffix = ".exe" if os.name == "nt" else ""
    if not (scripts / ("pip" + suffix)).exists():
        return "it has no pip"
    check = f"import sys, pip; sys.exit(sys.version_info < {OLDEST!r})"
    try:
        # -I: a PYTHONPATH or PYTHONHOME meant for another Python must not decide this.
        result = run([str(scripts / ("python" + suffix)), "-I", "-c", check])
    except OSError:
        return "its Python is gone"
    return "its Python or pip does not run or is too old" if result.returncode else None


def remove_broken_venv(folder: Path) -> bool:
    """Remove a virtual environment that cannot be used; returns whether it did."""
    fault = venv_fault(folder)
    if fault is None:
        return False
    say(f"Removing {folder.name}, which cannot be used: {fault}.")
    if folder.is_symlink() or not folder.is_dir():
        folder.unlink()
    else:
        shutil.rmtree(str(folder))
    return True


def pdf_fault(python: str) -> str | None:
    """The sentence about the native libraries WeasyPrint does not find, or None.

    In a child process: a library that is missing, or of another architecture, can end it.
    """
    result = run([python, "-c", PDF_PROBE])
    if result.returncode == 0:
        return None
    words = result.stdout + result.stderr
    found = re.search(r"cannot load library '([^']+)'", words)
    if found:
        return (
            "Sealbook makes its PDFs with the system's Pango and HarfBuzz libraries, "
            f"and {found.group(1)} is missing ({HOW_TO_INSTALL})."
        )
    last = (words.strip().splitlines() or [f"exit code {result.returncode}"])[-1]
    return f"WeasyPrint, which makes the PDFs, cannot be imported: {last} ({HOW_TO_INSTALL})."


def os_release(path: Path = Path("/etc/os-release")) -> set[str]:
    """The words of ID and ID_LIKE of a Linux system; empty elsewhere."""
    try:
        text = path.read_text(encoding="utf-8")
    except OSError:
        return set()
    found = re.findall(r"^ID(?:_LIKE)?=[\"']?([^\"'\n]*)", text, flags=re.MULTILINE)
    return {word for value in found for word in value.split()}


def may_install() -> bool:
    """Whether we are root on Debian, Ubuntu or a child of theirs."""
    root = hasattr(os, "geteuid") and os.geteuid() == 0
    return root and bool(os_release() & {"debian", "ubuntu"}) and bool(shutil.which("apt-get"))


def install_debian_packages() -> None:
    """Install what is missing with apt-get; its own words are shown only when it fails."""
    say(f"Installing as root with apt-get: {' '.join(DEBIAN_PACKAGES)}.")
    quiet = dict(os.environ, DEBIAN_FRONTEND="noninteractive")
    install = ["apt-get", "install", "-y", "--no-install-recommends", *DEBIAN_PACKAGES]
    for command in (["apt-get", "update"], install):
        result = run(command, env=quiet)
        if result.returncode:
            raise Missing(
                f"{(result.stdout + result.stderr).strip()}\n"
                f"'{' '.join(command)}' failed; what it said stands above."
            )
    importlib.invalidate_caches()


def require(fault: Callable[[], str | None]) -> None:
    """Check; where we may, install and check again; raise Missing with the sentence otherwise."""
    sentence = fault()
    if sentence and may_install():
        install_debian_packages()
        sentence = fault()
    if sentence:
        raise Missing(sentence)


def before_venv(folder: Path) -> None:
    """First stage: this Python can make the virtual environment, no broken one is in the way."""
    sentence = version_fault(sys.version_info[:2], sys.executable)
    if sentence:
        raise Missing(sentence)
    if venv_fault(folder) or not folder.exists():
        require(venv_module_fault)
    remove_broken_venv(folder)


def before_pdf() -> None:
    """Second stage, with the virtual environment's Python: PDFs can be made."""
    require(lambda: pdf_fault(sys.executable))


def run(
    command: Sequence[str], env: Mapping[str, str] | None = None
) -> subprocess.CompletedProcess[str]:
    """Run a program to its end and keep its words; nothing can be asked of the person."""
    return subprocess.run(  # noqa: S603 - fixed commands as lists, never through a shell
        command,
        env=env,
        stdin=subprocess.DEVNULL,
        capture_output=True,
        text=True,
        errors="replace",
        check=False,
    )


def say(sentence: str) -> None:
    """One line for the person in front of it, at once, also when the output is a pipe."""
    print(sentence, flush=True)  # noqa: T201 - this is a command


def main(argv: Sequence[str] | None = None) -> int:
    """0 when all is there, 1 after a sentence about what is not."""
    parser = argparse.ArgumentParser(description="Check that this computer can run Sealbook.")
    parser.add_argument("--pdf", action="store_true", help="check that PDFs can be made")
    options = parser.parse_args(argv)
    try:
        if options.pdf:
            before_pdf()
        else:
            before_venv(VENV)
    except Missing as missing:
        print(missing, file=sys.stderr)  # noqa: T201 - this is a command
        return 1
    return 0


if __name__ == "__main__":
    sys.exit(main())
