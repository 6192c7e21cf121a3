"""A wipe is judged when it is recorded, and frozen with everything it rests on."""

from __future__ import annotations

import csv
import uuid
from dataclasses import replace
from datetime import UTC, date, datetime
from decimal import Decimal

import pytest

from config.accounts.models import Role
from inventory.calc.errors import DomainError
from inventory.calc.nuclides import FIXTURE
from inventory.items.actions import SourceText, change
from inventory.ledger.models import Record
from inventory.ledger.write import Overtaken, last_seq, read_body
from inventory.nuclides.actions import load_nuclides
from inventory.requirements.actions import set_schedule
from inventory.rules import adopted
from inventory.rules.load import FOLDER, template
from surveys.calc.leak import Reported
from surveys.leak.actions import accept_leak_test, record_leak_test
from surveys.leak.models import LeakResult
from surveys.leak.wipe import Counted, DeclaredBy, FromLaboratory, Wipe
from surveys.monitors.actions import Certificate, record_calibration
from surveys.monitors.in_force import Efficiency
from tests.factories import (
    give_role,
    make_location,
    make_monitor,
    make_site,
    make_source,
    make_user,
    make_wipe,
    record_wipe,
    rps_of,
    tick,
)
from tests.inventory.asking import last_good, open_points, refuses, state

pytestmark = pytest.mark.django_db
OCTOBER, NOVEMBER, DECEMBER = date(2025, 10, 1), date(2025, 11, 1), date(2025, 12, 1)
FAILING, SCREAMING = [(60_000, 600.0)], [(400_000, 600.0)]


@pytest.fixture(scope="module")
def source(site):
    return make_source(site)


def record(wipe: Wipe, *, site=None, accepted=True, at=None, **act) -> Record:
    site = site or wipe.sources[0].site
    values = {"by": rps_of(site), "at": at or tick(), "accepted": accepted} | act
    return record_leak_test(site=site, wipe=wipe, **values)


def calibrate(monitor, on, *, replaces=None, **fields):
    values = {"passed": True, "efficiencies": [Efficiency("Cs-137", 0.31, 0.1)]} | fields
    return record_calibration(
        monitor, Certificate(on=on, **values), by=rps_of(monitor.site), at=tick(), accepted=True,
        replaces=replaces, reason="Misread." if replaces else "",
    )  # fmt: skip


def laboratory(source, **figures) -> Wipe:
    return Wipe([source], OCTOBER, FromLaboratory("Hill Lab", Reported(**figures)))


def declared(source, passed=True) -> Wipe:
    return Wipe([source], OCTOBER, DeclaredBy(passed, "D. Maker", "Letter 12"))


def said(wiped: Record, source) -> tuple[str, bool, bool]:
    about = wiped.about.get(item=source)
    return (about.outcome, about.fit, about.accuses)


def finding(wiped: Record, source) -> str:
    return wiped.leakresults.get(item=source).finding


def frozen(wiped: Record) -> tuple:
    fresh = Record.objects.get(pk=wiped.pk)
    return (
        fresh.body,
        fresh.hash,
        list(fresh.about.order_by("pk").values()),
        list(LeakResult.objects.filter(record=fresh).order_by("pk").values()),
    )


def correct(wiped: Record, wipe: Wipe, **act) -> Record:
    return record(wipe, replaces=wiped, because="Misread.", **act)


# --- frozen with its basis ----------------------------------------------------------------------


def test_it_keeps_everything_the_verdict_rests_on(source, counter):
    wiped = record_wipe(source, counter, OCTOBER)
    body = read_body(wiped)
    calibration = counter.mentions.get(kind="calibration").record
    (point,) = body["points"]
    verdict = point["verdict"]
    assert body["detail"]["calibration"] == str(calibration.seq)
    assert body["detail"]["schedule"]["sha256"] == template("gb", 1).sha256
    assert body["detail"]["gross"] == [["431", "600.0"]]
    assert (body["instrument"], point["item"]) == (counter.code, source.code)
    assert (verdict["limit_bq"], verdict["comparator"]) == ("200.0", "reaches")
    assert (verdict["efficiency_per_decay"], verdict["efficiency_basis"]) == ("0.31", "per_decay")
    assert verdict["formula_version"] == "wipe 1"
    assert (point["nuclide"], verdict["outcome"]) == ("Cs-137", "pass")
    assert point["steps"][0]["code"] == "pass_not_detected"


def changed_nuclides(folder, name, **cells):
    with FIXTURE.open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    for row in rows:
        if row["nuclide"] == name:
            row.update(cells)
    path = folder / "nuclides.csv"
    with path.open("w", encoding="utf-8", newline="") as file:
        writer = csv.DictWriter(file, rows[0])
        writer.writeheader()
        writer.writerows(rows)
    return path


@pytest.fixture
def rule_folder(tmp_path, monkeypatch):
    """A folder for invented rule sets."""
    monkeypatch.setattr("inventory.rules.load.FOLDER", tmp_path)
    (tmp_path / "gb-1.toml").write_bytes((FOLDER / "gb-1.toml").read_bytes())
    _forget_rules()  # another test may have read a version that was released
    yield tmp_path
    _forget_rules()


def _forget_rules():
    template.cache_clear()
    adopted.forget()


def test_no_later_change_of_its_basis_rewrites_it(site, source, counter, rule_folder):
    wiped = record_wipe(source, counter, NOVEMBER)
    before = frozen(wiped)
    user = rps_of(site)
    path = changed_nuclides(rule_folder, "Cs-137", gas="yes")
    load_nuclides(by=user, at=tick(), path=path)
    calibrate(counter, OCTOBER, efficiencies=[Efficiency("Cs-137", 0.01)])
    text = (FOLDER / "gb-1.toml").read_text(encoding="utf-8")
    text = text.replace("version = 1", "version = 2").replace("= 200", "= 0.001")
    (rule_folder / "gb-2.toml").write_text(text, encoding="utf-8")
    set_schedule(site, by=user, at=tick(), rule_set="gb", version=2, from_on=OCTOBER)
    snapshot = SourceText(nuclide="Co-60", serial="S-1").snapshot()
    change(source, snapshot, by=user, at=tick(), on=OCTOBER, reason="Read from the plate.")
    assert frozen(wiped) == before


def test_a_correction_is_judged_by_what_was_in_force_on_the_day(source, counter):
    wiped = record_wipe(source, counter, NOVEMBER)
    calibrate(counter, OCTOBER, efficiencies=[Efficiency("Cs-137", 0.2, 0.1)])
    calibrate(counter, DECEMBER, efficiencies=[Efficiency("Cs-137", 0.05, 0.1)])
    corrected = correct(wiped, make_wipe(source, counter, NOVEMBER))
    for one, efficiency in ((wiped, "0.31"), (corrected, "0.2")):
        verdict = read_body(one)["points"][0]["verdict"]
        assert verdict["efficiency_per_decay"] == efficiency


def test_it_is_judged_by_the_description_of_its_day(source, counter):
    snapshot = SourceText(nuclide="Co-60", serial="S-1").snapshot()
    user = rps_of(source.site)
    change(source, snapshot, by=user, at=tick(), on=DECEMBER, reason="Exchanged.")
    for on, nuclide in ((NOVEMBER, "Cs-137"), (DECEMBER, "Co-60")):
        assert read_body(record_wipe(source, counter, on))["points"][0]["nuclide"] == nuclide


# --- the counter --------------------------------------------------------------------------------


def test_a_pass_on_a_counter_out_of_calibration_is_unfit_and_never_clears(site, source):
    counter = make_monitor(site, calibrated_on=date(2024, 9, 30))
    last_day = record_wipe(source, counter, date(2025, 9, 30))
    wiped = record_wipe(source, counter, OCTOBER)
    assert said(last_day, source) == ("pass", True, False)
    assert said(wiped, source) == ("pass", False, False)
    assert wiped.about.get().unfit_because == "counter_calibration_late"
    assert last_good(source) == last_day.pk


@pytest.mark.parametrize(
    ("calibrated", "because"),
    [
        (None, "counter_calibration_never_done"),
        ({"on": DECEMBER}, "counter_calibration_never_done"),
        ({"on": date(2024, 1, 1)}, "counter_calibration_late"),
        ({"on": date(2025, 9, 1), "valid_until": date(2025, 9, 30)}, "counter_calibration_late"),
        ({"on": date(2025, 9, 1), "passed": False}, "counter_calibration_failed"),
    ],
)
def test_a_counter_that_cannot_be_relied_on_clears_nothing(site, source, calibrated, because):
    counter = make_monitor(site, calibrated_on=None)
    if calibrated:
        calibrate(counter, **calibrated)
    wiped = record_wipe(source, counter, OCTOBER)
    assert wiped.about.get().unfit_because == because
    assert state(source) == "never_done"


def test_a_counter_that_was_not_here_on_the_day_clears_nothing(site, source):
    counter = make_monitor(site, calibrated_on=date(2025, 9, 1), on=NOVEMBER)
    wiped = record_wipe(source, counter, OCTOBER)
    assert wiped.about.get().unfit_because == "counter_calibration_not_required"
    assert state(source) == "never_done"


def test_a_calibration_that_nobody_accepted_is_not_in_force(site, source):
    counter = make_monitor(site, calibrated_on=None)
    technician = make_user()
    give_role(technician, site, Role.TECHNICIAN)
    certificate = Certificate(date(2025, 9, 1), True, efficiencies=[Efficiency("Cs-137", 0.9)])
    record_calibration(counter, certificate, by=technician, at=tick(), accepted=False)
    wiped = record_wipe(source, counter, OCTOBER)
    assert wiped.about.get().unfit_because == "counter_calibration_never_done"
    assert finding(wiped, source) == "not_evaluable_efficiency"


def test_an_unfit_fail_accuses_all_the_same(site, source):
    counter = make_monitor(site, calibrated_on=date(2024, 1, 1))
    wiped = record_wipe(source, counter, OCTOBER, gross=FAILING, act={"accepted": False})
    assert said(wiped, source) == ("fail", False, True)
    assert state(source) == "failed"


def test_the_day_of_counting_decides_not_that_of_wiping_or_recording(site, source):
    counter = make_monitor(site, calibrated_on=date(2024, 11, 15))  # until 15 November 2025
    in_time = record_wipe(source, counter, NOVEMBER, counted_on=date(2025, 11, 15))
    too_late = record_wipe(source, counter, NOVEMBER, counted_on=date(2025, 11, 16))
    assert said(in_time, source)[1] is True
    assert said(too_late, source)[1] is False
    assert last_good(source) == in_time.pk


def test_a_calibration_on_the_day_of_counting_is_in_force(site, source):
    counter = make_monitor(site, calibrated_on=OCTOBER)
    assert said(record_wipe(source, counter, OCTOBER), source)[1] is True


def test_correcting_the_first_calibration_of_a_day_does_not_put_it_in_force(site, source):
    counter = make_monitor(site, calibrated_on=None)
    day = date(2025, 9, 1)
    first = calibrate(counter, day, efficiencies=[Efficiency("Cs-137", 0.9)])
    calibrate(counter, day, efficiencies=[Efficiency("Cs-137", 0.2, 0.1)])
    calibrate(counter, day, efficiencies=[Efficiency("Cs-137", 0.8)], replaces=first)
    wiped = record_wipe(source, counter, OCTOBER)
    assert read_body(wiped)["points"][0]["verdict"]["efficiency_per_decay"] == "0.2"


def test_without_an_efficiency_for_the_nuclide_it_is_not_evaluable(site, counter):
    source = make_source(site, nuclide="Ni-63")
    wiped = record_wipe(source, counter, OCTOBER)
    assert said(wiped, source) == ("not_evaluable", True, False)
    assert finding(wiped, source) == "not_evaluable_efficiency"
    assert state(source) == "never_done"


def test_counts_that_scream_accuse_without_an_efficiency(site, counter):
    source = make_source(site, nuclide="Ni-63")
    wiped = record_wipe(source, counter, OCTOBER, gross=SCREAMING, act={"accepted": False})
    assert said(wiped, source) == ("not_evaluable", True, True)
    assert state(source) == "failed"


def test_an_efficiency_of_another_nuclide_is_not_borrowed(site, counter):
    source = make_source(site, nuclide="Am-241/Be")  # the counter knows Am-241
    assert finding(record_wipe(source, counter, OCTOBER), source) == "not_evaluable_efficiency"


def test_a_gas_is_never_evaluable_by_wipe(site):
    source = make_source(site, nuclide="Kr-85")
    counter = make_monitor(site, calibrated_on=None)
    calibrate(counter, date(2025, 9, 1), efficiencies=[Efficiency("Kr-85", 0.4, 0.1)])
    wipes = (make_wipe(source, counter, OCTOBER), laboratory(source, less_than_bq=10.0),
             declared(source))  # fmt: skip
    for wipe in wipes:
        wiped = record(wipe, accept_because="Seen the letter.")
        assert (said(wiped, source)[0], finding(wiped, source)) == (
            "not_evaluable",
            "not_evaluable_gas",
        )
    assert state(source) == "undecided"


def test_without_a_schedule_there_is_no_limit_to_pass(db):
    site = make_site(schedule=False)
    source, counter = make_source(site), make_monitor(site)
    wiped = record_wipe(source, counter, OCTOBER)
    assert finding(wiped, source) == "not_evaluable_limit"


def test_a_counter_of_another_site_is_refused(source):
    foreign = make_monitor(make_site())
    with refuses("item_of_another_site", "counter"):
        record_wipe(source, foreign, OCTOBER)


def test_a_source_of_another_site_is_refused(site, source, counter):
    foreign = make_source(make_site())
    for sources in ([foreign], [source, foreign]):
        wipe = make_wipe(sources, counter, OCTOBER)
        with refuses("item_of_another_site"):
            record(wipe, site=site)


# --- several sources -----------------------------------------------------------------------------


def test_one_wipe_over_two_sources_has_a_result_for_each(site, counter):
    one, other = make_source(site), make_source(site, nuclide="Co-60")
    wiped = record_wipe([one, other], counter, OCTOBER)
    efficiencies = [p["verdict"]["efficiency_per_decay"] for p in read_body(wiped)["points"]]
    assert efficiencies == ["0.31", "0.28"]
    assert [state(source) for source in (one, other)] == ["good", "good"]


def test_a_fail_for_one_concerns_both(site, counter):
    """Counts that are below the limit for one nuclide and above it for the other."""
    one, other = make_source(site, nuclide="Sr-90"), make_source(site, nuclide="Am-241")
    wiped = record_wipe([one, other], counter, OCTOBER, gross=[(40_000, 600.0)])
    assert (said(wiped, one)[0], said(wiped, other)[0]) == ("pass", "fail")
    assert [state(source) for source in (one, other)] == ["failed", "failed"]
    assert len(open_points(one)) == len(open_points(other)) == 1


def test_a_correction_that_names_another_source_takes_the_pass_away(site, counter):
    wrong, right = make_source(site), make_source(site)
    wiped = record_wipe(wrong, counter, OCTOBER)
    corrected = correct(wiped, make_wipe(right, counter, OCTOBER))
    assert (state(wrong), state(right)) == ("never_done", "good")
    assert corrected.about.get(item=wrong).role == "withdrawn"
    again = correct(corrected, make_wipe([wrong, right], counter, OCTOBER))
    assert (last_good(wrong), last_good(right)) == (again.pk, again.pk)


def test_a_correction_that_drops_a_failed_source_keeps_its_warning(site, counter):
    wrong, right = make_source(site), make_source(site)
    wiped = record_wipe(wrong, counter, OCTOBER, gross=FAILING)
    correct(wiped, make_wipe(right, counter, OCTOBER, gross=FAILING))
    assert (state(wrong), state(right)) == ("failed", "failed")


# --- corrections ----------------------------------------------------------------------------------


def test_a_correction_counts_and_the_corrected_record_does_not(source, counter):
    wiped = record_wipe(source, counter, NOVEMBER)
    correct(wiped, make_wipe(source, counter, OCTOBER))
    assert state(source, date(2027, 10, 1)) == "due_soon"
    assert state(source, date(2027, 10, 2)) == "late"


def test_a_correction_to_a_fail_fails(source, counter):
    wiped = record_wipe(source, counter, NOVEMBER)
    correct(wiped, make_wipe(source, counter, NOVEMBER, gross=FAILING), accepted=False)
    assert state(source) == "failed"


def test_a_correction_needs_a_reason_and_is_made_once(source, counter):
    wiped = record_wipe(source, counter, NOVEMBER)
    wipe = make_wipe(source, counter, OCTOBER)
    with refuses("correction_needs_reason", "reason"):
        record(wipe, replaces=wiped, because="  ")
    correct(wiped, wipe)
    with refuses("already_corrected"):
        correct(wiped, wipe)


def test_a_calibration_is_not_corrected_by_a_wipe(source, counter):
    calibration = counter.mentions.get(kind="calibration").record
    wipe = make_wipe(source, counter, OCTOBER)
    with refuses("correction_of_another_kind"):
        record(wipe, replaces=calibration, because="Misread.")


# --- what cannot be -------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("code", "field", "fields"),
    [
        ("wiped_in_future", "wiped_on", {"on": date(2060, 1, 1)}),
        ("counted_in_future", "counted_on", {"counted_on": date(2060, 1, 1)}),
        ("counted_before_wiped", "counted_on", {"counted_on": date(2025, 9, 30)}),
        ("wiped_before_everything", "wiped_on", {"on": date(2020, 10, 31)}),
        ("counts_not_whole", "gross_counts", {"gross": [(431.5, 600.0)]}),
        ("counts_not_whole", "gross_counts", {"gross": [(float("nan"), 600.0)]}),
        ("counts_not_whole", "background_counts", {"background": [(1.5, 600.0)]}),
        ("counts_below_zero", "gross_counts", {"gross": [(-1, 600.0)]}),
        ("count_time_not_positive", "gross_seconds", {"gross": [(431, 0.0)]}),
        ("count_time_not_positive", "background_seconds", {"background": [(389, -1.0)]}),
        ("count_time_too_long", "gross_seconds", {"gross": [(431, 4e7)]}),
    ],
)
def test_it_refuses_what_cannot_be_and_saves_nothing(source, counter, code, field, fields):
    with refuses(code, field):
        record_wipe(source, counter, fields.pop("on", OCTOBER), **fields)


def test_it_refuses_what_is_not_there_to_be_wiped_or_to_count(site, source, counter):
    place = make_location(site)
    nothing = replace(make_wipe(source, counter, OCTOBER), sources=[])
    with refuses("wipe_needs_source", "sources"):
        record(nothing, site=site)
    with refuses("not_a_source", "sources"):
        record_wipe(place, counter, OCTOBER)
    with refuses("not_a_monitor", "counter"):
        record_wipe(source, source, OCTOBER)


def test_it_names_a_source_once(source, counter):
    with pytest.raises(DomainError) as refusal:
        record_wipe([source, source], counter, OCTOBER)
    assert refusal.value.code == "wipe_names_source_twice"
    assert not Record.objects.filter(kind="leak_test").exists()


@pytest.mark.parametrize(
    ("gross", "background", "missing"),
    [
        ([], [(389, 600.0)], "counts"),
        ([(431, 600.0)], [], "background"),
        ([(431, None)], [(389, 600.0)], "times"),
    ],
)
def test_what_nobody_wrote_down_makes_it_not_evaluable(source, counter, gross, background, missing):
    wiped = record_wipe(source, counter, OCTOBER, gross=gross, background=background)
    assert finding(wiped, source) == f"not_evaluable_{missing}"
    assert state(source) == "never_done"


def test_a_wipe_taken_before_it_arrived_counts_once_it_is_here(site, counter):
    source = make_source(site, reference_on=date(2025, 8, 1), on=NOVEMBER)
    wiped = record_wipe(source, counter, OCTOBER)
    assert (state(source, OCTOBER), last_good(source, NOVEMBER)) == ("not_required", wiped.pk)


@pytest.mark.parametrize(
    ("zone", "moment", "today", "tomorrow"),
    [
        ("Pacific/Kiritimati", "2026-02-09T09:59", date(2026, 2, 9), date(2026, 2, 10)),
        ("Pacific/Kiritimati", "2026-02-09T10:01", date(2026, 2, 10), date(2026, 2, 11)),
        ("Pacific/Honolulu", "2026-02-10T09:59", date(2026, 2, 9), date(2026, 2, 10)),
    ],
)
def test_today_is_the_day_at_the_site(db, zone, moment, today, tomorrow):
    site = make_site(time_zone=zone)
    source, counter = make_source(site), make_monitor(site)
    at = datetime.fromisoformat(moment).replace(tzinfo=UTC)
    with refuses("wiped_in_future", "wiped_on"):
        record_wipe(source, counter, tomorrow, act={"at": at})
    assert record_wipe(source, counter, today, act={"at": at}).effective_on == today


def test_a_clock_that_runs_backwards_is_refused(source, counter):
    at = datetime(2026, 1, 1, tzinfo=UTC)
    with refuses("clock_runs_backwards"):
        record_wipe(source, counter, OCTOBER, act={"at": at})


# --- without counts -------------------------------------------------------------------------------


def test_a_declared_pass_satisfies_only_once_accepted_with_a_reason(source):
    wiped = record(declared(source), accepted=False)
    assert state(source) == "never_done"
    user = rps_of(source.site)
    for reason in ("", "  "):
        with refuses("declared_needs_reason", "reason"):
            accept_leak_test(wiped, by=user, at=tick(), reason=reason)
    accept_leak_test(wiped, by=user, at=tick(), reason="Maker's letter seen.")
    assert state(source) == "good"


def test_a_declared_pass_accepted_at_once_needs_the_reason_too(source):
    with refuses("declared_needs_reason", "accept_because"):
        record(declared(source))
    assert state(source) == "never_done"
    wiped = record(declared(source), accept_because="Maker's letter seen.")
    assert read_body(wiped)["detail"]["accept_because"] == "Maker's letter seen."
    assert finding(wiped, source) == "inconclusive_declared"
    assert state(source) == "good"


def test_a_declared_failure_acts_at_once(source):
    wiped = record(declared(source, passed=False), accepted=False)
    assert said(wiped, source) == ("fail", True, True)
    assert state(source) == "failed"


@pytest.mark.parametrize(
    ("figures", "outcome", "found"),
    [
        ({"less_than_bq": 20.0}, "pass", "pass"),
        ({"less_than_bq": 200.0}, "pass", "pass"),
        ({"less_than_bq": 200.1}, "inconclusive", "inconclusive_insensitive"),
        ({"at_most_bq": 199.9}, "pass", "pass"),
        ({"at_most_bq": 200.0}, "inconclusive", "inconclusive_insensitive"),
        ({"not_detected": True, "laboratory_detection_limit_bq": 50.0}, "pass", "pass"),
        ({"less_than_bq": 20.0, "detection_limit_bq": 300.0}, "inconclusive",
         "inconclusive_insensitive"),
        ({"activity_bq": 20.0, "expanded_uncertainty_bq": 5.0}, "pass", "pass"),
        ({"activity_bq": 199.0, "expanded_uncertainty_bq": 5.0}, "inconclusive",
         "inconclusive_between"),
        ({"activity_bq": 200.0}, "fail", "fail_provisional"),
        ({"activity_bq": 300.0, "expanded_uncertainty_bq": 5.0}, "fail", "fail_confirmed"),
    ],
)  # fmt: skip
def test_a_laboratory_result_counts_for_what_it_states(source, figures, outcome, found):
    wiped = record(laboratory(source, **figures))
    assert (said(wiped, source)[0], finding(wiped, source)) == (outcome, found)
    expected = {"pass": "good", "inconclusive": "never_done", "fail": "failed"}[outcome]
    assert state(source) == expected


@pytest.mark.parametrize("figures", [{"activity_bq": 20.0}, {"not_detected": True}])
def test_a_laboratory_result_that_states_too_little_is_a_declared_one(source, figures):
    with refuses("declared_needs_reason", "accept_because"):
        record(laboratory(source, **figures))
    record(laboratory(source, **figures), accepted=False)
    assert state(source) == "never_done"


@pytest.mark.parametrize(
    ("figures", "code"),
    [
        ({}, "reported_no_figure"),
        ({"activity_bq": 1.0, "less_than_bq": 2.0}, "reported_two_figures"),
        ({"less_than_bq": 0.0}, "number_not_above"),
    ],
)
def test_a_laboratory_result_without_sense_is_refused(source, figures, code):
    with refuses(code):
        record(laboratory(source, **figures))


def test_a_reference_activity_keeps_its_digits(site):
    source = make_source(site, activity_bq=Decimal("3.70000000000000001e9"))
    described = read_body(source.mentions.get(kind="described").record)
    assert described["detail"]["activity_bq"] == "3700000000.00000001"


# --- two people, two clicks -------------------------------------------------------------------


def test_the_same_request_writes_once(source, counter):
    key = uuid.uuid4()
    wipes = [record_wipe(source, counter, on, act={"request_key": key})
             for on in (OCTOBER, NOVEMBER)]  # fmt: skip
    assert wipes[0] == wipes[1]
    assert source.mentions.filter(kind="leak_test").count() == 1


def test_it_tells_what_others_wrote_about_the_source_meanwhile(site, source, counter):
    seen = last_seq(site)
    other = record_wipe(source, counter, OCTOBER)
    record_wipe(make_source(site), counter, OCTOBER)
    with pytest.raises(Overtaken) as overtaken:
        record_wipe(source, counter, NOVEMBER, act={"seen": seen})
    assert overtaken.value.records == [other]
    assert source.mentions.filter(kind="leak_test").count() == 1
    record_wipe(source, counter, NOVEMBER, act={"seen": last_seq(site)})


def test_counts_pool_and_a_low_recount_does_not_win(source, counter):
    """One count above the limit and five clean ones of a tenth of its time."""
    gross = [(60_000, 600.0), *[(40, 60.0)] * 5]
    wipe = Wipe([source], OCTOBER, Counted(counter, OCTOBER, gross, [(389, 600.0)]))
    verdict = read_body(record(wipe))["points"][0]["verdict"]
    assert (verdict["gross_counts"], verdict["gross_seconds"]) == ("60200", "900.0")
    assert verdict["outcome"] == "fail"
