"""``manage.py check_records``: a table for people, JSON for programs, and never a traceback."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from io import StringIO
from typing import Any

import pytest
from django.conf import settings
from django.core.management import CommandError, call_command
from django.db import connection

from inventory.ledger import triggers
from inventory.ledger.models import Chain, Item, Record
from tests.inventory.ledger_world import World, build, sql, tamper

KEYS = ["chain", "seq", "record", "table", "column", "fault", "expected", "found"]
SQLITE = connection.vendor == "sqlite"


@pytest.fixture
def world(db: None) -> World:
    return build()


def fails(*options: str) -> tuple[str, str]:
    """The output and the last sentence of a run that finds something."""
    out = StringIO()
    with pytest.raises(CommandError) as caught:
        call_command("check_records", *options, stdout=out)
    assert caught.value.returncode == 1
    return out.getvalue(), str(caught.value)


def run(*options: str) -> str:
    out = StringIO()
    call_command("check_records", *options, stdout=out)
    return out.getvalue()


def test_says_in_one_sentence_that_nothing_was_found(world: World) -> None:
    first, limits, *heads = run().splitlines()
    count = Record.objects.count()
    assert first == (
        f"No fault: {count} records in 2 chains and what rests on them are as written."
    )
    assert all(word in limits for word in ("cut tail", "old backup", "written anew", "elsewhere"))
    assert heads == [
        f"{chain}  {chain.length}  {chain.head}" for chain in Chain.objects.order_by("pk")
    ]


def test_has_nothing_to_find_in_an_empty_database(db: None) -> None:
    assert run().startswith("No fault: 0 records in 0 chains")


def test_prints_an_empty_list_for_programs(world: World) -> None:
    assert json.loads(run("--json")) == []


def test_lists_each_fault_for_people(world: World) -> None:
    tamper("UPDATE inventory_record SET performed_by = 'C. F' WHERE id = %s", world.wipe.pk)
    out, last = fails()
    head, line, *_ = out.splitlines()
    assert head.split() == ["Chain", "No.", "Where", "What", "Expected", "Found"]
    assert [cell.strip() for cell in line.split("  ") if cell] == [
        *("thornmere", str(world.wipe.seq), "inventory_record.performed_by", "column changed"),
        *("B. Sampler", "C. F"),
    ]
    assert last == "1 thing is not as it was recorded."


def test_lists_each_fault_for_programs(world: World) -> None:
    tamper("UPDATE inventory_record SET performed_by = 'C. F' WHERE id = %s", world.wipe.pk)
    out, _ = fails("--json")
    (found,) = json.loads(out)
    assert list(found) == KEYS
    assert found == {
        **{"chain": "thornmere", "seq": world.wipe.seq, "record": world.wipe.pk},
        **{"table": "inventory_record", "column": "performed_by", "fault": "column_changed"},
        **{"expected": "B. Sampler", "found": "C. F"},
    }


def test_survives_everything_being_tampered_with_at_once(world: World) -> None:
    tamper("UPDATE inventory_record SET body = '{' WHERE seq = 3")
    tamper("UPDATE inventory_record SET body = '' WHERE seq = 5")
    tamper("UPDATE inventory_record SET reason = %s WHERE seq = 6", "\x1b[31m\nred")
    Item.objects.filter(pk=world.source.pk).update(code="FFFFFFFF")
    Chain.objects.update(length=2_000_000)
    if SQLITE:
        tamper("UPDATE inventory_record SET effective_on = 'soon' WHERE seq = 7")
        tamper("UPDATE inventory_record SET body = x'00ff' WHERE seq = 8")
        tamper("UPDATE inventory_record SET body = CAST(x'ff' AS TEXT) WHERE seq = 9")
        tamper("UPDATE inventory_record SET performed_by = CAST(x'ff' AS TEXT) WHERE seq = 10")
        tamper("UPDATE inventory_chain SET head = CAST(x'ff' AS TEXT)")
        tamper("UPDATE inventory_nuclide SET \"values\" = '7' WHERE name = 'Cs-137'")
    out, _ = fails()
    assert "\x1b" not in out and "\\x1b[31m\\nred" in out
    out.encode()
    rows = json.loads(fails("--json")[0])
    assert {row["fault"] for row in rows} >= {"text_changed", "column_changed", "derived_differs"}


def test_changes_nothing(world: World) -> None:
    tamper("UPDATE inventory_record SET performed_by = 'C. F' WHERE id = %s", world.wipe.pk)
    Item.objects.filter(pk=world.source.pk).update(label="forged")
    assert fails() == fails()


@pytest.mark.skipif(not SQLITE, reason="PostgreSQL drops no row that others name")
@pytest.mark.django_db(transaction=True)
def test_names_a_dropped_chain_by_what_it_leaves_behind() -> None:
    build()
    triggers.remove(connection)
    sql("PRAGMA foreign_keys = OFF")
    sql("DELETE FROM inventory_chain WHERE site_id IS NOT NULL")
    sql("PRAGMA foreign_keys = ON")
    triggers.install(connection)
    rows = json.loads(fails("--json")[0])
    found = {(row["table"], row["column"], row["fault"]) for row in rows}
    assert ("inventory_record", "chain_id", "entry_missing") in found


def in_a_process(*options: str) -> subprocess.CompletedProcess[str]:
    name = str(connection.settings_dict["NAME"])
    url = f"sqlite:///{name}" if SQLITE else f"postgresql:///{name}"
    environment: dict[str, Any] = {**os.environ, "DATABASE_URL": url}
    environment["DJANGO_SETTINGS_MODULE"] = "config.settings_test"
    return subprocess.run(
        [sys.executable, "manage.py", "check_records", *options],
        cwd=settings.BASE_DIR,
        env=environment,
        capture_output=True,
        text=True,
        check=False,
    )


@pytest.mark.django_db(transaction=True)
def test_exits_with_one_only_when_something_is_wrong() -> None:
    build()
    # The attachments lie in the folder of this process, so for another one they are missing.
    done = in_a_process("--json")
    assert [row["fault"] for row in json.loads(done.stdout)] == ["attachment_missing"]
    assert (done.returncode, "1 thing is not" in done.stderr) == (1, True)
    assert "Traceback" not in done.stderr


@pytest.mark.django_db(transaction=True)
def test_exits_with_zero_when_nothing_is_wrong() -> None:
    done = in_a_process()
    assert (done.returncode, done.stderr) == (0, "")
    assert done.stdout.startswith("No fault: 0 records")
