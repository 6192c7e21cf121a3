"""The history audit: what it finds, said once by hand, and random pasts read a second time."""

from __future__ import annotations

import re
from datetime import date, timedelta
from typing import Any

import pytest
from django.db import connection, transaction
from django.test.utils import CaptureQueriesContext

from inventory.calc.asof import AsOf
from inventory.followups.actions import close_follow_up
from inventory.followups.models import FollowUp
from inventory.ledger.models import Record
from inventory.ledger.write import writing
from reports.audit import build as audit
from reports.registers.base import Register
from surveys.calc.leak import Reported
from surveys.leak.actions import Entry, record_wipes
from surveys.leak.wipe import Counted, DeclaredBy, FromLaboratory, Wipe
from surveys.monitors.in_force import Efficiency
from tests import factories
from tests.oracle import audit_by_hand
from tests.pages import NOW, TODAY
from tests.reports.world import LONG_AGO, World

pytestmark = pytest.mark.django_db
DAY = date(2024, 6, 30)
#: A counter that sees one decay in two thousand: 600 s of it cannot find 200 Bq.
BLIND = (Efficiency("Cs-137", 0.0005, 0.1),)


def register(site: Any, at: AsOf | None = None) -> Register:
    by = factories.rps_of(site)
    return audit.build(site, at or AsOf(TODAY), made_by=by, made_at=NOW)


def found(site: Any, kind: str, at: AsOf | None = None) -> list[Any]:
    return [row for row in register(site, at).rows[:] if row.kind == kind]


def only(site: Any, kind: str, at: AsOf | None = None) -> Any:
    (row,) = found(site, kind, at)
    return row


def said(site: Any, at: AsOf | None = None) -> str:
    return " ".join(register(site, at).totals)


def claimed(sources: Any, on: date, result: Any, claim: str, **entry: Any) -> Record:
    """A wipe as a spreadsheet has it, with the word that stands beside it."""
    many = sources if isinstance(sources, list) else [sources]
    site = many[0].site
    with writing(site, by=factories.rps_of(site), at=factories.tick()) as ledger:
        return record_wipes(ledger, [Entry(Wipe(many, on, result), claimed=claim, **entry)])[0]


def counts(counter: Any, on: date, gross: int = 431) -> Counted:
    return Counted(counter, on, [(gross, 600.0)], [(389, 600.0)])


@pytest.fixture
def site(db):
    """Made anew for each test: the random worlds below load their nuclides themselves."""
    return factories.make_site("thornmere")


@pytest.fixture
def counter(site):
    return factories.make_monitor(site, tag="WC-1")


@pytest.fixture
def source(site):
    return factories.make_source(site, serial="K-1", on=date(2021, 3, 1))


# ---------------------------------------------------------------- what a wipe could tell


def test_a_pass_that_the_counter_could_not_have_seen_is_named(site, source):
    counter = factories.make_monitor(site, calibrated_on=None)
    factories.calibrate(counter, date(2021, 3, 1), efficiencies=BLIND)
    record = claimed(source, date(2021, 6, 1), counts(counter, date(2021, 6, 1)), "passed")
    row = only(site, "could_not_tell")
    assert "The document says that it passed." in row.reason
    assert "200\N{NO-BREAK SPACE}Bq is required" in row.reason
    assert (row.subject, row.from_on, row.records) == (
        "Cs-137 K-1",
        date(2021, 6, 1),
        (record.seq,),
    )
    assert "detection limit" in row.figures


def test_a_recorded_pass_is_judged_again_with_what_is_known_of_the_calibration_now(site, source):
    counter = factories.make_monitor(site, calibrated_on=None)
    good = factories.calibrate(counter, date(2021, 3, 1))
    factories.record_wipe(source, counter, date(2021, 6, 1))
    assert found(site, "could_not_tell") == []
    then = AsOf(TODAY, Record.objects.latest("seq").recorded_at)
    correct_calibration(good, efficiencies=BLIND)
    row = only(site, "could_not_tell")
    assert "It is recorded as a pass." in row.reason
    assert found(site, "could_not_tell", then) == []


def correct_calibration(old: Record, **fields: Any) -> Record:
    from surveys.monitors.actions import Certificate, record_calibration

    values: dict[str, Any] = {"on": old.effective_on, "passed": True} | fields
    return record_calibration(
        old.instrument,
        Certificate(**values),
        by=old.recorded_by,
        at=factories.tick(),
        accepted=True,
        replaces=old,
        reason="misread",
    )


def test_a_statement_without_figures_is_named_with_who_said_it(site, source):
    claimed(source, date(2022, 6, 1), DeclaredBy(True, "the maker"), "passed")
    row = only(site, "bare")
    assert "Stated by the maker" in row.reason
    assert "It satisfies nothing." in row.reason


def test_a_bare_statement_that_was_accepted_is_named_with_the_reason(site, source):
    claimed(
        source,
        date(2022, 6, 1),
        DeclaredBy(True, "the maker"),
        "passed",
        accepted=True,
        accept_because="seen on paper",
    )
    assert "The supervisor has accepted it. Reason: seen on paper" in only(site, "bare").reason


@pytest.mark.parametrize(
    ("claim", "figures", "kind"),
    [
        ("passed", Reported(activity_bq=900.0), "says_otherwise"),
        ("failed", Reported(less_than_bq=5.0), "says_otherwise"),
        ("passed", Reported(less_than_bq=500.0), "could_not_tell"),
    ],
)
def test_a_document_whose_word_its_figures_do_not_bear_is_named(site, source, claim, figures, kind):
    claimed(source, date(2022, 6, 1), FromLaboratory("Laboratory", figures), claim)
    row = only(site, kind)
    assert f"The document says {claim}" in row.reason or "that it passed" in row.reason


def test_a_document_whose_word_agrees_with_its_figures_is_no_finding(site, source, counter):
    factories.calibrate(counter, date(2022, 1, 1))
    claimed(source, date(2022, 6, 1), counts(counter, date(2022, 6, 1)), "passed", accepted=True)
    claimed(
        source, date(2022, 7, 1), counts(counter, date(2022, 7, 1), 90_000), "failed", accepted=True
    )
    assert not found(site, "says_otherwise") and not found(site, "could_not_tell")


# ---------------------------------------------------------------- late, never done


def test_a_late_wipe_is_named_with_its_days_and_the_records_on_either_side(site, source, counter):
    for year in (2021, 2023):
        factories.calibrate(counter, date(year, 3, 1))
    first = factories.record_wipe(source, counter, date(2021, 3, 1))
    next_one = factories.record_wipe(source, counter, date(2023, 4, 10))
    row = only(site, "late", AsOf(date(2024, 1, 1)))
    # Every 24 months (rule set): due on 1 March 2023, done 40 days later.
    assert (row.from_on, row.until_on, row.days) == (date(2023, 3, 2), date(2023, 4, 10), 40)
    assert row.records == (first.seq, next_one.seq)
    assert "the longest by 40 days" in said(site, AsOf(date(2024, 1, 1)))


@pytest.mark.parametrize(("done", "days"), [(date(2023, 3, 1), None), (date(2023, 3, 2), 1)])
def test_on_the_due_day_it_is_in_time_and_a_day_later_it_is_late(site, source, counter, done, days):
    factories.calibrate(counter, date(2021, 3, 1))
    factories.calibrate(counter, date(2023, 2, 1))
    factories.record_wipe(source, counter, date(2021, 3, 1))
    factories.record_wipe(source, counter, done)
    assert [row.days for row in found(site, "late", AsOf(date(2024, 1, 1)))] == [days] * bool(days)


def test_what_is_late_on_the_day_has_no_end(site, source, counter):
    factories.calibrate(counter, date(2021, 3, 1))
    factories.record_wipe(source, counter, date(2021, 3, 1))
    row = only(site, "late")
    assert (row.until_on, row.days) == (None, (TODAY - date(2023, 3, 1)).days)
    assert "1 of them still" in said(site)


def test_a_source_without_any_evidence_is_named_from_its_arrival_on(site, source):
    row = only(site, "no_evidence")
    assert (row.from_on, row.until_on) == (date(2021, 3, 1), None)
    assert row.reason == "Nothing is recorded."


def test_evidence_that_does_not_count_is_told_from_none(site, source):
    claimed(source, date(2022, 6, 1), DeclaredBy(True, "the maker"), "")
    assert "Nothing that counts is recorded" in only(site, "no_evidence").reason


def test_evidence_older_than_three_years_is_named(site, source, counter):
    factories.calibrate(counter, date(2022, 6, 1))
    factories.record_wipe(source, counter, date(2022, 6, 1))
    assert found(site, "old", AsOf(date(2025, 6, 1))) == []
    assert only(site, "old", AsOf(date(2025, 6, 2))).days == 1097


def test_a_source_that_was_always_in_date_is_counted_but_no_finding(site, counter):
    source = factories.make_source(site, on=date(2023, 3, 1))
    factories.calibrate(counter, date(2023, 3, 1))
    factories.record_wipe(source, counter, date(2023, 3, 1))
    at = AsOf(date(2025, 2, 1))
    assert found(site, "punctuality", at) == []
    assert "every day of the last three years: 1 of 1 source" in said(site, at)


def test_the_share_in_date_is_rounded_down(site, source, counter):
    factories.calibrate(counter, date(2021, 3, 1))
    factories.record_wipe(source, counter, date(2021, 3, 2))
    row = only(site, "punctuality", AsOf(date(2023, 1, 1)))
    # 1 March 2021 alone had no evidence: 671 of 672 days are 99.85 %.
    assert "671 of 672 days (99.8 %)" in row.reason


# ---------------------------------------------------------------- monitors, failures, unknowns


def test_a_count_out_of_calibration_is_named_with_its_counter(site, source, counter):
    record = factories.record_wipe(source, counter, date(2022, 6, 1))
    row = only(site, "counted_unfit")
    assert (row.subject, row.records) == ("WC-1", (record.seq,))
    assert "Not relied on: the counter had no calibration that holds." in row.reason
    gap = only(site, "no_calibration")
    assert (gap.from_on, gap.until_on) == (date(2021, 1, 1), date(2025, 9, 1))
    assert "1 wipe counted meanwhile" in gap.figures


def test_a_calibration_entered_later_says_that_the_wipe_can_be_judged_again(site, source, counter):
    factories.record_wipe(source, counter, date(2022, 6, 1))
    factories.calibrate(counter, date(2022, 1, 1))
    assert "A calibration that was entered since covers the day" in (
        only(site, "counted_unfit").reason
    )


def test_a_failure_is_named_until_somebody_has_closed_it(site, source, counter):
    record = factories.record_wipe(source, counter, date(2025, 12, 1), gross=[(90_000, 600.0)])
    assert only(site, "failure_open").records == (record.seq,)
    close_follow_up(
        FollowUp.objects.get(),
        by=factories.rps_of(site),
        at=factories.tick(),
        on=date(2026, 1, 5),
        reason="replaced",
    )
    assert found(site, "failure_open") == []
    assert only(site, "failure_open", AsOf(date(2026, 1, 4))).days == 34


def test_what_is_not_known_of_a_source_is_named_and_counted(site):
    factories.make_source(site, serial="", serial_unknown_because="plate unreadable")
    assert "plate unreadable" in only(site, "not_known").reason
    assert "Not known of so many sources: serial 1." in said(site)


def test_a_site_without_anything_says_what_it_looked_at(site):
    assert "0 sources with 0 wipes on record, 0 monitors with 0 calibrations." in said(site)
    assert list(register(site).rows[:]) == []


def test_it_asks_as_often_for_many_sources_as_for_few(site, counter):
    def grow(size: int) -> None:
        for _ in range(size):
            one = factories.make_source(site)
            factories.record_wipe(one, counter, date(2025, 10, 1))

    def asked() -> int:
        with CaptureQueriesContext(connection) as queries:
            register(site)
        return len(queries)

    grow(2)
    few = asked()
    grow(5)
    assert asked() == few


# ---------------------------------------------------------------- any day, any past


@pytest.fixture(scope="module", params=[1, 2])
def evening(request, django_db_setup, django_db_blocker):
    """A random world on the evening of a day."""
    with (
        django_db_blocker.unblock(),
        pytest.MonkeyPatch.context() as patch,
        transaction.atomic(),
    ):
        world = _World(request.param, patch)
        acts = world.acts * 3 + [world.wipe] * 20 + [world.claim] * 15
        world.live_on(DAY, acts, LONG_AGO)
        yield world
        transaction.set_rollback(True)


class _World(World):
    """A world whose wipes also come from documents with a word of their own."""

    def claim(self, on: date, after: date = LONG_AGO) -> Record:
        source, counter = self.rng.choice(self.sources), self.rng.choice(self.counters)
        result = self.rng.choice(
            [
                counts(counter, on, self.rng.choice([0, 431, 12_000, 90_000])),
                FromLaboratory("Laboratory", Reported(less_than_bq=self.rng.choice([5.0, 500.0]))),
                FromLaboratory("Laboratory", Reported(activity_bq=self.rng.choice([3.0, 900.0]))),
                DeclaredBy(self.rng.random() < 0.5, "the maker"),
            ]
        )
        claim = self.rng.choice(["passed", "failed", ""])
        accepted = self.rng.random() < 0.5
        return claimed(source, on, result, claim, accepted=accepted, accept_because="seen")

    def calibrate(self, on: date, after: date = LONG_AGO) -> Record:
        if self.rng.random() < 0.3:
            return factories.calibrate(self.rng.choice(self.counters), on, efficiencies=BLIND)
        return super().calibrate(on, after)


def by_hand(site: Any, at: AsOf) -> set[Any]:
    return audit_by_hand.findings(site, at.on, at.known)


def as_lines(site: Any, at: AsOf) -> set[Any]:
    """The findings as the second implementation has them."""
    lasting = {"late", "no_evidence", "calibration_late", "no_calibration"}
    out = set()
    for row in register(site, at).rows[:]:
        if row.kind not in ("punctuality", "not_known"):
            days = row.days if row.kind in lasting else 0
            until = row.until_on.isoformat() if row.until_on else ""
            line = (row.kind, row.code, row.from_on.isoformat(), until, days, row.records)
            assert line not in out
            out.add(line)
    return out


DAYS = [DAY, date(2023, 3, 4), date(2022, 4, 30)]


@pytest.mark.parametrize("on", DAYS)
def test_it_equals_the_second_implementation(evening, on):
    assert as_lines(evening.site, AsOf(on)) == by_hand(evening.site, AsOf(on))


def test_it_equals_the_second_implementation_as_it_was_known_then(evening):
    at = AsOf(DAY, Record.objects.filter(site=evening.site).order_by("seq")[120].recorded_at)
    assert as_lines(evening.site, at) == by_hand(evening.site, at)


def test_the_second_implementation_finds_every_kind_somewhere(evening):
    kinds = {line[0] for line in by_hand(evening.site, AsOf(DAY))}
    assert {"no_evidence", "bare", "counted_unfit", "says_otherwise"} <= kinds


@pytest.mark.parametrize("on", DAYS)
def test_the_shares_in_date_equal_those_counted_day_by_day(evening, on):
    shares = {}
    for row in register(evening.site, AsOf(on)).rows[:]:
        if row.kind == "punctuality":
            numbers = [
                int(n) for pair in re.findall(r"(\d+) of (\d+) days", row.reason) for n in pair
            ]
            shares[row.code] = (*numbers[:2], *numbers[-2:])
    assert shares == audit_by_hand.shares(evening.site, on)


def test_it_is_untouched_by_what_happens_after_the_day(evening, monkeypatch):
    world = evening.copy("later", monkeypatch)
    before = as_lines(world.site, AsOf(DAY)), said(world.site, AsOf(DAY))
    with transaction.atomic():
        world.live_on(DAY + timedelta(days=300), world.acts, DAY)
        after = as_lines(world.site, AsOf(DAY)), said(world.site, AsOf(DAY))
        transaction.set_rollback(True)
    assert after == before
