"""Pages on which checks and happenings are recorded, shown, accepted and corrected."""

from __future__ import annotations

import uuid
from datetime import date
from typing import Any

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse

from config.accounts.models import Role
from inventory.custody.actions import Movement, move
from inventory.evidence import views
from inventory.evidence.models import CheckDone
from inventory.followups.models import FollowUp
from inventory.ledger.models import Item, ItemKind, Record
from inventory.ledger.write import last_seq
from inventory.requirements.actions import set_schedule
from inventory.timeline import RequirementSpan
from tests import factories
from tests.factories import (
    make_gauge,
    make_location,
    make_monitor,
    make_person,
    make_source,
    rps_of,
    tick,
)
from tests.inventory.asking import rows_of_every_table
from tests.pages import TODAY, Page, browser, staff, stop_clock

pytestmark = pytest.mark.django_db

ON = date(2025, 12, 1)
SHUTTER, ACCOUNTING = "shutter_check", "accounting_check"


@pytest.fixture(autouse=True)
def clock(monkeypatch):
    stop_clock(monkeypatch)


@pytest.fixture
def rps(site):
    return browser(rps_of(site))


@pytest.fixture
def technician(site):
    return browser(staff(site, Role.TECHNICIAN, "technician"))


@pytest.fixture(scope="module")
def hall(site):
    return make_location(site, "Hall")


@pytest.fixture(scope="module")
def gauges(site, hall):
    return [make_gauge(site, f"G-{number}", at=hall) for number in (1, 2, 3)]


def check(requirement: str = SHUTTER, query: str = "") -> str:
    return reverse("check-new", args=["thornmere", requirement]) + query


def happening(item: Item) -> str:
    return reverse("happening-new", args=["thornmere", item.code])


def correction(record: Record, query: str = "") -> str:
    return reverse("record-correct", args=["thornmere", record.seq]) + query


def sent(results: dict[Item, str] | None = None, **fields: Any) -> dict[str, Any]:
    """What the form sends: an outcome by thing, and what stands below the list."""
    said = {f"{item.code}-result": outcome for item, outcome in (results or {}).items()}
    form = {"request_key": str(uuid.uuid4()), "seen": "9999", "on": "2026-02-20"}
    return form | said | fields


def shown(client: Any, where: str) -> Page:
    response = client.get(where)
    assert response.status_code == 200, where
    page = Page(response)
    assert page.faults == []
    return page


def written(client: Any, where: str, entry: dict[str, Any]) -> Record:
    before = Record.objects.count()
    response = client.post(where, entry)
    assert response.status_code == 302, Page(response).text
    assert Record.objects.count() == before + 1
    record = Record.objects.latest("pk")
    assert response["Location"] == reverse("record", args=["thornmere", record.seq])
    return record


def refusal(client: Any, where: str, entry: dict[str, Any]) -> str:
    before = rows_of_every_table()
    response = client.post(where, entry)
    assert response.status_code == 200
    assert rows_of_every_table() == before
    page = Page(response)
    assert page.faults == []
    return page.text


def page_of(client: Any, item: Item) -> Page:
    return shown(client, reverse("item", args=["thornmere", item.code]))


def outcomes(record: Record) -> dict[Item, str]:
    return {mention.item: mention.outcome for mention in record.about.all() if mention.outcome}


# ---------------------------------------------------------------- the list


def test_the_list_names_every_thing_of_its_kind_under_its_place(site, technician, gauges):
    store = make_location(site, "Store")
    other = make_gauge(site, "G-9", at=store)
    monitor = make_monitor(site, tag="WC-1")
    page = shown(technician, check())
    for gauge in (*gauges, other):
        assert f"{gauge.code}-result" in page.html
    assert monitor.code not in page.html
    heads = [page.html.index(f">{text}</h2>") for text in ("Hall", "Store")]
    rows = [page.html.index(f"{gauge.code}-result") for gauge in (*gauges, other)]
    assert heads[0] < rows[0] < rows[1] < rows[2] < heads[1] < rows[3]


def test_the_list_is_narrowed_to_a_place_and_what_lies_in_it(site, technician, hall, gauges):
    bay = make_location(site, "Bay", within=hall.code)
    inner, elsewhere = make_gauge(site, "G-8", at=bay), make_gauge(site, "G-9")
    page = shown(technician, check(query=f"?place={hall.code}"))
    for gauge in (*gauges, inner):
        assert gauge.code in page.html
    assert elsewhere.code not in page.html


def test_a_list_of_places_is_narrowed_as_well(site, technician, hall):
    bay, other = make_location(site, "Bay", within=hall.code), make_location(site, "Yard")
    page = shown(technician, check("area_survey", f"?place={hall.code}"))
    assert f"{bay.code}-result" in page.html
    assert f"{other.code}-result" not in page.html


def test_the_list_of_a_day_holds_what_was_there_then(site, technician, gauges):
    late = make_gauge(site, "G-9", on=date(2025, 12, 2))
    page = shown(technician, check(query="?on=2025-12-01"))
    assert late.code not in page.html
    assert 'value="2025-12-01"' in page.html
    assert late.code in shown(technician, check()).html


def test_it_can_be_opened_for_some_things_alone(technician, gauges):
    page = shown(technician, check(query=f"?item={gauges[0].code}&item={gauges[2].code.lower()}"))
    assert gauges[0].code in page.html
    assert gauges[2].code in page.html
    assert gauges[1].code not in page.html
    assert check() in page.links()


def test_an_accounting_check_asks_of_every_source_whether_it_was_seen(site, technician, hall):
    sources = [make_source(site, to=hall) for _ in range(2)]
    page = shown(technician, check(ACCOUNTING))
    assert "Accounting check" in page.text
    assert page.text.count("not looked at") == page.text.count("not seen") == len(sources)
    assert check(ACCOUNTING) in shown(technician, reverse("sources", args=["thornmere"])).links()


def test_what_does_not_fit_one_page_is_said(technician, gauges, monkeypatch):
    monkeypatch.setattr(views, "MOST", 2)
    page = shown(technician, check())
    assert "1 more does not fit this page" in page.text
    assert gauges[2].code not in page.html


def test_a_list_of_nothing_says_so(bare):
    page = shown(browser(rps_of(bare)), reverse("check-new", args=["bare", SHUTTER]))
    assert "There is nothing here of which this is asked." in page.text


@pytest.mark.parametrize("requirement", ["leak_test", "calibration", "own-ladder", "nonsense"])
def test_what_is_no_check_here_has_no_page(rps, requirement):
    assert rps.get(check(requirement)).status_code == 404


def test_a_thing_of_another_kind_or_site_is_not_found(site, rps, gauges):
    there = make_gauge(factories.make_site())
    for code in (make_source(site).code, there.code, "NOTHING1"):
        assert rps.get(check(query=f"?item={code}")).status_code == 404


# ---------------------------------------------------------------- recording


def test_a_technician_records_what_came_of_each(technician, gauges):
    entry = sent({gauges[0]: "pass", gauges[1]: "fail", gauges[2]: ""}, document="Sheet 7")
    entry[f"{gauges[1].code}-found"] = "sticks"
    record = written(technician, check(), entry)
    assert outcomes(record) == {gauges[0]: "pass", gauges[1]: "fail"}
    assert (record.effective_on, record.accepted_by) == (date(2026, 2, 20), None)
    assert FollowUp.objects.get().item == gauges[1]
    page = shown(technician, reverse("record", args=["thornmere", record.seq]))
    assert "Shutter check" in page.text
    assert "Not in order: sticks." in page.text
    assert "Sheet 7" in page.text
    assert "Accepted not yet" in page.text


def test_the_supervisor_accepts_in_the_same_act_or_later(site, rps, technician, gauges):
    at_once = written(rps, check(), sent({gauges[0]: "pass"}, accept="on"))
    assert at_once.accepted_by == rps_of(site)
    entered = written(technician, check(), sent({gauges[1]: "pass"}))
    where = reverse("record-accept", args=["thornmere", entered.seq])
    assert where in shown(rps, reverse("record", args=["thornmere", entered.seq])).links()
    assert rps.post(where, sent(reason="")).status_code == 302
    text = shown(rps, reverse("record", args=["thornmere", entered.seq])).text
    assert f"by {rps_of(site).name} on 2 Mar 2026" in text


def test_a_technician_cannot_accept_by_a_forged_form(technician, gauges):
    assert written(technician, check(), sent({gauges[0]: "pass"}, accept="on")).accepted_by is None


def test_seen_and_not_seen_are_recorded_and_the_rest_stays_as_it_was(site, technician, hall):
    seen, gone, nobody = (make_source(site, to=hall) for _ in range(3))
    record = written(technician, check(ACCOUNTING), sent({seen: "pass", gone: "fail", nobody: ""}))
    assert outcomes(record) == {seen: "pass", gone: "fail"}
    assert "Not where it should be." in page_of(technician, gone).text
    assert "Seen." in page_of(technician, seen).text
    assert "Not where it should be." not in page_of(technician, nobody).text


def test_an_extension_says_until_when_and_where_it_is_written(site, rps):
    source = make_source(site)
    fields = {"valid_until": "2030-06-30", "document": "Letter 12", "performed_by": "An adviser"}
    record = written(
        rps, check("working_life", f"?item={source.code}"), sent({source: "pass"}, **fields)
    )
    assert record.about.get().valid_until == date(2030, 6, 30)
    assert "Holds until 30 Jun 2030." in page_of(rps, source).text


def test_what_a_person_was_trained_in_may_end(rps, site):
    person = make_person(site)
    fields = {"valid_until": "2028-02-20"}
    written(rps, check("training", f"?item={person.code}"), sent({person: "pass"}, **fields))
    assert "Done, holds until 20 Feb 2028." in page_of(rps, person).text
    assert "valid_until" not in shown(rps, check()).html


def test_a_photo_goes_along(technician, gauges):
    file = SimpleUploadedFile("note.txt", b"seen on paper")
    record = written(technician, check(), sent({gauges[0]: "pass"}, file=file))
    assert record.attachments.get().name == "note.txt"


def test_what_was_answered_is_kept_although_it_was_moved_meanwhile(site, technician, hall, gauges):
    entry = sent({gauges[0]: "fail", gauges[1]: "pass"})
    away = Movement("moved", gauges[0], make_location(site, "Yard"), ON)
    move(away, by=rps_of(site), at=tick())
    where = check(query=f"?place={hall.code}")
    assert gauges[0].code not in shown(technician, where).html
    assert outcomes(written(technician, where, entry)) == {gauges[0]: "fail", gauges[1]: "pass"}


def test_the_same_form_sent_twice_writes_once(technician, gauges):
    entry = sent({gauges[0]: "pass"})
    answers = [technician.post(check(), entry)["Location"] for _ in "12"]
    assert answers[0] == answers[1]
    assert Record.objects.filter(kind=SHUTTER).count() == 1


def test_the_same_form_with_another_outcome_is_another_act(technician, gauges):
    entry = sent({gauges[0]: "pass"})
    written(technician, check(), entry)
    written(technician, check(), entry | {f"{gauges[0].code}-result": "fail"})
    assert Record.objects.filter(kind=SHUTTER).count() == 2


def test_what_another_recorded_meanwhile_is_told_and_then_it_is_saved(site, technician, gauges):
    entry = sent({gauges[0]: "pass"}, seen=str(last_seq(site)))
    factories.record_check(gauges[0], "label_check", ON)
    assert "Meanwhile somebody else recorded about the same" in refusal(technician, check(), entry)
    entry["seen"] = str(last_seq(site))
    written(technician, check(), entry)


@pytest.mark.parametrize(
    ("fields", "said"),
    [
        ({"on": "2026-03-03"}, "lies in the future"),
        ({"on": ""}, "Done on: This field is required."),
        ({"on": "2019-01-01"}, "G-1 was not on site on 1 Jan 2019."),
        ({"file": SimpleUploadedFile("x.exe", b"MZ\x00\x01")}, "is none of these"),
    ],
)
def test_it_says_what_cannot_be_so(technician, gauges, fields, said):
    assert said in refusal(technician, check(), sent({gauges[0]: "pass"}, **fields))


def test_a_form_on_which_nothing_was_ticked_is_not_saved(technician, gauges):
    said = "Say of at least one of them what was found."
    assert said in refusal(technician, check(), sent(dict.fromkeys(gauges, "")))


def test_words_about_something_that_was_not_done_are_asked_about(technician, gauges):
    entry = sent({gauges[0]: "pass", gauges[1]: ""}) | {f"{gauges[1].code}-found": "rusty"}
    assert "Say what came of it for G-2." in refusal(technician, check(), entry)


def test_an_outcome_that_there_is_none_of_is_not_taken(technician, gauges):
    assert "is not one of the available choices" in refusal(
        technician, check(), sent({gauges[0]: "perhaps"})
    )


# ---------------------------------------------------------------- where it is offered


def test_the_page_of_a_thing_offers_the_checks_that_can_be_made_of_it(site, technician, gauges):
    links = page_of(technician, gauges[0]).links()
    assert check(SHUTTER, f"?item={gauges[0].code}") in links
    assert check(ACCOUNTING, f"?item={gauges[0].code}") not in links
    assert happening(gauges[0]) in links
    reader = browser(staff(site, Role.INSPECTOR))
    assert not [link for link in page_of(reader, gauges[0]).links() if "/checks/" in link]


def test_the_site_has_a_page_on_which_its_reviews_are_recorded(site, rps):
    there = Item.objects.get(site=site, kind=ItemKind.SITE)
    where = check("local_rules_review", f"?item={there.code}")
    assert where in page_of(rps, there).links()
    written(rps, where, sent({there: "pass"}))
    assert "Review of the local rules" in page_of(rps, there).text


@pytest.fixture
def asked(site):
    """A schedule that asks for checks of every kind."""
    set_schedule(
        *(site,), by=rps_of(site), at=tick(), rule_set="gb", version=2, from_on=date(2020, 1, 1)
    )


def spans(item: Item, requirement: str) -> str:
    rows: Any = RequirementSpan.objects.with_state(TODAY)
    state: str = rows.get(item=item, requirement=requirement).state_on
    return state


def test_the_line_of_what_needs_doing_leads_to_the_check(site, asked, technician):
    source = make_source(site)
    there = reverse("due", args=["thornmere"])
    where = check(ACCOUNTING, f"?item={source.code}")
    assert spans(source, ACCOUNTING) == "never_done"
    assert where in shown(technician, there).links()
    factories.record_check(source, ACCOUNTING, date(2026, 1, 2))
    assert spans(source, ACCOUNTING) != "never_done"


def test_a_check_that_was_entered_counts_once_it_is_accepted(site, asked, rps, technician):
    source = make_source(site)
    record = written(technician, check(ACCOUNTING), sent({source: "pass"}))
    assert spans(source, ACCOUNTING) == "never_done"
    rps.post(reverse("record-accept", args=["thornmere", record.seq]), sent(reason=""))
    assert spans(source, ACCOUNTING) == "good"
    assert "good" in shown(technician, check(ACCOUNTING)).text.casefold()


def test_one_that_was_not_seen_is_failed_until_its_follow_up_is_closed(site, asked, technician):
    source = make_source(site)
    written(technician, check(ACCOUNTING), sent({source: "fail"}))
    assert spans(source, ACCOUNTING) == "failed"


def test_a_thing_of_which_it_is_not_asked_is_not_on_the_list(site, technician):
    first, second = make_gauge(site, "G-1"), make_gauge(site, "G-2")
    span = {"site": site, "requirement": SHUTTER, "from_on": date(2021, 1, 1)}
    RequirementSpan.objects.create(item=first, state="not_required", **span)
    page = shown(technician, check())
    assert f"{first.code}-result" not in page.html
    assert f"{second.code}-result" in page.html
    assert first.code in shown(technician, check(query=f"?item={first.code}")).html


def test_what_happened_calls_for_a_test_at_once(site, asked, technician):
    source, counter = make_source(site), make_monitor(site, tag="WC-1")
    factories.record_wipe(source, counter, date(2025, 12, 2))
    before = spans(source, "leak_test")
    written(technician, happening(source), sent(what="damage"))
    assert (before, spans(source, "leak_test")) == ("good", "late")


# ---------------------------------------------------------------- corrections


def test_a_correction_starts_from_what_was_entered(technician, gauges):
    old = factories.record_check(gauges[:2], SHUTTER, ON, found="moves freely", document="Sheet 7")
    page = shown(technician, correction(old))
    boxes = [one for one in page.all("input") if one.get("type") == "radio" and "checked" in one]
    assert {one["name"]: one["value"] for one in boxes} == {
        f"{gauge.code}-result": "pass" for gauge in gauges[:2]
    }
    assert "moves freely" in page.html
    assert "Sheet 7" in page.html
    assert gauges[2].code not in page.html
    assert gauges[2].code in shown(technician, correction(old, "?whole=1")).html


def test_a_correction_replaces_and_both_stay_visible(technician, gauges):
    old = factories.record_check(gauges[0], SHUTTER, ON)
    entry = sent({gauges[0]: "", gauges[1]: "pass"}, because="wrong gauge")
    new = written(technician, correction(old, "?whole=1"), entry)
    assert (new.replaces, outcomes(new)) == (old, {gauges[1]: "pass"})
    text = page_of(technician, gauges[0]).text
    assert "This check turned out not to be of it." in text
    assert "wrong gauge" in text
    assert "wrong gauge" in shown(technician, reverse("record", args=["thornmere", old.seq])).text


def test_a_correction_needs_its_reason_and_is_made_once(technician, gauges):
    old = factories.record_check(gauges[0], SHUTTER, ON)
    entry = sent({gauges[0]: "fail"})
    assert "Why the earlier record is corrected" in refusal(technician, correction(old), entry)
    entry["because"] = "misread"
    written(technician, correction(old), entry)
    before = Record.objects.count()
    technician.post(correction(old), sent({gauges[0]: "pass"}, because="misread"))
    assert Record.objects.count() == before


def test_a_thing_that_has_left_is_still_on_the_page_of_its_correction(site, rps):
    person = make_person(site)
    old = factories.record_check(person, "training", ON)
    assert CheckDone.objects.filter(record=old).exists()
    assert f"{person.code}-result" in shown(rps, correction(old, "?whole=1")).html


# ---------------------------------------------------------------- something happened


def test_what_happened_is_recorded_with_what_is_inside(site, technician, gauges):
    source = make_source(site)
    factories.install(source, gauges[0], date(2022, 1, 1))
    page = shown(technician, happening(gauges[0]))
    (box,) = [one for one in page.all("input") if one.get("name") == "also"]
    assert box["value"] == source.code
    assert "checked" in box
    entry = sent(what="damage", also=[source.code], at_time="09:30", remark="A hook hit it.")
    record = written(technician, happening(gauges[0]), entry)
    assert {mention.item for mention in record.about.all()} == {gauges[0], source}
    assert "Damage, or suspected damage. A hook hit it." in page_of(technician, source).text
    text = shown(technician, reverse("record", args=["thornmere", record.seq])).text
    assert "Something happened" in text
    assert "09:30" in text


def test_only_what_is_inside_can_be_concerned(site, technician, gauges):
    stranger = make_source(site)
    factories.install(make_source(site), gauges[0], date(2022, 1, 1))
    entry = sent(what="damage", also=[stranger.code])
    assert "is not one of the available choices" in refusal(technician, happening(gauges[0]), entry)


def test_it_is_put_right_on_its_own_page(site, technician, gauges):
    source = make_source(site)
    factories.install(source, gauges[0], date(2022, 1, 1))
    old = factories.record_happening(gauges[0], "damage", ON, also=[source], remark="a hook")
    page = shown(technician, correction(old))
    assert "a hook" in page.html
    entry = sent(what="repair", because="it was repaired, not damaged")
    new = written(technician, correction(old), entry)
    roles = {mention.item: mention.role for mention in new.about.all()}
    assert roles == {gauges[0]: "subject", source: "withdrawn"}
    assert "It turned out not to concern it." in page_of(technician, source).text


@pytest.mark.parametrize(
    ("fields", "said"),
    [
        ({"what": ""}, "What happened: This field is required."),
        ({"what": "flood"}, "is not one of the available choices"),
        ({"what": "damage", "on": "2026-03-03"}, "lies in the future"),
        ({"what": "damage", "on": "2019-01-01"}, "was not on site on 1 Jan 2019."),
    ],
)
def test_what_cannot_have_happened_is_refused(technician, gauges, fields, said):
    assert said in refusal(technician, happening(gauges[0]), sent(**fields))


def test_nothing_happens_to_a_place(site, technician, hall):
    assert technician.get(happening(hall)).status_code == 404
    assert happening(hall) not in page_of(technician, hall).links()


def test_whoever_only_reads_records_nothing(site, gauges):
    reader = browser(staff(site, Role.MANAGER))
    for where in (check(), happening(gauges[0])):
        assert reader.get(where).status_code == 403
        assert reader.post(where, sent()).status_code == 403
    assert TODAY > ON
