"""Hostile files: one sentence each, little memory, little time, nothing followed or run."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest

from inventory.sentences import fill
from reports.exchange.opening import open_book, open_path
from reports.exchange.sentences import SENTENCES
from reports.exchange.understood import LoadFault
from tests.reports.exchange import hostile

ROOT = Path(__file__).parents[3]
MOST_MEGABYTES, MOST_SECONDS = 300, 20
#: Opens files in a process of its own and says what came of each and what it cost. The memory is
#: the most that the process has ever held, so that it can only grow from one file to the next.
CHILD = """
import json, resource, sys, time
from pathlib import Path
import django
django.setup()
from reports.exchange.opening import open_path
from reports.exchange.understood import LoadFault

def megabytes():
    status = Path("/proc/self/status")  # the other figure starts with that of the parent
    if status.exists():
        return int(status.read_text().split("VmHWM:")[1].split()[0]) / 1024
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024

for path in sys.argv[1:]:
    began = time.process_time()
    try:
        book = open_path(Path(path))
        came = {"notes": [note.code for note in book.notes],
                "lines": [[cell.text for cell in line.cells] for line in book.sheets[0].lines[:3]]}
    except LoadFault as fault:
        came = {"faults": [step.code for step in fault.faults]}
    came |= {"seconds": time.process_time() - began, "megabytes": megabytes()}
    print(json.dumps(came))
"""


def opened(*paths: Path) -> list[dict[str, Any]]:
    done = subprocess.run(
        [sys.executable, "-W", "error", "-c", CHILD, *map(str, paths)],
        cwd=ROOT,
        env={"DJANGO_SETTINGS_MODULE": "config.settings_test", "PATH": ""},
        capture_output=True,
        text=True,
        timeout=600,
        check=False,
    )
    assert done.returncode == 0, done.stderr
    return [json.loads(line) for line in done.stdout.splitlines()]


@pytest.fixture(scope="module")
def came_of(tmp_path_factory) -> dict[str, dict[str, Any]]:
    """What came of every hostile file, by its name."""
    folder = tmp_path_factory.mktemp("hostile")
    makers = {what: make for what, (make, _) in {**hostile.REFUSED, **hostile.READ}.items()}
    paths = []
    for number, make in enumerate(makers.values()):
        paths.append(folder / f"{number}.xlsx")
        paths[-1].write_bytes(make())
    return dict(zip(makers, opened(*paths), strict=True))


@pytest.mark.parametrize("what", hostile.REFUSED)
def test_it_is_refused_in_one_sentence_with_little_memory(came_of, what):
    came = came_of[what]
    assert came["faults"] == [hostile.REFUSED[what][1]]
    assert came["megabytes"] < MOST_MEGABYTES and came["seconds"] < MOST_SECONDS


@pytest.mark.parametrize("what", hostile.READ)
def test_it_is_read_all_the_same_with_little_memory(came_of, what):
    came, note = came_of[what], hostile.READ[what][1]
    assert [line[:4] for line in came["lines"][:2]] == [list(hostile.HEADS), list(hostile.ROW)]
    assert not note or note in came["notes"]
    assert came["megabytes"] < MOST_MEGABYTES and came["seconds"] < MOST_SECONDS


def test_two_hundred_megabytes_are_refused_before_a_byte_is_read(tmp_path):
    path = tmp_path / "large.xlsx"
    with path.open("wb") as file:
        file.truncate(200 * 1024 * 1024)
    (came,) = opened(path)
    assert came["faults"] == ["open_too_large"]
    assert came["seconds"] < 1 and came["megabytes"] < 100


def test_what_was_uploaded_is_measured_too():
    with pytest.raises(LoadFault) as refusal:
        open_book("large.csv", b"x" * (10 * 1024 * 1024 + 1))
    (fault,) = refusal.value.faults
    said = fill(fault.code, fault.values, SENTENCES)
    assert "at most 10 MB" in said


@pytest.mark.parametrize("code", sorted({code for _, code in hostile.REFUSED.values()}))
def test_each_refusal_is_a_sentence_that_says_what_to_do(code):
    values = {"sheet": "S", "row": 3, "most": 5, "megabytes": 200}
    said = fill(code, values, SENTENCES)
    assert "[no sentence" not in said and said.endswith((".", "?"))


def test_the_parser_of_openpyxl_is_the_safe_one():
    import openpyxl
    from openpyxl.xml import functions

    assert openpyxl.DEFUSEDXML is True
    assert functions.fromstring.__module__.startswith("defusedxml")


def test_a_missing_file_is_not_hidden(tmp_path):
    with pytest.raises(FileNotFoundError):
        open_path(tmp_path / "none.csv")
