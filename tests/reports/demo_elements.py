"""Elements of the demo scenario that rest on schedules, checks and movements: is each there?

Every question is asked of a demo that was told on ``NOW``.
"""

from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from itertools import pairwise
from typing import Any

from config.accounts.models import Site
from inventory.custody.models import Movement
from inventory.evidence.models import HAPPENING_KIND
from inventory.followups.models import FollowUp
from inventory.items.models import Permit, Person
from inventory.ledger.models import Item, Record, RecordItem
from inventory.rules.schema import Row
from inventory.schedule.settings import Standing, settings_of
from inventory.schedule.versions import Version, draft_of, in_force, versions
from inventory.shutdowns.models import Shutdown
from inventory.timeline import RequirementSpan, Stay
from reports.demo.thornmere_checks import ADVISER

NOW = datetime(2026, 11, 24, 10, 0, tzinfo=UTC)
TODAY = NOW.date()
SITES = ("thornmere", "garnet-bluff")


def on(slug: str) -> Site:
    return Site.objects.get(slug=slug)


def both(test: Callable[[str], bool]) -> bool:
    return all(test(slug) for slug in SITES)


def item(key: str) -> Item:
    """The one thing with this serial or tag."""
    return Item.objects.named(key).get()


def span(key: str, requirement: str) -> Any:
    """What a requirement says of a thing today."""
    return (
        RequirementSpan.objects.with_state(TODAY)
        .filter(requirement=requirement)
        .get(item=item(key))
    )


def state(key: str, requirement: str) -> str:
    return str(span(key, requirement).state_on)


def states_of(slug: str, requirement: str) -> set[str]:
    spans: Any = RequirementSpan.objects.with_state(TODAY)
    found = spans.filter(site=on(slug), requirement=requirement)
    return set(found.values_list("state_on", flat=True))


def schedule(slug: str) -> Version:
    found = in_force(versions(on(slug)), TODAY)
    assert found is not None
    return found


def own_row(row_id: str) -> Row:
    """A row that Thornmere has made its own."""
    site_says = schedule("thornmere")
    assert row_id in {one["id"] for one in site_says.detail["rows"]}
    return next(row for row in site_says.rules.rows if row.id == row_id)


def setting(key: str, authority: str) -> Standing:
    (found,) = [one for one in settings_of(item(key)) if one.detail["authority"] == authority]
    return found


def stay(key: str, days_ago: int = 0) -> Stay | None:
    return Stay.objects.on(TODAY - timedelta(days=days_ago)).filter(item=item(key)).first()


def monthly(slug: str) -> bool:
    """Whether accounting checks reach back more than a year without a gap of two months."""
    found = Record.objects.filter(site=on(slug), kind="accounting_check")
    days = sorted({*found.values_list("effective_on", flat=True), TODAY})
    gaps = [(later - day).days for day, later in pairwise(days)]
    return (TODAY - days[0]).days > 365 and max(gaps) < 60


def follow_ups(key: str) -> tuple[int, int]:
    """How many were opened on a thing, and how many of them are still open."""
    found = FollowUp.objects.filter(item=item(key))
    return found.count(), found.still_open().count()


def loosened() -> bool:
    row = own_row("leak.stored")
    return bool(row.loosened_because and row.decided_on) and row.decided_by == ADVISER


def adopted() -> bool:
    now, first = schedule("thornmere"), versions(on("thornmere"))[0]
    ahead = now.review_on is not None and now.review_on > TODAY
    return now.adopted and ahead and not now.rows_left and not first.adopted


def draft() -> bool:
    now = schedule("garnet-bluff")
    templates = {one["rule_set"] for one in now.detail["templates"]}
    return not now.adopted and templates == {"ca", "gb"} and draft_of(on("thornmere")) is None


def seen_daily() -> bool:
    rows = {span(key, "accounting_check").row for key in ("GBP-N-1", "GBP-N-2")}
    today = {state(key, "accounting_check") for key in ("GBP-N-2", "GBP-C-2")}
    return rows == {"accounting.portable"} and today == {"due_soon"}


def damage_tested() -> bool:
    """The blow, then a test, and the rule for damage asks for nothing more."""
    blow = RecordItem.objects.get(item=item("DG-305"), kind=HAPPENING_KIND)
    source = item("TBM-0305")
    assert blow.record.about.filter(item=source).exists()
    tests = RecordItem.objects.filter(item=source, kind="leak_test", outcome="pass")
    soon = tests.filter(effective_on__gt=blow.effective_on)
    within = soon.filter(effective_on__lte=blow.effective_on + timedelta(days=5))
    return within.exists() and span("TBM-0305", "leak_test").row == "leak.default"


def transferred() -> bool:
    gone = Movement.objects.get(record__kind="transferred")
    years_ago = (TODAY - gone.record.effective_on).days > 730
    return years_ago and stay("TBM-0150", 1000) is not None and stay("TBM-0150") is None


def sent_away() -> bool:
    there = stay("TBM-0203")
    expected = Movement.objects.get(record__kind="sent_away").expected_on
    assert there is not None and expected is not None
    return there.whereabouts == "in_transit" and expected < TODAY


def visiting() -> bool:
    visit = Movement.objects.exclude(owner="").get()
    ends = visit.expected_on is not None and visit.expected_on > TODAY
    return ends and stay("VIS-7731") is not None


def described(slug: str) -> bool:
    """Whether uses and days of making stand in its descriptions."""
    bodies = Record.objects.filter(site=on(slug), kind="described").values_list("body", flat=True)
    text = "".join(bodies)
    return '"use":"check_source"' in text and ('"made_on"' in text or slug == "thornmere")


SHOWN: dict[str, Callable[[], bool]] = {
    "canadian_rules": lambda: schedule("garnet-bluff").rules.id == "ca",
    "adopted_schedule": adopted,
    "draft_schedule": draft,
    "own_row_tightened": lambda: own_row("shutter.default").months == 6,
    "own_row_loosened": loosened,
    "setting_by_label": lambda: (
        setting("DG-306", "label").row.months == 12
        and setting("SD-101", "label").row.months == 6
        and span("TBM-0306", "leak_test").row == "label.leak_test.of-gauge"
    ),
    "setting_by_adviser": lambda: (
        setting("LG-421", "adviser").row.months == 3
        and span("LG-421", "shutter_check").row == "adviser.shutter_check"
    ),
    "undecided_shutter": lambda: "undecided" in states_of("garnet-bluff", "shutter_check"),
    "shutter_checks": lambda: (
        {"good", "due_soon", "late"} <= states_of("thornmere", "shutter_check")
        and {"good", "late"} <= states_of("garnet-bluff", "shutter_check")
    ),
    "label_checks": lambda: {"good", "due_soon"} <= states_of("thornmere", "label_check"),
    "accounting_checks": lambda: both(monthly),
    "accounting_late": lambda: state("TBM-0188", "accounting_check") == "late",
    "accounting_discrepancy": lambda: (
        state("GBP-902", "accounting_check") == "failed" and follow_ups("GBP-902") == (1, 1)
    ),
    "discrepancy_closed": lambda: (
        state("TBM-0904", "accounting_check") == "good" and follow_ups("TBM-0904") == (1, 0)
    ),
    "daily_for_portables": seen_daily,
    "on_hold_in_store": lambda: state("TBM-0189", "leak_test") == "on_hold",
    "hold_lapsed": lambda: (
        state("TBM-0188", "leak_test") == "late"
        and getattr(stay("TBM-0188"), "keeping", "") == "stored"
    ),
    "sent_away_unconfirmed": sent_away,
    "transferred_years_ago": transferred,
    "past_working_life": lambda: (
        state("GBP-095", "working_life") == "late"
        and span("TBM-0301", "leak_test").row == "leak.past_working_life"
    ),
    "working_life_extended": lambda: (
        state("TBM-0301", "working_life") == "good"
        and span("TBM-0301", "working_life").record is not None
    ),
    "exemption_proposed": lambda: (
        span("GBP-309", "leak_test").proposed == "leak.exempt.activity"
        and span("GBP-309", "leak_test").row == "leak.device"
    ),
    "exemption_confirmed": lambda: state("GBP-310", "leak_test") == "not_required",
    "visiting_source": visiting,
    "damage_tested": damage_tested,
    "permits": lambda: (
        both(lambda slug: Permit.objects.filter(item__site=on(slug)).count() == 1)
        and states_of("thornmere", "permit_validity") == {"due_soon"}
    ),
    "people": lambda: (
        both(lambda slug: Person.objects.filter(item__site=on(slug)).count() in (2, 3))
        and "late" in states_of("garnet-bluff", "appointment")
    ),
    "training_late": lambda: states_of("thornmere", "training") == {"good", "late"},
    "site_reviews": lambda: (
        states_of("thornmere", "local_rules_review") == {"good"}
        and states_of("thornmere", "contingency_rehearsal") == {"late"}
    ),
    "planned_shutdown": lambda: (
        set(
            Shutdown.objects.planned_on(on("thornmere"), TODAY).values_list(
                "place__label", flat=True
            )
        )
        == {"Boiler house", None}
    ),
    "description_fields": lambda: both(described),
}
