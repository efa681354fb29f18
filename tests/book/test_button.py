"""The button of a live book against a stand-in for xlwings' open book; no Excel on macOS was at hand."""

import datetime as dt
import types

import pytest

from orderbook.answers.fingerprint import differing
from orderbook.book.button import refreshed
from orderbook.records.definition import book_definition
from orderbook.xlsx.reading import open_book

BARREL = "R-006-B1"


class Area:
    """A range as xlwings gives it: `value` is rows of plain values, slices are ranges."""

    def __init__(self, rows, top=0, left=None):
        self.rows, self.top, self.left = rows, top, left

    def __getitem__(self, place):
        rows, column = place
        return Area(self.rows, rows.start, column)

    @property
    def value(self):
        return [list(row) for row in self.rows]

    @value.setter
    def value(self, cells):
        assert self.left is not None
        assert len(cells) == len(self.rows) - self.top
        for row, (cell,) in zip(self.rows[self.top :], cells, strict=True):
            assert cell is None or isinstance(cell, (float, str, dt.date))
            row[self.left] = cell


@pytest.fixture
def book(tmp_path, demo_bytes):
    (tmp_path / "demo.xlsx").write_bytes(demo_bytes)
    read = open_book(tmp_path / "demo.xlsx")
    tables = {}
    for name, place in read.anatomy.tables.items():
        cells = read.cells[place.sheet]
        columns = range(place.left, place.right + 1)
        rows = [
            [c.value if (c := cells.get((r, k))) else None for k in columns] for r in range(place.top, place.bottom + 1)
        ]
        tables[name] = types.SimpleNamespace(range=Area(rows))
    del tables["Catalogue"].range.rows[80:]  # fewer springs, quicker choice
    single = {("Bench", "D1"): BARREL, ("Plots", "B3"): read.cells["Plots"][2, 1].value}

    class Sheet(dict):
        def __init__(self, name):
            super().__init__()
            self.name, self.tables = name, tables

        def __getitem__(self, address):
            return types.SimpleNamespace(value=single[self.name, address])

    return types.SimpleNamespace(
        sheets={name: Sheet(name) for name in read.anatomy.sheets}, tables=tables, read=read, single=single
    )


def rows_of(book, name):
    head, *rows = book.tables[name].range.value
    keys = {c.header: c.key for c in book_definition().tables[name].columns}
    named = [dict(zip([keys[h] for h in head], row, strict=True)) for row in rows]
    return [row for row in named if row["barrel"] not in (None, "")]


def test_answers_of_the_picked_barrel_are_written(book):
    other = book_definition().tables["Stages"]
    place = [c.key for c in other.columns].index("barrel")
    book.tables["Stages"].range.rows[1][place] = "R-007-B1"  # another barrel's row stays
    assert refreshed(book, dt.date(2026, 11, 25)) == f"orderbook: {BARREL} is worked out anew"
    stages = rows_of(book, "Stages")
    assert stages[0]["barrel"] == "R-007-B1"
    assert [row["stage"] for row in stages if row["barrel"] == BARREL] == [float(n + 1) for n in range(len(stages) - 1)]
    (head,) = rows_of(book, "Answers")
    inputs = next(row["inputs_now"] for row in book.read.tables["Barrels"] if row["barrel"] == BARREL)
    assert head["kept_inputs"] == inputs
    kept = differing(book.single["Plots", "B3"], head["kept_lists"], of_barrel=False)
    assert kept == ("the list in Catalogue",)  # which is shorter here than in the file
    assert head["made_on"] == dt.date(2026, 11, 25)
    before = rows_of(book, "AlsoFits")
    assert refreshed(book, dt.date(2026, 11, 26)).endswith("anew")
    assert rows_of(book, "AlsoFits") == before  # a second press puts rows in place of the old ones


def test_a_barrel_that_is_not_there_is_one_line_and_nothing_is_written(book):
    book.single["Bench", "D1"] = "R-999-B9"
    before = {name: table.range.value for name, table in book.tables.items()}
    assert refreshed(book, dt.date(2026, 11, 25)).startswith("#barrel: no R-999-B9; there are: R-007-B1")
    assert {name: table.range.value for name, table in book.tables.items()} == before
