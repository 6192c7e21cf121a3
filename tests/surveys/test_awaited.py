"""Wipes that a laboratory counts: sent, awaited, reported or given up."""

from __future__ import annotations

import uuid
from dataclasses import replace
from datetime import date, timedelta

import pytest

from config.accounts.models import Role
from inventory import derive, knowledge
from inventory.calc import due
from inventory.calc.asof import AsOf
from inventory.calc.units import parse_activity
from inventory.items.actions import change, correct, description_in_force, snapshot_of
from inventory.ledger.files import Upload
from inventory.ledger.models import Record
from inventory.ledger.write import Overtaken, last_seq, read_body
from inventory.requirements.wording import state_sentence
from inventory.rules.schema import LEAK_TEST
from inventory.timeline import RequirementSpan
from surveys.awaited.actions import Report, give_up, record_report
from surveys.awaited.sending import Parcel, Taken, correct_sent, send_wipes
from surveys.awaited.waiting import away, shown, waiting
from surveys.calc.leak import Reported
from surveys.leak.actions import accept_leak_test, record_leak_test
from surveys.leak.wipe import DeclaredBy, FromLaboratory, Wipe
from tests.factories import (
    give_role,
    make_laboratory,
    make_monitor,
    make_site,
    make_source,
    make_user,
    record_wipe,
    rps_of,
    send_wipe,
    tick,
)
from tests.inventory.asking import due_on, last_good, open_points, refuses, state

pytestmark = pytest.mark.django_db
TAKEN, SENT, CHASE = date(2025, 10, 1), date(2025, 10, 2), date(2025, 10, 23)
REPORTED = date(2025, 11, 3)


@pytest.fixture(scope="module")
def source(site):
    return make_source(site, serial="K-1")


@pytest.fixture(scope="module")
def laboratory(site):
    return make_laboratory(site)


@pytest.fixture
def sent(source, laboratory):
    return send_wipe(source, laboratory, TAKEN, label="env 1", point_wiped="shutter")


def said(**figures) -> FromLaboratory:
    """What a report says of one wipe; the report itself has the day."""
    return FromLaboratory("Hill Laboratory", Reported(**figures), {}, None, "R-77")


def passed(ok=True) -> DeclaredBy:
    return DeclaredBy(ok, "Hill Laboratory", "R-77")


def enter(*results, on=REPORTED, files=(), **act) -> list[Record]:
    at = results[0][0].instrument
    values = {"by": rps_of(at.site), "at": tick(), "accepted": True} | act
    report = Report(on, files)
    return record_report(at, report, [(one.seq, result) for one, result in results], **values)


def decided(source, on) -> due.Decision:
    return knowledge.states([source.pk], AsOf(on))[source.pk, LEAK_TEST]


# --- sending ---------------------------------------------------------------------------------


def test_a_wipe_sent_is_awaited_from_the_day_it_was_taken(source, sent):
    assert state(source, TAKEN - timedelta(days=1)) == due.NEVER_DONE
    assert state(source, TAKEN) == due.AWAITED
    assert decided(source, TAKEN) == due.Decision(
        due.AWAITED, None, CHASE, sent.pk, decided(source, TAKEN).row, TAKEN
    )
    assert list(derive.rebuild(write=False)) == []


def test_it_keeps_what_stands_on_the_envelope(source, sent, laboratory):
    body = read_body(sent)
    assert body["detail"] == {
        **{"laboratory": laboratory.code, "laboratory_name": "Hill Laboratory"},
        **{"sent_on": "2025-10-02", "chase_on": "2025-10-23", "why": "routine", "method": ""},
        **{"point_wiped": "shutter", "label": "env 1"},
    }
    assert (body["performed_by"], body["instrument"]) == ("B. Sampler", laboratory.code)
    assert sent.wipesent.laboratory == laboratory
    assert sent.wipesent.chase_on == CHASE


def test_many_wipes_are_sent_in_one_act_and_a_double_click_sends_them_once(site, laboratory):
    sources = [make_source(site) for _ in range(3)]
    key = uuid.uuid4()
    for _ in range(2):
        first = send_wipes(
            site,
            Parcel(laboratory, SENT, CHASE),
            [Taken([one], TAKEN) for one in sources],
            **{"by": rps_of(site), "at": tick(), "request_key": key},
        )
    assert waiting(site).count() == 3
    assert waiting(site).first() == first


@pytest.mark.parametrize("size", [1, 12])
def test_sending_asks_the_database_as_often_for_many_wipes_as_for_few(
    site, laboratory, django_assert_max_num_queries, size
):
    wipes = [Taken([make_source(site)], TAKEN) for _ in range(size)]
    with django_assert_max_num_queries(55):
        send_wipes(site, Parcel(laboratory, SENT, CHASE), wipes, by=rps_of(site), at=tick())


PARCELS = {
    "sent_in_future": ({"sent_on": date(2026, 2, 1), "chase_on": date(2026, 3, 1)}, {}, "sent_on"),
    "chased_before_sent": ({"chase_on": TAKEN}, {}, "chase_on"),
    "sent_before_wiped": ({}, {"wiped_on": SENT + timedelta(days=1)}, "wiped_on"),
    "wipe_needs_source": ({}, {"sources": []}, "sources"),
    "wiped_before_everything": ({}, {"wiped_on": date(2001, 1, 1)}, "wiped_on"),
}


@pytest.mark.parametrize("code", PARCELS)
def test_what_cannot_be_is_refused_and_nothing_is_sent(site, source, laboratory, code):
    parcel, taken, field = PARCELS[code]
    with refuses(code, field):
        send_wipes(
            site,
            replace(Parcel(laboratory, SENT, CHASE), **parcel),
            [replace(Taken([source], TAKEN), **taken)],
            **{"by": rps_of(site), "at": tick()},
        )


def test_only_sources_go_to_laboratories_and_each_once(site, source, laboratory, counter):
    act = {"by": rps_of(site), "at": tick()}
    parcel = Parcel(laboratory, SENT, CHASE)
    with refuses("not_a_source"):
        send_wipes(site, parcel, [Taken([counter], TAKEN)], **act)
    with refuses("wipe_names_source_twice"):
        send_wipes(site, parcel, [Taken([source, source], TAKEN)], **act)
    with refuses("nothing_sent"):
        send_wipes(site, parcel, [], **act)
    with refuses("not_a_laboratory", "laboratory"):
        send_wipes(site, replace(parcel, laboratory=counter), [Taken([source], TAKEN)], **act)


def test_nothing_is_sent_to_the_laboratory_of_another_site(site, source):
    other = make_laboratory(make_site())
    with refuses("item_of_another_site"):
        send_wipes(
            site, Parcel(other, SENT, CHASE), [Taken([source], TAKEN)], by=rps_of(site), at=tick()
        )


# --- the state in words ----------------------------------------------------------------------


@pytest.mark.parametrize(
    ("on", "sentence"),
    [
        (TAKEN, "result awaited since 1 Oct 2025"),
        (CHASE - timedelta(days=1), "result awaited since 1 Oct 2025"),
        (CHASE, "result awaited since 1 Oct 2025, chase it (since 23 Oct 2025)"),
    ],
)
def test_the_sentence_says_since_when_and_that_it_must_be_chased(source, sent, on, sentence):
    assert state_sentence(decided(source, on), on) == sentence
    span = RequirementSpan.objects.with_state(on).get(item=source)
    assert state_sentence(span.decision, on) == sentence
    again = RequirementSpan.objects.get(pk=span.pk)  # read without its day
    assert again.decision == span.decision


def test_past_its_due_date_it_is_late_and_still_awaited(site, source, laboratory):
    record_wipe(source, make_monitor(site, calibrated_on=date(2023, 9, 1)), date(2023, 10, 15))
    sent = send_wipe(source, laboratory, TAKEN)
    last_day = date(2025, 10, 15)  # 24 months by the first rule set
    late = last_day + timedelta(days=9)
    assert decided(source, TAKEN).due_on == decided(source, late).due_on == last_day
    assert decided(source, late).record == sent.pk
    assert (state(source, last_day), state(source, late)) == (due.AWAITED, due.LATE)
    assert state_sentence(decided(source, late), late) == (
        "9 days late, result awaited since 1 Oct 2025, chase it (since 23 Oct 2025)"
    )


def test_it_asks_no_more_often_for_many_awaited_states(site, laboratory, django_assert_num_queries):
    for _ in range(5):
        send_wipe(make_source(site), laboratory, TAKEN)
    with django_assert_num_queries(1):
        said = [span.decision.since for span in RequirementSpan.objects.on(SENT).filter(site=site)]
    assert said.count(TAKEN) == 5


def test_its_explanation_names_the_laboratory(source, sent):
    known = knowledge.load([source.pk])[source.pk]
    step = knowledge.decide_on(known, LEAK_TEST, SENT).steps[0]
    assert step.code == "due_awaited"
    assert step.values == {
        **{"seq": sent.seq, "done_on": TAKEN, "laboratory": "Hill Laboratory"},
        "chase_on": CHASE,
    }


# --- the report ------------------------------------------------------------------------------


def test_a_result_counts_from_the_day_of_sampling(site, source, sent):
    moment = tick()
    (result,) = enter((sent, said(less_than_bq=5.0)))
    assert result.effective_on == TAKEN
    assert last_good(source, TAKEN) == result.pk
    assert state(source, SENT) in (due.GOOD, due.DUE_SOON)
    assert not waiting(site).exists()
    then = knowledge.states([source.pk], AsOf(SENT, moment))[source.pk, LEAK_TEST]
    assert then.state == due.AWAITED  # as it was known then
    assert list(derive.rebuild(write=False)) == []


def test_a_result_keeps_its_wipe_its_report_and_its_laboratory(source, sent, laboratory):
    file = Upload("report.pdf", b"%PDF-1.7 invented report")
    (result,) = enter((sent, said(not_detected=True)), files=[file])
    body = read_body(result)
    detail = body["detail"]
    assert body["links"] == [{"seq": str(sent.seq), "role": "completes"}]
    assert (detail["laboratory"], detail["laboratory_code"]) == (laboratory.label, laboratory.code)
    assert detail["laboratory_described"] == str(description_in_force(laboratory).seq)
    assert (detail["report"], detail["reported_on"]) == ("R-77", "2025-11-03")
    assert detail["point_wiped"] == "shutter"
    assert body["points"][0]["laboratory_limit"] == {"text": "5 Bq", "bq": "5.0"}
    assert body["performed_by"] == "B. Sampler"
    assert [one["name"] for one in body["attachments"]] == ["report.pdf"]


@pytest.mark.parametrize(
    ("figures", "outcome", "upper"),
    [
        ({"not_detected": True}, "pass", 5.0),
        ({"not_detected": True, "detection_limit_bq": 8.0}, "pass", 8.0),
        ({"less_than_bq": 3.0}, "pass", 3.0),
        ({"activity_bq": 10.0, "expanded_uncertainty_bq": 2.0, "coverage_factor": 2.0}, "pass",
         11.6448536),
        ({"activity_bq": 500.0}, "fail", None),
        ({"not_detected": True, "detection_limit_bq": 900.0}, "inconclusive", 900.0),
    ],
)  # fmt: skip
def test_each_statement_is_judged_for_what_it_says(source, sent, figures, outcome, upper):
    (result,) = enter((sent, said(**figures)))
    point = result.leakresults.get()
    assert point.outcome == outcome
    assert point.upper_bound_bq == (None if upper is None else pytest.approx(upper, rel=1e-7))


def test_not_detected_takes_the_general_limit_for_another_nuclide(site, laboratory):
    cobalt = make_source(site, nuclide="Co-60")
    (result,) = enter((send_wipe(cobalt, laboratory, TAKEN), said(not_detected=True)))
    assert result.leakresults.get().upper_bound_bq == 20.0


def test_a_general_limit_that_is_too_high_never_clears(site, source):
    blunt = make_laboratory(site, limits=[("Cs-137", parse_activity("1 kBq"))])
    (result,) = enter((send_wipe(source, blunt, TAKEN), said(not_detected=True)))
    assert result.leakresults.get().finding == "inconclusive_insensitive"
    assert state(source, SENT) == due.NEVER_DONE


def test_without_any_stated_limit_not_detected_is_a_declared_result(site, source):
    silent = make_laboratory(site, limits=[], general_limit=None)
    sent = send_wipe(source, silent, TAKEN)
    with refuses("declared_needs_reason", "accept_because"):
        enter((sent, said(not_detected=True)))
    (result,) = enter((sent, said(not_detected=True)), accepted=False)
    assert result.leakresults.get().finding == "inconclusive_declared"
    assert state(source, SENT) == due.NEVER_DONE
    accept_leak_test(result, by=rps_of(site), at=tick(), reason="accredited, see letter")
    assert last_good(source) == result.pk


def test_a_declared_pass_counts_only_with_a_reason_and_a_declared_fail_at_once(site, laboratory):
    one, other = make_source(site), make_source(site)
    wipes = [send_wipe(each, laboratory, TAKEN) for each in (one, other)]
    with refuses("declared_needs_reason"):
        enter((wipes[0], passed()), (wipes[1], passed(False)))
    enter((wipes[0], passed()), (wipes[1], passed(False)), accept_because="accredited")
    assert state(one, SENT) in (due.GOOD, due.DUE_SOON)
    assert state(other, SENT) == due.FAILED


def test_a_batch_is_recorded_whole_or_not_at_all(site, laboratory):
    sources = [make_source(site) for _ in range(3)]
    wipes = [send_wipe(one, laboratory, TAKEN) for one in sources]
    with refuses("reported_no_figure"):
        enter((wipes[0], said(less_than_bq=5.0)), (wipes[1], said()))
    results = enter(*[(one, said(less_than_bq=5.0)) for one in wipes[:2]])
    assert len(results) == 2
    assert [one.seq for one in waiting(site)] == [wipes[2].seq]


def test_one_wipe_over_several_sources_is_judged_for_each(site, laboratory):
    pair = [make_source(site), make_source(site, nuclide="Am-241")]
    sent = send_wipe(pair, laboratory, TAKEN)
    (result,) = enter((sent, said(activity_bq=500.0)))
    assert {point.item_id for point in result.leakresults.all()} == {one.pk for one in pair}
    assert [state(one, SENT) for one in pair] == [due.FAILED, due.FAILED]
    assert [len(open_points(one)) for one in pair] == [1, 1]


def test_a_result_that_fails_acts_before_anybody_accepts_it(site, source, sent):
    technician = make_user()
    give_role(technician, site, Role.TECHNICIAN)
    enter((sent, said(activity_bq=500.0)), by=technician, accepted=False)
    assert state(source, SENT) == due.FAILED
    assert len(open_points(source)) == 1


def test_an_entered_pass_ends_the_waiting_but_satisfies_nothing_yet(site, source, sent):
    (result,) = enter((sent, said(less_than_bq=5.0)), accepted=False)
    assert state(source, SENT) == due.NEVER_DONE
    accept_leak_test(result, by=rps_of(site), at=tick(), reason="")
    assert last_good(source) == result.pk


def test_a_report_is_entered_once(site, source, sent, laboratory):
    key = uuid.uuid4()
    first = enter((sent, said(less_than_bq=5.0)), request_key=key)
    assert enter((sent, said(less_than_bq=5.0)), request_key=key) == first
    with refuses("wipe_not_away"):
        enter((sent, said(less_than_bq=5.0)))
    again = send_wipe(source, laboratory, TAKEN)
    with refuses("wipe_not_away"):
        enter((again, said(less_than_bq=5.0)), (again, said(less_than_bq=6.0)))


def test_what_cannot_be_in_a_report_is_refused(site, sent, laboratory):
    with refuses("reported_in_future", "reported_on"):
        enter((sent, said(less_than_bq=5.0)), on=date(2026, 2, 1))
    with refuses("reported_before_sent", "reported_on"):
        enter((sent, said(less_than_bq=5.0)), on=TAKEN)
    with refuses("report_without_result"):
        record_report(laboratory, Report(REPORTED), [], by=rps_of(site), at=tick())


def test_a_laboratory_reports_only_what_is_there(site, source, sent):
    other = make_laboratory(site, "Other Laboratory")
    there = send_wipe(source, other, TAKEN)
    with refuses("wipe_not_away"):
        enter((sent, said(less_than_bq=5.0)), (there, said(less_than_bq=5.0)))


def test_only_the_supervisor_accepts_in_the_same_act(site, sent):
    technician = make_user()
    give_role(technician, site, Role.TECHNICIAN)
    with refuses("only_rps_accepts"):
        enter((sent, said(less_than_bq=5.0)), by=technician)


def test_what_others_wrote_meanwhile_is_told(site, source, sent, counter):
    seen = last_seq(site)
    record_wipe(source, counter, SENT)
    with pytest.raises(Overtaken):
        enter((sent, said(less_than_bq=5.0)), seen=seen)


# --- the authorisation of the laboratory -----------------------------------------------------


@pytest.mark.parametrize(
    ("until", "fit"),
    [(None, True), (REPORTED, True), (REPORTED - timedelta(days=1), False), (TAKEN, False)],
)
def test_a_report_after_the_authorisation_ended_satisfies_nothing(site, source, until, fit):
    lab = make_laboratory(site, valid_until=until)
    (result,) = enter((send_wipe(source, lab, TAKEN), said(less_than_bq=5.0)))
    about = result.about.get()
    assert (about.outcome, about.fit) == ("pass", fit)
    assert about.unfit_because == ("" if fit else "laboratory_authorisation_expired")
    assert (state(source, SENT) == due.NEVER_DONE) is not fit


def test_an_expired_laboratory_still_accuses(site, source):
    lab = make_laboratory(site, valid_until=TAKEN)
    enter((send_wipe(source, lab, TAKEN), said(activity_bq=500.0)))
    assert state(source, SENT) == due.FAILED


def test_a_declared_pass_of_an_expired_laboratory_is_not_saved_by_a_reason(site, source):
    lab = make_laboratory(site, valid_until=TAKEN)
    enter((send_wipe(source, lab, TAKEN), passed()), accept_because="seen")
    assert state(source, SENT) == due.NEVER_DONE


def test_without_a_day_of_the_report_the_day_of_sampling_counts(site, source):
    lab = make_laboratory(site, valid_until=TAKEN)
    sent = send_wipe(source, lab, TAKEN)
    enter((sent, said(less_than_bq=5.0)), on=None)
    assert state(source, SENT) in (due.GOOD, due.DUE_SOON)


def test_a_result_is_not_accepted_once_its_laboratory_was_corrected(site, source, sent, laboratory):
    (result,) = enter((sent, said(not_detected=True)), accepted=False)
    old = description_in_force(laboratory)
    snapshot = snapshot_of(old) | {"valid_until": "2025-09-01"}
    correct(old, snapshot, by=rps_of(site), at=tick(), reason="read wrongly")
    with refuses("laboratory_changed_since"):
        accept_leak_test(result, by=rps_of(site), at=tick(), reason="")


def test_a_change_after_the_report_touches_no_older_result(site, source, sent, laboratory):
    (result,) = enter((sent, said(not_detected=True)), accepted=False)
    snapshot = snapshot_of(description_in_force(laboratory)) | {"valid_until": "2025-12-31"}
    act = {"by": rps_of(site), "at": tick(), "reason": "new limit"}
    change(laboratory, snapshot, on=date(2025, 12, 1), **act)
    accept_leak_test(result, by=rps_of(site), at=tick(), reason="")
    assert last_good(source) == result.pk


def test_a_wipe_recorded_at_once_uses_the_laboratory_too(site, source, laboratory):
    wipe = Wipe([source], TAKEN, said(not_detected=True), laboratory=laboratory)
    result = record_leak_test(site=site, by=rps_of(site), at=tick(), wipe=wipe, accepted=True)
    assert result.leakresults.get().upper_bound_bq == 5.0
    with refuses("not_a_laboratory"):
        record_leak_test(
            site=site, by=rps_of(site), at=tick(), wipe=replace(wipe, laboratory=source)
        )


# --- corrections and giving up ---------------------------------------------------------------


def test_a_corrected_result_still_completes_its_wipe(site, source, sent):
    (wrong,) = enter((sent, said(less_than_bq=5.0)))
    right = record_leak_test(
        **{"site": site, "by": rps_of(site), "at": tick(), "accepted": True},
        **{"replaces": wrong, "because": "misread"},
        wipe=Wipe([source], TAKEN, said(less_than_bq=6.0)),
    )
    assert read_body(right)["links"] == [{"seq": str(sent.seq), "role": "completes"}]
    assert not waiting(site).exists()
    assert last_good(source) == right.pk


def test_a_wipe_that_was_corrected_is_as_if_absent(site, source, sent, laboratory):
    other = make_source(site)
    new = correct_sent(
        sent,
        Parcel(laboratory, SENT, CHASE),
        Taken([other], TAKEN),
        **{"by": rps_of(site), "at": tick(), "reason": "wrong source"},
    )
    assert state(source, SENT) == due.NEVER_DONE
    assert state(other, SENT) == due.AWAITED
    assert [one.names for one in away(shown(waiting(site)))] == [other.label]
    assert new.about.get(item=source).role == "withdrawn"
    with refuses("wipe_not_away"):
        enter((sent, said(less_than_bq=5.0)))


def test_a_wipe_whose_result_came_is_corrected_at_its_result(site, source, sent, laboratory):
    enter((sent, said(less_than_bq=5.0)))
    with refuses("wipe_not_away"):
        correct_sent(
            *(sent, Parcel(laboratory, SENT, CHASE), Taken([source], TAKEN)),
            **{"by": rps_of(site), "at": tick(), "reason": "wrong day"},
        )


def test_a_wipe_given_up_falls_back_to_the_original_due_date(site, source, sent, laboratory):
    on = date(2025, 10, 20)
    act = {"by": rps_of(site), "at": tick(), "request_key": uuid.uuid4()}
    first = give_up(sent, on=on, reason="lost in the post", **act)
    assert give_up(sent, on=on, reason="lost in the post", **act) == first
    assert state(source, on - timedelta(days=1)) == due.AWAITED
    assert state(source, on) == due.NEVER_DONE
    assert not waiting(site).exists()
    assert list(derive.rebuild(write=False)) == []
    with refuses("wipe_not_away"):
        enter((sent, said(less_than_bq=5.0)))


def test_giving_up_needs_a_reason_and_a_day_that_can_be(site, sent):
    act = {"by": rps_of(site), "at": tick()}
    with refuses("giving_up_needs_reason", "reason"):
        give_up(sent, on=SENT, reason=" ", **act)
    with refuses("given_up_before_taken", "on"):
        give_up(sent, on=TAKEN - timedelta(days=1), reason="lost", **act)
    with refuses("effective_in_future"):
        give_up(sent, on=date(2026, 3, 1), reason="lost", **act)


def test_a_pass_counted_meanwhile_makes_the_old_wipe_unimportant(site, source, sent):
    record_wipe(source, make_monitor(site, calibrated_on=date(2025, 9, 1)), REPORTED)
    assert state(source, REPORTED) in (due.GOOD, due.DUE_SOON)
    enter((sent, said(less_than_bq=5.0)))
    assert due_on(source, REPORTED).year > 2025
