"""Pictures and the figures behind them: what is drawn where, in which shape, and how it is sent."""

from __future__ import annotations

import re
import subprocess
import sys
from datetime import date, timedelta
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest
from defusedxml import ElementTree as ET
from django.urls import reverse

from config.accounts.models import Role
from inventory import knowledge
from reports.charts.decay import decay_svg
from reports.charts.drawing import ACCENT, DARK, _day_ticks, _log_ticks, _short
from reports.charts.efficiency import efficiency_svg
from reports.charts.leak import leak_svg
from reports.pages import leak_history
from reports.pages.decay_curve import curve_of, why_no_curve
from reports.pages.efficiency_history import calibrations_of
from reports.pages.leak_history import history_of
from surveys.calc.leak import Reported, Verdict
from surveys.leak.actions import accept_leak_test, record_leak_test
from surveys.leak.wipe import DeclaredBy, FromLaboratory, Wipe
from tests import factories
from tests.pages import TODAY, Page, browser, staff, stop_clock

ROOT = Path(__file__).parents[2]
LOUD = [(90_000, 600.0)]


@pytest.fixture
def clock(monkeypatch):
    stop_clock(monkeypatch)


@pytest.fixture(scope="module")
def source(site):
    return factories.make_source(site, serial="K-1")


def known_of(item: Any) -> knowledge.Known:
    return knowledge.load([item.pk])[item.pk]


def curve(item: Any, on: date = TODAY) -> Any:
    return curve_of(known_of(item), on)


def results(item: Any, on: date = TODAY) -> Any:
    return history_of(known_of(item), on).results


def picture(item: Any, chart: str, query: str = "") -> str:
    return reverse("chart", args=["thornmere", item.code, chart]) + query


# ---------------------------------------------------------------- decay


@pytest.mark.django_db
def test_a_curve_begins_at_the_reference_date_and_reaches_fifteen_years_ahead(source):
    found = curve(source)
    assert found.start == date(2020, 11, 1)
    assert found.end == TODAY + timedelta(days=int(15 * 365.2422))
    assert found.bq_on(found.start) == 3.7e9
    # Half of it is left after 30.018 years (DDEP, fixtures/nuclides.csv).
    half = found.start + timedelta(days=round(30.018 * 365.2422))
    assert found.bq_on(half) == pytest.approx(1.85e9, rel=1e-4)


@pytest.mark.django_db
def test_a_short_half_life_ends_after_ten_of_them_but_never_before_the_day(site):
    # Ir-192: 73.8 d.
    source = factories.make_source(site, nuclide="Ir-192", reference_on=date(2025, 12, 1))
    assert curve(source).end == date(2025, 12, 1) + timedelta(days=738)
    old = factories.make_source(site, nuclide="Ir-192", reference_on=date(2020, 11, 1))
    assert curve(old).end > TODAY


@pytest.mark.django_db
def test_a_reference_date_in_the_future_begins_the_curve_at_the_day_with_more(site):
    source = factories.make_source(site, nuclide="Co-60", reference_on=date(2027, 1, 1))
    found = curve(source)
    assert found.start == TODAY
    assert found.start_bq > 3.7e9


@pytest.mark.django_db
def test_levels_are_named_with_their_days_in_the_picture_and_beside_it(clock, site):
    # Co-60: D = 0.03 TBq, so 0.01 D is 300 MBq; T = 5.2711 y; 740 MBq come down to it in
    # T log2(740/300) = 2507.73 d.
    fields = {"activity_text": "740 MBq", "activity_bq": Decimal("7.4e8"), "nuclide": "Co-60"}
    source = factories.make_source(site, serial="R-1", **fields)
    first = next(iter(curve(source).levels))
    assert first.first_on == date(2020, 11, 1) + timedelta(days=2508)
    page = Page(browser(factories.rps_of(site)).get(f"/thornmere/items/{source.code}/"))
    said = "elow 0.01 D, category 5 (300\u00a0MBq)".replace("\u00a0", " ")
    assert f"{said} from 14 Sep 2027" in page.text
    (image,) = page.all("img")
    assert "category 5 (300\u00a0MBq): from 14 Sep 2027" in image["alt"]
    assert "neither ends the permit nor allows disposal" in page.text


@pytest.mark.django_db
def test_a_level_of_the_past_says_since(site):
    fields = {"activity_text": "740 MBq", "activity_bq": Decimal("7.4e8"), "nuclide": "Co-60"}
    source = factories.make_source(site, **fields)
    assert curve(source, date(2027, 9, 13)).levels[0].when == "from 14 Sep 2027"
    assert curve(source, date(2027, 9, 14)).levels[0].when == "since 14 Sep 2027"


@pytest.mark.django_db
@pytest.mark.parametrize(
    ("fields", "sentence"),
    [
        ({"activity_text": "", "activity_bq": None}, "the activity is not known"),
        (
            {"reference_text": "", "reference_on": None, "reference_precision": ""},
            "the reference date is not known",
        ),
    ],
)
def test_what_is_unknown_has_no_curve_but_a_sentence(clock, site, fields, sentence):
    source = factories.make_source(site, **fields)
    assert curve(source) is None
    assert sentence in why_no_curve(known_of(source), TODAY)
    client = browser(factories.rps_of(site))
    page = Page(client.get(f"/thornmere/items/{source.code}/"))
    assert f"No decay curve: {sentence}." in page.text
    assert page.all("img") == []
    assert client.get(picture(source, "decay")).status_code == 404


@pytest.mark.django_db
def test_a_day_too_far_back_for_a_number_has_no_curve(clock, site):
    source = factories.make_source(site, nuclide="Ir-192", reference_on=date(2025, 12, 1))
    assert curve(source, date(1, 1, 1)) is None
    client = browser(factories.rps_of(site))
    assert client.get(picture(source, "decay", "?on=0001-01-01")).status_code == 404


@pytest.mark.django_db
@pytest.mark.parametrize("on", [date(1900, 1, 1), date(2020, 11, 1), TODAY, date(9999, 12, 31)])
def test_a_curve_is_drawn_for_every_day_that_has_a_number(source, on):
    for narrow in (False, True):
        ET.fromstring(decay_svg(curve(source, on), narrow=narrow))


# ---------------------------------------------------------------- leak tests


def verdict(outcome: str = "pass", **fields: Any) -> Verdict:
    values = {"finding": "pass", "limit_bq": 185.0, "comparator": "reaches"}
    return Verdict(outcome=outcome, **(values | fields))


@pytest.mark.parametrize(
    ("said", "place"),
    [
        (verdict(activity_bq=12.0, detected=True, detection_limit_bq=3.0), ("value", 12.0)),
        (verdict(activity_bq=0.4, detected=False, detection_limit_bq=3.0), ("below", 3.0)),
        (verdict(activity_bq=-0.7, detected=False, detection_limit_bq=3.0), ("below", 3.0)),
        (verdict(activity_bq=0.0, detection_limit_bq=3.0), ("below", 3.0)),
        (verdict(activity_bq=0.0), ("no_figure", None)),
        (verdict(upper_bound_bq=150.0), ("below", 150.0)),
        (verdict(upper_bound_bq=150.0, detection_limit_bq=20.0), ("below", 150.0)),
        (verdict(activity_bq=40.0), ("value", 40.0)),
        (verdict("fail", activity_bq=900.0, detected=True), ("fail", 900.0)),
        (verdict("fail"), ("fail", None)),
        (verdict("inconclusive", activity_bq=150.0, detected=True), ("inconclusive", 150.0)),
        (verdict("inconclusive", detected=False, detection_limit_bq=400.0), ("below", 400.0)),
        (verdict("inconclusive"), ("no_figure", None)),
        (verdict("not_evaluable"), ("not_evaluable", None)),
        (verdict("not_evaluable", least_activity_bq=88.0), ("not_evaluable", 88.0)),
    ],
)
def test_a_result_stands_where_it_is_known_to_be(said, place):
    assert leak_history._place(said) == place


@pytest.mark.parametrize(
    ("said", "text"),
    [
        (verdict(activity_bq=12.0, standard_uncertainty_bq=1.5), "12.0 Bq ± 3.0 Bq"),
        (verdict(activity_bq=12.0), "12.0 Bq"),
        (verdict(activity_bq=-0.7), "−700 mBq"),
        (verdict(upper_bound_bq=150.0), "< 150 Bq"),
        (verdict("not_evaluable", least_activity_bq=88.0), "at least 88.0 Bq"),
        (verdict("inconclusive"), "no figure"),
    ],
)
def test_a_result_is_written_as_it_was_found(said, text):
    assert leak_history._result_text(said).replace("\u00a0", " ") == text


@pytest.mark.django_db
def test_results_are_those_up_to_the_day_oldest_first(source, counter):
    for on in (date(2025, 12, 1), date(2025, 10, 1), date(2026, 1, 2)):
        factories.record_wipe(source, counter, on)
    assert [one.on.month for one in results(source)] == [10, 12, 1]
    assert [one.on.month for one in results(source, date(2026, 1, 1))] == [10, 12]


@pytest.mark.django_db
def test_what_is_not_relied_on_says_why_and_does_not_count_as_good(site, source, counter):
    technician = staff(site, Role.TECHNICIAN)
    old = factories.record_wipe(
        source, counter, date(2025, 10, 1), by=technician, act={"accepted": False}
    )
    late = factories.make_monitor(site, calibrated_on=date(2022, 1, 1))
    factories.record_wipe(source, late, date(2025, 11, 1))
    said = [(one.relied_on, one.why_not) for one in results(source)]
    assert said == [
        (False, "entered, not accepted"),
        (False, "the counter's calibration was late"),
    ]
    accept_leak_test(old, by=factories.rps_of(site), at=factories.tick(), reason="seen")
    (first, _late) = results(source)
    assert (first.relied_on, first.why_not) == (True, "")


@pytest.mark.django_db
def test_an_acceptance_does_not_change_what_the_picture_of_an_earlier_day_says(
    site, source, counter
):
    old = factories.record_wipe(
        source, counter, date(2025, 10, 1), by=staff(site, Role.TECHNICIAN), act={"accepted": False}
    )
    accept_leak_test(old, by=factories.rps_of(site), at=factories.tick(), reason="seen")
    assert results(source, date(2025, 12, 1))[0].relied_on is False


@pytest.mark.django_db
def test_a_corrected_result_stays_in_the_table_and_leaves_the_picture(source, counter):
    old = factories.record_wipe(source, counter, date(2025, 10, 1), gross=LOUD)
    factories.record_wipe(
        source, counter, date(2025, 10, 1), act={"replaces": old, "because": "misread"}
    )
    found = history_of(known_of(source), TODAY)
    assert [one.replaced for one in found.results] == [True, False]
    assert found.results[0].why_not == "replaced by a correction"
    assert [one.seq for one in found.drawn] == [found.results[1].seq]


def figures(site: Any, source: Any, result: Any, on: date) -> None:
    record_leak_test(
        site=site,
        by=factories.rps_of(site),
        at=factories.tick(),
        wipe=Wipe([source], on, result, sampled_by="B. Sampler"),
    )


@pytest.mark.django_db
def test_every_shape_is_drawn_and_told_in_the_table_and_in_the_alternative(
    clock, site, source, counter
):
    factories.record_wipe(source, counter, date(2025, 9, 2))
    factories.record_wipe(source, counter, date(2025, 9, 3), gross=LOUD)
    factories.record_wipe(source, counter, date(2025, 9, 4), gross=[(900, 600.0)])
    figures(site, source, FromLaboratory("Lab", Reported(less_than_bq=5.0)), date(2025, 9, 5))
    figures(site, source, DeclaredBy(True, "the seller"), date(2025, 9, 6))
    figures(site, source, DeclaredBy(False, "the seller"), date(2025, 9, 7))
    found = history_of(known_of(source), TODAY)
    shapes = [one.shape for one in found.results]
    assert shapes == ["below", "fail", "value", "below", "no_figure", "fail"]
    for narrow in (False, True):
        ET.fromstring(leak_svg(found, narrow=narrow))
    assert "6 results; 2 not detected or stated as less than; 2 fail; 3 not relied on" in (
        found.alternative
    )
    page = Page(browser(factories.rps_of(site)).get(f"/thornmere/items/{source.code}/"))
    assert found.alternative in [attrs["alt"] for attrs in page.all("img")]
    assert "5 Sep 2025 < 5.00 Bq" in page.text
    assert "7 Sep 2025 no figure" in page.text
    assert "reaching the limit fails" in found.alternative


@pytest.mark.django_db
def test_a_source_never_wiped_has_no_picture_of_leak_tests(clock, site, source):
    client = browser(factories.rps_of(site))
    assert client.get(picture(source, "leak")).status_code == 404
    assert "Leak tests" not in Page(client.get(f"/thornmere/items/{source.code}/")).text


# ---------------------------------------------------------------- calibrations


@pytest.mark.django_db
def test_calibrations_are_drawn_by_basis_and_nuclide(clock, site, counter):
    factories.calibrate(counter, date(2025, 12, 1))
    factories.calibrate(counter, date(2026, 1, 1), passed=False)
    found = calibrations_of(known_of(counter), TODAY)
    assert [row.outcome for row in found.rows] == ["pass", "pass", "fail"]
    ((basis, of),) = found.panels
    assert (basis, list(of)) == ("counts per decay", ["Am-241", "Co-60", "Cs-137", "Sr-90"])
    assert [point.good for point in of["Cs-137"]] == [True, True, False]
    for narrow in (False, True):
        ET.fromstring(efficiency_svg(found, narrow=narrow))
    page = Page(browser(factories.rps_of(site)).get(f"/thornmere/items/{counter.code}/"))
    assert "Cs-137 0.31 ± 10 % counts per decay" in page.text
    assert page.all("img")[0]["alt"] == found.alternative


@pytest.mark.django_db
def test_a_calibration_without_efficiencies_has_a_table_and_no_picture(clock, site):
    monitor = factories.make_monitor(site, calibrated_on=None, monitor_kind="dose_rate")
    factories.calibrate(monitor, date(2025, 12, 1), efficiencies=())
    client = browser(factories.rps_of(site))
    page = Page(client.get(f"/thornmere/items/{monitor.code}/"))
    assert "Every calibration, newest first" in page.text
    assert page.all("img") == []
    assert client.get(picture(monitor, "efficiency")).status_code == 404


# ---------------------------------------------------------------- how a picture is made and sent


@pytest.mark.django_db
def test_the_same_figures_give_the_same_bytes(source, counter):
    factories.record_wipe(source, counter, date(2025, 10, 1))
    for draw, found in (
        (decay_svg, curve(source)),
        (leak_svg, history_of(known_of(source), TODAY)),
    ):
        one = draw(found, narrow=False)
        assert one == draw(found, narrow=False)
        assert draw(found, narrow=True) != one
        assert b"<dc:date>" not in one


@pytest.mark.django_db
def test_a_picture_carries_no_style_attribute_no_script_and_nothing_from_elsewhere(source):
    svg = decay_svg(curve(source), narrow=False).decode()
    assert not re.search(r"\sstyle=|<script|<image|<text|\son\w+=|@import|url\((?!#)", svg)
    assert set(re.findall(r'href="([^#"])', svg)) == set()


@pytest.mark.django_db
def test_a_picture_knows_its_dark_colours(source):
    svg = decay_svg(curve(source), narrow=False).decode()
    assert f'stroke="{ACCENT}"' in svg
    used = set(re.findall(r'(?:fill|stroke)="(#[0-9a-f]{6})"', svg.split("</style>")[1]))
    assert used <= set(DARK)
    assert "prefers-color-scheme:dark" in svg


@pytest.mark.django_db
def test_a_browser_that_has_the_picture_is_told_so_until_somebody_records(
    clock, site, source, counter
):
    client = browser(factories.rps_of(site))
    first = client.get(picture(source, "decay"))
    assert first["Content-Type"] == "image/svg+xml"
    assert first["Cache-Control"] == "private, no-cache"
    again = client.get(picture(source, "decay"), headers={"if-none-match": first["ETag"]})
    assert (again.status_code, again.content) == (304, b"")
    factories.record_wipe(source, counter, date(2025, 10, 1))
    later = client.get(picture(source, "decay"), headers={"if-none-match": first["ETag"]})
    assert later.status_code == 200


@pytest.mark.django_db
def test_each_picture_has_a_tag_of_its_own(clock, site, source, counter):
    factories.record_wipe(source, counter, date(2025, 10, 1))
    client = browser(factories.rps_of(site))
    queries = ("", "?on=2025-11-01", "?narrow=1", "?on=2025-11-01&narrow=1")
    tags = {
        client.get(picture(source, chart, query))["ETag"]
        for chart in ("decay", "leak")
        for query in queries
    }
    assert len(tags) == 8


@pytest.mark.django_db
def test_a_tag_opens_no_picture_of_another_site(clock, site, source):
    tag = browser(factories.rps_of(site)).get(picture(source, "decay"))["ETag"]
    stranger = browser(staff(factories.make_site("elsewhere"), Role.RPS))
    answer = stranger.get(picture(source, "decay"), headers={"if-none-match": tag})
    assert answer.status_code == 404


@pytest.mark.django_db
@pytest.mark.parametrize("chart", ["efficiency", "nonsense"])
def test_a_picture_of_another_kind_of_thing_does_not_exist(clock, site, source, chart):
    assert browser(factories.rps_of(site)).get(picture(source, chart)).status_code == 404


@pytest.mark.django_db
def test_the_page_of_a_day_shows_the_pictures_of_that_day(clock, site, source, counter):
    client = browser(factories.rps_of(site))
    page = Page(client.get(f"/thornmere/items/{source.code}/?on=2024-05-05"))
    assert all("on=2024-05-05" in attrs["src"] for attrs in page.all("img"))
    assert "As of 5 May 2024" in page.text


def test_a_page_with_pictures_does_not_load_what_draws_them():
    script = (
        "import django, sys; django.setup(); import config.urls, reports.pages.item, "
        "reports.pages.charts, reports.charts.leak; "
        "print({'matplotlib', 'numpy'} & set(sys.modules))"
    )
    done = subprocess.run(
        [sys.executable, "-W", "ignore", "-c", script],
        **{"cwd": ROOT, "capture_output": True, "text": True, "timeout": 60, "check": False},
        env={"DJANGO_SETTINGS_MODULE": "config.settings_test", "PATH": ""},
    )
    assert done.stdout.strip() == "set()", done.stderr


@pytest.mark.parametrize(
    ("low", "high", "ticks"),
    [
        (0.5, 300.0, [1, 10, 100]),
        (40.0, 300.0, [50, 100, 200]),
        (1.0, 1e14, [1, 1e2, 1e4, 1e6, 1e8, 1e10, 1e12, 1e14]),
    ],
)
def test_the_ticks_of_a_log_axis(low, high, ticks):
    assert list(_log_ticks(low, high)) == pytest.approx(ticks)


@pytest.mark.parametrize(
    ("bq", "text"), [(1e9, "1 GBq"), (5e7, "50 MBq"), (1.75e9, "1.75 GBq"), (0.0, "0 Bq")]
)
def test_an_activity_on_an_axis_takes_as_few_figures_as_it_needs(bq, text):
    assert _short(bq).replace("\u00a0", " ") == text


@pytest.mark.parametrize("days", [5, 100, 500, 3000, 20_000, 400_000])
def test_the_days_of_an_axis_lie_on_it_and_are_few(days):
    start = date(2020, 11, 1)
    end = start + timedelta(days=days)
    ticks = list(_day_ticks(start, end, 8))
    assert len(ticks) <= 9
    assert all(start <= day <= end for day, _text in ticks)
