"""Everything that was changed behind the back of the ledger is named, and nothing else."""

from __future__ import annotations

import copy
import json
import shutil
from collections.abc import Iterator
from datetime import date
from pathlib import Path
from typing import Any

import pytest
from django.conf import settings
from django.db import connection, transaction

from config.accounts.models import Site
from inventory.followups.models import FollowUp
from inventory.items.actions import change, description_in_force, snapshot_of
from inventory.items.models import SiteDetail, Source
from inventory.ledger import canonical, files, triggers
from inventory.ledger.fault import Fault
from inventory.ledger.models import Attachment, Chain, Item, Record, RecordItem, RecordLink
from inventory.ledger.verify import MOST_NAMED, check_everything, one_moment, verify
from inventory.nuclides.models import Nuclide
from inventory.timeline import RequirementSpan, Stay
from tests import factories
from tests.inventory.ledger_world import CERTIFICATE, World, build, sql, tamper, triggers_off

SQLITE = connection.vendor == "sqlite"
only_sqlite = pytest.mark.skipif(not SQLITE, reason="SQLite keeps any value in any column")
only_postgresql = pytest.mark.skipif(SQLITE, reason="only PostgreSQL has this")

pytestmark = pytest.mark.django_db


@pytest.fixture(scope="module")
def built(django_db_setup: None, django_db_blocker: Any) -> Iterator[World]:
    """Built once, inside a transaction of its own."""
    with django_db_blocker.unblock(), transaction.atomic():
        yield build()
        transaction.set_rollback(True)


@pytest.fixture
def world(built: World, db: None, tmp_path: Path, settings: Any) -> World:
    shutil.copytree(settings.ATTACHMENTS_DIR, tmp_path / "attachments")
    settings.ATTACHMENTS_DIR = tmp_path / "attachments"
    return copy.deepcopy(built)


def row(fault: Fault) -> tuple[Any, ...]:
    return (fault.seq, fault.table, fault.column, fault.fault, fault.expected, fault.found)


def evidence() -> list[tuple[Any, ...]]:
    """Every fault but those of derived rows, which follow from them."""
    return [row(one) for one in check_everything() if one.fault != "derived_differs"]


def derived() -> list[tuple[Any, ...]]:
    faults = list(check_everything())
    assert {one.fault for one in faults} <= {"derived_differs"}
    return [row(one) for one in faults]


def brief(rows: list[tuple[Any, ...]]) -> list[tuple[Any, ...]]:
    return [one[:4] for one in rows]


def set_column(record: Record, column: str, value: Any) -> None:
    tamper(f"UPDATE inventory_record SET {column} = %s WHERE id = %s", value, record.pk)


def rewrite(record: Record, before: str, after: str, *, with_hash: bool = False) -> str:
    """Change a record's text, perhaps with its own hash."""
    text = record.body.replace(before, after)
    assert text != record.body
    set_column(record, "body", text)
    if with_hash:
        set_column(record, "hash", canonical.link_hash(previous_hash(record), text))
    return text


def previous_hash(record: Record) -> str:
    return Record.objects.get(chain=record.chain, seq=record.seq - 1).hash


def after(record: Record) -> Record:
    return Record.objects.get(chain=record.chain, seq=record.seq + 1)


def test_is_silent_on_an_untouched_world(world: World) -> None:
    build("otherby")
    assert list(check_everything()) == []


def test_changes_nothing_and_sees_one_moment(world: World) -> None:
    with one_moment():
        assert list(check_everything()) == []


# ---------------------------------------------------------------- columns


@pytest.mark.parametrize(
    ("column", "value", "expected"),
    [
        ("effective_on", date(2026, 1, 1), "2025-10-01"),
        ("kind", "calibration", "leak_test"),
        ("performed_by", "C. Forger", "B. Sampler"),
        ("reason", "because", ""),
        ("effective_time", "08:00:00", "None"),
        ("request_key", None, "{key}"),
        ("accepted_by_id", None, "{rps}"),
        ("instrument_id", None, "{counter}"),
        ("site_id", None, "{site}"),
    ],
)
def test_names_a_changed_column_of_the_envelope(
    world: World, column: str, value: Any, expected: str
) -> None:
    set_column(world.wipe, column, value)
    keys = {"rps": world.rps.pk, "counter": world.counter.pk, "site": world.site.pk}
    expected = expected.format(key=world.wipe.request_key, **keys)
    fault = (world.wipe.seq, "inventory_record", column, "column_changed", expected, str(value))
    found = evidence()
    assert fault in [(*one[:5], one[5].replace(" 00:00:00", "")) for one in found]
    # A record of another kind also has the wrong tables beside it; nothing more is said.
    assert {one[2] for one in found if one[1] == "inventory_record"} == {column}


def test_names_a_moment_of_recording_changed_by_a_microsecond(world: World) -> None:
    moment = world.wipe.recorded_at.replace(microsecond=1)
    text = moment.replace(tzinfo=None).isoformat(" ") if SQLITE else moment
    set_column(world.wipe, "recorded_at", text)
    ((seq, _, column, fault, expected, found),) = evidence()
    assert (seq, column, fault) == (world.wipe.seq, "recorded_at", "column_changed")
    assert (expected, found) == (str(world.wipe.recorded_at), str(moment))


def test_names_a_correction_that_was_taken_back(world: World) -> None:
    set_column(world.corrected, "replaces_id", None)
    old = world.corrected.replaces.seq
    assert evidence() == [
        (world.corrected.seq, "inventory_record", "replaces_id", "column_changed", str(old), "None")
    ]


def test_names_a_correction_turned_to_the_same_number_of_another_chain(world: World) -> None:
    other = Record.objects.get(chain__site=None, seq=1)
    old = world.corrected.replaces.seq
    set_column(world.corrected, "replaces_id", other.pk)
    ((*_, expected, found),) = evidence()
    assert (expected, found) == (str(old), f"record {other.pk} of another chain")


def test_names_a_changed_outcome(world: World) -> None:
    tamper(
        "UPDATE inventory_recorditem SET outcome = 'pass' WHERE record_id = %s", world.leaking.pk
    )
    fault = (world.leaking.seq, "inventory_recorditem", "outcome", "column_changed", "fail", "pass")
    assert evidence() == [fault]


def test_names_a_changed_activity(world: World) -> None:
    sealed = json.loads(world.wipe.body)["points"][0]["verdict"]["activity_bq"]
    tamper("UPDATE surveys_leakresult SET activity_bq = 1.5 WHERE record_id = %s", world.wipe.pk)
    fault = (world.wipe.seq, "surveys_leakresult", "activity_bq", "column_changed")
    assert evidence() == [(*fault, str(float(sealed)), "1.5")]


def test_names_a_changed_target_of_a_movement(world: World) -> None:
    moved = Record.objects.get(kind="received", about__item=world.source)
    tamper(
        "UPDATE inventory_movement SET location_id = %s WHERE record_id = %s",
        *(world.counter.pk, moved.pk),
    )
    fault = (moved.seq, "inventory_movement", "location_id", "column_changed")
    assert evidence() == [(*fault, str(world.store.pk), str(world.counter.pk))]


def test_names_a_changed_link(world: World) -> None:
    tamper(
        "UPDATE inventory_recordlink SET target_id = %s WHERE record_id = %s",
        *(world.wipe.pk, world.accepted.pk),
    )
    said, there = (f"seq={one.seq}, role=accepts" for one in (world.entered, world.wipe))
    assert evidence() == [
        (world.accepted.seq, "inventory_recordlink", "", "entry_missing", said, "no such row"),
        (world.accepted.seq, "inventory_recordlink", "", "column_changed", "no such row", there),
    ]


def test_names_a_link_to_the_same_number_of_another_chain(world: World) -> None:
    other = Record.objects.get(chain__site=None)
    RecordLink.objects.create(record=world.accepted, target=other, role="accepts")
    ((*where, found),) = evidence()
    assert where[3:] == ["column_changed", "no such row"]
    assert found == f"seq=record {other.pk} of another chain, role=accepts"


# ---------------------------------------------------------------- texts, hashes, order


def test_names_one_changed_byte_of_a_text(world: World) -> None:
    text = rewrite(world.wipe, "remark one", "remark ome")
    made = canonical.link_hash(previous_hash(world.wipe), text)
    (fault,) = check_everything()
    assert row(fault) == (
        *(world.wipe.seq, "inventory_record", "body", "text_changed"),
        *(made, world.wipe.hash),
    )
    assert (fault.chain, fault.record) == ("thornmere", world.wipe.pk)


def test_names_the_next_record_when_a_text_was_changed_with_its_hash(world: World) -> None:
    rewrite(world.wipe, "remark one", "remark ome", with_hash=True)
    following = after(world.wipe)
    world.wipe.refresh_from_db()
    made = canonical.link_hash(world.wipe.hash, following.body)
    assert evidence() == [
        (following.seq, "inventory_record", "body", "text_changed", made, following.hash)
    ]


def test_also_names_the_column_that_the_new_text_contradicts(world: World) -> None:
    rewrite(world.wipe, "B. Sampler", "C. Sampler", with_hash=True)
    assert brief(evidence()) == [
        (world.wipe.seq + 1, "inventory_record", "body", "text_changed"),
        (world.wipe.seq, "inventory_record", "performed_by", "column_changed"),
    ]


def test_names_the_head_when_the_last_text_was_changed_with_its_hash(world: World) -> None:
    rewrite(world.closed, '"remark":""', '"remark":"x"', with_hash=True)
    forged = Record.objects.get(pk=world.closed.pk).hash
    assert evidence() == [
        (world.closed.seq, "inventory_chain", "head", "hash_broken", forged, world.closed.hash)
    ]


@pytest.mark.parametrize("which", ["wipe", "closed"])
def test_names_a_hash_that_alone_was_changed(world: World, which: str) -> None:
    record = getattr(world, which)
    set_column(record, "hash", "f" * 64)
    fault = (record.seq, "inventory_record", "hash", "hash_broken", record.hash, "f" * 64)
    assert evidence() == [fault]


def drop(record: Record) -> None:
    """A record and every row beside it."""
    with triggers_off():
        sql("DELETE FROM inventory_followup WHERE closed_by_id = %s", record.pk)
        for model in reversed(triggers.evidence_models()):
            if model is not Record:
                key = f"DELETE FROM {model._meta.db_table} WHERE record_id = %s"
                sql(key, record.pk)
        sql("DELETE FROM inventory_record WHERE id = %s", record.pk)


def test_names_a_dropped_entry_in_the_middle(world: World) -> None:
    moved = Record.objects.filter(kind="received", about__item=world.counter).get()
    drop(moved)
    fault = (moved.seq, "inventory_record", "", "entry_missing", "a record", "no such row")
    assert evidence() == [fault]


def test_names_a_cut_tail_while_the_length_says_more(world: World) -> None:
    drop(world.closed)
    fault = (world.closed.seq, "inventory_record", "", "entry_missing", "a record", "no such row")
    assert evidence() == [fault]


def test_cannot_name_a_tail_cut_with_its_chain(world: World) -> None:
    """What only a head kept elsewhere finds: the limit is known, not overlooked."""
    drop(world.closed)
    Chain.objects.filter(site=world.site).update(
        length=world.closed.seq - 1,
        head=Record.objects.get(seq=world.closed.seq - 1, site=world.site).hash,
    )
    assert evidence() == []


def test_names_a_reordered_pair(world: World) -> None:
    first = Record.objects.get(kind="received", about__item=world.counter)
    second = after(first)
    with triggers_off():
        for record, seq in ((first, 9999), (second, first.seq), (first, second.seq)):
            sql("UPDATE inventory_record SET seq = %s WHERE id = %s", seq, record.pk)
    text = ("inventory_record", "body", "text_changed")
    assert brief(evidence()) == [
        *((first.seq, *text), (second.seq, *text), (second.seq + 1, *text)),
        (first.seq, "inventory_record", "seq", "column_changed"),
        (second.seq, "inventory_record", "seq", "column_changed"),
    ]


def test_names_a_long_gap_once(world: World) -> None:
    set_column(world.closed, "seq", 2**31 - 1)
    missing = [one for one in evidence() if one[3] == "entry_missing"]
    assert len(missing) == MOST_NAMED + 1
    assert missing[-1][4].endswith(f"more records, up to {2**31 - 2}")


def test_names_a_record_moved_to_another_chain(world: World) -> None:
    other = build("otherby")
    chain = Chain.objects.get(site=other.site)
    with triggers_off():
        sql(
            "UPDATE inventory_record SET chain_id = %s, seq = %s WHERE id = %s",
            *(chain.pk, chain.length + 1, world.closed.pk),
        )
    found = {(one.chain, one.seq, one.column, one.fault) for one in check_everything()}
    assert ("thornmere", world.closed.seq, "", "entry_missing") in found
    assert ("otherby", chain.length + 1, "body", "text_changed") in found
    assert ("otherby", chain.length + 1, "site_id", "column_changed") in found


# ---------------------------------------------------------------- the chain's own row


def test_names_a_changed_head(world: World) -> None:
    head = Chain.objects.get(site=world.site).head
    Chain.objects.filter(site=world.site).update(head="0" * 64)
    fault = (world.closed.seq, "inventory_chain", "head", "hash_broken", head, "0" * 64)
    assert evidence() == [fault]


@pytest.mark.parametrize("by", [-1, 1])
def test_names_a_changed_length(world: World, by: int) -> None:
    last = world.closed.seq
    Chain.objects.filter(site=world.site).update(length=last + by)
    fault = (last, "inventory_chain", "length", "column_changed", str(last), str(last + by))
    assert evidence() == [fault]


def test_names_a_site_whose_short_name_was_changed(world: World) -> None:
    Site.objects.update(slug="elsewhere")
    fault = (1, "inventory_record", "chain", "column_changed", "thornmere", "elsewhere")
    assert evidence() == [fault]


# ---------------------------------------------------------------- rows too many, too few


def test_names_an_item_that_the_text_does_not_mention(world: World) -> None:
    extra = {"kind": "leak_test", "effective_on": world.wipe.effective_on, "outcome": "pass"}
    RecordItem.objects.create(record=world.wipe, item=world.gauge, **extra)
    ((*where, found),) = evidence()
    assert where == [world.wipe.seq, "inventory_recorditem", "", "column_changed", "no such row"]
    assert f"item_id={world.gauge.pk}, " in found and "outcome=pass" in found


def test_names_an_item_of_another_site_beside_a_record(world: World) -> None:
    foreign = build("otherby").source
    extra = {"kind": "leak_test", "effective_on": world.wipe.effective_on, "outcome": "pass"}
    RecordItem.objects.create(record=world.wipe, item=foreign, **extra)
    ((*where, found),) = evidence()
    assert where[:4] == [world.wipe.seq, "inventory_recorditem", "", "column_changed"]
    assert f"item_id={foreign.pk}, " in found


def test_names_rows_of_every_other_table_that_the_text_does_not_hold(world: World) -> None:
    record = world.wipe
    RecordLink.objects.create(record=record, target=world.corrected, role="closes")
    Attachment.objects.create(record=record, name="x", sha256="a" * 64, size=1)
    world.source.movements_to.model.objects.create(record=record, location=world.store)
    for model in (record.leakresults.model,):
        model.objects.create(record=record, position=7, item=world.gauge, outcome="pass")
    tables = ["recordlink", "attachment", "movement"]
    assert sorted(brief(evidence())) == sorted(
        [(record.seq, f"inventory_{table}", "", "column_changed") for table in tables]
        + [(record.seq, "surveys_leakresult", "", "column_changed")]
    )


@pytest.mark.parametrize(
    ("table", "which"),
    [
        ("inventory_recorditem", "wipe"),
        ("inventory_recordlink", "accepted"),
        ("inventory_attachment", "wipe"),
        ("surveys_leakresult", "wipe"),
        ("surveys_leaktest", "wipe"),
    ],
)
def test_names_a_row_that_was_taken_away(world: World, table: str, which: str) -> None:
    record = getattr(world, which)
    tamper(f"DELETE FROM {table} WHERE record_id = %s", record.pk)
    ((*where, found),) = evidence()
    assert where[:4] == [record.seq, table, "", "entry_missing"]
    assert found == "no such row"


# ---------------------------------------------------------------- triggers


def without(table: str) -> tuple[str, str]:
    """The name of a trigger, and what has to stand behind it."""
    if SQLITE:
        return f"{triggers.PREFIX}{table}_delete", ""
    return f"{triggers.PREFIX}{table}", f' ON "{table}"'


MISSING = (None, "inventory_record", "", "trigger_missing", "refuses changes", "does not")


def test_names_a_missing_trigger(world: World) -> None:
    name, on = without("inventory_record")
    connection.check_constraints()
    sql(f'DROP TRIGGER "{name}"{on}')
    assert evidence() == [MISSING]


def test_names_a_trigger_that_does_nothing(world: World) -> None:
    name, on = without("inventory_record")
    connection.check_constraints()
    sql(f'DROP TRIGGER "{name}"{on}')
    if SQLITE:
        does = "BEGIN SELECT 1; END"
    else:
        does = "FOR EACH STATEMENT EXECUTE FUNCTION let_pass()"
        sql(
            "CREATE FUNCTION let_pass() RETURNS trigger LANGUAGE plpgsql "
            "AS $$ BEGIN RETURN NULL; END $$"
        )
    event = "DELETE" if SQLITE else "UPDATE OR DELETE OR TRUNCATE"
    sql(f'CREATE TRIGGER "{name}" BEFORE {event} ON inventory_record {does}')
    assert evidence() == [MISSING]


@only_postgresql
@pytest.mark.parametrize("how", ["DISABLE", "ENABLE REPLICA"])
def test_names_a_trigger_that_is_switched_off(world: World, how: str) -> None:
    connection.check_constraints()
    sql(f"ALTER TABLE inventory_record {how} TRIGGER {triggers.PREFIX}inventory_record")
    assert evidence() == [MISSING]
    triggers.install(connection)
    assert evidence() == []


@only_postgresql
@pytest.mark.parametrize(
    "when",
    ["UPDATE OF reason OR DELETE OR TRUNCATE", "UPDATE OR DELETE", "DELETE OR TRUNCATE"],
)
def test_names_a_trigger_that_fires_less_often(world: World, when: str) -> None:
    connection.check_constraints()
    name, on = without("inventory_record")
    sql(f"DROP TRIGGER {name}{on}")
    sql(
        f"CREATE TRIGGER {name} BEFORE {when}{on} "
        "FOR EACH STATEMENT EXECUTE FUNCTION sealbook_refuse()"
    )
    assert evidence() == [MISSING]


@only_postgresql
def test_names_every_table_when_the_function_was_replaced(world: World) -> None:
    sql(
        "CREATE OR REPLACE FUNCTION sealbook_refuse() RETURNS trigger LANGUAGE plpgsql "
        "AS $$ BEGIN RETURN NULL; END $$"
    )
    assert {one[1] for one in evidence()} == {m._meta.db_table for m in triggers.evidence_models()}


# ---------------------------------------------------------------- attachments


def attachment(world: World) -> Path:
    return files.path_of(Attachment.objects.get(record=world.wipe).sha256)


def test_names_a_missing_attachment(world: World) -> None:
    path = attachment(world)
    path.unlink()
    fault = (world.wipe.seq, "inventory_attachment", "report.pdf", "attachment_missing")
    assert evidence() == [(*fault, path.name, "no such file")]
    path.mkdir()
    assert evidence() == [(*fault, path.name, "no such file")]


def test_names_a_changed_attachment(world: World) -> None:
    path = attachment(world)
    path.write_bytes(CERTIFICATE + b" ")
    found = files.hashlib.sha256(CERTIFICATE + b" ").hexdigest()
    fault = (world.wipe.seq, "inventory_attachment", "report.pdf", "attachment_changed")
    assert evidence() == [(*fault, path.name, found)]


def test_names_every_attachment_when_their_folder_is_gone(world: World) -> None:
    shutil.rmtree(settings.ATTACHMENTS_DIR)
    assert [one[3] for one in evidence()] == ["attachment_missing"]


# ---------------------------------------------------------------- derived rows


def pair(table: str, world: World, found: list[tuple[Any, ...]]) -> None:
    """One row that should be there and one that is there instead, of the source."""
    assert brief(found) == [(None, table, "", "derived_differs")] * 2
    none = f"{world.source.code}: no such row"
    assert sorted(one[4] == none for one in found) == [False, True]
    assert all((one[4] == none) != (one[5] == none) for one in found)


CHANGES = [
    (Stay, {"whereabouts": "in_gauge"}, {"whereabouts": "at_location"}),
    (RequirementSpan, {"state": "failed"}, {"state": "good"}),
    (FollowUp, {"kind": "leak_test"}, {"opened_on": date(2025, 12, 2)}),
    (Source, {"maker": "Right maker"}, {"activity_bq": 1.0}),
]
TABLES = [model._meta.db_table for model, *_ in CHANGES]


@pytest.mark.parametrize(("model", "which", "values"), CHANGES, ids=TABLES)
def test_names_a_changed_derived_row(world: World, model: Any, which: Any, values: Any) -> None:
    chosen = model.objects.filter(item=world.source, **which).first()
    model.objects.filter(pk=chosen.pk).update(**values)
    pair(model._meta.db_table, world, derived())


@pytest.mark.parametrize(("model", "which", "values"), CHANGES, ids=TABLES)
def test_names_a_dropped_derived_row(world: World, model: Any, which: Any, values: Any) -> None:
    model.objects.filter(item=world.source, **which).first().delete()
    ((*where, expected, found),) = derived()
    assert where == [None, model._meta.db_table, "", "derived_differs"]
    assert found == f"{world.source.code}: no such row"
    assert expected.startswith(f"{world.source.code}: ")


ADDED = [
    (Stay, {"from_on": date(1990, 1, 1), "until_on": date(1990, 1, 2), "whereabouts": "x"}),
    (
        RequirementSpan,
        {"from_on": date(1, 1, 3), "until_on": date(1, 1, 4), "requirement": "x", "state": "good"},
    ),
    (FollowUp, {"kind": "x", "opened_on": date(2025, 1, 1)}),
]


@pytest.mark.parametrize(("model", "values"), ADDED, ids=TABLES[:3])
def test_names_an_added_derived_row(world: World, model: Any, values: dict[str, Any]) -> None:
    more = {"opened_by": world.wipe} if model is FollowUp else {}
    model.objects.create(site=world.site, item=world.source, **values, **more)
    ((*where, expected, found),) = derived()
    assert where == [None, model._meta.db_table, "", "derived_differs"]
    assert expected == f"{world.source.code}: no such row"
    assert found.startswith(f"{world.source.code}: site_id={world.site.pk}, ")


def test_names_a_detail_of_another_kind_of_item(world: World) -> None:
    Source.objects.create(item=world.gauge, nuclide="Cs-137")
    assert [one[1:4] for one in derived()] == [("inventory_source", "", "derived_differs")]


@pytest.mark.parametrize("column", ["label", "label_sort", "key"])
def test_names_a_changed_label(world: World, column: str) -> None:
    Item.objects.filter(pk=world.source.pk).update(**{column: "forged"})
    ((*where, expected, _),) = derived()
    assert where == [None, "inventory_item", "", "derived_differs"]
    assert expected == f"{world.source.code}: label=Cs-137 K-1"


# ---------------------------------------------------------------- things, sites, nuclides


def test_names_an_item_without_any_record(world: World) -> None:
    Item.objects.create(
        code="FFFFFFFF", site=world.site, kind="source", label="X", label_sort="x", key="x"
    )
    found = derived()
    assert (None, "inventory_item", "", "derived_differs", "no such row", "FFFFFFFF X") in found
    # What is due of it cannot rest on anything either.
    assert {one[1] for one in found} <= {"inventory_item", "inventory_requirementspan"}


def test_names_an_item_under_another_code_and_nothing_about_its_records(world: World) -> None:
    code = world.source.code
    Item.objects.filter(pk=world.source.pk).update(code="FFFFFFFF")
    seq = world.corrected.replaces.seq
    assert derived() == [
        (seq, "inventory_item", "code", "derived_differs", code, "FFFFFFFF"),
    ]


def test_names_an_item_of_another_kind_or_site(world: World) -> None:
    other = factories.make_site("otherby")
    Item.objects.filter(pk=world.counter.pk).update(site=other)
    Item.objects.filter(pk=world.store.pk).update(kind="gauge")
    found = {one[1:3]: one[4:] for one in derived() if one[0]}
    assert found == {
        ("inventory_item", "site_id"): (str(world.site.pk), str(other.pk)),
        ("inventory_item", "kind"): ("location", "gauge"),
    }


def test_names_a_changed_name_of_the_site(world: World) -> None:
    name = world.site.name
    Site.objects.update(name="Elsewhere", time_zone="UTC")
    where = (None, "accounts_site")
    assert derived() == [
        (*where, "name", "derived_differs", name, "Elsewhere"),
        (*where, "time_zone", "derived_differs", "Europe/London", "UTC"),
    ]


def test_names_a_changed_detail_of_the_site(world: World) -> None:
    SiteDetail.objects.update(name="Elsewhere")
    assert {one[1] for one in derived()} == {"inventory_sitedetail"}


def test_names_a_changed_nuclide(world: World) -> None:
    nuclide = Nuclide.objects.get(name="Cs-137")
    Nuclide.objects.filter(pk=nuclide.pk).update(values=nuclide.values | {"half_life": "31"})
    days = nuclide.half_life_days
    Nuclide.objects.filter(pk=nuclide.pk).update(half_life_days=1.0)
    before = nuclide.values["half_life"]
    found = [one for one in derived() if one[1] == "inventory_nuclide"]
    where = (None, "inventory_nuclide")
    assert found == [
        (*where, "half_life", "derived_differs", f"Cs-137: {before}", "Cs-137: 31"),
        (*where, "half_life_days", "derived_differs", f"Cs-137: {days}", "Cs-137: 1.0"),
    ]


def test_names_a_dropped_and_an_added_nuclide(world: World) -> None:
    Nuclide.objects.filter(name="Ni-63").update(name="Xx-1")
    assert [one[4:] for one in derived()] == [
        ("Ni-63: a row", "no such row"),
        ("no such row", "Xx-1: a row"),
    ]


def test_is_silent_after_a_change_of_a_description(world: World) -> None:
    snapshot = snapshot_of(description_in_force(world.gauge)) | {"maker": "New"}
    change(
        world.gauge,
        snapshot,
        by=world.rps,
        at=factories.tick(),
        on=date(2025, 1, 1),
        reason="housing changed",
    )
    assert list(check_everything()) == []


# ---------------------------------------------------------------- what cannot be read


@pytest.mark.parametrize(
    "text",
    ["{", "[]", "null", '"x"', '{"items":[{}]}', "[" * 100_000, '{"seq":1e999}', ""],
)
def test_names_a_text_that_says_nothing(world: World, text: str) -> None:
    set_column(world.wipe, "body", text)
    found = evidence()
    assert brief(found) == [(world.wipe.seq, "inventory_record", "body", "text_changed")]


def test_names_a_text_with_nonsense_inside(world: World) -> None:
    for before, after_it in (
        ('"effective_on":"2025-10-01"', '"effective_on":"yesterday"'),
        ('"attachments":[{', '"attachments":[7,{'),
        ('"fit":true', '"fit":[]'),
        ('"points":[', '"points":[null,'),
        ('"sha256":"', '"sha256":"../../'),
    ):
        set_column(world.wipe, "body", world.wipe.body)
        rewrite(world.wipe, before, after_it)
        found = brief(evidence())
        assert (world.wipe.seq, "inventory_record", "body", "text_changed") in found, before


def test_names_what_is_derived_as_not_compared_when_a_description_is_broken(world: World) -> None:
    set_column(world.corrected, "body", "{")
    found = [row(one) for one in check_everything()]
    assert found[0][:4] == (world.corrected.seq, "inventory_record", "body", "text_changed")
    assert [one[3:5] for one in found[1:]] == [("derived_differs", "rows that can be compared")]


@only_sqlite
@pytest.mark.parametrize(
    ("table", "column", "value"),
    [
        ("record", "effective_on", "'2025-10-1'"),
        ("record", "effective_on", "'2025-02-31'"),
        ("record", "effective_on", "'soon'"),
        ("record", "effective_on", "x'00ff'"),
        ("record", "recorded_at", "'2026-01-05T09:00:00'"),
        ("record", "recorded_at", "'then'"),
        ("record", "recorded_at", "12"),
        ("record", "request_key", "'zz'"),
        ("record", "body", "x'00ff'"),
        ("record", "seq", "'nine'"),
        ("record", "kind", "x'00'"),
        ("recorditem", "fit", "2"),
        ("recorditem", "effective_on", "'2025-10-1'"),
        ("attachment", "size", "'large'"),
        ("chain", "length", "'long'"),
        ("item", "uid", "'nobody'"),
    ],
)
def test_names_a_value_that_nothing_of_ours_wrote(
    world: World, table: str, column: str, value: str
) -> None:
    keys = {
        "record": ("id", world.wipe.pk),
        "chain": ("site_id", world.site.pk),
        "item": ("id", world.store.pk),
    }
    name, key = keys.get(table, ("record_id", world.wipe.pk))
    sql("PRAGMA ignore_check_constraints = ON")
    tamper(f"UPDATE inventory_{table} SET {column} = {value} WHERE {name} = %s", key)
    sql("PRAGMA ignore_check_constraints = OFF")
    faults = list(check_everything())
    assert (f"inventory_{table}", column, "column_changed") in [
        (one.table, one.column, one.fault) for one in faults
    ]


@only_sqlite
def test_names_bytes_that_are_no_text(world: World) -> None:
    key = world.wipe.pk
    tamper("UPDATE inventory_record SET body = CAST(x'7bff' AS TEXT) WHERE id = %s", key)
    tamper("UPDATE inventory_recorditem SET role = CAST(x'ff' AS TEXT) WHERE record_id = %s", key)
    tamper(
        "UPDATE inventory_recorditem SET role = CAST(x'ff' AS TEXT) WHERE record_id = %s", key + 1
    )
    assert brief(evidence()) == [
        (world.wipe.seq, "inventory_record", "body", "text_changed"),
        (world.wipe.seq + 1, "inventory_recorditem", "role", "column_changed"),
    ]


def test_answers_for_one_chain(world: World) -> None:
    other = build("otherby")
    set_column(world.wipe, "reason", "x")
    assert list(verify(Chain.objects.get(site=other.site))) == []
    assert len(list(verify(Chain.objects.get(site=world.site)))) == 1
