"""Settings of one thing, and taking them back; a change by decay that somebody confirms."""

from __future__ import annotations

import uuid
from dataclasses import replace
from datetime import date, timedelta
from decimal import Decimal
from typing import Any

import pytest

from config.accounts.models import Role
from inventory import knowledge
from inventory.calc.errors import DomainError
from inventory.ledger.verify import check_everything
from inventory.schedule.actions import change_row
from inventory.schedule.confirming import confirm_change
from inventory.schedule.pieces import Decided
from inventory.schedule.settings import Wanted, make_setting, settings_of, take_back
from tests import factories
from tests.inventory.rules.invented import row_table, rules_in
from tests.inventory.schedule.world import TODAY, act, adopted, drafted, make_site

pytestmark = pytest.mark.django_db
PASSED = date(2025, 10, 1)
LABEL = {"months": 6, "document": "Label", "clause": "line 4", "known_by": "own"}
DECIDED = Decided("built for it", "A. Adviser", date(2026, 1, 4))


@pytest.fixture(autouse=True)
def rules(tmp_path):
    with rules_in(tmp_path):
        yield


@pytest.fixture
def site():
    return make_site()


@pytest.fixture
def source(site):
    source = factories.make_source(site)
    factories.record_wipe(source, factories.make_monitor(site), PASSED)
    return source


def said(item: Any, on: date = TODAY, requirement: str = "leak_test") -> Any:
    return knowledge.decide_on(knowledge.load([item.pk])[item.pk], requirement, on).value


def wanted(months: int = 6, mode: str = "replaces", **more: Any) -> Wanted:
    values: dict[str, Any] = {
        **{"requirement": "leak_test", "authority": "label", "on": TODAY},
        "data": LABEL | {"months": months, "mode": mode},
    }
    return Wanted(**(values | more))


def put(item: Any, *args: Any, **more: Any) -> Any:
    return make_setting(item, wanted(*args, **more), **act(item.site))


def test_a_label_that_is_stricter_needs_nobodys_reason(source):
    put(source)
    assert said(source).due_on == date(2026, 4, 1)
    assert said(source).row == "label.leak_test"
    assert said(source, TODAY - timedelta(1)).due_on == date(2027, 10, 1)


def test_a_setting_that_loosens_needs_reason_name_and_day(source):
    with pytest.raises(DomainError, match="loosening_needs_reason") as refused:
        put(source, 36)
    assert refused.value.field == "loosened_because"
    with pytest.raises(DomainError, match="decided_in_future"):
        put(source, 36, decided=replace(DECIDED, on=TODAY + timedelta(1)))
    record = put(source, 36, decided=DECIDED, document="letter of 4 Jan 2026")
    assert said(source).due_on == date(2028, 10, 1)
    (one,) = settings_of(source)
    assert (one.row.decided_by, one.row.decided_on) == ("A. Adviser", date(2026, 1, 4))
    assert one.detail["document"] == "letter of 4 Jan 2026"
    assert (record.setting.requirement, record.setting.authority) == ("leak_test", "label")


def test_one_that_is_asked_beside_the_schedule_can_only_tighten(source):
    put(source, 36, "adds")
    assert said(source).due_on == date(2027, 10, 1)


def test_one_in_the_place_of_a_stricter_one_loosens(source):
    put(source, 3, on=TODAY - timedelta(5))
    for more in ({"months": 12, "mode": "adds"}, {"months": 2, "until_on": TODAY + timedelta(9)}):
        with pytest.raises(DomainError, match="loosening_needs_reason"):
            put(source, **more)
    assert said(source).due_on == date(2026, 1, 1)
    put(source, 12, decided=DECIDED)
    assert said(source).due_on == date(2026, 10, 1)


def test_one_that_lasts_into_a_stricter_schedule_loosens(site, source):
    drafted(site)
    change_row(site, row_table(id="leak.default", months=3), **act(site))
    adopted(site)
    with pytest.raises(DomainError, match="loosening_needs_reason"):
        put(source, 12, on=TODAY - timedelta(30))
    put(source, 12, on=TODAY - timedelta(30), until_on=TODAY - timedelta(1))
    assert said(source).due_on == date(2026, 1, 1)


def test_a_setting_ends_on_its_last_day(source):
    put(source, until_on=TODAY + timedelta(10))
    assert said(source, TODAY + timedelta(10)).row == "label.leak_test"
    assert said(source, TODAY + timedelta(11)).row == "leak.default"
    assert settings_of(source)[0].until_on == TODAY + timedelta(10)


def test_a_later_one_of_the_same_authority_takes_its_place(source):
    put(source, on=TODAY - timedelta(5))
    put(source, 4)
    assert [(one.from_on, one.until_on) for one in settings_of(source)] == [
        (TODAY - timedelta(5), TODAY - timedelta(1)),
        (TODAY, None),
    ]
    assert said(source).due_on == date(2026, 2, 1)


def test_of_two_authorities_the_strictest_holds(source):
    put(source)
    put(source, 4, authority="permit")
    assert said(source).row == "permit.leak_test"


def test_two_of_one_authority_on_one_day_are_refused(source):
    first = put(source)
    with pytest.raises(DomainError, match="settings_contradict") as refused:
        put(source, 4)
    assert refused.value.values == {"seq": first.seq, "on": TODAY}


def test_a_setting_is_taken_back_with_a_reason(source):
    put(source)
    with pytest.raises(DomainError, match="taking_back_needs_reason"):
        take_back(source, "leak_test", "label", on=TODAY, reason=" ", **act(source.site))
    take_back(source, "leak_test", "label", on=TODAY, reason="misread", **act(source.site))
    assert said(source).row == "leak.default"
    with pytest.raises(DomainError, match="no_such_setting"):
        take_back(source, "leak_test", "label", on=TODAY, reason="again", **act(source.site))
    put(source, 4)
    assert said(source).due_on == date(2026, 2, 1)


def test_a_setting_of_a_gauge_holds_for_the_source_inside_it(site, source):
    gauge = factories.make_gauge(site)
    factories.install(source, gauge, date(2025, 11, 1))
    put(gauge)
    assert said(source).row == "label.leak_test.of-gauge"
    assert said(source).due_on == date(2026, 4, 1)
    assert not list(check_everything())


@pytest.mark.parametrize(
    ("more", "code"),
    [
        ({"requirement": "calibration"}, "requirement_not_of_item"),
        ({"requirement": "nothing"}, "requirement_not_of_item"),
        ({"authority": "template"}, "authority_unknown"),
        ({"mode": "exempts", "months": None}, "row_wrong"),
        ({"mode": "default"}, "setting_mode"),
        ({"on": TODAY + timedelta(1)}, "effective_in_future"),
        ({"until_on": TODAY - timedelta(1)}, "until_before_from"),
        ({"months": 10_000}, "row_wrong"),
    ],
)
def test_a_setting_that_cannot_be_is_refused(source, more, code):
    with pytest.raises(DomainError, match=code):
        put(source, **more)
    assert settings_of(source) == []


def test_the_same_form_sent_twice_writes_one_setting(source):
    key = uuid.uuid4()
    mine = act(source.site)
    one = make_setting(source, wanted(), request_key=key, **mine)
    assert make_setting(source, wanted(), request_key=key, **mine) == one


def test_only_the_supervisor_sets_and_confirms(source):
    technician = factories.make_user()
    factories.give_role(technician, source.site, Role.TECHNICIAN)
    with pytest.raises(DomainError, match="only_rps_decides"):
        make_setting(source, wanted(), by=technician, at=factories.tick())
    with pytest.raises(DomainError, match="only_rps_decides"):
        confirm_change(
            source, "leak_test", on=TODAY, reason="x", by=technician, at=factories.tick()
        )


# --- confirming what decay has changed ----------------------------------------------------------


def decayed_source(site: Any) -> Any:
    """A source that came down to what Alpha leaves out (10 kBq) after it was received."""
    return factories.make_source(
        site,
        activity_text="12 kBq",
        activity_bq=Decimal("12e3"),
        reference_text="2011-01-01",
        reference_on=date(2011, 1, 1),
        on=date(2012, 1, 1),
    )


@pytest.fixture
def decayed(site):
    return decayed_source(site)


def test_what_decay_has_changed_waits_for_a_named_person(site, decayed):
    assert (said(decayed).row, said(decayed).proposed) == ("leak.default", "leak.small")
    record = confirm_change(decayed, "leak_test", on=TODAY, reason="activity checked", **act(site))
    assert (said(decayed).state, said(decayed).row) == ("not_required", "leak.small")
    assert said(decayed, TODAY - timedelta(1)).row == "leak.default"
    assert (record.reason, record.confirmation.requirement) == ("activity checked", "leak_test")


def test_what_nobody_proposed_cannot_be_confirmed(site, source, decayed):
    with pytest.raises(DomainError, match="nothing_proposed"):
        confirm_change(source, "leak_test", on=TODAY, reason="x", **act(site))
    with pytest.raises(DomainError, match="nothing_proposed"):
        confirm_change(decayed, "leak_test", on=date(2012, 1, 1), reason="x", **act(site))
    with pytest.raises(DomainError, match="requirement_not_of_item"):
        confirm_change(decayed, "calibration", on=TODAY, reason="x", **act(site))
    with pytest.raises(DomainError, match="confirming_needs_reason"):
        confirm_change(decayed, "leak_test", on=TODAY, reason=" ", **act(site))
