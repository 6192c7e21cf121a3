"""Loading a file: all of it or nothing, once, and what comes of every row."""

from __future__ import annotations

import json
from dataclasses import replace
from datetime import date, timedelta
from importlib import import_module
from typing import Any

import pytest
from django.db import connection, transaction
from django.test.utils import CaptureQueriesContext
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from config.accounts.models import Role
from inventory import derive
from inventory.calc.asof import AsOf
from inventory.calc.errors import DomainError
from inventory.calc.explain import Step
from inventory.calc.open_points import open_points
from inventory.custody.actions import Movement, move
from inventory.followups.models import FollowUp
from inventory.knowledge import load as known
from inventory.ledger.files import path_of
from inventory.ledger.models import Attachment, Item, Record
from inventory.ledger.verify import check_everything
from inventory.ledger.write import Overtaken, read_body
from inventory.timeline import Stay
from reports.exchange.plan import plan
from reports.exchange.understood import LoadFault
from reports.exchange.write import write
from reports.registers import source as source_register
from reports.registers.base import cells
from surveys.monitors.in_force import Efficiency
from tests import factories
from tests.bench.generator import content_of, history
from tests.inventory.asking import due_on, place, rows_of_every_table, state
from tests.pages import NOW, TODAY
from tests.reports.exchange.handmade import (
    CONTENT,
    calibration,
    codes,
    counted,
    declared,
    faulty,
    file_of,
    gauge,
    load,
    monitor,
    planned,
    reported,
    row,
    source,
    statuses,
    wipe,
)

pytestmark = pytest.mark.django_db


def item(serial: str) -> Item:
    return Item.objects.get(kind="source", source__serial=serial)


def wipes_of(serial: str) -> list[Record]:
    return list(Record.objects.filter(kind="leak_test", about__item=item(serial)).order_by("seq"))


def points_of(one: Item) -> list[str]:
    of = known([one.pk])[one.pk]
    said = open_points(of.snapshot_on(TODAY), of.events, TODAY, nuclide_known=True)
    return codes(said)


def whole() -> None:
    """Every record says what it said, and everything derived follows from them."""
    assert list(check_everything()) == []
    assert list(derive.rebuild(write=False)) == []


#: A row of every kind.
EVERYTHING = (
    source("L-1"),
    source("L-2", gauge="LG-L-1", received_on=None, wipe=wipe(declared())),
    source("", gauge="LG-3", wipe=None, of={"serial_unknown_because": "plate painted over"}),
    gauge("LG-4", whom_to_ask="control room"),
    monitor(),
    calibration(),
    wipe(counted(), subjects=["L-1"], on=date(2025, 10, 1)),
)


# ---------------------------------------------------------------- what is written


def test_writes_everything_and_one_record_of_it(site):
    loaded = load(site, *EVERYTHING)
    record = Record.objects.get(seq=loaded.seq, site=site)
    detail = read_body(record)["detail"]
    assert record.kind == "file_loaded"
    assert [one.kind for one in (mention.item for mention in record.about.all())] == ["site"]
    assert (detail["name"], detail["counts"]["sources"]) == ("list.csv", "3")
    assert int(detail["records"]["last"]) == record.seq - 1
    attached = Attachment.objects.get(record=record)
    assert path_of(attached.sha256).read_bytes() == CONTENT
    whole()


def test_puts_things_where_the_file_says_and_since_when(site):
    load(site, *EVERYTHING)
    assert place(item("L-1")) == ("LG-L-1", "Tank house")
    assert Stay.objects.get(item=item("L-1")).from_on == date(2021, 3, 1)
    assert Stay.objects.get(item=item("L-2")).from_on == date(2025, 11, 3)


def test_installs_a_source_in_a_gauge_that_came_later(site):
    load(site, gauge("LG-L-1", received_on=date(2023, 5, 1)), source())
    assert place(item("L-1"), date(2022, 1, 1)) == ("", "Tank house")
    assert place(item("L-1"), date(2023, 5, 1)) == ("LG-L-1", "Tank house")
    whole()


def test_accepts_figures_and_only_enters_bare_statements(site):
    load(site, source("L-1"), source("L-2", wipe=wipe(declared())))
    (figures,), (bare,) = wipes_of("L-1"), wipes_of("L-2")
    assert figures.accepted_by == factories.rps_of(site)
    assert bare.accepted_by is None
    assert state(item("L-2"), TODAY) == "never_done"
    assert points_of(item("L-2")) == ["open_not_accepted"]


def test_starts_the_interval_with_a_wipe_that_passes(site):
    load(site, source())
    assert due_on(item("L-1"), TODAY) == date(2027, 11, 3)


def test_judges_counts_with_the_calibration_of_that_day(site):
    wiped = wipe(counted(), subjects=["L-1"])
    load(site, source(wipe=None), monitor(calibration=calibration()), wiped)
    (record,) = wipes_of("L-1")
    assert record.about.get().fit
    assert read_body(record)["points"][0]["verdict"]["efficiency_per_decay"] == "0.31"


def test_does_not_rely_on_a_counter_out_of_calibration(site):
    """It is kept with its verdict, and starts nothing."""
    old = calibration(on=date(2023, 1, 1))
    wiped = wipe(counted(), subjects=["L-1"])
    load(site, source(wipe=None), monitor(calibration=old), wiped)
    mention = wipes_of("L-1")[0].about.get()
    assert (mention.fit, mention.unfit_because) == (False, "counter_calibration_late")
    assert state(item("L-1"), TODAY) == "never_done"


def test_records_its_own_verdict_where_the_file_says_passed(site):
    """185 Bq is the limit: 10 CFR 35.67(e), as the first rule set has it."""
    load(site, source(wipe=wipe(reported(less_than=1000.0), claimed="passed")))
    (record,) = wipes_of("L-1")
    assert read_body(record)["detail"]["claimed"] == "passed"
    assert record.about.get().outcome == "inconclusive"


def test_accuses_where_the_file_only_says_failed(site):
    load(site, source(wipe=wipe(declared(passed=False))))
    assert state(item("L-1"), TODAY) == "failed"
    assert FollowUp.objects.still_open().filter(item=item("L-1")).count() == 1


def test_covers_both_sources_of_a_gauge_with_one_wipe(site):
    pair = row(source("A", gauge="G"), source("B", gauge="G"))
    load(site, pair)
    assert wipes_of("A") == wipes_of("B") == list(Record.objects.filter(kind="leak_test"))


def test_keeps_a_wipe_that_is_older_than_everything(site):
    load(site, source(wipe=wipe(on=date(1999, 1, 1))))
    assert points_of(item("L-1")) == ["open_reference_after_wipe", "open_wiped_before_arrival"]
    whole()


def test_keeps_every_doubt_as_an_open_point(site):
    load(
        site,
        source("1", of={"maker": "One"}, gauge="G-1", certificate_on=date(2020, 12, 1)),
        source("1", of={"maker": "Two"}, gauge="G-2", place="", received_on=None),
        row(
            source("42", gauge="", place="", wipe=None, of={"activity": "", "reference": "2019"}),
            line=9,
            notes=[step_of("read_serial_was_number", "42")],
        ),
    )
    one, two, three = Item.objects.filter(kind="source").order_by("pk")
    assert points_of(one) == ["open_serial_repeated", "open_certificate_before_arrival"]
    assert points_of(two) == ["open_arrival_unknown", "open_serial_repeated"]
    assert set(points_of(three)) >= {
        *("open_leading_zeros", "open_place_unknown", "open_activity_unknown"),
    }


def step_of(code: str, text: str) -> Any:
    return Step(code, {"text": text})


# ---------------------------------------------------------------- the same again, and more


def test_writes_nothing_at_all_the_second_time(site):
    load(site, *EVERYTHING)
    before = rows_of_every_table()
    assert load(site, *EVERYTHING).seq is None
    assert rows_of_every_table() == before


def test_corrects_what_an_updated_file_says_otherwise(site):
    load(site, source())
    load(site, source(of={"activity": "1.85 GBq"}))
    described = Record.objects.filter(kind="described", about__item=item("L-1")).order_by("seq")
    assert [one.reason for one in described] == ["", "loaded from list.csv"]
    assert described[1].replaces == described[0]
    assert described[1].effective_on == date(2021, 3, 1)
    assert item("L-1").source.activity_bq == 1.85e9
    whole()


def test_changes_from_today_on_where_its_owner_says_so(site):
    load(site, gauge(whom_to_ask="panel"))
    load(site, gauge(whom_to_ask="control room"), answers={"descriptions": "change"})
    record = Record.objects.filter(kind="described", about__item__kind="gauge").latest("seq")
    assert (record.replaces, record.effective_on) == (None, TODAY)


def test_names_a_source_by_the_serial_that_was_found(site):
    load(site, source("", wipe=None))
    load(site, source("F-7", gauge="LG-1", wipe=None))
    (one,) = Item.objects.filter(kind="source")
    assert (one.label, one.source.serial, points_of(one)) == ("Cs-137 F-7", "F-7", [])
    assert statuses(planned(site, source("F-7", gauge="LG-1", wipe=None))) == ["here"]
    whole()


def test_moves_what_stands_elsewhere_only_with_a_day(site):
    load(site, source())
    moved = source(gauge="LG-9")
    load(site, moved)
    assert place(item("L-1"), TODAY) == ("LG-L-1", "Tank house")
    load(site, moved, answers={"moves": "2026-02-01"})
    assert place(item("L-1"), date(2026, 1, 31)) == ("LG-L-1", "Tank house")
    assert place(item("L-1"), TODAY) == ("LG-9", "Tank house")
    assert statuses(planned(site, moved)) == ["here"]
    whole()


def test_does_not_move_back_what_was_moved_since(site):
    elsewhere = factories.make_location(site, "Store")
    load(site, source())
    move(Movement("removed", item("L-1"), elsewhere, TODAY), by=factories.rps_of(site), at=NOW)
    made = planned(site, source())
    assert [one.stays for one in made.rows[0].differences] == ["register_changed_since"]
    assert not made.changes


WENT = {
    "moved": [],
    "back": [("out", {"away_to": "A job"})],
    "returned": [("sent_away", {"away_to": "The maker"}), ("arrived", {})],
    "found": [("missing", {})],
}


@pytest.mark.parametrize("verb", WENT)
def test_brings_a_thing_from_where_the_register_has_it(site, verb):
    load(site, source(gauge="", place="Tank house"))
    for number, (went, more) in enumerate(WENT[verb]):
        movement = Movement(went, item("L-1"), None, date(2026, 1, 20 + number), **more)
        move(movement, by=factories.rps_of(site), at=NOW)
    load(site, source(gauge="", place="Pump room"), answers={"moves": "2026-02-01"})
    assert item("L-1").mentions.filter(kind=verb).exists()
    assert place(item("L-1"), TODAY) == ("", "Pump room")
    whole()


def test_takes_a_source_out_of_its_gauge_only_where_the_gauge_is(site):
    load(site, source())
    holder = item("L-1").stays.latest("from_on").gauge
    away = Movement("out", holder, None, date(2026, 1, 20), away_to="A job")
    move(away, by=factories.rps_of(site), at=NOW)
    loose = source(gauge="", place="Pump room")
    (row,) = planned(site, loose, answers={"moves": "2026-02-01"}).rows
    assert [fault.code for fault in row.faults] == ["plan_not_from_there"]
    move(Movement("back", holder, None, date(2026, 1, 25)), by=factories.rps_of(site), at=NOW)
    load(site, loose, answers={"moves": "2026-02-01"})
    assert place(item("L-1"), TODAY) == ("", "Pump room")
    assert item("L-1").mentions.filter(kind="removed").exists()
    whole()


def test_adds_only_what_is_new_of_a_longer_file(site):
    load(site, source("L-1"))
    loaded = load(site, source("L-1"), source("L-2"))
    assert (loaded.counts["sources"], loaded.counts["here"]) == (1, 1)


@settings(
    max_examples=15, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
@given(order=st.permutations(range(12)), seed=st.integers(0, 5))
def test_says_the_same_in_any_order_and_twice_is_once(site, order, seed):
    understood = history(seed, 5, TODAY)
    rows = list(understood.rows)
    shuffled = [rows[place] for place in order if place < len(rows)]
    shuffled += [one for one in rows if one not in shuffled]
    with transaction.atomic():
        by = factories.rps_of(site)
        write(plan(site, understood, TODAY), content_of(understood), by=by, at=NOW)
        straight = said_of(site)
        again = plan(site, replace(understood, rows=shuffled), TODAY)
        assert not again.changes
        transaction.set_rollback(True)
    with transaction.atomic():
        write(plan(site, replace(understood, rows=shuffled), TODAY), b"x", by=by, at=NOW)
        assert said_of(site) == straight
        transaction.set_rollback(True)


def said_of(site: Any) -> Any:
    """What the register says of every source, without the keys that a load hands out."""
    register = source_register.build(site, AsOf(TODAY), made_by=factories.rps_of(site), made_at=NOW)
    codes_of = set(Item.objects.filter(site=site).values_list("code", flat=True))
    return sorted(
        [cell.text for cell in one if cell.text not in codes_of and "ecord" not in cell.text]
        for one in cells(register)
    )


# ---------------------------------------------------------------- all of it or nothing

STAGES = (
    "reports.exchange.write.describe_many",
    "reports.exchange.write.record_movements",
    "reports.exchange.write.record_calibrations",
    "reports.exchange.write.record_wipes",
    "reports.exchange.write.Upload",
    "inventory.derive.refresh",
    "inventory.derive.insert_many",
)


@pytest.mark.parametrize("stage", STAGES)
def test_leaves_nothing_when_it_breaks_off(site, monkeypatch, stage):
    made = planned(site, *EVERYTHING)
    before = rows_of_every_table()

    def breaks(*args: Any, **kwargs: Any) -> None:
        raise RuntimeError(stage)

    with monkeypatch.context() as patched:
        patched.setattr(stage, breaks)
        with pytest.raises(RuntimeError):
            write(made, CONTENT, by=factories.rps_of(site), at=NOW)
    assert rows_of_every_table() == before
    write(made, CONTENT, by=factories.rps_of(site), at=NOW)
    whole()


@pytest.mark.parametrize("stage", STAGES[:4])
def test_leaves_nothing_when_it_breaks_off_after_a_stage(site, monkeypatch, stage):
    made = planned(site, *EVERYTHING)
    before = rows_of_every_table()
    module, name = stage.rsplit(".", 1)
    real = getattr(import_module(module), name)

    def breaks(*args: Any, **kwargs: Any) -> None:
        real(*args, **kwargs)
        raise KeyboardInterrupt

    with monkeypatch.context() as patched:
        patched.setattr(stage, breaks)
        with pytest.raises(KeyboardInterrupt):
            write(made, CONTENT, by=factories.rps_of(site), at=NOW)
    assert rows_of_every_table() == before


def test_names_the_row_of_what_is_refused_only_when_written(site, monkeypatch):
    made = planned(site, source("L-1"), source("L-2"))

    def refuses(ledger: Any, movements: Any) -> None:
        error = DomainError("gauge_not_here", {"place": "G", "on": TODAY})
        error.number = 3
        raise error

    monkeypatch.setattr("reports.exchange.write.record_movements", refuses)
    with pytest.raises(LoadFault) as fault:
        write(made, CONTENT, by=factories.rps_of(site), at=NOW)
    (step,) = fault.value.faults
    assert (step.values, codes(step.because)) == ({"row": "Sheet1!3"}, ["gauge_not_here"])


@pytest.mark.parametrize("rows", [(faulty(), source()), (source(), wipe(subjects=["nobody"]))])
def test_writes_nothing_while_a_row_is_at_fault(site, rows):
    before = rows_of_every_table()
    with pytest.raises(LoadFault):
        load(site, *rows)
    assert rows_of_every_table() == before


@pytest.mark.parametrize("role", [Role.TECHNICIAN, Role.MANAGER, Role.INSPECTOR, None])
def test_lets_only_a_supervisor_load(site, role):
    user = factories.make_user()
    if role:
        factories.give_role(user, site, role)
    before = rows_of_every_table()
    with pytest.raises(LoadFault) as fault:
        load(site, source(), by=user)
    assert codes(fault.value.faults) == ["plan_only_rps"]
    assert rows_of_every_table() == before


# ---------------------------------------------------------------- two people


def test_tells_what_was_written_meanwhile_when_that_changes_the_plan(site):
    made = planned(site, source())
    load(site, source())
    before = rows_of_every_table()
    with pytest.raises(Overtaken) as overtaken:
        write(made, CONTENT, by=factories.rps_of(site), at=NOW)
    assert overtaken.value.records[-1].kind == "file_loaded"
    assert rows_of_every_table() == before


def test_goes_on_when_what_was_written_meanwhile_changes_nothing(site):
    made = planned(site, source())
    factories.make_location(site, "Elsewhere")
    assert write(made, CONTENT, by=factories.rps_of(site), at=NOW).seq
    whole()


def test_does_not_write_what_was_not_shown(site):
    shown = planned(site, source("L-1")).fingerprint
    with pytest.raises(LoadFault) as fault:
        write(planned(site, source("L-2")), CONTENT, by=factories.rps_of(site), at=NOW, shown=shown)
    assert codes(fault.value.faults) == ["plan_changed_since"]


def test_plans_again_on_another_day(site):
    """A source of unknown arrival is here since the day of loading."""
    made = planned(site, source(received_on=None, wipe=None))
    with pytest.raises(LoadFault):
        write(made, CONTENT, by=factories.rps_of(site), at=NOW + timedelta(days=1))


# ---------------------------------------------------------------- much at once


def test_loads_a_generated_history_and_leaves_the_records_whole(site):
    understood = history(7, 40, TODAY)
    made = plan(site, understood, TODAY)
    assert made.ready
    write(made, content_of(understood), by=factories.rps_of(site), at=NOW)
    whole()
    assert not plan(site, understood, TODAY).changes


def test_makes_the_same_history_of_the_same_seed():
    assert history(3, 30, TODAY) == history(3, 30, TODAY)
    assert history(3, 30, TODAY) != history(4, 30, TODAY)


def test_writes_with_a_number_of_statements_that_does_not_grow(site):
    counts = []
    for many in (3, 30):
        rows = [source(f"{many}-{n}") for n in range(many)]
        with CaptureQueriesContext(connection) as asked:
            load(site, *rows)
        counts.append(len(asked))
    assert counts[0] == counts[1]


def test_keeps_what_its_owner_decided_with_the_record(site):
    decided = {"answers": {"date_order": "dmy"}, "cells": {"Sheet1!B7": "x"}}
    loaded = load(site, source(), left_out=frozenset({"Sheet1!9"}), **decided)
    detail = json.loads(Record.objects.get(seq=loaded.seq, site=site).body)["detail"]
    assert detail["decisions"] == {**decided, "left_out": ["Sheet1!9"]}


def test_calibrates_a_monitor_of_the_register(site):
    factories.make_monitor(site, tag="WC-1", calibrated_on=None)
    more = [Efficiency("Co-60", 0.28, 0.1)]
    load(site, calibration(efficiencies=more))
    monitor_item = Item.objects.get(kind="monitor")
    assert state(monitor_item, TODAY) == "good"
    assert not planned(site, calibration()).changes


def test_understands_the_file_it_was_made_from(site):
    made = file_of(source())
    assert (made.wanted, made.faulty, made.open_questions) == (list(made.rows), [], [])
