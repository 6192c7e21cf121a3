"""Every kind of act on that site but movements: with what it says left to chance."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date, timedelta
from decimal import Decimal
from typing import Any

from inventory.calc.errors import DomainError
from inventory.evidence.actions import record_checks
from inventory.evidence.entries import Check, Result
from inventory.evidence.kinds import may_end
from inventory.followups.actions import close_follow_up
from inventory.followups.models import FollowUp
from inventory.items.actions import change, correct, description_in_force, snapshot_of
from inventory.ledger.models import Item
from inventory.requirements.actions import accept, set_schedule
from inventory.rules.schema import REQUIREMENTS
from inventory.schedule.actions import choose_templates, draft_schedule
from inventory.schedule.confirming import confirm_change
from inventory.schedule.pieces import Taken
from inventory.schedule.settings import Wanted, make_setting, settings_of, take_back
from inventory.timeline import RequirementSpan
from surveys.leak.actions import record_leak_test
from surveys.monitors.actions import Certificate, record_calibration
from tests import factories
from tests.inventory.everything_world import (
    CHECKS,
    CITED,
    COMING,
    DECIDED,
    TODAY,
    Cast,
    corrected_movement,
    movement,
)
from tests.inventory.schedule.world import act, adopted

ACTIVITIES = (None, Decimal("4e6"), Decimal("3.7e9"), Decimal("2e12"))


# --- evidence ----------------------------------------------------------------------------------


def wipe(cast: Cast, **more: Any) -> None:
    sources = cast.random.sample(cast.sources, cast.random.randint(1, 2))
    gross = [(cast.one([431] * 7 + [60_000]), 600.0)]
    taken = factories.make_wipe(sources, cast.monitors[0], cast.day(), gross=gross)
    values = {"accepted": cast.random.random() < 0.7} | more
    record_leak_test(site=cast.site, wipe=taken, **values, **act(cast.site))


def corrected_wipe(cast: Cast) -> None:
    wipe(cast, accepted=True, replaces=cast.record("leak_test"), because="misread")


def calibration(cast: Cast, **more: Any) -> None:
    certificate = Certificate(
        cast.day(), cast.random.random() < 0.8, efficiencies=factories.EFFICIENCIES
    )
    values = {"accepted": cast.random.random() < 0.7} | more
    record_calibration(cast.one(cast.monitors), certificate, **values, **act(cast.site))


def corrected_calibration(cast: Cast) -> None:
    old = cast.record("calibration")
    calibration(cast, accepted=True, replaces=old, reason="misread")


def check(cast: Cast, requirement: str, **more: Any) -> None:
    things = [one for one in cast.items if one.kind == REQUIREMENTS[requirement][0]]
    done = cast.random.sample(things, min(len(things), cast.random.randint(1, 2)))
    results = [Result(one, cast.one(["pass"] * 7 + ["fail"])) for one in done]
    on, until = cast.day(), None
    if may_end(requirement):
        until = on + timedelta(days=cast.random.randrange(300, 900))
    found = Check(requirement, on, results, valid_until=until, document="letter 7")
    values = {"accepted": cast.random.random() < 0.8} | more
    record_checks(cast.site, found, **values, **act(cast.site))


def corrected_check(cast: Cast) -> None:
    old = cast.record(*CHECKS)
    check(cast, old.kind, accepted=True, replaces=old, because="misread")


def happening(cast: Cast, **more: Any) -> None:
    what = cast.one(["damage", "damage", "repair"])
    things = cast.monitors if what == "repair" else [*cast.sources, *cast.gauges]
    item, *also = cast.random.sample(things, 2)
    factories.record_happening(item, what, cast.day(), also=also, act=more)


def corrected_happening(cast: Cast) -> None:
    happening(cast, replaces=cast.record("happening"), because="another one")


def accepted(cast: Cast) -> None:
    accept(cast.record("leak_test", "calibration", *CHECKS), **act(cast.site))


def closed(cast: Cast) -> None:
    point = cast.one(FollowUp.objects.still_open().order_by("opened_by", "item"))
    close_follow_up(point, on=cast.day(), reason="settled", **act(cast.site))


# --- what is decided, what it is ----------------------------------------------------------------


def setting(cast: Cast, until_on: date | None = None) -> None:
    item = cast.one(cast.moving)
    of_kind = {"source": "leak_test", "gauge": cast.one(["leak_test", "shutter_check"])}
    data = CITED | {"months": cast.random.randint(2, 9)}
    on = until_on - timedelta(days=90) if until_on else cast.day()
    wanted = Wanted(of_kind.get(item.kind, "calibration"), data, "label", on, until_on, DECIDED)
    make_setting(item, wanted, **act(cast.site))


def taken_back(cast: Cast) -> None:
    found = [(item, one) for item in cast.moving for one in settings_of(item)]
    item, held = cast.one(pair for pair in found if pair[1].detail["authority"] == "label")
    on = cast.one([held.from_on, TODAY])
    wanted = (held.detail["requirement"], "label")
    take_back(item, *wanted, on=on, reason="painted over", **act(cast.site))


def confirmed(cast: Cast) -> None:
    spans = RequirementSpan.objects.filter(site=cast.site, from_on__lte=TODAY)
    span = cast.one(spans.exclude(proposed="").order_by("item", "requirement", "from_on"))
    on = cast.one([span.from_on, min(span.until_on, TODAY)])
    confirm_change(span.item, span.requirement, on=on, reason="looked at", **act(cast.site))


def said_of(cast: Cast, item: Item) -> dict[str, Any]:
    """Something else that a description can say."""
    values: dict[str, list[dict[str, Any]]] = {
        "source": [
            {"activity_bq": cast.one(ACTIVITIES)},
            {"working_life_until": cast.day(), "made_on": date(2011, 3, 31)},
            {"use": cast.one(["gauge", "check_source"]), "special_form_until": cast.day()},
        ],
        "gauge": [{"portable": cast.one([True, False])}],
        "monitor": [{"required_by_law": cast.one([True, False])}],
        "permit": [{"valid_until": cast.day()}],
    }
    return cast.one(values.get(item.kind, ()))


def described(cast: Cast) -> None:
    item = cast.one([*cast.moving, cast.others[0]])
    new = snapshot_of(description_in_force(item)) | said_of(cast, item)
    change(item, new, on=cast.day(), reason="read again", **act(cast.site))


def corrected_description(cast: Cast) -> None:
    old = cast.record("described")
    new = snapshot_of(old) | said_of(cast, old.about.get().item)
    correct(old, new, reason="misread", **act(cast.site))


# --- the schedule ------------------------------------------------------------------------------


def schedule_to_come(cast: Cast) -> None:
    draft_schedule(cast.site, **act(cast.site))
    choose_templates(cast.site, [Taken("ca", 1)], **act(cast.site))
    adopted(cast.site, from_on=COMING)


def american_since(cast: Cast) -> None:
    begins = date(2025, 3, 1)
    set_schedule(cast.site, rule_set="us_general", version=1, from_on=begins, **act(cast.site))


def german_since(cast: Cast) -> None:
    begins = date(2025, 9, 1)
    set_schedule(cast.site, rule_set="de", version=1, from_on=begins, **act(cast.site))


def _check_of(requirement: str) -> Callable[[Cast], None]:
    return lambda cast: check(cast, requirement)


ACTS: dict[str, Callable[[Cast], None]] = {
    **{f"check {name}": _check_of(name) for name in CHECKS},
    **{"movement": movement, "corrected_movement": corrected_movement},
    **{"wipe": wipe, "corrected_wipe": corrected_wipe},
    **{"calibration": calibration, "corrected_calibration": corrected_calibration},
    **{"corrected_check": corrected_check, "accepted": accepted, "closed": closed},
    **{"happening": happening, "corrected_happening": corrected_happening},
    **{"setting": setting, "setting with an end": lambda cast: setting(cast, cast.day())},
    **{"taken_back": taken_back, "confirmed": confirmed},
    **{"described": described, "corrected_description": corrected_description},
    **{"schedule_to_come": schedule_to_come},
    **{"american_since": american_since, "german_since": german_since},
}


def attempt(cast: Cast, name: str) -> bool:
    """Do an act; what cannot be is refused and tried another way a few times."""
    for _ in range(12):
        try:
            ACTS[name](cast)
        except (DomainError, IndexError):
            continue
        return True
    return False
