"""Checks over several things, and what happened to a thing."""

from __future__ import annotations

import json
import uuid
from datetime import date, time
from typing import Any

import pytest

from config.accounts.models import Role
from inventory import knowledge
from inventory.calc.errors import DomainError
from inventory.evidence.actions import record_checks, record_happening
from inventory.evidence.entries import Check, Incident, Result
from inventory.evidence.kinds import checks_of, is_check, own_titles, subject_of, title_of
from inventory.evidence.models import CHECK_KINDS, CheckDone, Happening
from inventory.followups.actions import close_follow_up
from inventory.followups.models import FollowUp
from inventory.ledger.files import Upload
from inventory.ledger.models import Item, ItemKind, Record
from inventory.ledger.verify import check_everything
from inventory.ledger.write import About, Draft, Overtaken, last_seq, writing
from inventory.requirements.actions import accept
from inventory.rules.schema import CALIBRATION, HAPPENINGS, LEAK_TEST, REQUIREMENTS
from inventory.sentences import SENTENCES, WORDS
from tests import factories
from tests.factories import (
    make_gauge,
    make_location,
    make_monitor,
    make_permit,
    make_person,
    make_site,
    make_source,
    rps_of,
    tick,
)
from tests.inventory.asking import rows_of_every_table
from tests.pages import staff

pytestmark = pytest.mark.django_db

ON = date(2025, 6, 2)
ACCOUNTING = "accounting_check"


@pytest.fixture(scope="module")
def technician(site):
    return staff(site, Role.TECHNICIAN)


@pytest.fixture(scope="module")
def gauges(site):
    return [make_gauge(site, f"G-{number}") for number in (1, 2, 3)]


def checked(site: Any, check: Check, **act: Any) -> Record:
    how: dict[str, Any] = {"by": rps_of(site), "at": tick(), "accepted": True} | act
    return record_checks(site, check, **how)


def body_of(record: Record) -> dict[str, Any]:
    data: dict[str, Any] = json.loads(record.body)
    return data


def refused(site: Any, check: Check, **act: Any) -> DomainError:
    before = rows_of_every_table()
    with pytest.raises(DomainError) as caught:
        checked(site, check, **act)
    assert rows_of_every_table() == before
    assert caught.value.code in SENTENCES
    return caught.value


def define(site: Any, **kind: str) -> None:
    """A schedule with a kind of check that the site defines itself."""
    about = About(Item.objects.get(site=site, kind=ItemKind.SITE))
    old = Record.objects.get(site=site, kind=knowledge.SCHEDULE_KIND)
    detail = body_of(old)["detail"] | {"own_kinds": [kind]}
    with writing(site, by=rps_of(site), at=tick()) as ledger:
        ledger.append(Draft(knowledge.SCHEDULE_KIND, ON, [about], detail=detail, accepted=True))


# ---------------------------------------------------------------- one record over several things


def test_a_check_is_one_record_with_an_outcome_for_each_thing(site, gauges):
    first, second, third = gauges
    results = [
        Result(first, "pass"),
        Result(second, "fail", "the shutter sticks"),
        Result(third, "inconclusive", "no access"),
    ]
    check = Check("shutter_check", ON, results, "K. Keeper", document="Sheet 7", remark="shift B")
    record = checked(site, check)
    said = {mention.item: mention for mention in record.about.all()}
    assert {item: one.outcome for item, one in said.items()} == {
        **{first: "pass", second: "fail", third: "inconclusive"}
    }
    assert [one.item for one in said.values() if one.accuses] == [second]
    assert record.kind == "shutter_check"
    assert record.performed_by == "K. Keeper"
    assert (body_of(record)["remark"], CheckDone.objects.get(record=record).document) == (
        *("shift B", "Sheet 7"),
    )
    found = {point["item"]: point["found"] for point in body_of(record)["points"]}
    assert found[second.code] == "the shutter sticks"


def test_what_was_found_on_the_only_thing_stands_in_its_column(gauges):
    record = factories.record_check(gauges[0], "label_check", ON, found="legible")
    assert CheckDone.objects.get(record=record).found == "legible"


def test_a_whole_list_is_seen_in_one_accounting_check(site):
    sources = [make_source(site) for _ in range(3)]
    record = factories.record_check(sources, ACCOUNTING, ON)
    assert record.about.filter(outcome="pass").count() == 3


def test_who_did_it_is_the_person_at_the_form_where_nobody_else_is_named(site, gauges):
    assert factories.record_check(gauges[0], "label_check", ON).performed_by == rps_of(site).name


def test_a_file_goes_along(site, gauges):
    check = Check(
        *("shutter_check", ON, [Result(gauges[0], "pass")]),
        attachments=[Upload("sheet.pdf", b"%PDF-1.4 invented")],
    )
    assert checked(site, check).attachments.get().name == "sheet.pdf"


# ---------------------------------------------------------------- fails accuse, passes wait


def test_a_fail_opens_a_follow_up_accepted_or_not(site, gauges, technician):
    record = factories.record_check(
        gauges[:2], "shutter_check", ON, "fail", by=technician, act={"accepted": False}
    )
    opened = FollowUp.objects.filter(opened_by=record)
    assert {one.item for one in opened} == set(gauges[:2])
    assert {one.kind for one in opened} == {"shutter_check"}


def test_what_is_not_clear_accuses_only_where_somebody_says_so(site, gauges):
    factories.record_check(gauges[0], "shutter_check", ON, "inconclusive")
    assert not FollowUp.objects.exists()
    doubt = Result(gauges[0], "inconclusive", "smells burnt", accuses=True)
    checked(site, Check("shutter_check", ON, [doubt]))
    assert FollowUp.objects.get().item == gauges[0]


def test_a_source_that_was_not_seen_has_a_follow_up_that_closing_ends(site):
    source = make_source(site)
    record = factories.record_check(source, ACCOUNTING, ON, "fail")
    follow_up = FollowUp.objects.get(opened_by=record)
    close_follow_up(
        follow_up, by=rps_of(site), at=tick(), on=ON, reason="It was in the other store."
    )
    assert not FollowUp.objects.still_open().exists()


def test_a_technician_enters_and_the_supervisor_accepts(site, gauges, technician):
    entered = factories.record_check(
        gauges[0], "shutter_check", ON, by=technician, act={"accepted": False}
    )
    assert entered.accepted_by is None
    accept(entered, by=rps_of(site), at=tick())
    (event,) = [
        one
        for one in knowledge.load([gauges[0].pk])[gauges[0].pk].events
        if one.kind == entered.kind
    ]
    assert event.accepted


def test_only_the_supervisor_accepts_in_the_same_act(site, gauges, technician):
    check = Check("shutter_check", ON, [Result(gauges[0], "pass")])
    assert refused(site, check, by=technician).code == "only_rps_accepts"


def test_an_extension_is_valid_until_its_day_and_only_where_it_passed(site):
    granted, denied = make_source(site), make_source(site)
    results = [Result(granted, "pass"), Result(denied, "fail")]
    until = date(2030, 6, 30)
    check = Check("working_life", ON, results, valid_until=until, document="Letter 12")
    said = dict(checked(site, check).about.values_list("item", "valid_until"))
    assert said == {granted.pk: until, denied.pk: None}


# ---------------------------------------------------------------- what each check is made of


@pytest.mark.parametrize("requirement", CHECK_KINDS)
def test_every_check_is_recorded_of_its_kind_of_thing(site, requirement):
    made: dict[str, Any] = {
        "source": make_source,
        "gauge": make_gauge,
        "monitor": make_monitor,
        "location": make_location,
        "permit": make_permit,
        "person": make_person,
        "site": lambda site: Item.objects.get(site=site, kind=ItemKind.SITE),
    }
    item = made[REQUIREMENTS[requirement][0]](site)
    fields: dict[str, Any] = {"valid_until": date(2031, 1, 1), "document": "Letter 12"}
    record = factories.record_check(item, requirement, ON, **fields)
    assert (record.kind, record.about.get().item) == (requirement, item)
    assert is_check(requirement)
    assert f"requirement:{requirement}" in WORDS
    assert f"kind:{requirement}" in WORDS


@pytest.mark.parametrize("kind", [LEAK_TEST, CALIBRATION, "received", "happening", "described"])
def test_what_has_a_form_of_its_own_is_no_check_of_this_kind(site, kind):
    assert not is_check(kind)
    assert refused(site, Check(kind, ON, [Result(make_source(site), "pass")])).code == (
        "check_unknown"
    )


def test_a_check_that_the_site_defines_itself_is_recorded_under_its_title(site):
    define(site, name="own-ladder", title="Ladder check", subject="location")
    record = factories.record_check(make_location(site), "own-ladder", ON)
    assert (record.kind, title_of(site, "own-ladder")) == ("own-ladder", "Ladder check")
    assert subject_of(site, "own-ladder") == "location"
    assert CheckDone.objects.filter(record=record).exists()
    assert checks_of(site, "location")[-1] == "own-ladder"
    assert own_titles(site, ["own-ladder", "label_check"]) == {"own-ladder": "Ladder check"}


def test_a_check_of_its_own_that_the_site_does_not_know_is_refused(site):
    check = Check("own-ladder", ON, [Result(make_location(site), "pass")])
    assert refused(site, check).code == "check_unknown"


# ---------------------------------------------------------------- what is refused


def test_another_kind_of_thing_is_refused_and_its_place_named(site, gauges):
    check = Check(
        "shutter_check", ON, [Result(gauges[0], "pass"), Result(make_source(site), "pass")]
    )
    error = refused(site, check)
    assert (error.code, error.number) == ("check_of_another_kind", 1)


def test_a_thing_that_was_not_there_yet_is_refused(site):
    late = make_gauge(site, on=date(2025, 6, 3))
    error = refused(site, Check("shutter_check", ON, [Result(late, "pass")]))
    assert (error.code, error.number, error.field) == ("not_on_site_then", 0, "on")


def test_on_the_day_of_its_arrival_it_is_there(site):
    assert factories.record_check(make_gauge(site, on=ON), "shutter_check", ON)


def test_a_paper_or_a_place_is_there_whenever_it_was_described(site):
    assert factories.record_check(make_person(site), "training", date(2019, 5, 1))
    assert factories.record_check(make_location(site), "area_survey", date(2019, 5, 1))


@pytest.mark.parametrize(
    ("fields", "code"),
    [
        ({"on": date(2027, 1, 1)}, "effective_in_future"),
        ({"results": []}, "check_names_nothing"),
        ({"valid_until": date(2025, 6, 1)}, "valid_until_before_check"),
    ],
)
def test_what_cannot_be_so_is_refused(site, gauges, fields, code):
    said = {"on": ON, "results": [Result(gauges[0], "pass")]} | fields
    assert refused(site, Check("device_inspection", **said)).code == code


@pytest.mark.parametrize("outcome", ["", "not_evaluable", "seen"])
def test_only_what_can_come_of_a_check_is_recorded(site, gauges, outcome):
    error = refused(site, Check("shutter_check", ON, [Result(gauges[0], outcome)]))
    assert (error.code, error.number) == ("check_needs_outcome", 0)


def test_a_thing_stands_once_in_a_check(site, gauges):
    results = [Result(gauges[0], "pass"), Result(gauges[0], "fail")]
    assert refused(site, Check("shutter_check", ON, results)).code == "check_names_item_twice"


@pytest.mark.parametrize(
    ("fields", "code"),
    [
        ({"document": "Letter 12"}, "extension_needs_day"),
        ({"valid_until": date(2030, 1, 1)}, "extension_needs_document"),
        ({"valid_until": date(2030, 1, 1), "document": " "}, "extension_needs_document"),
    ],
)
@pytest.mark.parametrize("requirement", ["working_life", "special_form"])
def test_an_extension_names_its_last_day_and_its_document(site, requirement, fields, code):
    check = Check(requirement, ON, [Result(make_source(site), "pass")], **fields)
    assert refused(site, check).code == code


def test_an_extension_that_was_denied_needs_neither(site):
    assert factories.record_check(make_source(site), "working_life", ON, "fail")


def test_a_thing_of_another_site_is_refused(site):
    there = make_gauge(make_site())
    error = refused(site, Check("shutter_check", ON, [Result(there, "pass")]))
    assert error.code == "item_of_another_site"


# ---------------------------------------------------------------- twice, overtaken, corrected


def test_the_same_form_sent_twice_writes_once(site, gauges):
    check, key = Check("shutter_check", ON, [Result(gauges[0], "pass")]), uuid.uuid4()
    first, second = (checked(site, check, request_key=key) for _ in "12")
    assert first == second
    assert Record.objects.filter(kind="shutter_check").count() == 1


def test_what_another_recorded_meanwhile_is_told(site, gauges):
    seen = last_seq(site)
    theirs = factories.record_check(gauges[0], "label_check", ON)
    before = Record.objects.count()
    with pytest.raises(Overtaken) as caught:
        checked(site, Check("shutter_check", ON, [Result(gauges[0], "pass")]), seen=seen)
    assert caught.value.records == [theirs]
    assert Record.objects.count() == before


def test_a_correction_stands_in_the_place_of_what_was_wrong(site, gauges):
    old = factories.record_check(gauges[:2], "shutter_check", ON)
    results = [Result(gauges[1], "fail", "sticks"), Result(gauges[2], "pass")]
    check = Check("shutter_check", date(2025, 6, 1), results)
    new = checked(site, check, replaces=old, because="sheets mixed up")
    assert (new.replaces, new.reason) == (old, "sheets mixed up")
    roles = {mention.item: (mention.role, mention.outcome) for mention in new.about.all()}
    assert roles == {
        gauges[0]: ("withdrawn", ""),
        gauges[1]: ("subject", "fail"),
        gauges[2]: ("subject", "pass"),
    }


def test_a_fail_that_is_corrected_keeps_its_follow_up(site, gauges):
    old = factories.record_check(gauges[0], "shutter_check", ON, "fail")
    check = Check("shutter_check", ON, [Result(gauges[0], "pass")])
    checked(site, check, replaces=old, because="wrong gauge")
    assert FollowUp.objects.still_open().get().opened_by == old


@pytest.mark.parametrize(
    ("kind", "because", "code"),
    [
        ("shutter_check", "", "correction_needs_reason"),
        ("label_check", "misread", "correction_of_another_kind"),
    ],
)
def test_a_correction_says_why_and_is_of_the_same_kind(site, gauges, kind, because, code):
    old = factories.record_check(gauges[0], "shutter_check", ON)
    check = Check(kind, ON, [Result(gauges[0], "pass")])
    assert refused(site, check, replaces=old, because=because).code == code


# ---------------------------------------------------------------- what happened to a thing


def happened(incident: Incident, **act: Any) -> Record:
    how: dict[str, Any] = {"by": rps_of(incident.item.site), "at": tick()} | act
    return record_happening(incident, **how)


def unhappened(incident: Incident) -> str:
    before = rows_of_every_table()
    with pytest.raises(DomainError) as caught:
        happened(incident)
    assert rows_of_every_table() == before
    assert caught.value.code in SENTENCES
    return caught.value.code


@pytest.mark.parametrize("what", HAPPENINGS)
def test_what_happened_has_no_outcome_and_accuses_nobody(site, what):
    record = factories.record_happening(make_source(site), what, ON, remark="dropped")
    mention = record.about.get()
    assert (mention.outcome, mention.accuses, mention.valid_until) == ("", False, None)
    assert Happening.objects.get(record=record).what == what
    assert not FollowUp.objects.exists()
    assert f"what:{what}" in WORDS


def test_what_befalls_a_gauge_concerns_what_is_inside(site):
    gauge = make_gauge(site)
    source = make_source(site)
    factories.install(source, gauge, date(2022, 1, 1))
    incident = Incident(gauge, "damage", ON, also=[source, gauge], at_time=time(9, 30))
    record = happened(incident)
    assert {mention.item for mention in record.about.all()} == {gauge, source}
    assert record.effective_time == time(9, 30)


def test_a_technician_records_it_and_it_acts_at_once(site, technician):
    record = factories.record_happening(make_source(site), "damage", ON, by=technician)
    assert record.recorded_by == technician


def test_it_happens_to_things_that_are_there(site):
    late = make_source(site, on=date(2025, 6, 3))
    assert unhappened(Incident(late, "damage", ON)) == "not_on_site_then"
    assert unhappened(Incident(late, "damage", date(2027, 1, 1))) == "effective_in_future"
    assert unhappened(Incident(late, "explosion", ON)) == "happening_needs_what"
    assert unhappened(Incident(make_location(site), "damage", ON)) == "happening_to_another_kind"


def test_it_is_written_once_and_corrected_by_another_record(site):
    first, second = make_source(site), make_source(site)
    key = uuid.uuid4()
    incident = Incident(first, "damage", ON)
    old, again = (happened(incident, request_key=key) for _ in "12")
    assert old == again
    new = happened(Incident(second, "repair", ON), replaces=old, because="it was the other one")
    roles = {mention.item: mention.role for mention in new.about.all()}
    assert roles == {first: "withdrawn", second: "subject"}
    assert Happening.objects.get(record=new).what == "repair"


def test_everything_that_was_written_can_be_made_again_from_its_text(site, gauges):
    define(site, name="own-ladder", title="Ladder check", subject="location")
    old = factories.record_check(gauges, "shutter_check", ON, "fail", found="sticks")
    check = Check("shutter_check", ON, [Result(gauges[0], "pass")])
    checked(site, check, replaces=old, because="misread")
    factories.record_check(make_location(site), "own-ladder", ON)
    factories.record_happening(gauges[0], "damage", ON, also=[make_source(site)])
    make_permit(site, valid_until=date(2027, 1, 1))
    make_person(site)
    assert list(check_everything()) == []
