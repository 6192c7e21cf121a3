"""The one door: what it refuses, what it keeps, and that all of an act happens or none."""

from __future__ import annotations

import json
import unicodedata
import uuid
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import replace
from datetime import UTC, date, datetime, time, timedelta, timezone
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest
from django.db import IntegrityError, connection, transaction
from hypothesis import given
from hypothesis import strategies as st

from config.accounts.models import User
from inventory import derive
from inventory.calc.errors import DomainError
from inventory.custody.actions import Movement, record_movement
from inventory.ledger import canonical, files
from inventory.ledger.files import Upload
from inventory.ledger.models import Attachment, Chain, Item, ItemKind, Record, RecordItem
from inventory.ledger.verify import check_everything
from inventory.ledger.write import About, Draft, Overtaken, last_seq, read_body, writing
from inventory.timeline import Stay
from tests import factories

DAY = date(2026, 1, 4)

# ---------------------------------------------------------------- canonical text

CLEAN = st.text(st.characters(exclude_categories=["Cc", "Cs"]), max_size=20)
VALUES = st.recursive(
    st.none()
    | st.booleans()
    | CLEAN
    | st.integers(-(10**40), 10**40)
    | st.decimals(allow_nan=False, allow_infinity=False)
    | st.floats(allow_nan=False, allow_infinity=False)
    | st.dates()
    | st.datetimes(timezones=st.just(UTC))
    | st.uuids(),
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(CLEAN, inner, max_size=4),
    max_leaves=12,
)


@given(st.dictionaries(CLEAN, VALUES, max_size=6), st.randoms())
def test_gives_the_same_bytes_in_any_order_of_keys(content: dict[str, Any], random: Any) -> None:
    keys = list(content)
    random.shuffle(keys)
    assert canonical.text({key: content[key] for key in keys}) == canonical.text(content)


@given(VALUES)
def test_comes_back_as_the_same_text(content: Any) -> None:
    text = canonical.text(content)
    assert canonical.text(json.loads(text)) == text
    assert json.loads(text) == canonical.plain(content)


@given(st.floats(allow_nan=False, allow_infinity=False))
def test_keeps_every_bit_of_a_float(value: float) -> None:
    assert float(json.loads(canonical.text(value))).hex() == value.hex()


@given(st.decimals(allow_nan=False, allow_infinity=False))
def test_keeps_every_digit_of_a_decimal(value: Decimal) -> None:
    assert Decimal(json.loads(canonical.text(value))).as_tuple() == value.as_tuple()


@pytest.mark.parametrize(
    "value", [float("nan"), float("inf"), Decimal("NaN"), Decimal("-Infinity")]
)
def test_refuses_numbers_that_are_not_finite(value: Any) -> None:
    with pytest.raises(DomainError, match="number_not_finite"):
        canonical.text({"a": [value]})


@given(st.characters(categories=["Cc", "Cs"], exclude_characters="\n\t\r"))
def test_refuses_control_characters_and_half_surrogates(char: str) -> None:
    for content in (f"a{char}b", {f"a{char}": 1}, [{"a": char}]):
        with pytest.raises(DomainError, match="text_has_control_character"):
            canonical.text(content)


@given(CLEAN)
def test_keeps_unicode_as_it_was_written(text: str) -> None:
    assert json.loads(canonical.text(text)) == text
    decomposed = unicodedata.normalize("NFD", text)
    assert json.loads(canonical.text(decomposed)) == decomposed


def test_writes_every_line_end_alike() -> None:
    assert canonical.text("a\r\nb\rc\n") == canonical.text("a\nb\nc\n") == '"a\\nb\\nc\\n"'


@pytest.mark.parametrize("value", [b"bytes", bytearray(b"x"), {1, 2}, object(), {1: "a", "1": "b"}])
def test_refuses_what_has_no_canonical_text(value: Any) -> None:
    with pytest.raises(TypeError):
        canonical.text(value)


def test_has_no_spaces_and_numbers_as_text() -> None:
    content = {"b": 1, "a": [Decimal("1.50"), 0.1, True, None], "ä": date(2026, 1, 4)}
    assert canonical.text(content) == '{"a":["1.50","0.1",true,null],"b":"1","ä":"2026-01-04"}'


# ---------------------------------------------------------------- the door


@pytest.fixture(scope="module")
def by(site: Any) -> User:
    return factories.rps_of(site)


@pytest.fixture(scope="module")
def source(site: Any) -> Item:
    return factories.make_source(site)


@pytest.fixture
def act(site: Any, by: User) -> Callable[..., Any]:
    """Opens the ledger of the site, a minute later than the last time."""
    return lambda **more: writing(
        more.pop("site", site), **({"by": by, "at": factories.tick()} | more)
    )


def note(*items: Item, **fields: Any) -> Draft:
    """A record of a kind that has no tables of its own."""
    values = {"kind": "note", "effective_on": DAY, "about": [About(item) for item in items]}
    return Draft(**(values | fields))


@contextmanager
def refused(code: str, error: type[Exception] = DomainError) -> Iterator[None]:
    """Refused with this code, and nothing of it is left."""
    before = everything()
    with pytest.raises(error, match=code or None):
        yield
    assert everything() == before
    assert list(check_everything()) == []


def everything() -> dict[str, Any]:
    out = {"chains": list(Chain.objects.order_by("pk").values_list("length", "head"))}
    for model in (Record, RecordItem, Item, Stay, Attachment):
        out[model._meta.db_table] = list(model.objects.order_by("pk").values_list("pk", flat=True))
    return out


def test_refuses_a_clock_that_runs_backwards(act: Any, source: Item) -> None:
    last = Record.objects.latest("pk").recorded_at
    for late in (timedelta(seconds=31), timedelta(days=400)):
        with refused("clock_runs_backwards"), act(at=last - late) as ledger:
            ledger.append(note(source))


def test_takes_somebody_along_who_waited_while_another_saved(act: Any, source: Item) -> None:
    last = Record.objects.latest("pk").recorded_at
    with act(at=last - timedelta(seconds=20)) as ledger:
        record = ledger.append(note(source))
    assert record.recorded_at == last
    assert list(check_everything()) == []


def test_lets_many_records_have_the_same_moment(act: Any, source: Item) -> None:
    last = Record.objects.latest("pk").recorded_at
    for _ in range(2):
        with act(at=last) as ledger:
            ledger.append_many([note(source), note(source)])
    assert Record.objects.filter(recorded_at=last).count() == 5


def test_refuses_a_moment_without_a_time_zone(act: Any, source: Item) -> None:
    naive = datetime(2026, 3, 1, 8, 0)
    with refused("time zone", ValueError), act(at=naive) as ledger:
        ledger.append(note(source))


def test_refuses_a_time_of_day_with_a_time_zone(act: Any, source: Item) -> None:
    with refused("time zone", ValueError), act() as ledger:
        ledger.append(note(source, effective_time=time(8, tzinfo=UTC)))


def test_refuses_a_day_that_is_still_to_come_on_the_site(act: Any) -> None:
    east = factories.make_site("east", time_zone="Pacific/Auckland")
    source = factories.make_source(east)
    by = factories.rps_of(east)
    at = datetime(2026, 5, 1, 13, 0, tzinfo=UTC)  # already 2 May there
    with refused("effective_in_future"), act(site=east, by=by, at=at) as ledger:
        ledger.append(note(source, effective_on=date(2026, 5, 3)))
    with act(site=east, by=by, at=at) as ledger:
        assert ledger.append(note(source, effective_on=date(2026, 5, 2))).seq


@pytest.mark.parametrize("offset", [-11, 0, 14])
def test_keeps_a_moment_to_the_microsecond_in_any_zone(act: Any, source: Item, offset: int) -> None:
    zone = timezone(timedelta(hours=offset))
    at = (factories.tick() + timedelta(microseconds=123_457)).astimezone(zone)
    with act(at=at) as ledger:
        record = ledger.append(note(source, effective_time=time(8, 0, 0, 7)))
    record.refresh_from_db()
    assert record.recorded_at == at == datetime.fromisoformat(read_body(record)["recorded_at"])
    assert record.effective_time == time(8, 0, 0, 7)
    assert list(check_everything()) == []


# ---------------------------------------------------------------- corrections


def test_refuses_a_correction_without_a_reason(act: Any, source: Item) -> None:
    with act() as ledger:
        old = ledger.append(note(source))
    for reason in ("", "  \n"):
        with refused("correction_needs_reason"), act() as ledger:
            ledger.append(note(source, replaces=old, reason=reason))


def test_refuses_a_correction_of_another_kind_or_chain(act: Any, source: Item) -> None:
    other = factories.make_source(factories.make_site("otherby"))
    described = Record.objects.get(kind="described", about__item=source)
    foreign = Record.objects.get(kind="described", about__item=other)
    for old, kind in ((described, "note"), (foreign, "described")):
        with refused("correction_of_another_kind"), act() as ledger:
            ledger.append(note(source, kind=kind, replaces=old, reason="x"))


def test_refuses_a_second_correction(act: Any, source: Item) -> None:
    with act() as ledger:
        old = ledger.append(note(source))
        again = note(source, replaces=old, reason="wrong")
    with refused("already_corrected"), act() as ledger:
        ledger.append_many([again, again])
    with act() as ledger:
        ledger.append(again)
    with refused("already_corrected"), act() as ledger:
        ledger.append(again)


def test_refuses_a_correction_that_forgets_an_item(act: Any, source: Item) -> None:
    gauge = factories.make_gauge(source.site)
    with act() as ledger:
        old = ledger.append(note(source, gauge))
    with refused("correction_drops_item"), act() as ledger:
        ledger.append(note(source, replaces=old, reason="wrong"))


# ---------------------------------------------------------------- request keys


def test_gives_back_what_a_request_wrote_before(act: Any, source: Item) -> None:
    key = uuid.uuid4()
    with act() as ledger:
        wrote = ledger.append(note(source, request_key=key))
    with act() as ledger:
        assert ledger.already(key, "note") == wrote
        assert ledger.already(uuid.uuid4(), "note") is None
        assert ledger.already(None, "note") is None


def test_refuses_a_request_key_of_another_site_or_kind_and_says_nothing_of_it(
    act: Any, source: Item
) -> None:
    other = factories.make_source(factories.make_site("otherby"))
    key = uuid.uuid4()
    with act(site=other.site, by=factories.rps_of(other.site)) as ledger:
        ledger.append(note(other, request_key=key))
    with refused("request_key_used_elsewhere"), act() as ledger:
        ledger.already(key, "note")
    with refused("request_key_used_elsewhere") as _, act(site=other.site) as ledger:
        ledger.already(key, "leak_test")
    with pytest.raises(DomainError) as caught, act() as ledger:
        ledger.already(key, "note")
    assert caught.value.values == {}


def test_writes_nothing_twice_for_a_key_that_nobody_asked_about(act: Any, source: Item) -> None:
    key = uuid.uuid4()
    with act() as ledger:
        ledger.append(note(source, request_key=key))
    with refused("", IntegrityError), act() as ledger:
        ledger.append(note(source, request_key=key))


# ---------------------------------------------------------------- whose items


@pytest.mark.parametrize("where", ["about", "instrument"])
def test_refuses_an_item_of_another_site(act: Any, source: Item, where: str) -> None:
    foreign = factories.make_monitor(factories.make_site("otherby"))
    named = {"about": [About(foreign)]} if where == "about" else {"instrument": foreign}
    with refused("item_of_another_site"), act() as ledger:
        ledger.append(note(source, **named))


def test_refuses_a_place_of_another_site(act: Any, source: Item) -> None:
    foreign = factories.make_location(factories.make_site("otherby"))
    move = Movement("moved", source, foreign, DAY)
    with refused("item_of_another_site"), act() as ledger:
        ledger.append(move.draft())
    with refused(""), act() as ledger:
        record_movement(ledger, move)


def test_refuses_a_link_to_another_chain(act: Any, source: Item) -> None:
    other = factories.make_source(factories.make_site("otherby"))
    target = Record.objects.get(kind="described", about__item=other)
    with refused("its own chain", ValueError), act() as ledger:
        ledger.append(note(source, links=[(target, "accepts")]))


# ---------------------------------------------------------------- overtaken


def test_tells_what_was_written_about_the_same_items_meanwhile(act: Any, source: Item) -> None:
    seen = last_seq(source.site)
    with act() as ledger:
        first, second = ledger.append_many([note(source), note(source)])
    with refused("2 records since", Overtaken), act(seen=seen) as ledger:
        ledger.append(note(source))
    with pytest.raises(Overtaken) as caught, act(seen=first.seq) as ledger:
        ledger.append(note(source))
    assert caught.value.records == [second]


def test_is_not_overtaken_by_what_others_write_about_other_items(act: Any, source: Item) -> None:
    seen = last_seq(source.site)
    factories.make_gauge(source.site)
    with act(seen=seen) as ledger:
        assert ledger.append(note(source))
    with act(seen=last_seq(source.site)) as ledger:
        assert ledger.append(note(source))


def test_is_not_overtaken_by_its_own_act(act: Any, source: Item) -> None:
    with act(seen=last_seq(source.site)) as ledger:
        ledger.append(note(source))
        assert ledger.append(note(source))


# ---------------------------------------------------------------- all or nothing


@pytest.mark.parametrize("error", [RuntimeError, KeyboardInterrupt, GeneratorExit])
def test_leaves_nothing_when_the_act_breaks_off(act: Any, source: Item, error: Any) -> None:
    store = factories.make_location(source.site)
    with refused("", error), act() as ledger:
        record_movement(ledger, Movement("moved", source, store, DAY))
        ledger.new_item(ItemKind.GAUGE, "G", "G")
        raise error


def test_leaves_nothing_when_deriving_fails(
    act: Any, source: Item, monkeypatch: pytest.MonkeyPatch
) -> None:
    store = factories.make_location(source.site)

    def fails(touched: Any, **_how: Any) -> None:
        Stay.objects.filter(item__in=touched).delete()
        raise RuntimeError("derive")

    with monkeypatch.context() as patched:
        patched.setattr(derive, "refresh", fails)
        before = everything()
        with pytest.raises(RuntimeError), act() as ledger:
            record_movement(ledger, Movement("moved", source, store, DAY))
    assert everything() == before
    assert list(check_everything()) == []


@pytest.mark.parametrize(
    "bad",
    [
        {"detail": {"x": "\x00"}},
        {"detail": {"x": float("inf")}},
        {"effective_on": date(2099, 1, 1)},
        {"kind": "moved", "detail": {"gauge": None, "location": "NOBODY22", "supplier": ""}},
        {"kind": "moved", "detail": {}},
        {"kind": "moved", "detail": {"gauge": "NOBODY22", "location": None, "supplier": ""}},
    ],
)
def test_goes_on_without_a_gap_after_a_refusal_that_was_caught(
    act: Any, source: Item, bad: dict[str, Any]
) -> None:
    with act() as ledger:
        first = ledger.append(note(source))
        with pytest.raises((DomainError, KeyError, IntegrityError)):
            ledger.append_many([note(source), note(source, **bad)])
        second = ledger.append(note(source))
    assert second.seq == first.seq + 1
    assert list(check_everything()) == []


def test_goes_on_after_a_savepoint_of_the_caller(act: Any, source: Item) -> None:
    with act() as ledger:
        first = ledger.append(note(source))
        with transaction.atomic():
            ledger.append(note(source))
            transaction.set_rollback(True)
        second = ledger.append(note(source))
    assert second.seq == first.seq + 1
    assert list(check_everything()) == []


def test_goes_on_after_an_act_inside_it(act: Any, source: Item) -> None:
    with act() as outer:
        outer.append(note(source))
        with act(at=outer.at + timedelta(seconds=20)) as inner:
            inner.append(note(source))
        last = outer.append(note(source))
    assert last.recorded_at == inner.at
    assert list(check_everything()) == []


def test_writes_two_chains_in_one_act_or_none(act: Any, source: Item) -> None:
    with refused("", RuntimeError), act(site=None) as ledger:
        ledger.append(note())
        with act() as inner:
            inner.append(note(source))
        raise RuntimeError


# ---------------------------------------------------------------- several at once


def contents(records: list[Record]) -> list[dict[str, Any]]:
    own = {"seq", "recorded_at"}
    return [{k: v for k, v in read_body(one).items() if k not in own} for one in records]


def test_writes_many_as_it_writes_them_one_by_one(act: Any, source: Item) -> None:
    store, shop = (factories.make_location(source.site) for _ in range(2))
    drafts = [
        Movement("moved", source, shop, DAY).draft(),
        Movement("moved", source, store, DAY).draft(),
        note(source, store, attachments=[Upload("a", b"a")]),
        note(source, about=[About(source, outcome="fail", fit=False, unfit_because="x")]),
    ]
    with act() as ledger:
        together = ledger.append_many(drafts)
    with act() as ledger:
        singly = [ledger.append(draft) for draft in drafts]
    assert contents(together) == contents(singly)
    assert [one.seq for one in [*together, *singly]] == list(
        range(together[0].seq, together[0].seq + 8)
    )
    assert list(check_everything()) == []


def test_writes_nothing_for_nothing(act: Any, source: Item) -> None:
    before = everything()
    with act() as ledger:
        assert ledger.append_many([]) == []
    assert everything() == before


def test_writes_many_with_a_fixed_number_of_statements(
    act: Any, source: Item, django_assert_num_queries: Any
) -> None:
    counts = []
    for many in (1, 20):
        with act() as ledger:
            start = len(connection.queries_log)
            connection.force_debug_cursor = True
            ledger.append_many([note(source)] * many)
            counts.append(len(connection.queries_log) - start)
            connection.force_debug_cursor = False
    assert counts[0] == counts[1]


def test_refuses_the_same_item_twice_in_one_record(act: Any, source: Item) -> None:
    with refused("", IntegrityError), act() as ledger:
        ledger.append(note(source, source))


# ---------------------------------------------------------------- attachments, texts


def test_keeps_each_content_once(act: Any, source: Item, tmp_path: Path, settings: Any) -> None:
    settings.ATTACHMENTS_DIR = tmp_path
    uploads = [Upload("a.pdf", b"same"), Upload("b.pdf", b"same"), Upload("c.pdf", b"")]
    with act() as ledger:
        record = ledger.append(note(source, attachments=uploads))
        ledger.append(note(source, attachments=uploads[:1]))
    stored = {path.name: path.read_bytes() for path in tmp_path.rglob("*") if path.is_file()}
    assert sorted(stored.values()) == [b"", b"same"]
    assert all(files.hashlib.sha256(data).hexdigest() == name for name, data in stored.items())
    assert [one["name"] for one in read_body(record)["attachments"]] == ["a.pdf", "c.pdf"]
    assert list(check_everything()) == []


def test_mends_a_file_that_was_spoilt(tmp_path: Path, settings: Any) -> None:
    settings.ATTACHMENTS_DIR = tmp_path
    stored = Upload("a", b"right").stored()
    files.path_of(stored.sha256).write_bytes(b"wrong")
    assert files.digest_of(Upload("b", b"right").stored().sha256) == stored.sha256


def test_holds_every_value_of_the_draft_in_its_text(act: Any, source: Item, counter: Item) -> None:
    key = uuid.uuid4()
    about = About(source, "subject", "inconclusive", False, "why", True, date(2027, 1, 1))
    with act() as ledger:
        target = ledger.append(note(source))
        draft = note(
            about=[about],
            detail={"x": Decimal("3.70e9"), "day": DAY, "word": "µ Bq/cm² – “ok” 𝛾"},
            points=[{"a": 0.1, "b": [1, None, True]}, {}],
            effective_time=time(7, 30),
            performed_by="A. Ünal",
            accepted=True,
            instrument=counter,
            replaces=target,
            reason="two\r\nlines",
            links=[(target, "accepts")],
            attachments=[Upload("a.pdf", b"a")],
            request_key=key,
            remark="remark",
        )
        record = ledger.append(draft)
    body = read_body(record)
    person = {"id": str(ledger.by.pk), "username": ledger.by.username, "name": ledger.by.name}
    assert body == {
        **{"version": "1", "chain": "thornmere", "seq": str(record.seq), "kind": "note"},
        **{"effective_on": "2026-01-04", "effective_time": "07:30:00"},
        **{"recorded_at": ledger.at.isoformat(), "recorded_by": person, "accepted_by": person},
        **{"performed_by": "A. Ünal", "instrument": counter.code, "replaces": str(target.seq)},
        **{"reason": "two\nlines", "request_key": str(key), "remark": "remark"},
        "items": [
            {
                **{"item": source.code, "kind": "source", "role": "subject"},
                **{"outcome": "inconclusive", "fit": False, "unfit_because": "why"},
                **{"accuses": True, "valid_until": "2027-01-01"},
            }
        ],
        "links": [{"seq": str(target.seq), "role": "accepts"}],
        "attachments": [
            {"name": "a.pdf", "sha256": files.hashlib.sha256(b"a").hexdigest(), "size": "1"}
        ],
        "detail": {"x": "3.70E+9", "day": "2026-01-04", "word": "µ Bq/cm² – “ok” 𝛾"},
        "points": [{"a": "0.1", "b": ["1", None, True]}, {}],
    }
    assert record.body == canonical.text(body)
    # Columns made anew from the text are the columns that stand there.
    assert list(check_everything()) == []


def test_has_a_place_in_the_text_for_every_field_of_a_draft(act: Any, source: Item) -> None:
    with act() as ledger:
        body = read_body(ledger.append(note(source)))
    named = {"about": "items", "accepted": "accepted_by"}
    fields = {named.get(name, name) for name in Draft.__dataclass_fields__}
    assert body.keys() == fields | {"version", "chain", "seq", "recorded_at", "recorded_by"}


@pytest.mark.parametrize("text", ["\x00", "a\x1bb", "\ud800", "\x85", "\x7f"])
@pytest.mark.parametrize("field", ["reason", "remark", "performed_by", "detail"])
def test_refuses_unwritable_text_wherever_it_stands(
    act: Any, source: Item, text: str, field: str
) -> None:
    draft = note(source)
    with refused("text_has_control_character"), act() as ledger:
        ledger.append(replace(draft, **{field: {"x": text} if field == "detail" else text}))


@pytest.mark.parametrize("number", [2**31, 2**63, 2**64, 10**40, -(2**63)])
def test_keeps_numbers_of_any_size_in_a_text(act: Any, source: Item, number: int) -> None:
    with act() as ledger:
        record = ledger.append(note(source, detail={"n": number}))
    record.refresh_from_db()
    assert int(read_body(record)["detail"]["n"]) == number
    assert list(check_everything()) == []
