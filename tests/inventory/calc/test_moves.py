"""Which movement can follow which, and where things are then: what a source does by itself, and
what it does with its gauge."""

from __future__ import annotations

from datetime import date, time, timedelta
from typing import Any

import pytest

from inventory.calc.moves import IN_STORAGE, OPEN_END, PACKED, VERBS, Move
from inventory.calc.stays import StaySpan, at, resolved, stays, told
from inventory.calc.whereabouts import (
    ENDED_AS,
    FOLLOWS,
    REFUSED,
    REFUSED_AS,
    State,
    possible,
    walk,
)
from inventory.movement_sentences import MOVEMENT_SENTENCES, MOVEMENT_WORDS

D = date(2025, 3, 10)
STORE, SHOP, GAUGE, OTHER = 1, 2, 7, 8


def day(n: int) -> date:
    return D + timedelta(days=n)


def go(n: int, verb: str, **more: Any) -> Move:
    """A movement with what its verb needs; its number is that of the day."""
    place: dict[str, Any] = {
        "received": {"location": STORE},
        "installed": {"gauge": GAUGE},
        "removed": {"location": SHOP},
        "moved": {"location": SHOP},
        "stored": {"location": SHOP},
        "returned": {"location": SHOP},
        "found": {"location": SHOP},
    }
    clock = more.pop("time", None)
    seq = more.pop("seq", n + 1)
    return Move(day(n), clock, seq, verb, **(place.get(verb, {}) | more))


HERE = [go(0, "received")]
VISITS = [go(0, "received", visiting=True)]
#: How a thing comes to be where the columns below say.
WAYS = {
    "new": [],
    "here": HERE,
    "visit": VISITS,
    "gauge": [*HERE, go(1, "installed")],
    "out": [*HERE, go(1, "out", away_to="Job")],
    "sent": [*HERE, go(1, "sent_away", away_to="Maker")],
    "away": [*HERE, go(1, "sent_away", away_to="Maker"), go(2, "arrived")],
    "lost": [*HERE, go(1, "missing")],
    "given": [*HERE, go(1, "transferred", away_to="Buyer")],
    "ended": [*HERE, go(1, "disposed", away_to="Waste firm")],
    "left": [*VISITS, go(1, "left")],
}
#: What comes of each verb there: + it can follow; else the end of the code of its refusal.
TABLE = """
            new    here     visit    gauge  out   sent  away    lost    given ended left
received    +      twice    twice    twice  twice twice twice   twice   +     ended +
installed   before +        +        again  out   way   away    lost    given ended left
removed     before no_gauge no_gauge +      out   way   away    lost    given ended left
moved       before +        +        inside out   way   away    lost    given ended left
stored      before +        +        inside out   way   away    lost    given ended left
out         before +        leaves   inside out   way   away    lost    given ended left
back        before not_out  not_out  comes  +     way   away    lost    given ended left
sent_away   before +        leaves   inside out   way   away    lost    given ended left
arrived     before not_way  not_way  comes  out   +     arrived lost    given ended left
returned    before not_away not_away comes  out   +     +       lost    given ended left
transferred before +        leaves   inside out   sent  +       lost    given ended left
disposed    before +        leaves   inside out   sent  +       lost    given ended left
missing     before +        +        +      +     +     +       already given ended left
found       before found    found    found  found found found   +       given ended left
left        before ours     +        inside out   way   away    lost    given ended left
"""
CODES = {
    "before": "moved_before_received",
    "twice": "received_twice",
    "again": "already_installed",
    "no_gauge": "not_in_gauge",
    "leaves": "visiting_only_leaves",
    "inside": "inside_gauge",
    "comes": "comes_with_gauge",
    "out": "is_out",
    "not_out": "not_out",
    "way": "is_on_the_way",
    "not_way": "not_on_the_way",
    "arrived": "arrived_already",
    "away": "is_away",
    "not_away": "not_away",
    "sent": "not_arrived",
    "lost": "is_missing",
    "already": "missing_already",
    "found": "not_missing",
    "ours": "not_visiting",
    "given": "was_transferred",
    "ended": "was_disposed",
    "left": "has_left",
}


def table() -> list[tuple[str, str, str]]:
    head, *rows = [line.split() for line in TABLE.strip().splitlines()]
    return [
        (way, row[0], "" if word == "+" else CODES[word])
        for row in rows
        for way, word in zip(head, row[1:], strict=True)
    ]


def test_the_table_names_every_verb_from_everywhere():
    rows = table()
    assert {verb for _, verb, _ in rows} == set(VERBS)
    assert {way for way, _, _ in rows} == set(WAYS)
    assert len(rows) == len(VERBS) * len(WAYS)


@pytest.mark.parametrize(("way", "verb", "code"), table())
def test_what_can_follow_and_why_not(way, verb, code):
    moves = [*WAYS[way], go(5, verb)]
    line, refused = stays(moves)
    assert [one.code for one in refused] == ([code] if code else [])
    if code:  # a refused movement moves nothing
        assert line == stays(WAYS[way])[0]


def test_every_refusal_has_one_clear_sentence():
    codes = {*REFUSED.values(), *REFUSED_AS.values(), *ENDED_AS.values(), *CODES.values()}
    by_gauge = {"gauge_not_here", "its_gauge_not_here", "gone_with_gauge", "packed_no_more"}
    for code in codes | by_gauge | {"already_there"}:
        assert str(MOVEMENT_SENTENCES[code]).endswith(".")


def test_every_verb_and_every_whereabouts_has_its_word():
    for verb in VERBS:
        assert MOVEMENT_WORDS[f"kind:{verb}"]
    for where in FOLLOWS.keys() - {"", "gone"}:
        assert MOVEMENT_WORDS[f"whereabouts:{where}"]


@pytest.mark.parametrize("way", WAYS)
def test_only_what_is_possible_is_offered(way):
    passed, _ = walk(WAYS[way])
    state = passed[-1].state if passed else State()
    wanted = [verb for named, verb, code in table() if named == way and code in ("", SAME)]
    assert possible(state) == wanted


#: Another gauge is possible although this one is not.
SAME = "already_installed"


# --- where it is then ---------------------------------------------------------------------------


def last(*moves: Move) -> StaySpan:
    line, refused = stays(moves)
    assert not refused
    return line[-1]


@pytest.mark.parametrize(
    ("way", "more", "gauge", "location", "whereabouts", "away_to"),
    [
        ("here", [], None, STORE, "at_location", ""),
        ("gauge", [], GAUGE, None, "in_gauge", ""),
        ("gauge", [go(5, "removed")], None, SHOP, "at_location", ""),
        ("out", [], None, None, "out", "Job"),
        ("out", [go(5, "back")], None, STORE, "at_location", ""),
        ("out", [go(5, "back", location=SHOP)], None, SHOP, "at_location", ""),
        ("sent", [], None, None, "in_transit", "Maker"),
        ("sent", [go(5, "returned")], None, SHOP, "at_location", ""),
        ("away", [], None, None, "away", "Maker"),
        ("sent", [go(5, "arrived", away_to="His brother")], None, None, "away", "His brother"),
        ("lost", [], None, None, "missing", ""),
        ("lost", [go(5, "found")], None, SHOP, "at_location", ""),
        ("gauge", [go(5, "missing")], None, None, "missing", ""),
    ],
)
def test_where_it_is_after_it(way, more, gauge, location, whereabouts, away_to):
    found = last(*WAYS[way], *more)
    assert (found.gauge, found.location, found.whereabouts, found.away_to) == (
        *(gauge, location, whereabouts, away_to),
    )


@pytest.mark.parametrize("verb", ["transferred", "disposed"])
def test_what_goes_for_good_is_here_until_the_day_before(verb):
    line, refused = stays([*HERE, go(4, verb, away_to="Somebody")])
    assert not refused
    assert line == [StaySpan(day(0), day(3), None, STORE)]
    assert at(line, day(4)) is None


def test_what_was_given_away_can_come_again():
    line, refused = stays([*WAYS["given"], go(9, "received", location=SHOP)])
    assert not refused
    assert line == [StaySpan(day(0), day(0), None, STORE), StaySpan(day(9), OPEN_END, None, SHOP)]


def test_a_visit_is_one_until_it_leaves_and_the_next_arrival_says_for_itself():
    moves = [*VISITS, go(1, "moved"), go(2, "left"), go(5, "received")]
    line, refused = stays(moves)
    assert not refused
    assert [span.visiting for span in line] == [True, True, False]
    assert stays([*moves, go(6, "left")])[1][0].code == "not_visiting"


# --- how it is kept -----------------------------------------------------------------------------


def test_storage_lasts_until_something_says_otherwise():
    line, refused = stays([*HERE, go(1, "stored"), go(4, "moved"), go(9, "stored")])
    assert not refused
    assert [span.keeping for span in line] == ["in_use", "stored", "in_use", "stored"]


def test_it_goes_back_into_use_where_it_is():
    line, refused = stays([*HERE, go(1, "stored", location=STORE), go(4, "moved", location=STORE)])
    assert not refused
    assert [(span.location, span.keeping) for span in line] == [
        (STORE, "in_use"), (STORE, "stored"), (STORE, "in_use"),
    ]  # fmt: skip


@pytest.mark.parametrize(
    "again",
    [
        go(4, "stored"),
        go(4, "moved", keeping=IN_STORAGE),
    ],
)
def test_what_is_stored_there_is_not_stored_there_again(again):
    refused = stays([*HERE, go(1, "stored"), again])[1]
    assert [one.code for one in refused] == ["already_there"]


def test_a_job_is_use_and_a_journey_keeps_it_as_it_was():
    stored = go(1, "stored")
    assert last(*HERE, stored, go(2, "out", away_to="Job")).keeping == "in_use"
    assert last(*HERE, stored, go(2, "sent_away", away_to="Maker")).keeping == "stored"
    assert last(*HERE, stored, go(2, "missing")).keeping == "stored"


def test_the_shipping_container_is_opened_once():
    packed = go(0, "received", keeping=PACKED)
    assert last(packed, go(1, "moved", keeping=PACKED)).keeping == PACKED
    for opened in (go(2, "moved"), go(2, "stored"), go(2, "installed")):
        verb = "removed" if opened.verb == "installed" else "moved"
        back = go(5, verb, location=STORE, keeping=PACKED)
        refused = stays([packed, go(1, "moved", keeping=PACKED, location=9), opened, back])[1]
        assert [one.code for one in refused] == ["packed_no_more"]


# --- inside a gauge -----------------------------------------------------------------------------


def histories(**gauges: list[Move]) -> dict[int, Any]:
    named = {"gauge": GAUGE, "other": OTHER}
    found = {}
    for name, moves in gauges.items():
        passed, refused = walk(moves)
        assert not refused
        found[named[name]] = passed
    return found


THERE = [go(0, "received", location=SHOP)]
INSIDE = [go(1, "received"), go(2, "installed")]
GAUGE_IS = {
    "here": THERE,
    "out": [*THERE, go(4, "out", away_to="Job")],
    "sent": [*THERE, go(4, "sent_away", away_to="Maker")],
    "lost": [*THERE, go(4, "missing")],
    "given": [*THERE, go(4, "transferred", away_to="Buyer")],
    "ended": [*THERE, go(4, "disposed", away_to="Waste firm")],
}


@pytest.mark.parametrize(
    ("gauge", "verb", "code"),
    [
        ("here", "removed", ""),
        ("here", "missing", ""),
        ("here", "received", "received_twice"),
        ("here", "found", "not_missing"),
        ("out", "removed", "its_gauge_not_here"),
        ("out", "back", "comes_with_gauge"),
        ("out", "missing", ""),
        ("out", "moved", "inside_gauge"),
        ("sent", "removed", "its_gauge_not_here"),
        ("sent", "returned", "comes_with_gauge"),
        ("lost", "found", ""),
        ("lost", "missing", "missing_already"),
        ("lost", "removed", "its_gauge_not_here"),
        ("given", "removed", "gone_with_gauge"),
        ("given", "moved", "gone_with_gauge"),
        ("given", "missing", "gone_with_gauge"),
        ("given", "received", ""),
        ("ended", "received", "gone_with_gauge"),
        ("ended", "disposed", "gone_with_gauge"),
    ],
)
def test_what_it_can_do_depends_on_its_gauge(gauge, verb, code):
    gauges = histories(gauge=GAUGE_IS[gauge])
    refused = stays([*INSIDE, go(9, verb)], gauges)[1]
    assert [one.code for one in refused] == ([code] if code else [])


@pytest.mark.parametrize(
    ("gauge", "wanted"),
    [
        ("here", ["installed", "removed", "missing"]),
        ("out", ["missing"]),
        ("sent", ["missing"]),
        ("lost", ["found"]),
        ("given", ["received"]),
        ("ended", []),
    ],
)
def test_only_what_its_gauge_allows_is_offered(gauge, wanted):
    of_gauge = walk(GAUGE_IS[gauge])[0][-1].state
    assert possible(walk(INSIDE)[0][-1].state, of_gauge) == wanted


@pytest.mark.parametrize("gauge", ["out", "sent", "lost", "given", "ended"])
def test_nothing_goes_into_a_gauge_that_is_not_here(gauge):
    gauges = histories(gauge=THERE, other=GAUGE_IS[gauge])
    for moves in ([*INSIDE, go(9, "installed", gauge=OTHER)], [go(9, "received", gauge=OTHER)]):
        assert [one.code for one in stays(moves, gauges)[1]] == ["gauge_not_here"]
    early = [*INSIDE, go(3, "installed", gauge=OTHER)]
    assert not stays(early, gauges)[1]


@pytest.mark.parametrize("clock", [None, time(6), time(18)])
def test_on_the_day_it_leaves_or_comes_a_gauge_is_here_too(clock):
    gauge = [*GAUGE_IS["out"], go(6, "back")]
    for n in (4, 6):
        taken = go(n, "removed", time=clock, seq=50)
        assert not stays([*INSIDE, taken], histories(gauge=gauge))[1]
    assert stays([*INSIDE, go(5, "removed")], histories(gauge=gauge))[1]


@pytest.mark.parametrize(
    ("went", "came", "taken", "code"),
    [
        (time(9), time(16), time(8), ""),
        (time(9), time(16), time(9), ""),  # one minute holds both orders
        (time(9), time(16), time(12), "its_gauge_not_here"),
        (time(9), time(16), time(17), ""),
        (time(9), time(16), None, ""),
        (time(9), None, time(12), ""),  # it may have been back by then
        (None, None, time(12), ""),
    ],
)
def test_two_times_of_one_day_tell_whether_the_gauge_was_here(went, came, taken, code):
    gauge = [*THERE, go(4, "out", away_to="Job", time=went), go(4, "back", time=came, seq=6)]
    gauges = histories(gauge=gauge, other=gauge)
    removed = go(4, "removed", time=taken, seq=50)
    assert [one.code for one in stays([*INSIDE, removed], gauges)[1]] == ([code] if code else [])
    installed = go(4, "installed", gauge=OTHER, time=taken, seq=50)
    refused = stays([go(1, "received"), installed], gauges)[1]
    assert [one.code for one in refused] == (["gauge_not_here"] if code else [])


@pytest.mark.parametrize(
    ("gauge", "whereabouts", "location", "away_to"),
    [
        ("here", "in_gauge", SHOP, ""),
        ("out", "out", None, "Job"),
        ("sent", "in_transit", None, "Maker"),
        ("lost", "missing", None, ""),
    ],
)
def test_a_source_is_where_its_gauge_is(gauge, whereabouts, location, away_to):
    line = resolved(told(INSIDE), {GAUGE: told(GAUGE_IS[gauge])})
    found = at(line, day(9))
    assert found is not None
    assert (found.whereabouts, found.gauge, found.location, found.away_to) == (
        *(whereabouts, GAUGE, location, away_to),
    )
    before = at(line, day(3))
    assert before is not None
    assert (before.whereabouts, before.location) == ("in_gauge", SHOP)


@pytest.mark.parametrize("gauge", ["given", "ended"])
def test_a_gauge_takes_its_source_along_for_good(gauge):
    line = resolved(told(INSIDE), {GAUGE: told(GAUGE_IS[gauge])})
    assert line[-1].until_on == day(3)
    assert at(line, day(4)) is None


def test_a_gauge_that_comes_again_brings_its_source_along():
    gauge = [*GAUGE_IS["given"], go(20, "received", location=STORE)]
    line = resolved(told(INSIDE), {GAUGE: told(gauge)})
    assert at(line, day(19)) is None
    assert line[-1] == StaySpan(day(20), OPEN_END, GAUGE, STORE)


def test_a_source_is_kept_as_its_gauge_is():
    gauge = [*THERE, go(4, "stored", location=STORE), go(8, "moved")]
    line = resolved(told(INSIDE), {GAUGE: told(gauge)})
    assert [(span.from_on, span.keeping) for span in line] == [
        (day(1), "in_use"), (day(2), "in_use"), (day(4), "stored"), (day(8), "in_use"),
    ]  # fmt: skip


def test_a_source_visits_with_its_gauge():
    gauge = [go(0, "received", location=SHOP, visiting=True)]
    line = resolved(told(INSIDE), {GAUGE: told(gauge)})
    assert [span.visiting for span in line] == [False, True]


# --- what was recorded under the rules of an earlier edition ------------------------------------


def test_a_source_that_was_once_moved_out_of_its_gauge_is_where_the_record_says():
    old = [go(0, "received"), go(1, "installed"), go(2, "moved")]
    assert stays(old)[1][0].code == "inside_gauge"
    assert told(old)[-1] == StaySpan(day(2), OPEN_END, None, SHOP)


def test_a_source_that_was_once_installed_before_its_gauge_came_is_in_it():
    line = resolved(told(INSIDE), {GAUGE: told([go(5, "received", location=SHOP)])})
    assert [(span.from_on, span.gauge, span.location) for span in line] == [
        (day(1), None, STORE), (day(2), GAUGE, None), (day(5), GAUGE, SHOP),
    ]  # fmt: skip


# ---------------------------------------------------------------- when it is expected

JOB = {"away_to": "Job", "expected_on": day(9)}
TO_MAKER = {"away_to": "Maker", "expected_on": day(20)}
COME = [go(0, "received", visiting=True, expected_on=day(5))]


@pytest.mark.parametrize(
    ("moves", "expected"),
    [
        (HERE, None),
        ([*HERE, go(1, "out", **JOB)], day(9)),
        ([*HERE, go(1, "out", away_to="Job")], None),  # nobody said
        ([*HERE, go(1, "out", **JOB), go(2, "back")], None),
        ([*HERE, go(1, "out", **JOB), go(2, "missing")], None),  # missing, which is worse
        ([*HERE, go(1, "out", **JOB), go(2, "back"), go(3, "out", away_to="Job")], None),
        ([*HERE, go(1, "sent_away", **TO_MAKER)], day(20)),
        ([*HERE, go(1, "sent_away", **TO_MAKER), go(2, "arrived")], day(20)),
        ([*HERE, go(1, "sent_away", **TO_MAKER), go(2, "transferred")], None),
        ([*HERE, go(1, "sent_away", **TO_MAKER), go(2, "returned")], None),
        (COME, day(5)),
        ([*COME, go(1, "moved")], day(5)),
        ([*COME, go(1, "installed")], day(5)),
        ([*COME, go(1, "missing"), go(2, "found")], day(5)),
        ([*COME, go(1, "left")], None),
        ([*COME, go(1, "left"), go(2, "received")], None),  # ours from then on
    ],
)
def test_a_thing_that_is_away_or_visits_is_expected_when_that_was_said(moves, expected):
    """Common practice, no source."""
    assert walk(moves, told=True)[0][-1].state.awaited_on == expected
