"""Two real processes that save at the same time; run as a module this file is one of them."""

from __future__ import annotations

import json
import os
import subprocess
import sys
import time
import uuid
from datetime import UTC, date, datetime, timedelta
from typing import Any

import django

if __name__ == "__main__":
    django.setup()

import pytest
from django.conf import settings
from django.db import connection

from config.accounts.models import User
from inventory.ledger.models import Chain, Item, Record, RecordItem
from inventory.ledger.verify import check_everything
from inventory.ledger.write import Draft, Overtaken, last_seq, writing
from surveys.leak.actions import record_leak_test
from tests import factories

WIPED = date(2026, 1, 5)


class Person:
    """Another process on the same database, ready to go when told."""

    def __init__(self, **task: Any) -> None:
        name = str(connection.settings_dict["NAME"])
        start = "sqlite" if connection.vendor == "sqlite" else "postgresql"
        self.process = subprocess.Popen(
            [sys.executable, "-m", "tests.inventory.test_two_people", json.dumps(task)],
            cwd=settings.BASE_DIR,
            env={
                **os.environ,
                "DATABASE_URL": f"{start}:///{name}",
                "DJANGO_SETTINGS_MODULE": "config.settings_test",
            },
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            text=True,
        )

    def ready(self) -> None:
        assert self.process.stdout is not None
        assert self.process.stdout.readline() == "ready\n"

    def go(self) -> None:
        assert self.process.stdin is not None
        self.process.stdin.write("go\n")
        self.process.stdin.flush()

    def answer(self) -> Any:
        out, _ = self.process.communicate(timeout=60)
        assert self.process.returncode == 0
        return json.loads(out)


def at_once(*people: Person) -> list[Any]:
    """Everybody starts at the same moment; their answers in order."""
    for person in people:
        person.ready()
    for person in people:
        person.go()
    return [person.answer() for person in people]


def task(source: Item, counter: Item, **more: Any) -> dict[str, Any]:
    """What a process needs to record wipes of a source, on a clock that goes on from ours."""
    names = {"source": source.pk, "counter": counter.pk, "by": factories.rps_of(source.site).pk}
    return names | {"clock": factories.tick().isoformat(), "since": time.time()} | more


def about(source: Item) -> list[int]:
    mentions = RecordItem.objects.filter(item=source, kind="leak_test")
    return list(mentions.order_by("record__seq").values_list("record__seq", flat=True))


def seqs(chain: Chain) -> list[int]:
    records = Record.objects.filter(chain=chain).order_by("seq")
    return list(records.values_list("seq", flat=True))


pytestmark = pytest.mark.django_db(transaction=True)


@pytest.fixture
def source() -> Item:
    return factories.make_source(factories.make_site("thornmere"))


@pytest.fixture
def counter(source: Item) -> Item:
    return factories.make_monitor(source.site, tag="WC-1")


def test_lets_one_save_and_tells_the_other_what_happened(source: Item, counter: Item) -> None:
    same = task(source, counter, act="save", seen=last_seq(source.site))
    answers = at_once(Person(**same), Person(**same))
    (wrote,) = about(source)
    assert sorted(answers, key=str) == [{"overtaken": [wrote]}, {"wrote": [wrote]}]
    assert list(check_everything()) == []


def test_writes_once_for_one_request(source: Item, counter: Item) -> None:
    same = task(source, counter, act="save", key=str(uuid.uuid4()))
    answers = at_once(Person(**same), Person(**same))
    assert answers == [{"wrote": about(source)}] * 2
    assert len(about(source)) == 1


def test_records_everything_of_many_without_a_gap(source: Item, counter: Item) -> None:
    before = last_seq(source.site)
    same = task(source, counter, act="save", times=8)
    answers = at_once(*(Person(**same) for _ in range(4)))
    written = sorted(seq for answer in answers for seq in answer["wrote"])
    assert written == about(source) == list(range(before + 1, before + 33))
    chain = Chain.objects.get(site=source.site)
    assert seqs(chain) == list(range(1, chain.length + 1))
    assert list(check_everything()) == []


def test_makes_one_chain_for_two_first_records() -> None:
    same = {"by": factories.make_user().pk, "act": "begin"}
    same |= {"clock": factories.tick().isoformat(), "since": time.time()}
    answers = at_once(Person(**same), Person(**same))
    assert sorted(answer["wrote"] for answer in answers) == [[1], [2]]
    assert Chain.objects.count() == 1
    assert [one.fault for one in check_everything()] == []


# ---------------------------------------------------------------- the other process


def _now(task: dict[str, Any]) -> datetime:
    gone = timedelta(seconds=time.time() - task["since"])
    return datetime.fromisoformat(task["clock"]).astimezone(UTC) + gone


def _save(task: dict[str, Any]) -> dict[str, Any]:
    source, counter = Item.objects.in_bulk([task["source"], task["counter"]]).values()
    wrote = []
    try:
        for _ in range(task.get("times", 1)):
            record = record_leak_test(
                site=source.site,
                by=User.objects.get(pk=task["by"]),
                at=_now(task),
                wipe=factories.make_wipe(source, counter, WIPED),
                accepted=True,
                seen=task.get("seen"),
                request_key=uuid.UUID(task["key"]) if task.get("key") else None,
            )
            wrote.append(record.seq)
    except Overtaken as error:
        return {"overtaken": [record.seq for record in error.records]}
    return {"wrote": wrote}


def _begin(task: dict[str, Any]) -> dict[str, Any]:
    by = User.objects.get(pk=task["by"])
    with writing(None, by=by, at=_now(task)) as ledger:
        record = ledger.append(Draft("reference_data_changed", ledger.today, []))
        return {"wrote": [record.seq]}


def main() -> None:
    own = json.loads(sys.argv[1])
    connection.ensure_connection()
    print("ready", flush=True)  # noqa: T201 - the way to talk to the first process
    sys.stdin.readline()
    done = _save(own) if own["act"] == "save" else _begin(own)
    print(json.dumps(done), flush=True)  # noqa: T201


if __name__ == "__main__":
    main()
