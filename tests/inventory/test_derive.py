"""Everything derived, against the records it is made of."""

from __future__ import annotations

import random
from datetime import date, datetime, timedelta
from typing import Any

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from config.accounts.models import Site
from inventory import derive, knowledge
from inventory.calc import due, stays
from inventory.calc.asof import AsOf
from inventory.calc.errors import DomainError
from inventory.custody.actions import Movement, correct_movement, move
from inventory.followups.actions import close_follow_up
from inventory.followups.models import FollowUp, FollowUpStep
from inventory.followups.step_actions import Act, Task, add_steps, mark_done, reopen, withdraw
from inventory.items.actions import SourceText, change, correct
from inventory.items.models import Source
from inventory.ledger.models import Item, Record
from inventory.requirements.actions import accept, set_schedule
from inventory.rules import adopted
from inventory.rules.load import FOLDER, template
from inventory.timeline import RequirementSpan, Stay
from surveys.leak.actions import record_leak_test
from surveys.monitors.actions import Certificate, record_calibration
from tests.factories import (
    EFFICIENCIES,
    calibrate,
    install,
    make_gauge,
    make_location,
    make_monitor,
    make_site,
    make_source,
    make_wipe,
    record_wipe,
    rps_of,
    tick,
)
from tests.inventory.asking import NOW, due_on, open_points, place, state
from tests.oracle import due_by_day, steps_by_hand

pytestmark = pytest.mark.django_db
OCTOBER, NOVEMBER = date(2025, 10, 1), date(2025, 11, 1)
FAILING = [(60_000, 600.0)]


@pytest.fixture
def stricter(tmp_path, monkeypatch):
    """A second released rule set: leak tests every 6 months."""
    text = (FOLDER / "gb-1.toml").read_text(encoding="utf-8")
    text = text.replace("version = 1", "version = 2").replace("months = 24", "months = 6")
    (tmp_path / "gb-2.toml").write_text(text, encoding="utf-8")
    (tmp_path / "gb-1.toml").write_bytes((FOLDER / "gb-1.toml").read_bytes())
    monkeypatch.setattr("inventory.rules.load.FOLDER", tmp_path)
    _forget_rules()  # another test may have read the version of that number that was released
    yield
    _forget_rules()


def _forget_rules() -> None:
    template.cache_clear()
    adopted.forget()


def derived() -> dict[str, list[tuple[Any, ...]]]:
    """Every derived row, without the keys that a rebuild may give anew."""
    tables = ((Stay, derive.STAY_FIELDS), (FollowUp, derive.FOLLOW_UP_FIELDS),
              (FollowUpStep, derive.STEP_FIELDS),
              (RequirementSpan, derive.SPAN_FIELDS), (Source, ("item_id", "serial", "nuclide")),
              (Item, ("pk", "label", "label_sort", "key")))  # fmt: skip
    return {
        model.__name__: sorted(model.objects.values_list(*fields), key=str)
        for model, fields in tables
    }


def differences() -> list[derive.Difference]:
    return list(derive.rebuild(write=False))


# --- random histories --------------------------------------------------------------------------


class Chance:
    """A site on which things happen at random; what cannot happen is refused and left out."""

    def __init__(self, site: Site, seed: int) -> None:
        self.site, self.random, self.by = site, random.Random(seed), rps_of(site)
        self.places = [make_location(site) for _ in range(3)]
        self.gauges = [make_gauge(site, at=self.places[n % 3]) for n in range(2)]
        self.sources = [make_source(site, to=self.places[0]) for _ in range(3)]
        self.sources.append(make_source(site, received=False, nuclide="Kr-85"))
        self.counters = [make_monitor(site, calibrated_on=date(2025, 1, 1)) for _ in range(2)]
        self.acts = [
            *(self.wipe, self.wipe, self.wipe, self.correct_wipe, self.accept, self.move),
            *(self.move, self.correct_move, self.describe, self.correct_description),
            *(self.calibrate, self.correct_calibration, self.close, self.set_schedule),
            *(self.add_step, self.add_step, self.do_step, self.take_step_back),
        ]

    def day(self) -> date:
        return date(2025, 1, 1) + timedelta(days=self.random.randrange(0, 365, 7))

    def one(self, items: Any) -> Any:
        return self.random.choice(list(items))

    def record_of(self, *kinds: str) -> Record:
        return self.one(Record.objects.filter(site=self.site, kind__in=kinds).order_by("seq"))

    def a_wipe(self) -> Any:
        sources = self.random.sample(self.sources, self.random.randint(1, 2))
        gross = [(self.one([431, 431, 431, 60_000, 39_000]), 600.0)]
        return make_wipe(sources, self.one(self.counters), self.day(), gross=gross)

    def wipe(self) -> None:
        record_leak_test(site=self.site, by=self.by, at=tick(), wipe=self.a_wipe(),
                         accepted=self.random.random() < 0.7)  # fmt: skip

    def correct_wipe(self) -> None:
        record_leak_test(site=self.site, by=self.by, at=tick(), wipe=self.a_wipe(), accepted=True,
                         replaces=self.record_of("leak_test"), because="Misread.")  # fmt: skip

    def accept(self) -> None:
        accept(self.record_of("leak_test", "calibration"), by=self.by, at=tick())

    def a_movement(self, item: Item) -> Movement:
        to = self.one([*self.places, *self.gauges])
        verb = "installed" if to.kind == "gauge" else self.one(["moved", "moved", "received"])
        return Movement(verb, item, to, self.day())

    def move(self) -> None:
        movement = self.a_movement(self.one([*self.sources, *self.gauges, *self.counters]))
        move(movement, by=self.by, at=tick())

    def correct_move(self) -> None:
        old = self.record_of("moved", "installed", "received")
        item = old.about.get().item
        correct_movement(old, self.a_movement(item), by=self.by, at=tick(), reason="Wrong place.")

    def snapshot(self) -> dict[str, Any]:
        nuclide = self.one(["Cs-137", "Co-60", "Kr-85", "Ni-63"])
        return SourceText(nuclide=nuclide, serial=f"R-{self.random.randint(1, 99)}").snapshot()

    def describe(self) -> None:
        change(self.one(self.sources), self.snapshot(), by=self.by, at=tick(), on=self.day(),
               reason="Read from the plate.")  # fmt: skip

    def correct_description(self) -> None:
        records = Record.objects.filter(kind="described", about__item__in=self.sources)
        old = self.one(records.order_by("seq"))
        correct(old, self.snapshot(), by=self.by, at=tick(), reason="Misread.")

    def a_certificate(self) -> Certificate:
        until = self.one([None, self.day()])
        return Certificate(self.day(), self.random.random() < 0.8, valid_until=until,
                           efficiencies=EFFICIENCIES[: self.random.randint(0, 4)])  # fmt: skip

    def calibrate(self) -> None:
        record_calibration(self.one(self.counters), self.a_certificate(), by=self.by, at=tick(),
                           accepted=self.random.random() < 0.7)  # fmt: skip

    def correct_calibration(self) -> None:
        record_calibration(self.one(self.counters), self.a_certificate(), by=self.by, at=tick(),
                           accepted=True, replaces=self.record_of("calibration"),
                           reason="Misread.")  # fmt: skip

    def close(self) -> None:
        point = self.one(FollowUp.objects.order_by("opened_by", "item"))
        close_follow_up(point, by=self.by, at=tick(), on=self.day(), reason="Settled.")

    def add_step(self) -> None:
        point = self.one(FollowUp.objects.still_open().order_by("opened_by", "item"))
        tasks = [Task(f"Task {self.random.randrange(99)}", self.one(["", "A. Keeper"]),
                      self.one([None, date(2026, 2, 1)]))]  # fmt: skip
        add_steps(point, tasks, Act(self.by, tick()))

    def do_step(self) -> None:
        step = self.one(FollowUpStep.objects.order_by("added_by"))
        mark_done(step, Act(self.by, tick()), on=self.day(), note="Seen.")

    def take_step_back(self) -> None:
        step = self.one(FollowUpStep.objects.order_by("added_by"))
        act = withdraw if step.done_by is None else reopen
        act(step, Act(self.by, tick()), reason="Mistaken.")

    def set_schedule(self) -> None:
        set_schedule(self.site, by=self.by, at=tick(), rule_set="gb",
                     version=self.random.randint(1, 2), from_on=self.day())  # fmt: skip

    def happen(self, records: int) -> None:
        """Acts until so many records are there."""
        while Record.objects.filter(site=self.site).count() < records:
            try:
                self.one(self.acts)()
            except (DomainError, IndexError):
                continue


def stored_steps(item: Item) -> list[Any]:
    rows = FollowUpStep.objects.filter(item=item).values_list(
        *("opened_by__seq", "added_by__seq", "text", "who", "by_on", "done_by__seq", "done_on")
    )
    return sorted(
        (*row[:4], row[4].isoformat() if row[4] else None, row[5],
         row[6].isoformat() if row[6] else None)
        for row in rows
    )  # fmt: skip


def one_record_at_a_time(site: Site) -> datetime:
    return Record.objects.filter(site=site).latest("seq").recorded_at


@pytest.mark.parametrize("seed", range(2))
def test_a_random_history_is_derived_the_same_in_every_way(site, stricter, seed):
    chance = Chance(site, seed)
    chance.happen(100)
    assert differences() == []
    for item in Item.objects.filter(site=site):
        assert stored_steps(item) == steps_by_hand.steps_of(item)

    items = list(Item.objects.filter(site=site).values_list("pk", flat=True))
    known = knowledge.load(items)
    days = [date(2024, 12, 25) + timedelta(days=n) for n in range(0, 420, 5)] + [NOW]
    last = one_record_at_a_time(site)
    for day in days:
        stored = knowledge.states(items, AsOf(day))
        assert stored == knowledge.states(items, AsOf(day, last))
        for (pk, requirement), decision in stored.items():
            assert decision == knowledge.decide_on(known[pk], requirement, day).value
            assert (
                decision.state_on(day),
                decision.due_on,
                decision.record,
                decision.row,
            ) == due_by_day.answer(known[pk].facts(), requirement, day)


@pytest.mark.parametrize("seed", [10, 11])
def test_what_was_known_then_is_what_the_database_said_then(site, stricter, seed):
    chance = Chance(site, seed)
    items = list(Item.objects.filter(site=site).values_list("pk", flat=True))
    days = [date(2025, 1, 1) + timedelta(days=n) for n in range(0, 400, 40)]
    said = {}
    for records in (40, 55, 70, 85):
        chance.happen(records)
        moment = one_record_at_a_time(site)
        said[moment] = [knowledge.states(items, AsOf(day)) for day in days]
    for moment, then in said.items():
        assert [knowledge.states(items, AsOf(day, moment)) for day in days] == then


def test_the_state_of_a_day_is_the_same_in_the_database_and_in_the_calculation(site, stricter):
    Chance(site, 20).happen(90)
    for day in (date(2025, 6, 1), date(2025, 12, 1), NOW):
        for row in RequirementSpan.objects.with_state(day):
            assert row.state_on == due.state_on(row.state, row.due_on, row.warn_on, day)
        rows = RequirementSpan.objects.on(day).values_list("item", "requirement")
        assert (
            len(rows)
            == len(set(rows))
            == Item.objects.filter(kind__in=("source", "monitor")).count()
        )


def test_a_rebuild_repairs_every_damaged_row(site, stricter):
    Chance(site, 30).happen(80)
    point = FollowUp.objects.still_open().first()
    add_steps(point, [Task("Isolate."), Task("Tell.")], Act(rps_of(site), tick()))
    before = derived()
    FollowUpStep.objects.filter(text="Isolate.").update(text="Nothing.")
    FollowUpStep.objects.filter(text="Tell.").delete()
    source = Source.objects.first()
    Stay.objects.filter(item=source.item).update(location=None)
    Stay.objects.order_by("pk").last().delete()
    RequirementSpan.objects.filter(state="never_done").update(state="dated", due_on=NOW)
    RequirementSpan.objects.exclude(state="never_done").order_by("pk").first().delete()
    FollowUp.objects.order_by("pk").first().delete()
    Source.objects.filter(pk=source.pk).update(nuclide="Am-241")
    Item.objects.filter(pk=source.pk).update(label="Another", key="another")
    RequirementSpan.objects.create(
        site=site, item=source.item, requirement="shutter", from_on=NOW, state="dated"
    )
    damaged = derived()
    found = differences()
    assert derived() == damaged  # looking changes nothing
    assert {one.table for one in found} == {
        model._meta.db_table
        for model in (Stay, FollowUp, FollowUpStep, RequirementSpan, Source, Item)
    }
    assert list(derive.rebuild(write=True)) != []
    assert differences() == []
    assert derived() == before


# --- what a record touches -----------------------------------------------------------------------


def test_a_gauge_that_moves_takes_all_its_sources_along(site):
    mill, store = make_location(site, "Mill"), make_location(site, "Store")
    gauge = make_gauge(site, "G-1", at=mill)
    inside = [make_source(site, to=gauge) for _ in range(2)]
    outside = make_source(site, to=mill)
    moved = Movement("moved", gauge, store, NOVEMBER)
    record = move(moved, by=rps_of(site), at=tick())
    assert [place(source) for source in inside] == [("G-1", "Store")] * 2
    assert place(inside[0], date(2025, 10, 31)) == ("G-1", "Mill")
    assert place(outside) == ("", "Mill")
    correct_movement(record, Movement("moved", gauge, store, OCTOBER), by=rps_of(site),
                     at=tick(), reason="Wrong day.")  # fmt: skip
    assert place(inside[1], OCTOBER) == ("G-1", "Store")
    assert differences() == []


def test_a_source_installed_by_mistake_no_longer_follows(site):
    mill, store = make_location(site, "Mill"), make_location(site, "Store")
    gauge, other = make_gauge(site, "G-1", at=mill), make_gauge(site, "G-2", at=mill)
    source = make_source(site, to=store)
    wrong = install(source, gauge, OCTOBER)
    right = Movement("installed", source, other, OCTOBER)
    correct_movement(wrong, right, by=rps_of(site), at=tick(), reason="Wrong tag.")
    move(Movement("moved", gauge, store, NOVEMBER), by=rps_of(site), at=tick())
    assert place(source) == ("G-2", "Mill")
    assert differences() == []


def test_a_new_schedule_changes_what_is_due_of_everything_on_the_site(site, counter, stricter):
    sources = [make_source(site) for _ in range(2)]
    elsewhere = make_source(make_site())
    for source in sources:
        record_wipe(source, counter, OCTOBER)
    before = state(elsewhere)
    set_schedule(site, by=rps_of(site), at=tick(), rule_set="gb", version=2, from_on=NOVEMBER)
    for source in sources:
        assert due_on(source, date(2025, 10, 31)) == date(2027, 10, 1)
        assert due_on(source, NOVEMBER) == date(2026, 4, 1)
    assert state(elsewhere) == before
    assert differences() == []


def test_two_schedules_of_one_day_are_the_last_recorded(site, counter, stricter):
    source = make_source(site)
    record_wipe(source, counter, OCTOBER)
    for version in (2, 1):
        set_schedule(site, by=rps_of(site), at=tick(), rule_set="gb", version=version,
                     from_on=NOVEMBER)  # fmt: skip
    assert due_on(source, NOVEMBER) == date(2027, 10, 1)


# --- as it was known then ----------------------------------------------------------------------


def at_moment(item: Item, day: date, moment: datetime) -> due.Decision:
    return knowledge.states([item.pk], AsOf(day, moment))[item.pk, "leak_test"]


def test_a_wipe_recorded_later_was_not_known_then(site, counter):
    source = make_source(site)
    before = tick()
    wiped = record_wipe(source, counter, OCTOBER)
    assert at_moment(source, NOVEMBER, before).state == "never_done"
    assert at_moment(source, NOVEMBER, wiped.recorded_at).state == "dated"
    assert state(source, NOVEMBER) == "good"


def test_a_description_recorded_later_was_not_known_then(site, counter):
    source = make_source(site)
    record_wipe(source, counter, OCTOBER)
    before = tick()
    gas = SourceText(nuclide="Kr-85", serial="S-1").snapshot()
    change(source, gas, by=rps_of(site), at=tick(), on=OCTOBER, reason="Read from the plate.")
    assert at_moment(source, NOVEMBER, before).state == "dated"
    assert state(source, NOVEMBER) == "undecided"
    assert (
        knowledge.load([source.pk], before)[source.pk].snapshot_on(NOVEMBER)["nuclide"] == "Cs-137"
    )


def test_what_was_corrected_later_still_counted_then(site, counter):
    source = make_source(site)
    wrong = record_wipe(source, counter, OCTOBER)
    before = tick()
    act = {"replaces": wrong, "because": "Wrong day."}
    right = record_wipe(source, counter, NOVEMBER, act=act)
    assert at_moment(source, NOVEMBER, before).record == wrong.pk
    assert at_moment(source, NOVEMBER, right.recorded_at).record == right.pk


def test_an_acceptance_and_a_closing_recorded_later_were_not_known_then(site, counter):
    source, other = make_source(site), make_source(site)
    entered = record_wipe(source, counter, OCTOBER, act={"accepted": False})
    record_wipe(other, counter, OCTOBER, gross=FAILING)
    before = tick()
    accept(entered, by=rps_of(site), at=tick())
    (point,) = open_points(other)
    close_follow_up(point, by=rps_of(site), at=tick(), on=OCTOBER, reason="Settled.")
    assert at_moment(source, NOW, before).state == "never_done"
    assert at_moment(other, NOW, before).state == "failed"
    assert (state(source), state(other)) == ("good", "never_done")


def test_a_movement_of_the_gauge_recorded_later_was_not_known_then(site):
    mill, store = make_location(site), make_location(site)
    gauge = make_gauge(site, at=mill)
    source = make_source(site, to=gauge)
    before = tick()
    move(Movement("moved", gauge, store, OCTOBER), by=rps_of(site), at=tick())
    for known, location in ((before, mill), (None, store)):
        stay = stays.at(knowledge.load([source.pk], known)[source.pk].stays, NOVEMBER)
        assert stay.location == location.pk


def test_before_anything_was_known_nothing_was_required(site):
    source = make_source(site)
    moment = datetime.fromisoformat("2026-01-01T00:00:00+00:00")
    assert at_moment(source, NOVEMBER, moment).state == "not_required"


# --- queries ------------------------------------------------------------------------------------


def test_it_asks_as_often_for_sixty_items_as_for_three(site, counter):
    gauge, store = make_gauge(site), make_location(site)
    sources = [make_source(site, to=gauge if n % 2 else store) for n in range(60)]
    for start in range(0, 60, 20):
        record_wipe(sources[start : start + 20], counter, OCTOBER)
    counts = []
    for few in (sources[:3], sources):
        for known in (None, tick()):
            with CaptureQueriesContext(
                connection,
            ) as asked:
                knowledge.load([source.pk for source in few], known)
            counts.append(len(asked))
    assert counts[0] == counts[2]
    assert counts[1] == counts[3]


def test_a_calibration_touches_its_monitor_and_no_wipe(site, counter):
    source = make_source(site)
    record_wipe(source, counter, NOVEMBER)
    before = state(source)
    calibrate(counter, OCTOBER, passed=False)
    assert (state(counter), state(source)) == ("failed", before)
    assert differences() == []
