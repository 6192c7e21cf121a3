"""Every element of the demo scenario is shown, or waits for what does not exist yet."""

from __future__ import annotations

import csv
from collections.abc import Callable
from pathlib import Path

import pytest
from django.apps import apps

from inventory import sentences as inventory_sentences
from inventory.followups.models import FollowUp, FollowUpStep
from inventory.items.models import Gauge, Source
from inventory.ledger.models import Attachment, ItemKind, Record, RecordDetail, RecordItem
from inventory.requirements.models import Attempt, Booking
from inventory.rules.schema import REQUIREMENTS
from inventory.timeline import RequirementSpan, Stay
from reports.demo.build import Story
from surveys import sentences as survey_sentences
from surveys.awaited.waiting import waiting
from surveys.leak.models import LeakResult, LeakTest
from surveys.monitors.models import Monitor
from tests.reports import demo_elements
from tests.reports.demo_elements import NOW, TODAY, both, on

ROOT = Path(__file__).resolve().parents[2]
TABLE = ROOT / "fixtures" / "demo-scenario.csv"


def rows() -> list[dict[str, str]]:
    with TABLE.open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def kinds() -> set[str]:
    """Every kind of record that the site can write: those with a table, those with a word."""
    tables = {
        kind
        for model in apps.get_models()
        if issubclass(model, RecordDetail)
        for kind in model.KINDS
    }
    words = {
        code.removeprefix("kind:")
        for module in (inventory_sentences, survey_sentences)
        for name in ("SENTENCES", "WORDS")
        for code in getattr(module, name, {})
        if code.startswith("kind:")
    }
    return tables | words


def exists(needed: str) -> bool:
    what, _, name = needed.partition(" ")
    if what == "kind":
        return name in kinds()
    if what == "requirement":
        return name in REQUIREMENTS
    return any((ROOT / "fixtures" / "rulesets").glob(f"{name.removeprefix('set ')}-*.toml"))


@pytest.mark.parametrize("row", rows(), ids=lambda row: row["element"])
def test_every_element_is_shown_or_waits_for_what_does_not_exist(row):
    assert row["status"] in ("shown", "waits")
    if row["status"] == "waits":
        assert row["needs"] and not exists(row["needs"]), f"{row['element']} can be shown now"
    else:
        assert not row["needs"] and row["element"] in SHOWN


def test_it_knows_the_kinds_there_are():
    assert {"leak_test", "calibration", "accepted", "booked", "wipe_sent"} <= kinds()


# ---------------------------------------------------------------- what is shown


def in_gauges(slug: str, prefix: str) -> set[str]:
    """The nuclides in gauges whose tag begins so."""
    stays = Stay.objects.on(TODAY).filter(site=on(slug), gauge__label__startswith=prefix)
    return set(
        Source.objects.filter(item__in=stays.values("item")).values_list("nuclide", flat=True)
    )


def stored(slug: str) -> bool:
    stays = Stay.objects.on(TODAY).filter(
        site=on(slug), gauge=None, location__location__place_kind="source_store"
    )
    return stays.filter(item__kind=ItemKind.SOURCE).exists()


def states(slug: str) -> set[str]:
    spans = RequirementSpan.objects.filter(site=on(slug)).with_state(TODAY)
    return set(spans.values_list("state_on", flat=True))


def late(slug: str, booked: bool) -> bool:
    """Whether something late has somebody who booked it, or nobody."""
    spans = RequirementSpan.objects.filter(site=on(slug)).with_state(TODAY).filter(state_on="late")
    items = Booking.objects.filter(booked_for__gte=TODAY).values("record__about__item")
    return (spans.filter(item__in=items) if booked else spans.exclude(item__in=items)).exists()


def declared(accepted: bool) -> bool:
    found = LeakTest.objects.filter(way="declared", record__accepted_by__isnull=not accepted)
    sites = {test.record.site.slug for test in found}
    return "thornmere" in sites if accepted else sites == {"thornmere", "garnet-bluff"}


def in_each_year(slug: str, kind: str) -> bool:
    """Whether there is one in each of the last four years."""
    of_site = Record.objects.filter(site=on(slug), kind=kind)
    days = of_site.values_list("effective_on", flat=True)
    return {(TODAY - day).days // 365 for day in days} >= {0, 1, 2, 3}


SHOWN: dict[str, Callable[[], bool]] = demo_elements.SHOWN | {
    "basis_weight_gauges": lambda: in_gauges("thornmere", "BW") >= {"Kr-85", "Sr-90", "Pm-147"},
    "density_and_level_gauges": lambda: (
        in_gauges("thornmere", "DG") == {"Cs-137"}
        and in_gauges("thornmere", "LG") == {"Cs-137", "Co-60"}
    ),
    "ash_sensor": lambda: in_gauges("thornmere", "AS") == {"Am-241"},
    "source_store": lambda: both(stored),
    "check_sources": lambda: all(
        Source.objects.filter(item__site=on(slug), model__startswith="check").exists()
        for slug in ("thornmere", "garnet-bluff")
    ),
    "monitors": lambda: (
        Monitor.objects.filter(monitor_kind="wipe_counter").count() == 1
        and all(
            {"dose_rate", "contamination"}
            <= set(
                Monitor.objects.filter(item__site=on(slug)).values_list("monitor_kind", flat=True)
            )
            for slug in ("thornmere", "garnet-bluff")
        )
    ),
    "slurry_density_gauges": lambda: in_gauges("garnet-bluff", "SD") == {"Cs-137"},
    "belt_weighers": lambda: in_gauges("garnet-bluff", "BWG") == {"Cs-137"},
    "bin_level_gauges": lambda: in_gauges("garnet-bluff", "BL") == {"Cs-137", "Co-60"},
    "portable_gauges": lambda: (
        in_gauges("garnet-bluff", "PMD") == {"Cs-137", "Am-241/Be"}
        and Gauge.objects.filter(tag__startswith="PMD").count() == 2
    ),
    "portable_out_on_a_job": lambda: (
        {
            (stay.item.label, stay.away_to)
            for stay in Stay.objects.on(TODAY).filter(
                site=on("garnet-bluff"), whereabouts="out", item__kind="gauge"
            )
        }
        == {("PMD-2", "Haul road 4, section C")}
    ),
    "sixty_sources": lambda: (
        55 <= Stay.objects.on(TODAY).filter(item__kind=ItemKind.SOURCE).count() <= 65
    ),
    "four_years": lambda: (
        both(lambda slug: in_each_year(slug, "leak_test"))
        and both(lambda slug: in_each_year(slug, "calibration"))
    ),
    "in_date": lambda: both(lambda slug: "good" in states(slug)),
    "due_soon": lambda: both(lambda slug: "due_soon" in states(slug)),
    "overdue": lambda: both(lambda slug: late(slug, True) and late(slug, False)),
    "leaking_source": lambda: (
        {
            step.done_on is None
            for step in FollowUpStep.objects.filter(item__label__contains="TBM-0401")
        }
        == {True, False}
        and FollowUp.objects.still_open().filter(item__label__contains="TBM-0401").exists()
    ),
    "not_sensitive_enough": lambda: LeakResult.objects.filter(
        record__site=on("thornmere"), finding="inconclusive_insensitive"
    ).exists(),
    "away_at_laboratory": lambda: (
        {one.wipesent.chase_on < TODAY for one in waiting(on("garnet-bluff"))} == {True, False}
    ),
    "undecided_interval": lambda: "undecided" in states("thornmere"),
    "only_passed": lambda: declared(accepted=False),
    "accepted_with_reason": lambda: declared(accepted=True),
    "monitor_out_of_tolerance": lambda: (
        FollowUp.objects.still_open()
        .filter(kind="calibration", item__site=on("thornmere"))
        .exists()
    ),
    "unknown_serial": lambda: (
        Source.objects.filter(serial="", item__site=on("thornmere")).count() == 1
    ),
    "corrected_record": lambda: Record.objects.filter(
        site=on("thornmere"), replaces__kind="leak_test"
    ).exists(),
    "not_done_because": lambda: Attempt.objects.filter(record__site=on("thornmere")).exists(),
    "document_kept": lambda: Attachment.objects.filter(record__site=on("thornmere")).exists(),
    "counted_out_of_calibration": lambda: RecordItem.objects.filter(
        kind="leak_test", fit=False, unfit_because="counter_calibration_late"
    ).exists(),
}


def test_every_element_that_is_shown_is_there(db, settings, tmp_path):
    settings.ATTACHMENTS_DIR = tmp_path
    Story(NOW, "a password of the tests").tell()
    assert [element for element, there in SHOWN.items() if not there()] == []
