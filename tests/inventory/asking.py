"""What the tests ask of a site, and the guard that a refusal saves nothing."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from datetime import date
from typing import Any

import pytest
from django.apps import apps

from inventory import derive, knowledge
from inventory.calc.asof import AsOf
from inventory.calc.errors import DomainError
from inventory.followups.models import FollowUp
from inventory.ledger.models import Chain, Item
from inventory.rules.schema import CALIBRATION, LEAK_TEST
from inventory.sentences import error_text
from inventory.timeline import RequirementSpan, Stay
from surveys.sentences import SENTENCES as SURVEY_SENTENCES

#: A day after every act of the tests.
NOW = date(2026, 3, 1)


def requirement_of(item: Item) -> str:
    return CALIBRATION if item.kind == "monitor" else LEAK_TEST


def state(item: Item, on: date = NOW) -> str:
    """The state as people see it, from the stored time line."""
    rows = RequirementSpan.objects.with_state(on)
    found: str = rows.get(item=item, requirement=requirement_of(item)).state_on
    return found


def last_good(item: Item, on: date = NOW) -> int | None:
    """The record that the due date rests on."""
    decision = knowledge.states([item.pk], AsOf(on))[item.pk, requirement_of(item)]
    return decision.record


def due_on(item: Item, on: date = NOW) -> date | None:
    return knowledge.states([item.pk], AsOf(on))[item.pk, requirement_of(item)].due_on


def place(item: Item, on: date = NOW) -> tuple[str, str] | None:
    """Labels of the gauge and of the location at the end of a day."""
    stay = Stay.objects.on(on).filter(item=item).select_related("gauge", "location").first()
    if stay is None:
        return None
    return (stay.gauge.label if stay.gauge else "", stay.location.label if stay.location else "")


def open_points(item: Item) -> list[FollowUp]:
    return list(FollowUp.objects.still_open().filter(item=item).order_by("opened_by"))


def rows_of_every_table() -> dict[str, Any]:
    counts: dict[str, Any] = {
        model._meta.db_table: model._default_manager.count() for model in apps.get_models()
    }
    return counts | {"chains": list(Chain.objects.order_by("pk").values())}


@contextmanager
def refuses(code: str, field: str | None = None) -> Iterator[None]:
    """The act is refused with this code, which has a sentence, and nothing has been saved."""
    before = rows_of_every_table()
    with pytest.raises(DomainError) as refusal:
        yield
    assert refusal.value.code == code
    if field is not None:
        assert refusal.value.field == field
    sentence = error_text(refusal.value, SURVEY_SENTENCES)
    assert "%(" not in sentence
    assert not sentence.startswith("[no sentence")
    assert rows_of_every_table() == before
    assert list(derive.rebuild(write=False)) == []
