"""A valid file with one thing wrong in it: it says something else, or it is refused in one line.

Never anything else: no other error, and no silent reading of what somebody did not mean.
"""

from __future__ import annotations

import copy
import tomllib
from collections.abc import Iterator
from dataclasses import replace
from datetime import date, datetime
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from inventory.rules.load import FOLDER, RuleFault, load, understood
from inventory.rules.schema import RuleSet

NAMES = ("gb-2", "ca-1", "de-1", "us_general-1")
FILES = {name: tomllib.loads((FOLDER / f"{name}.toml").read_text()) for name in NAMES}
Path = tuple[str | int, ...]

#: Values of other types, and numbers that no rule can have.
STRANGE = (
    *("", " ", "x", "a\nb", "\x00", "inf", True, False, 0, -1, 10**12, 10**400, 0x10**6000),
    *(0.5, float("nan"), float("inf"), -0.0, [], {}, [1], [[]], ["x"], {"a": 1}, [{}]),
    *(date(2020, 1, 1), datetime(2020, 1, 1)),
)
#: Fields that only say what holds without them, or are for the reader of the file.
USUAL = {
    **{("basis", "activity_on"): "day", ("basis", "category_scheme"): "iaea"},
    **{("basis", "hass_on"): "day", ("basis", "hass_comparator"): "at_least"},
    **{("leak_limit", "unit"): "Bq", ("leak_limit", "action_fraction"): 0.1},
    **{("row", "stored_comparator"): "at_least", ("row", "lead_days"): 30},
}
FOR_THE_READER = {("leak_limit", "note"), ("tables", "note")}


def places(data: Any, path: Path = ()) -> Iterator[Path]:
    """Every key and every place of a list, however deep."""
    inner = data.items() if isinstance(data, dict) else enumerate(data)
    for key, value in inner:
        yield (*path, key)
        if isinstance(value, dict | list):
            yield from places(value, (*path, key))


PLACES = {name: list(places(data)) for name, data in FILES.items()}


def held_by(data: Any, path: Path) -> Any:
    for key in path[:-1]:
        data = data[key]
    return data


def outcome(name: str, data: Any) -> RuleSet | str:
    """The rule set, or the sentence. Anything else goes up and fails."""
    try:
        return replace(understood(f"{name}.toml", data, ""), sha256="")
    except RuleFault as fault:
        return str(fault)


WHOLE = {name: outcome(name, data) for name, data in FILES.items()}


def is_one_sentence(fault: str, name: str) -> bool:
    return fault.startswith(f"{name}.toml") and fault.isprintable() and len(fault) < 1000


def check(name: str, path: Path, data: Any) -> None:
    found = outcome(name, data)
    if isinstance(found, str):
        assert is_one_sentence(found, name), found
    else:
        assert found != WHOLE[name] or may_say_the_same(name, path), path


def may_say_the_same(name: str, path: Path) -> bool:
    part = (str(path[0]), str(path[-1]))
    before = held_by(FILES[name], path)[path[-1]]
    return part in FOR_THE_READER or USUAL.get(part) == before or before is False


chosen = st.sampled_from(NAMES).flatmap(
    lambda name: st.tuples(st.just(name), st.sampled_from(PLACES[name]))
)
many = settings(max_examples=200, deadline=None)


@many
@given(chosen)
def test_something_is_missing(place):
    name, path = place
    data = copy.deepcopy(FILES[name])
    del held_by(data, path)[path[-1]]
    check(name, path, data)


@many
@given(chosen, st.sampled_from(STRANGE))
def test_something_is_of_another_kind(place, value):
    name, path = place
    data = copy.deepcopy(FILES[name])
    holder = held_by(data, path)
    if holder[path[-1]] == value and type(holder[path[-1]]) is type(value):
        return
    holder[path[-1]] = value
    check(name, path, data)


@many
@given(chosen, st.sampled_from(("x", " ", "_", "\n", "\u2028")))
def test_something_is_misspelt(place, more):
    """A key with something behind it; a text with something behind it."""
    name, path = place
    data = copy.deepcopy(FILES[name])
    holder, key = held_by(data, path), path[-1]
    if isinstance(key, str):
        holder[key + more] = holder.pop(key)
        check(name, path, data)
        assert isinstance(outcome(name, data), str) or is_free(path)
    value = held_by(FILES[name], path)[key]
    if isinstance(value, str):
        data = copy.deepcopy(FILES[name])
        held_by(data, path)[key] = value + more
        check(name, path, data)


NUMBERS = {
    name: [
        path
        for path in PLACES[name]
        if isinstance(held_by(data, path)[path[-1]], int | float)
        and not isinstance(held_by(data, path)[path[-1]], bool)
    ]
    for name, data in FILES.items()
}


@many
@given(
    st.sampled_from(NAMES).flatmap(
        lambda name: st.tuples(st.just(name), st.sampled_from(NUMBERS[name]))
    ),
    st.integers() | st.floats(),
)
def test_a_number_is_another(place, value):
    name, path = place
    data = copy.deepcopy(FILES[name])
    holder = held_by(data, path)
    if holder[path[-1]] == value:
        return
    holder[path[-1]] = value
    check(name, path, data)


def is_free(path: Path) -> bool:
    """Whether the file chooses the name: of a nuclide table, or a nuclide in one."""
    return path[0] == "tables" and (len(path) == 2 or (path[2:3] == ("bq",) and len(path) == 4))


@many
@given(chosen, st.text(max_size=5), st.sampled_from((1, "x", {})))
def test_something_is_too_much(place, key, value):
    """A field that nobody knows is refused wherever it stands, and never passed over."""
    name, path = place
    data = copy.deepcopy(FILES[name])
    holder = held_by(data, path)
    if isinstance(holder, dict) and key not in holder and not is_free((*path[:-1], key)):
        holder[key] = value
        found = outcome(name, data)
        assert isinstance(found, str) and is_one_sentence(found, name)


@many
@given(chosen)
def test_something_stands_twice(place):
    name, path = place
    data = copy.deepcopy(FILES[name])
    holder = held_by(data, path)
    if isinstance(holder, list):
        holder.append(holder[path[-1]])
        check(name, path, data)


# --- the text itself ------------------------------------------------------------------------------

TEXT = (FOLDER / "gb-2.toml").read_bytes()


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    return tmp_path_factory.mktemp("mutilated")


@settings(max_examples=200, deadline=None)
@given(at=st.integers(0, len(TEXT)), length=st.integers(0, 200), put=st.binary(max_size=8))
def test_the_text_is_damaged_anywhere(folder, at, length, put):
    path = folder / "gb-2.toml"
    path.write_bytes(TEXT[:at] + put + TEXT[at + length :])
    try:
        assert isinstance(load(path), RuleSet)
    except RuleFault as fault:
        assert is_one_sentence(str(fault), "gb-2")
