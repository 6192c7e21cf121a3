"""The look at the computer before anything is installed."""

from __future__ import annotations

import ast
import subprocess
import sys
from pathlib import Path

import pytest

from config import preflight


def result(code: int, words: str = "") -> subprocess.CompletedProcess[str]:
    return subprocess.CompletedProcess([], code, "", words)


def make_venv(folder: Path, python: str = sys.executable) -> Path:
    """A virtual environment as far as preflight looks: a Python and pip."""
    (folder / "bin").mkdir(parents=True)
    (folder / "bin" / "python").symlink_to(python)
    (folder / "bin" / "pip").touch()
    return folder


@pytest.fixture
def commands(monkeypatch):
    """Run no program; keep the commands that would have been run."""
    kept: list[list[str]] = []

    def run(command, env=None):
        kept.append(command)
        return result(0)

    monkeypatch.setattr(preflight, "run", run)
    return kept


def test_reads_on_an_old_python():
    source = Path(preflight.__file__).read_text(encoding="utf-8")
    ast.parse(source, feature_version=(3, 8))


def test_imports_nothing_that_must_first_be_installed():
    source = ast.parse(Path(preflight.__file__).read_text(encoding="utf-8"))
    for node in ast.walk(source):
        if isinstance(node, ast.Import):
            assert all(name.name.split(".")[0] in sys.stdlib_module_names for name in node.names)
        if isinstance(node, ast.ImportFrom):
            assert node.module.split(".")[0] in sys.stdlib_module_names


class TestVersion:
    def test_old_python_gets_one_sentence(self):
        sentence = preflight.version_fault((3, 9), "/usr/bin/python3")
        assert sentence.startswith("Sealbook needs Python 3.11 or newer")
        assert "/usr/bin/python3 is Python 3.9:" in sentence
        assert "\n" not in sentence

    @pytest.mark.parametrize("version", [(3, 11), (3, 14), (4, 0)])
    def test_new_enough(self, version):
        assert preflight.version_fault(version, "python3") is None

    def test_main_ends_with_the_sentence(self, monkeypatch, capsys):
        monkeypatch.setattr(preflight.sys, "version_info", (3, 10, 0))
        assert preflight.main([]) == 1
        assert "is Python 3.10" in capsys.readouterr().err


class TestVenvModule:
    def test_bare_debian_python_is_told_the_package(self, monkeypatch):
        monkeypatch.setattr(
            preflight.importlib.util, "find_spec", lambda name: None if name == "ensurepip" else 1
        )
        assert "apt-get install -y python3-venv" in preflight.venv_module_fault()

    def test_is_asked_only_when_a_venv_must_be_made(self, monkeypatch, tmp_path):
        monkeypatch.setattr(preflight, "venv_module_fault", lambda: "cannot")
        monkeypatch.setattr(preflight, "may_install", lambda: False)
        preflight.before_venv(make_venv(tmp_path / ".venv"))
        with pytest.raises(preflight.Missing, match="cannot"):
            preflight.before_venv(tmp_path / "none")


class TestVenv:
    def test_none_yet(self, tmp_path):
        assert preflight.venv_fault(tmp_path / ".venv") is None

    def test_whole_one_is_kept(self, tmp_path):
        venv = make_venv(tmp_path / ".venv")
        assert not preflight.remove_broken_venv(venv)
        assert venv.exists()

    def test_half_made_one_without_pip_is_removed(self, tmp_path, capsys):
        venv = make_venv(tmp_path / ".venv")
        (venv / "bin" / "pip").unlink()
        assert preflight.remove_broken_venv(venv)
        assert not venv.exists()
        assert "cannot be used: it has no pip" in capsys.readouterr().out

    def test_one_with_a_dead_interpreter_is_removed(self, tmp_path):
        venv = make_venv(tmp_path / ".venv", python=str(tmp_path / "uninstalled"))
        assert preflight.venv_fault(venv) == "its Python is gone"
        assert preflight.remove_broken_venv(venv)
        assert not venv.exists()

    def test_one_whose_python_fails_is_removed(self, tmp_path):
        venv = make_venv(tmp_path / ".venv", python="/bin/false")
        assert "does not run" in preflight.venv_fault(venv)

    def test_a_link_is_removed_but_not_what_it_leads_to(self, tmp_path):
        elsewhere = tmp_path / "elsewhere"
        elsewhere.mkdir()
        link = tmp_path / ".venv"
        link.symlink_to(elsewhere)
        assert preflight.remove_broken_venv(link)
        assert not link.is_symlink()
        assert elsewhere.exists()


class TestPdf:
    def test_libraries_found(self, monkeypatch):
        monkeypatch.setattr(preflight, "run", lambda command: result(0))
        assert preflight.pdf_fault("python") is None

    def test_missing_library_is_named_with_all_four_systems(self, monkeypatch):
        words = "OSError: cannot load library 'libpango-1.0-0': libpango-1.0-0: cannot open\n"
        monkeypatch.setattr(preflight, "run", lambda command: result(1, words))
        sentence = preflight.pdf_fault("python")
        assert "libpango-1.0-0 is missing" in sentence
        assert "apt-get install -y python3-venv libpangoft2-1.0-0 libharfbuzz-subset0; " in sentence
        assert "dnf install pango harfbuzz; " in sentence
        assert "brew install pango; " in sentence
        assert "pacman -S mingw-w64-x86_64-pango" in sentence
        assert "WSL" in sentence
        assert "\n" not in sentence

    def test_any_other_fault_is_told_in_its_last_words(self, monkeypatch):
        words = "Traceback ...\nModuleNotFoundError: No module named 'weasyprint'\n"
        monkeypatch.setattr(preflight, "run", lambda command: result(1, words))
        assert "No module named 'weasyprint' (Debian" in preflight.pdf_fault("python")

    def test_a_child_that_dies_without_words(self, monkeypatch):
        monkeypatch.setattr(preflight, "run", lambda command: result(-11))
        assert "exit code -11" in preflight.pdf_fault("python")

    def test_this_computer_has_them(self):
        assert preflight.pdf_fault(sys.executable) is None


class TestInstalling:
    def test_reads_the_system_and_what_it_is_like(self, tmp_path):
        file = tmp_path / "os-release"
        file.write_text('NAME="Mint"\nID=linuxmint\nID_LIKE="ubuntu debian"\nVERSION_ID="22"\n')
        assert preflight.os_release(file) == {"linuxmint", "ubuntu", "debian"}

    def test_other_systems_have_no_such_file(self, tmp_path):
        assert preflight.os_release(tmp_path / "none") == set()

    @pytest.mark.parametrize(
        ("user", "system", "may"),
        [(0, {"debian"}, True), (1000, {"debian"}, False), (0, {"fedora"}, False)],
    )
    def test_only_root_on_debian_installs(self, monkeypatch, user, system, may):
        monkeypatch.setattr(preflight.os, "geteuid", lambda: user)
        monkeypatch.setattr(preflight, "os_release", lambda: system)
        monkeypatch.setattr(preflight.shutil, "which", lambda name: "/usr/bin/" + name)
        assert preflight.may_install() is may

    def test_updates_the_lists_first_and_says_so_in_one_line(self, commands, capsys):
        preflight.install_debian_packages()
        assert [command[1] for command in commands] == ["update", "install"]
        said = capsys.readouterr().out
        assert said.count("\n") == 1
        assert "libharfbuzz-subset0" in said

    def test_apt_get_that_fails_is_heard(self, monkeypatch):
        monkeypatch.setattr(preflight, "run", lambda command, env: result(100, "no route"))
        with pytest.raises(preflight.Missing, match=r"no route\n'apt-get update' failed"):
            preflight.install_debian_packages()

    def test_what_is_still_missing_afterwards_ends_it(self, monkeypatch, commands):
        monkeypatch.setattr(preflight, "may_install", lambda: True)
        with pytest.raises(preflight.Missing, match="still"):
            preflight.require(lambda: "still missing")
        assert len(commands) == 2

    def test_nothing_is_installed_when_nothing_is_missing(self, commands):
        preflight.require(lambda: None)
        assert commands == []

    def test_others_are_only_told(self, monkeypatch, capsys, commands):
        monkeypatch.setattr(preflight, "may_install", lambda: False)
        monkeypatch.setattr(preflight, "pdf_fault", lambda python: "no pango")
        assert preflight.main(["--pdf"]) == 1
        assert capsys.readouterr().err == "no pango\n"
        assert commands == []
