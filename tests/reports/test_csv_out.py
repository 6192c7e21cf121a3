import csv
import json
from dataclasses import replace
from datetime import UTC, datetime
from io import StringIO

import pytest

from inventory.calc.asof import AsOf
from reports.registers.base import Cell, ChunkedRows, ListRows, cells
from reports.registers.csv_out import BOM, csv_lines, neutral, to_csv, to_json

from .invented import COLUMNS, ON, register


def table(data):
    assert data.startswith(BOM)
    return list(csv.reader(StringIO(data[len(BOM) :].decode(), newline="")))


def with_source(text, **cell):
    return register([tuple(Cell(text, **cell) for _ in COLUMNS)])


def test_it_is_one_plain_table_with_units_in_the_heads():
    heads, *rows = table(to_csv(register(3)))

    assert heads[:3] == ["No.", "Source", "Nuclide"]
    assert heads[7] == "Category (1 to 5)"
    assert [row[0] for row in rows] == ["1", "2", "3"]
    assert {len(row) for row in rows} == {len(COLUMNS)}


def test_it_ends_lines_as_spreadsheets_expect():
    data = to_csv(register(2))

    assert data.count(b"\r\n") == 3  # one for each line of the table, none within a cell
    assert data.endswith(b"\r\n")


def test_it_gives_programs_the_full_precision():
    _, first = table(to_csv(register(1)))

    assert first[4:6] == ["2009-01-01", repr(3.7e8 * 0.68123456789)]


@pytest.mark.parametrize(
    "text",
    ["=1+1", "+A1", "-A1", "@SUM(A1)", "\t=1", "\r=1", "\n=1", "  =1", "-2+3", "＝1", "-", "=-1"],
)
def test_it_neutralises_formulas(text):
    assert neutral(text) == "'" + text
    _, first = table(to_csv(with_source(text)))
    assert set(first) == {"'" + text}


@pytest.mark.parametrize(
    "text", ["-12", "+3.5", "-1.2e-7", "-.5", "3.", "", "a=1", "– none", "'=1"]
)
def test_it_leaves_numbers_and_words_alone(text):
    assert neutral(text) == text


def test_it_neutralises_heads_and_raw_values_too():
    heads, first = table(to_csv(with_source("harmless", raw="=cmd")))

    assert heads[0] == "No."
    assert set(first) == {"'=cmd"}


@pytest.mark.parametrize("text", ['say "so", twice', "two\nlines", "a;b", "µSv/h ≥ 3 ² שלום 😀"])
def test_it_keeps_every_character(text):
    assert table(to_csv(with_source(text)))[1][1] == text


def test_it_survives_half_a_character():
    assert b"?" in to_csv(with_source("\ud83d"))
    assert b"?" in to_json(with_source("\ud83d"))


def test_it_has_only_heads_without_rows():
    assert len(table(to_csv(register(0)))) == 1


def test_its_lines_are_its_whole():
    assert b"".join(csv_lines(register(7))) == to_csv(register(7))


def test_json_has_the_title_block_and_the_same_rows():
    known = datetime(2026, 11, 20, 8, 0, tzinfo=UTC)
    data = json.loads(to_json(register(5, at=AsOf(ON, known))))

    assert data["register"]["on_date"] == "2026-11-24"
    assert data["register"]["known_at"] == "2026-11-20T08:00:00+00:00"
    assert data["register"]["chain_records"] == 4213
    assert data["register"]["rows"] == len(data["rows"]) == 5
    assert [row["values"]["no"] for row in data["rows"]] == ["1", "2", "3", "4", "5"]
    assert data["rows"][3]["states"] == {"due": "failed"}
    assert data["rows"][3]["marks"] == {"due": "2"}


def test_rows_are_loaded_a_chunk_at_a_time_and_once_each():
    asked = []

    def load(keys):
        asked.append(list(keys))
        return [tuple(Cell(str(key)) for _ in COLUMNS) for key in keys]

    rows = ChunkedRows(range(1203), load)
    drawn = [row[0].text for row in cells(replace(register(0), rows=rows))]

    assert drawn == [str(number) for number in range(1203)]
    assert [len(keys) for keys in asked] == [500, 500, 203]
    assert len(rows) == 1203


def test_a_slice_loads_what_it_shows():
    rows = ChunkedRows([5, 3, 9], lambda keys: [key * 10 for key in keys])

    assert rows[1:3] == [30, 90]
    assert rows[3:9] == []
    assert [list(chunk) for chunk in ListRows([1, 2, 3]).chunks(2)] == [[1, 2], [3]]


def test_a_row_that_is_not_loaded_is_not_dropped_in_silence():
    with pytest.raises(LookupError, match="3 rows asked for, 2 loaded"):
        list(ChunkedRows([1, 2, 3], lambda keys: keys[:2]).chunks())


def test_a_register_refuses_a_moment_without_zone_and_a_column_twice():
    with pytest.raises(ValueError, match="time zone"):
        register(1, made_at=datetime(2026, 11, 24))
    with pytest.raises(ValueError, match="same key"):
        register(1, columns=(COLUMNS[0], COLUMNS[0]))
