"""The pages of the schedule: read, gone through, changed, adopted; what is set for one thing."""

from __future__ import annotations

import re
import uuid
from datetime import date, timedelta
from typing import Any

import pytest
from django.urls import reverse

from config.accounts.models import Role
from inventory.ledger.models import Record
from inventory.schedule import actions, other_parts
from inventory.schedule.settings import settings_of
from inventory.schedule.versions import draft_of, in_force, versions
from tests import factories
from tests.inventory.rules.invented import row_table, rules_in
from tests.inventory.schedule.test_settings import decayed_source, put
from tests.inventory.schedule.world import act, adopted, drafted, go_through, make_site
from tests.pages import TODAY, Page, browser, staff, stop_clock

pytestmark = pytest.mark.django_db
WHY = {"loosened_because": "clean", "decided_by": "A. Adviser", "decided_on": "2026-03-01"}


@pytest.fixture(autouse=True)
def rules(tmp_path, monkeypatch):
    stop_clock(monkeypatch)
    with rules_in(tmp_path):
        yield


@pytest.fixture
def site():
    return make_site(slug="thornmere")


@pytest.fixture
def rps(site):
    return browser(factories.rps_of(site))


def at(name: str, *args: Any) -> str:
    return reverse(name, args=["thornmere", *args])


def read(client: Any, address: str, status: int = 200) -> Page:
    response = client.get(address)
    assert response.status_code == status, address
    page = Page(response)
    assert page.faults == []
    return page


def send(client: Any, address: str, **data: Any) -> Any:
    form = {"request_key": str(uuid.uuid4()), "seen": "9999"}
    return client.post(address, form | data)


def refused(response: Any) -> str:
    assert response.status_code == 200
    page = Page(response)
    assert "Nothing was recorded" in page.text
    return page.text


def row_form(**more: Any) -> dict[str, Any]:
    """What a good form of a row sends: an interval of six months."""
    values = {
        **{"result": "interval", "months": "6", "mode": "default", "authority": "site"},
        **{"ends": "anniversary", "late_from": "test", "stored_comparator": "at_least"},
        **{"lead_days": "30", "document": "Own rules", "clause": "3", "known_by": "own"},
    }
    return values | more


# --- reading ------------------------------------------------------------------------------------


def test_a_row_is_a_sentence_with_authority_clause_and_how_it_is_known(site, rps):
    text = read(rps, at("schedule")).text
    assert "Draft schedule: Alpha, version 1. Nobody has adopted it for this site." in text
    assert "Every 24 months. Warned 30 days before." in text
    assert "Rule set: Alpha rules, 7 (a), own choice." in text
    assert "Not required, where its activity is below the value in “Free in Alpha”." in text
    assert "Exempts: sets the others aside." in text
    assert "ends no permit and allows no disposal" in text
    assert "A wipe fails above 185 Bq." in text
    assert "Supervisor keeper" in text


def test_what_the_schedule_says_nothing_about_is_named(rps):
    text = read(rps, at("schedule")).text
    silent = text.partition("What the schedule says nothing about")[2].partition("Limit of")[0]
    assert "shutter check" in silent
    assert "leak test" not in silent


def test_a_site_without_a_schedule_says_so_and_offers_to_begin(rps, site):
    factories.make_site("bare", schedule=False)
    bare = browser(staff(factories.make_site("barer", schedule=False), Role.RPS))
    page = read(bare, reverse("schedule", args=["barer"]))
    assert "no interval is decided" in page.text
    assert reverse("schedule-rule-sets", args=["barer"]) in page.links()


def test_an_adopted_schedule_says_when_it_is_looked_at_again_and_who_went_through_what(site, rps):
    drafted(site)
    adopted(site, review_on=TODAY - timedelta(1), note="after the audit")
    page = read(rps, at("schedule"))
    assert "adopted on 5 Jan 2026 by A. Adviser" in page.text
    assert "after the audit" in page.text
    assert f"Gone through by {factories.rps_of(site).name} on 5 Jan 2026." in page.text
    late = '<span class="state state-late">To be looked at again by 1 Mar 2026.</span>'
    assert late in page.html


def test_an_earlier_schedule_and_one_to_come_can_be_read(site, rps):
    drafted(site)
    coming = adopted(site, from_on=date(2027, 1, 1))
    now = read(rps, at("schedule"))
    assert "To come, on 1 Jan 2027:" in now.text
    later = read(rps, f"{at('schedule')}?record={coming.seq}")
    assert "This is not the schedule in force today." in later.text
    assert "In force from 1 Jan 2027." in later.text
    assert rps.get(f"{at('schedule')}?record=99999").status_code == 404
    assert "Nothing on the site" in read(rps, at("schedule-effects")).text


def test_what_differs_from_the_rule_set_is_said_field_by_field(site, rps):
    drafted(site)
    actions.change_row(site, row_table(id="leak.default", months=3), **act(site))
    text = read(rps, f"{at('schedule-differences')}?of=draft").text
    assert "Differs from the rule set: stricter." in text
    assert "Before Every 24 months. Now Every 3 months." in text
    assert "Months 24 3" in text
    assert "2 rows are as their rule set has them." in text
    assert "Every row is as its rule set has it." in read(rps, at("schedule-differences")).text


def test_a_technician_reads_and_is_offered_nothing_to_decide(site):
    drafted(site)
    page = read(browser(staff(site, Role.TECHNICIAN)), at("schedule"))
    assert at("schedule-draft") not in page.links()
    assert "A draft of the next schedule is open." in page.text


# --- going through ------------------------------------------------------------------------------


def digest_in(page: Page, row_id: str) -> str:
    return re.search(rf'value="({re.escape(row_id)}\|[0-9a-f]+)"', page.html)[1]


def test_rows_are_gone_through_one_after_the_other(site, rps):
    assert send(rps, at("schedule-draft"), do="open").status_code == 302
    page = read(rps, at("schedule-draft"))
    assert "0 of 3 rows have been gone through." in page.text
    address = at("schedule-row", "leak.default")
    assert address in page.links()
    for row_id, following in (
        ("leak.default", at("schedule-row", "leak.small")),
        ("leak.small", at("schedule-row", "calibration.default")),
        ("calibration.default", at("schedule-draft")),
    ):
        page = read(rps, at("schedule-row", row_id))
        sent = {"row": digest_in(page, row_id), "who": "A. Adviser"}
        assert send(rps, at("schedule-row", row_id), **sent)["Location"] == following
    assert draft_of(site).rows_left == []
    assert draft_of(site).detail["reviewed"]["leak.small"] == {
        "by": "A. Adviser",
        "on": TODAY.isoformat(),
    }
    assert "Every row has been gone through." in read(rps, at("schedule-draft")).text


def test_ticked_rows_are_gone_through_at_once(site, rps):
    drafted(site)
    page = read(rps, at("schedule-draft"))
    rows = [digest_in(page, row_id) for row_id in ("leak.default", "leak.small")]
    send(rps, at("schedule-draft"), do="review", row=rows, who="")
    assert [row.id for row in draft_of(site).rows_left] == ["calibration.default"]
    text = refused(send(rps, at("schedule-draft"), do="review"))
    assert "Tick the rows that were gone through." in text


def test_a_row_that_was_changed_after_it_was_shown_is_shown_again(site, rps):
    drafted(site)
    row = digest_in(read(rps, at("schedule-row", "leak.default")), "leak.default")
    actions.change_row(site, row_table(id="leak.default", months=3), **act(site))
    text = refused(send(rps, at("schedule-row", "leak.default"), row=row))
    assert "Row leak.default was changed meanwhile" in text
    assert "Every 3 months." in text


def test_two_people_go_through_different_rows_at_a_time(site, rps):
    drafted(site)
    page = read(rps, at("schedule-draft"))
    for row_id in ("leak.default", "leak.small"):
        row = digest_in(page, row_id)
        assert send(rps, at("schedule-row", row_id), row=row, seen="0").status_code == 302
    assert len(draft_of(site).rows_left) == 1


def test_there_is_no_page_of_a_row_without_a_draft(site, rps):
    for name in ("schedule-row", "schedule-row-change", "schedule-row-remove"):
        assert rps.get(at(name, "leak.default")).status_code == 404
    for name in ("schedule-row-new", "schedule-kind-new", "schedule-adopt", "schedule-effects"):
        assert rps.get(at(name)).status_code == 404
    drafted(site)
    assert rps.get(at("schedule-row", "leak.nothing")).status_code == 404


def test_a_draft_is_discarded(site, rps):
    drafted(site)
    assert send(rps, at("schedule-draft"), do="discard")["Location"] == at("schedule")
    assert draft_of(site) is None


# --- changing -----------------------------------------------------------------------------------


def test_a_row_is_tightened_on_its_page(site, rps):
    drafted(site)
    page = read(rps, at("schedule-row-change", "leak.default"))
    assert 'name="months" value="24"' in page.html
    answer = send(rps, at("schedule-row-change", "leak.default"), **row_form(months="12"))
    assert answer["Location"] == at("schedule-row", "leak.default")
    assert draft_of(site).rules.rows[0].months == 12
    text = read(rps, at("schedule-row", "leak.default")).text
    assert "Beside the rule set: stricter" in text
    assert "The site itself: Own rules, 3, own choice." in text


def test_a_row_is_loosened_only_with_reason_name_and_day(site, rps):
    drafted(site)
    address = at("schedule-row-change", "leak.default")
    text = refused(send(rps, address, **row_form(months="36")))
    assert "Why it may be looser: This loosens: it needs the reason" in text
    assert send(rps, address, **row_form(months="36"), **WHY).status_code == 302
    text = read(rps, at("schedule-row", "leak.default")).text
    assert "Decided by A. Adviser on 1 Mar 2026: clean." in text


def test_what_cannot_be_a_row_is_said_beside_its_field(site, rps):
    drafted(site)
    address = at("schedule-row-change", "leak.default")
    assert "Every so many months: This answer needs it." in refused(
        send(rps, address, **row_form(months=""))
    )
    assert "Ensure this value is less than or equal to 600" in refused(
        send(rps, address, **row_form(months="10000"))
    )
    assert "Which date: This answer needs it." in refused(
        send(rps, address, **row_form(result="until", months=""))
    )
    assert "After: Tick at least one." in refused(
        send(rps, address, **row_form(result="entry", entry="happening"))
    )


CONDITIONS = [
    ({"name": "activity_bq", "how": "below", "value": "50 MBq"}, "its activity is below 50.0 MBq"),
    ({"name": "gas", "how": "is", "value": "yes"}, "it is a gas"),
    ({"name": "gas", "how": "is", "value": "no"}, "it is not a gas"),
    ({"name": "nuclide", "how": "is", "value": "H-3, Kr-85"}, "the nuclide is H-3 or Kr-85"),
    ({"name": "keeping", "how": "is", "value": "Kept in storage"}, "it is kept in storage"),
    ({"name": "use", "how": "is", "value": "anything but shielding"}, "anything but shielding"),
    ({"name": "age_months", "how": "at_least", "value": "180"}, "it is at least 15 years old"),
    (
        {"name": "quotient", "how": "at_most", "value": "2", "of": "free"},
        "its activity is at most 2 times the value in “Free in Alpha”",
    ),
    (
        {"name": "series", "how": "is", "value": "6", "of": "function_check"},
        "records of “function check” have no gap longer than 6 months since the last test",
    ),
]


@pytest.mark.parametrize(("slot", "said"), CONDITIONS)
def test_a_condition_is_written_in_words(site, rps, slot, said):
    drafted(site)
    fields = {f"when1_{name}": value for name, value in slot.items()}
    form = row_form(id="own.leak", requirement="leak_test", mode="adds", **fields)
    assert send(rps, at("schedule-row-new"), **form).status_code == 302
    assert said in read(rps, at("schedule-row", "own.leak")).text
    again = read(rps, at("schedule-row-change", "own.leak"))
    written = draft_of(site).rules.rows[-1]
    kept = {
        attrs["name"]: attrs.get("value", "")
        for attrs in again.all("input")
        if attrs.get("name", "").startswith("when1")
    }
    chosen = {f"when1_{name}": slot[name] for name in ("name", "how", "of") if name in slot}
    same = send(rps, at("schedule-row-change", "own.leak"), **form | kept | chosen)
    assert same.status_code == 302
    assert draft_of(site).rules.rows[-1] == written


@pytest.mark.parametrize(
    ("slot", "said"),
    [
        ({"name": "gas", "how": "is", "value": "perhaps"}, "Write yes or no."),
        ({"name": "gas", "how": "is", "value": ""}, "Give the value."),
        ({"name": "activity_bq", "how": "below", "value": "50"}, "has no unit"),
        ({"name": "activity_bq", "how": "is", "value": "50 MBq"}, "Choose how it is compared"),
        ({"name": "age_months", "how": "below", "value": "old"}, "Write a number"),
        ({"name": "quotient", "how": "below", "value": "1"}, "Choose the nuclide table."),
        ({"name": "series", "how": "is", "value": "6"}, "Choose which records"),
        ({"name": "keeping", "how": "is", "value": "somewhere"}, "Write one or several of: in use"),
    ],
)
def test_a_condition_that_cannot_be_is_said(site, rps, slot, said):
    drafted(site)
    fields = {f"when1_{name}": value for name, value in slot.items()}
    form = row_form(id="own.leak", requirement="leak_test", mode="adds", **fields)
    assert said in refused(send(rps, at("schedule-row-new"), **form))


def test_a_row_is_left_out_and_taken_in_again(site, rps):
    drafted(site)
    assert "Leave a row out" in read(rps, at("schedule-row-remove", "leak.small")).text
    send(rps, at("schedule-row-remove", "leak.small"), loosened_because="not ours")
    page = read(rps, at("schedule-draft"))
    assert "Left out" in page.text
    send(rps, at("schedule-draft"), do="restore", restored="leak.small")
    assert [row.id for row in draft_of(site).rules.rows][1] == "leak.small"


def test_a_row_goes_back_to_its_rule_set(site, rps):
    drafted(site)
    actions.change_row(site, row_table(id="leak.default", months=3), **act(site))
    page = read(rps, at("schedule-row", "leak.default"))
    assert "Have it as the rule set has it" in page.text
    send(rps, at("schedule-row", "leak.default"), do="restore")
    assert draft_of(site).rules.rows[0].months == 24


def test_a_requirement_of_the_sites_own_is_defined_and_taken_back(site, rps):
    drafted(site)
    answer = send(rps, at("schedule-kind-new"), title="Warning lamp", subject="gauge")
    assert answer["Location"] == f"{at('schedule-row-new')}?requirement=own-warning-lamp"
    page = read(rps, answer["Location"])
    assert '<option value="own-warning-lamp" selected>Warning lamp</option>' in page.html
    text = refused(send(rps, at("schedule-kind-new"), title="Warning lamp", subject="gauge"))
    assert "A requirement called own-warning-lamp is there already." in text
    send(rps, at("schedule-draft"), do="drop", kind="own-warning-lamp")
    assert draft_of(site).rules.own_kinds == ()


# --- rule sets ----------------------------------------------------------------------------------


def test_a_schedule_begins_with_a_rule_set_and_another_one_for_a_requirement(rules):
    site = factories.make_site("thornmere", schedule=False)
    client = browser(factories.rps_of(site))
    assert 'value="aa:2"' in read(client, at("schedule-rule-sets")).html
    form = {"main": "aa:2", "of_calibration": "bb:1", "on": "2026-01-05"}
    assert send(client, at("schedule-rule-sets"), **form)["Location"] == at("schedule")
    found = in_force(versions(site), TODAY)
    assert (found.rules.name, found.adopted) == ("Beta 1 + Alpha, version 2", False)


def test_a_new_version_is_looked_at_before_it_is_taken(site, rps):
    source = factories.make_source(site, serial="S-1")
    factories.record_wipe(source, factories.make_monitor(site), date(2025, 10, 1))
    drafted(site)
    go_through(site)
    before = Record.objects.count()
    answer = send(rps, at("schedule-rule-sets"), main="aa:2", on="2026-12-01", do="preview")
    text = Page(answer).text
    assert "1 row would be left to go through." in text
    assert "Before Every 24 months. Now Every 12 months." in text
    assert "On the site, on 1 Dec 2026" in text
    assert "1 requirement gets another state or another day, of 1 thing." in text
    assert "leak test good until 1 Oct 2027 61 days late" in text
    assert Record.objects.count() == before
    answer = send(rps, at("schedule-rule-sets"), main="aa:2", do="record")
    assert answer["Location"] == at("schedule-draft")
    assert draft_of(site).rules.version == 2
    assert "12 months" in read(rps, at("schedule-effects")).text


# --- adopting -----------------------------------------------------------------------------------

ADOPTION = {
    **{"adopted_by": "A. Adviser", "adopted_on": "2026-03-02"},
    **{"from_on": "2026-03-02", "review_on": "2028-03-02", "parts_too": "on"},
}


def test_the_draft_is_adopted_with_day_name_and_review(site, rps):
    drafted(site)
    text = refused(send(rps, at("schedule-adopt"), **ADOPTION))
    assert "Rows that nobody has gone through: 3, beginning with leak.default" in text
    assert "0 of 3 rows have been gone through." in text
    go_through(site)
    page = read(rps, at("schedule-adopt"))
    assert "Adopt the schedule" in page.text
    for title, said in other_parts.sections(draft_of(site).rules):
        assert title in page.text
        assert [one.text for one in said if " ".join(one.text.split()) not in page.text] == []
    assert send(rps, at("schedule-adopt"), **ADOPTION)["Location"] == at("schedule")
    assert in_force(versions(site), TODAY).adopted
    assert "adopted on 2 Mar 2026 by A. Adviser" in read(rps, at("due")).text


def test_what_a_rule_set_loosens_needs_a_reason_on_the_page(site, rps):
    drafted(site)
    actions.move_template(site, "aa", 2, **act(site))
    adopted(site)
    assert "loosened_because" not in read_adopt(site, rps).html
    actions.move_template(site, "aa", 1, **act(site))
    go_through(site)
    page = read(rps, at("schedule-adopt"))
    assert "1 row is looser than in the adopted schedule" in page.text
    assert at("schedule-row", "leak.default") in page.links()
    text = refused(send(rps, at("schedule-adopt"), **ADOPTION))
    assert "Rows that are looser than the adopted ones: 1, beginning with leak.default" in text
    assert send(rps, at("schedule-adopt"), **ADOPTION, **WHY).status_code == 302
    said = "Looser than before: leak.default. Decided by A. Adviser on 1 Mar 2026: clean."
    assert said in read(rps, at("schedule")).text
    assert said in read(rps, at("record", versions(site)[-1].seq)).text


def read_adopt(site: Any, rps: Any) -> Page:
    drafted(site)
    return read(rps, at("schedule-adopt"))


def test_what_keeps_it_from_being_adopted_is_said_beside_the_field(site, rps):
    drafted(site)
    go_through(site)
    for field, value, said in (
        ("review_on", "2026-03-02", "must lie after the adoption"),
        ("adopted_on", "2026-03-03", "lies in the future"),
        ("from_on", "2026-03-01", "it changes what was said about days that have gone by"),
        ("adopted_by", "", "This field is required"),
        ("parts_too", "", "somebody must have gone through them"),
    ):
        assert said in refused(send(rps, at("schedule-adopt"), **ADOPTION | {field: value}))


def test_the_history_of_the_site_says_what_was_done(site, rps):
    drafted(site)
    adopted(site)
    newest = versions(site)[-1]
    text = read(rps, at("record", newest.seq)).text
    assert "adopted on 5 Jan 2026 by A. Adviser" in text
    assert "To be looked at again by 5 Jan 2028." in text
    drafts = Record.objects.filter(site=site, kind="schedule_drafted").order_by("seq")
    assert "0 of 3 rows have been gone through." in read(rps, at("record", drafts[0].seq)).text


# --- one thing ----------------------------------------------------------------------------------


@pytest.fixture
def source(site):
    source = factories.make_source(site, serial="S-1")
    factories.record_wipe(source, factories.make_monitor(site), date(2025, 10, 1))
    return source


def setting_form(**more: Any) -> dict[str, Any]:
    values = row_form(mode="replaces", authority="label", document="Label", clause="line 4")
    del values["stored_comparator"]  # as the page has it
    return values | {"requirement": "leak_test", "on": "2026-03-02"} | more


def test_a_setting_is_made_shown_and_taken_back(site, rps, source):
    page = read(rps, at("item", source.code))
    assert {at("settings", source.code), at("compare", source.code)} <= set(page.links())
    assert "the schedule holds" in read(rps, at("settings", source.code)).text
    assert "Make a setting" in read(rps, at("setting-new", source.code)).text
    answer = send(rps, at("setting-new", source.code), **setting_form())
    assert answer["Location"] == at("settings", source.code)
    page = read(rps, at("settings", source.code))
    assert "Leak test, from 2 Mar 2026 Every 6 months." in page.text
    assert "Label: Label, line 4, own choice." in page.text
    assert "due in 30 days" in read(rps, at("due")).text
    (one,) = settings_of(source)
    end = at("setting-end", source.code, one.record.seq)
    assert end in page.links()
    assert "Every 6 months." in read(rps, end).text
    key = str(uuid.uuid4())
    sent = {"on": "2026-03-02", "reason": "misread", "request_key": key}
    for _double_click in range(2):
        assert send(rps, end, **sent)["Location"] == at("settings", source.code)
    assert rps.get(end).status_code == 404
    text = read(rps, at("settings", source.code)).text
    assert "taken back the same day" in text
    taken_back = Record.objects.filter(kind="setting_made").latest("seq")
    text = read(rps, at("record", taken_back.seq)).text
    assert "Taken back: leak test (label). misread." in text
    assert "Settings of single things" in read(rps, at("schedule")).text


def test_a_setting_that_loosens_is_refused_beside_its_field(rps, source):
    address = at("setting-new", source.code)
    text = refused(send(rps, address, **setting_form(months="36")))
    assert "This loosens" in text
    assert send(rps, address, **setting_form(months="36"), **WHY).status_code == 302
    text = read(rps, at("settings", source.code)).text
    assert "Decided by A. Adviser on 1 Mar 2026: clean." in text


def test_a_gauge_takes_its_setting_along_and_a_laboratory_has_none(site, rps, source):
    gauge = factories.make_gauge(site)
    text = read(rps, at("setting-new", gauge.code)).text
    assert "holds for the sources inside" in text
    assert "Leak test" in text
    laboratory = factories.make_laboratory(site)
    assert rps.get(at("settings", laboratory.code)).status_code == 404
    assert rps.get(at("compare", laboratory.code)).status_code == 404


def test_another_rule_set_is_put_beside_the_sites_for_the_same_facts(site, rps, source):
    text = read(rps, at("compare", source.code) + "?with=bb-1").text
    assert "Alpha, version 1 good until 1 Oct 2027 Every 24 months." in text
    assert "Beta, version 1 due in 30 days Due on 1 Apr 2026" in text
    assert "Every 6 months. Rule set: Beta rules, 7 (a), own choice." in text
    later = read(rps, at("compare", source.code) + "?with=bb-1&on=2026-05-01").text
    assert "Beta, version 1 30 days late Due on 1 Apr 2026" in later
    assert "Beta, version 1" in read(rps, at("compare", source.code)).text
    for wrong in ("zz-1", "bb-9", "bb", "../aa-1"):
        assert rps.get(at("compare", source.code) + f"?with={wrong}").status_code == 404


def test_a_setting_counts_on_both_sides(rps, source):
    put(source, 4)
    text = read(rps, at("compare", source.code) + "?with=bb-1").text
    assert "Settings of this thing count on both sides." in text
    assert text.count("Label: Label, line 4") == 2


def test_what_decay_proposes_is_shown_and_confirmed(site, rps):
    small = decayed_source(site)
    page = read(rps, at("item", small.code))
    confirm = at("change-confirm", small.code, "leak_test")
    assert confirm in page.links()
    text = read(rps, confirm).text
    assert "Not required, where its activity is below the value in “Free in Alpha”." in text
    assert "This ends no permit and allows no disposal" in text
    sent = {"on": "2026-03-02", "reason": "activity checked", "request_key": str(uuid.uuid4())}
    for _double_click in range(2):
        assert send(rps, confirm, **sent)["Location"] == at("item", small.code)
    page = read(rps, at("item", small.code))
    assert confirm not in page.links()
    assert "row leak.small decides, as decay had proposed. activity checked." in page.text
    assert rps.get(confirm).status_code == 404
    assert rps.get(at("change-confirm", small.code, "nothing")).status_code == 404


def test_a_technician_sees_the_proposal_and_is_not_offered_to_confirm_it(site):
    small = decayed_source(site)
    page = read(browser(staff(site, Role.TECHNICIAN)), at("item", small.code))
    assert "Nothing changes until a named person confirms it." in page.text
    assert at("change-confirm", small.code, "leak_test") not in page.links()
