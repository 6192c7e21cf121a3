"""What loading a file would do: who is who, what differs, what cannot be loaded."""

from __future__ import annotations

from datetime import date
from decimal import Decimal
from typing import Any

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from inventory.items.actions import correct, description_in_force, snapshot_of
from inventory.ledger.models import Item
from reports.exchange.plan import plan
from reports.exchange.understood import SourceEntry
from tests import factories
from tests.inventory.asking import rows_of_every_table
from tests.pages import NOW, TODAY
from tests.reports.exchange.handmade import (
    calibration,
    codes,
    counted,
    declared,
    faulty,
    file_of,
    gauge,
    load,
    monitor,
    planned,
    reported,
    row,
    source,
    statuses,
    text,
    wipe,
)

pytestmark = pytest.mark.django_db


def only(made: Any) -> Any:
    (one,) = made.rows
    return one


def fields(one: Any) -> list[tuple[str, str, str]]:
    return [(d.field, d.old, d.new) for d in one.differences]


def bare(serial: str = "L-1", **more: Any) -> SourceEntry:
    """A source that names nothing but itself."""
    return SourceEntry(text(serial, **more.pop("of", {})), **({"place": "Tank house"} | more))


# ---------------------------------------------------------------- what is new


def test_names_everything_that_is_new_and_writes_nothing(site):
    before = rows_of_every_table()
    made = planned(site, source("L-1"), source("L-2"), monitor(calibration=calibration()))
    assert statuses(made) == ["new", "new", "new"]
    counts = {name: number for name, number in made.counts.items() if number}
    assert counts == {
        **{"sources": 2, "gauges": 2, "places": 2, "monitors": 1},
        **{"calibrations": 1, "wipes": 2, "rows": 3},
    }
    assert codes(made.rows[0].writes) == [
        *("plan_new_place", "plan_new_gauge", "plan_new_source", "plan_wipe_reported"),
    ]
    assert rows_of_every_table() == before


def test_leaves_out_what_its_owner_leaves_out(site):
    made = planned(site, source("L-1"), source("L-2"), left_out=frozenset({"Sheet1!3"}))
    assert (made.counts["sources"], made.counts["left_out"]) == (1, 1)


@pytest.mark.parametrize(
    ("fields", "code"),
    [
        ({"of": {"activity": ""}, "wipe": None}, "open_activity_unknown"),
        ({"of": {"reference": ""}, "wipe": None}, "open_reference_unknown"),
        ({"of": {"reference": "2020-11"}, "wipe": None}, "open_reference_day_unknown"),
        ({"of": {"reference": "2021-06-01"}, "wipe": None}, "open_reference_after_arrival"),
        ({"received_on": None}, "open_arrival_unknown"),
        ({"certificate_on": date(2020, 12, 1)}, "open_certificate_before_arrival"),
        ({"wipe": wipe(on=date(2019, 1, 1))}, "open_wiped_before_arrival"),
        ({"place": "", "gauge": ""}, "open_place_unknown"),
    ],
)
def test_says_every_open_point_before_it_is_loaded(site, fields, code):
    made = only(planned(site, source(**fields)))
    assert code in codes(made.open_points)
    assert made.faults == []


def test_says_that_a_source_without_a_serial_has_none(site):
    made = planned(site, source("", of={"serial_unknown_because": "plate painted over"}))
    assert codes(only(made).open_points) == ["open_serial_unknown"]


def test_takes_the_wipe_as_proof_that_it_was_here_by_then(site):
    made = planned(site, source(received_on=None))
    thing = next(one for one in made.acts.things if one.kind == "source")
    assert thing.day == date(2025, 11, 3)
    assert next(one for one in made.acts.things if one.kind == "gauge").day == date(2025, 11, 3)


def test_puts_a_source_down_beside_a_gauge_that_came_later(site):
    made = planned(site, gauge("LG-L-1", received_on=date(2023, 5, 1)), source())
    assert "plan_waits_for_gauge" in codes(made.rows[1].notes)
    thing = next(one for one in made.acts.things if one.kind == "source")
    assert (thing.arrives_at.name, thing.installed_on) == ("Tank house", date(2023, 5, 1))


# ---------------------------------------------------------------- the same, twice, alike


def test_loads_a_row_that_stands_there_twice_once_and_says_so(site):
    made = planned(site, source(), source())
    assert statuses(made) == ["new", "twice"]
    assert codes(made.rows[1].notes) == ["plan_same_source"]
    assert made.counts["sources"] == 1


def test_takes_two_rows_of_one_source_for_its_history(site):
    made = planned(site, source(), source(wipe=wipe(on=date(2024, 11, 1))))
    assert (made.counts["sources"], made.counts["wipes"]) == (1, 2)


def test_warns_of_a_repeated_serial_and_loads_both(site):
    made = planned(site, source(), source(of={"maker": "Another"}, gauge="LG-9"))
    assert made.counts["sources"] == 2
    for one in made.rows:
        assert "plan_serial_repeated" in codes(one.notes)
        assert "open_serial_repeated" in codes(one.open_points)
    load(site, source(), source(of={"maker": "Another"}, gauge="LG-9"))
    assert statuses(planned(site, source(), source(of={"maker": "Another"}, gauge="LG-9"))) == [
        *("here", "here")
    ]


def test_warns_of_a_serial_that_another_source_of_the_register_has(site):
    factories.make_source(site, serial="L-1", nuclide="Co-60")
    made = planned(site, source())
    assert "plan_serial_repeated" in codes(only(made).notes)
    assert made.counts["sources"] == 1


@pytest.mark.parametrize(
    "serial",
    ["l-1", " L-1", "L\u20131", "L\u2011\u200b1", "\uff2c-1", "L\u22121", "L-\u00ad1"],
)
def test_knows_a_serial_however_it_is_written(site, serial):
    load(site, source())
    assert statuses(planned(site, source(serial, gauge="LG-L-1"))) == ["here"]
    assert statuses(planned(site, source(), source(serial, gauge="LG-L-1"))) == ["here", "twice"]


@pytest.mark.parametrize(("one", "other"), [("SO-01", "S0-01"), ("LI1", "L11"), ("А-1", "A-1")])
def test_names_serials_that_only_look_alike(site, one, other):
    made = planned(site, source(one), source(other))
    assert made.counts["sources"] == 2
    assert all("plan_serial_looks_like" in codes(row.notes) for row in made.rows)
    load(site, source(one))
    (left,) = planned(site, source(other)).rows
    assert "plan_serial_looks_like" in codes(left.notes)


def test_finds_a_serial_whose_zeros_a_spreadsheet_dropped(site):
    load(site, source("00123", gauge="G"))
    made = only(planned(site, source("123", gauge="G")))
    assert (made.status, codes(made.notes)) == ("here", ["plan_zeros_lost"])


def test_keeps_two_sources_without_a_serial_that_say_the_same(site):
    rows = [source("", wipe=None), source("", wipe=None)]
    made = planned(site, *rows)
    assert made.counts["sources"] == 2
    assert codes(made.rows[1].notes) == ["plan_same_words"]
    load(site, *rows)
    assert statuses(planned(site, *rows)) == ["here", "here"]


# ---------------------------------------------------------------- which source it is


def test_finds_a_source_by_its_serial_alone(site):
    load(site, source())
    assert statuses(planned(site, source(of={"maker": "", "model": ""}))) == ["here"]


def test_takes_another_maker_in_the_same_place_for_a_correction(site):
    load(site, source())
    made = planned(site, source(of={"maker": "Renamed"}))
    assert fields(only(made)) == [("maker", "Maker", "Renamed")]
    assert {question.key for question in made.questions} == {"same_serial", "descriptions"}


def test_takes_another_maker_in_another_place_for_another_source(site):
    load(site, source())
    made = planned(site, source(of={"maker": "Renamed"}, gauge="LG-2", place="Mill"))
    assert made.counts["sources"] == 1
    assert "plan_serial_repeated" in codes(only(made).notes)


@pytest.mark.parametrize(("answer", "new"), [("same", 0), ("other", 1)])
def test_takes_its_owners_word_for_it(site, answer, new):
    load(site, source())
    made = planned(site, source(of={"maker": "R"}), answers={"same_serial": answer})
    assert made.counts["sources"] == new


def test_finds_a_source_without_a_serial_by_place_nuclide_and_model(site):
    load(site, source("", wipe=None))
    made = only(planned(site, source("", wipe=None, of={"remark": "seen in May"})))
    assert fields(made) == [("remark", "", "seen in May")]
    made = only(planned(site, source("", wipe=None, of={"serial_unknown_because": "rust"})))
    assert [one[0] for one in fields(made)] == ["serial_unknown_because"]


def test_recognises_the_source_whose_serial_has_been_found(site):
    load(site, source("", wipe=None))
    made = only(planned(site, source("F-7", gauge="LG-1", wipe=None)))
    assert fields(made) == [("serial", "", "F-7")]
    assert codes(made.notes) == ["plan_serial_found"]


def test_does_not_guess_between_two(site):
    load(site, source("", wipe=None), source("", wipe=None, of={"activity": "37 MBq"}))
    made = only(planned(site, source("", wipe=None, of={"activity": "1 GBq"})))
    assert codes(made.faults) == ["plan_two_sources_match"]


def test_lists_what_the_register_has_and_the_file_does_not(site):
    load(site, source("L-1"), source("L-2"))
    made = planned(site, source("L-1"))
    assert [(one.item.label, one.place) for one in made.missing] == [
        ("Cs-137 L-2", "LG-L-2, Tank house")
    ]
    assert planned(site, monitor()).missing == []


# ---------------------------------------------------------------- what differs


def test_says_what_differs_and_what_it_was(site):
    load(site, source())
    made = only(planned(site, source(of={"activity": "1.85 GBq", "remark": "moved"})))
    assert fields(made) == [("remark", "", "moved"), ("activity", "3.7 GBq", "1.85 GBq")]
    assert made.status == "changes"
    assert codes(made.writes) == ["plan_adds_fact", "plan_corrects"]


@pytest.mark.parametrize(
    "of",
    [
        {"activity": "100 mCi"},
        {"reference": "1 Nov 2020"},
        {"maker": " MAKER "},
        {"maker": "", "model": "", "activity": "", "reference": ""},
    ],
)
def test_says_nothing_of_what_only_is_written_otherwise_or_left_empty(site, of):
    load(site, source())
    assert statuses(planned(site, source(of=of))) == ["here"]


def test_compares_gauges_and_monitors_too(site):
    load(site, gauge(maker="Old"), monitor())
    made = planned(site, gauge(maker="New"), monitor(serial="IN-1"))
    assert [fields(one) for one in made.rows] == [
        [("maker", "Old", "New")],
        [("serial", "", "IN-1")],
    ]


def test_leaves_what_the_register_corrected_since(site):
    """The same file again must not undo what somebody put right on a page."""
    load(site, source())
    item = Item.objects.get(kind="source")
    old = description_in_force(item)
    said = snapshot_of(old) | {"activity_bq": Decimal("1.85e9"), "activity_text": "1.85 GBq"}
    by = factories.rps_of(site)
    correct(old, said, by=by, at=NOW, reason="misread")
    made = only(planned(site, source()))
    assert [one.stays for one in made.differences] == ["register_changed_since"]
    assert (made.status, made.writes) == ("differs", [])


def test_leaves_what_stands_elsewhere_until_a_day_is_stated(site):
    load(site, source())
    moved = source(gauge="LG-9")
    made = planned(site, moved)
    assert fields(only(made))[0] == ("place", "LG-L-1, Tank house", "LG-9, Tank house")
    assert [one.stays for one in only(made).differences] == ["moves_left"]
    assert [(one.key, one.answer) for one in made.questions] == [("moves", "leave")]
    assert made.ready
    made = planned(site, moved, answers={"moves": "2026-02-01"})
    assert [(one.verb, one.on) for one in made.acts.moves] == [("installed", date(2026, 2, 1))]


@pytest.mark.parametrize("answer", ["tomorrow", "2026-03-03", "2026-02-30"])
def test_asks_again_for_a_day_that_is_none(site, answer):
    load(site, source())
    made = planned(site, source(gauge="LG-9"), answers={"moves": answer})
    assert not made.ready


def test_does_not_move_a_thing_before_it_came(site):
    load(site, source())
    made = planned(site, source(gauge="LG-9"), answers={"moves": "2020-01-01"})
    assert codes(only(made).faults) == ["plan_moved_too_early"]


# ---------------------------------------------------------------- wipes and calibrations


def test_adds_a_wipe_that_the_register_lacks(site):
    load(site, source())
    made = only(planned(site, source(wipe=wipe(on=date(2026, 1, 5)))))
    assert (made.status, codes(made.writes)) == ("adds", ["plan_wipe_reported"])


def test_adds_another_result_of_the_same_day_and_says_so(site):
    """An updated list may know of a leak: it is never passed over as known already."""
    load(site, source())
    made = only(planned(site, source(wipe=wipe(reported(activity=900)))))
    assert codes(made.notes) == ["plan_wipe_another_result"]
    assert made.status == "adds"


def test_knows_a_wipe_that_stands_in_two_sheets(site):
    made = planned(site, source(), wipe(subjects=["L-1"]))
    assert statuses(made) == ["new", "here"]
    assert made.counts["wipes"] == 1


def test_finds_the_sources_of_a_wipe_by_serial_or_by_gauge(site):
    load(site, source("A", gauge="G"), source("B", gauge="G"))
    on = date(2026, 1, 5)
    made = planned(site, wipe(gauge="G", on=on), wipe(subjects=["A", "B"], on=date(2026, 1, 6)))
    assert [len(one.sources) for one in made.acts.wipes] == [2, 2]


@pytest.mark.parametrize(
    ("entry", "code"),
    [
        (wipe(subjects=["nobody"]), "plan_serial_unknown"),
        (wipe(gauge="nowhere"), "plan_gauge_unknown"),
        (wipe(gauge="G", on=date(2019, 1, 1)), "plan_gauge_empty"),
        (wipe(counted("no counter"), subjects=["A"]), "plan_monitor_unknown"),
        (wipe(subjects=["A"], on=date(2026, 3, 3)), "wiped_in_future"),
        (wipe(counted(on=date(2025, 1, 1)), subjects=["A"]), "counted_before_wiped"),
        (calibration("no monitor"), "plan_monitor_unknown"),
        (calibration(valid_until=date(2020, 1, 1)), "valid_until_before_calibration"),
        (source("N", of={"nuclide": "Xx-1"}), "nuclide_unknown"),
        (source("F", received_on=date(2026, 3, 3)), "effective_in_future"),
        (source("T", of={"maker": "x" * 101}), "text_too_long"),
        (source("C", of={"maker": "a\x07"}), "text_has_control_character"),
        (source("P", gauge="G", place="Elsewhere"), "plan_two_places"),
    ],
)
def test_says_of_a_row_why_it_cannot_be_loaded(site, entry, code):
    made = planned(site, source("A", gauge="G"), monitor(), entry)
    assert codes(made.rows[2].faults) == [code]
    assert made.rows[2].status == "fault"
    assert not made.ready


def test_does_not_guess_which_of_two_serials_a_wipe_is_of(site):
    load(site, source("A"), source("A", of={"nuclide": "Co-60"}, gauge="G"))
    on = date(2026, 1, 5)
    made = only(planned(site, wipe(subjects=["A"], on=on)))
    assert codes(made.faults) == ["plan_two_sources_of_serial"]
    assert only(planned(site, wipe(subjects=["A"], nuclide="Co-60", on=on))).faults == []


def test_keeps_the_faults_of_reading(site):
    made = planned(site, faulty(), source())
    assert statuses(made) == ["fault", "new"]
    assert not made.ready


def test_says_what_a_bare_statement_needs(site):
    made = only(planned(site, source(wipe=wipe(declared()))))
    assert codes(made.notes) == ["plan_wipe_waits"]


def test_has_a_fingerprint_that_changes_with_what_is_written(site):
    one, same, other = planned(site, source()), planned(site, source()), planned(site, bare())
    assert one.fingerprint == same.fingerprint
    assert one.fingerprint != other.fingerprint


def test_asks_a_fixed_number_of_questions_of_the_database(site):
    counts = []
    for many in (2, 30):
        rows = [source(f"S-{n}") for n in range(many)]
        load(site, *rows)
        with CaptureQueriesContext(connection) as asked:
            plan(site, file_of(*rows), TODAY)
        counts.append(len(asked))
    assert counts[0] == counts[1]


def test_numbers_rows_as_their_owner_sees_them(site):
    made = planned(site, row(source(), line=7, sheet="Hall 2"))
    assert only(made).row.key == "Hall 2!7"
