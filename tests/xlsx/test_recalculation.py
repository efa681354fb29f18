"""What depends on a change is worked out, and nothing else; the book then stands as if all had been worked out."""

from __future__ import annotations

import zipfile
from functools import cache
from pathlib import Path
from typing import Any

import pytest
import xlsxwriter
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st

from orderbook.records.definition import book_definition
from orderbook.xlsx.cells import Computed, Stored
from orderbook.xlsx.changes import Changes, append_rows, commit
from orderbook.xlsx.reading import OpenBook, columns_of, open_book
from orderbook.xlsx.recalculation import recalculated, same_value
from orderbook.xlsx.references import OWN, looks_of
from orderbook.xlsx.sheet_reading import CellError

TABLES = ("Restorations", "Barrels", "Readings", "Catalogue", "Drawer", "Orders", "Trials", "Work", "Ledger", "Needs",
          "Suppliers", "Units", "Instruments", "Rates", "Settings", "Weights", "Choices", "Answers", "Stages",
          "Torque")  # fmt: skip
VALUES = st.sampled_from(
    [None, "", 0.0, -3.5, 12.25, 1e6, "R-007", "R-007-B1", "R-006-B1", "paid", "credit", "labour", "GBP", "EUR", "bore",
     "depth", "mm", "thou", "6¾ ligne", "ordered", "in drawer", "too weak", True, CellError("#DIV/0!")]
)  # fmt: skip
EDITS = st.lists(st.tuples(st.sampled_from(TABLES), st.integers(0, 400), st.integers(0, 40), VALUES), max_size=5)
PICKED = st.sampled_from(["R-007-B1", "R-007-B2", "R-006-B1", "R-999", None])


once_opened = cache(open_book)


def put(book: OpenBook, changes: Changes, name: str, row: int, col: int, value: Any) -> None:
    """Set a cell of a table that a hand may set: in one of its rows or the first blank ones, not over a formula."""
    table = book.anatomy.tables[name]
    columns = columns_of(table, book_definition().tables[name])
    own = [columns[c.key] for c in book_definition().tables[name].columns if c.kind != "worked"]
    last = max((r.number for r in book.tables[name]), default=table.top) + 2
    place = (table.top + 1 + row % (last - table.top), own[col % len(own)])
    changes.put(table.sheet, place, value)


def values(book: OpenBook, result: dict[str, dict[Any, Any]], asked: set[tuple[str, Any]]) -> dict[Any, Any]:
    """What cells hold after a recalculation."""
    found = {}
    for sheet, place in asked:
        new = result.get(sheet, {}).get(place)
        old = book.cells[sheet].get(place)
        found[sheet, place] = new.value if isinstance(new, (Stored, Computed)) else (old.value if old else None)
    return found


@settings(
    max_examples=8,
    deadline=None,
    suppress_health_check=list(HealthCheck),
    phases=[Phase.explicit, Phase.reuse, Phase.generate],  # an example takes a second; making it smaller, minutes
)
@given(edits=EDITS, barrel=PICKED, piece=st.sampled_from(["R-006", "R-007", "?", None]))
def test_what_depends_is_all_that_would_change(demo_book: Path, edits: Any, barrel: Any, piece: Any) -> None:
    opened = once_opened(demo_book)
    changes = Changes()
    for edit in edits:
        put(opened, changes, *edit)
    if barrel is not None:
        changes.put("Bench", (0, 3), barrel)
    if piece is not None:
        changes.put("Account", (0, 2), piece)
    some, unknown_of_some = recalculated(opened, changes.cells, [], {})
    whole, unknown_of_whole = recalculated(opened, changes.cells, [], {}, everything=True)
    asked = {(sheet, place) for found in (some, whole) for sheet, own in found.items() for place in own}
    ours, theirs = values(opened, some, asked), values(opened, whole, asked)
    wrong = {spot: (ours[spot], theirs[spot]) for spot in asked if not same_value(ours[spot], theirs[spot])}
    assert wrong == {}
    assert unknown_of_some == unknown_of_whole


def test_a_change_that_nothing_looks_at_works_out_nothing(demo_book: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    opened = once_opened(demo_book)
    from orderbook.xlsx import recalculation

    asked: list[int] = []
    real = recalculation.evaluate

    def counting(sheets: Any, formulas: Any, *more: Any) -> Any:
        asked.append(len(formulas))
        return real(sheets, formulas, *more)

    monkeypatch.setattr(recalculation, "evaluate", counting)
    changes = Changes()
    put(opened, changes, "Readings", 0, 6, "a note")
    assert recalculated(opened, changes.cells, [], {})[0] == changes.cells
    append_rows(changes, opened, "Ledger", [{"restoration": "R-007", "category": "part", "kind": "paid", "amount": 5}])
    recalculated(opened, changes.cells, [], {})
    recalculated(opened, {}, [], {}, everything=True)
    assert asked[0] == 0
    assert 0 < asked[1] < asked[2] / 5


def test_empty_text_is_no_nought(demo_book: Path) -> None:
    """A barrel without turns has none after its bore is read once more: text times a number is no number."""
    opened, changes = once_opened(demo_book), Changes()
    definition = book_definition().tables["Barrels"]
    columns = columns_of(opened.anatomy.tables["Barrels"], definition)
    (row,) = (row for row in opened.rows("Barrels") if row.get("turns_used") is row.get("turns_asked") is None)
    append_rows(changes, opened, "Readings", [{"barrel": row["barrel"], "what": "bore", "value": 45.2, "unit": "mm"}])
    found, _ = recalculated(opened, changes.cells, [], {})
    assert found["Barrels"][row.number, columns["bore_mm"]].value == pytest.approx(45.1, abs=0.1)
    of_turns = [columns[c.key] for c in definition.columns if "turns_taken}" in c.formula]
    assert of_turns
    assert [col for col in of_turns if (row.number, col) in found["Barrels"]] == []


@pytest.mark.parametrize(
    ("formula", "areas"),
    [
        ("=SUM('a b'!$B$2:$B$4)", [("a b", 1, 1, 3, 1)]),
        ("=A1:B2*1E5+3.5", [("S", 0, 0, 1, 1)]),
        ('="A1"&LOG10(C3)', [("S", 2, 2, 2, 2)]),
        ("=SUM($A:C)+SUM(2:3)", [("S", 0, 0, 1_048_575, 2), ("S", 1, 0, 2, 16_383)]),
        ("=COUNTIFS(INDEX('S'!$B$4:$B$9,1):'S'!$B\0,1)", [("S", 3, 1, OWN, 1)]),
        ("=IFERROR(#REF!,'it''s'!$C$1)", [("it's", 0, 2, 0, 2)]),
    ],
)
def test_what_a_formula_looks_at(formula: str, areas: list[Any]) -> None:
    found = looks_of(formula, "S").areas
    assert found is not None
    assert [(a.sheet, a.top, a.left, a.bottom, a.right) for a in found] == areas


@pytest.mark.parametrize(
    "formula",
    ["=OFFSET(A1,1,0)", '=INDIRECT("A"&1)', "=unknown_name+1", "=[1]Sheet1!A1", "=INDEX(A1:A9,2):A9", "=A1#",
     "=SUM(one:three!A1)"],
)  # fmt: skip
def test_what_a_formula_looks_at_may_be_unclear(formula: str) -> None:
    assert looks_of(formula, "S").areas is None


def test_a_formula_that_tells_the_day_changes_by_itself() -> None:
    assert looks_of("=TODAY()-A1", "S").changes_by_itself
    assert not looks_of('="TODAY()"', "S").changes_by_itself


def foreign(path: Path, formula: str, value: float, *, ask: bool = False) -> Path:
    """Write a book whose F1 is a formula over a table, a name and a second sheet."""
    book = xlsxwriter.Workbook(path)
    sheet, other = book.add_worksheet("One"), book.add_worksheet("Two")
    sheet.write_column("A1", [1, 2, 3])
    other.write_column("A1", [10, 20])
    book.define_name("both", "=Two!$A$1:$A$2")
    sheet.write_formula("F1", formula, None, value)
    sheet.write_formula("F2", "=F1+1", None, value + 1)
    sheet.write_formula("H1", "=1+1", None, 99)  # a value that is wrong shows whether it was worked out
    book.set_calc_mode("auto", 191029)
    book.calc_on_load = ask
    book.close()
    return path


def after(path: Path, sheet: str, place: tuple[int, int], value: Any) -> dict[Any, Any]:
    book, changes = open_book(path), Changes()
    changes.put(sheet, place, value)
    commit(book, changes)
    return {at: cell.value for at, cell in open_book(path).cells["One"].items()}


@pytest.mark.parametrize(
    ("formula", "before", "edit", "wanted"),
    [
        ("=SUM(A1:A3)", 6, ("One", (1, 0)), 6 - 2 + 7),
        ("=SUM(both)+A1", 31, ("Two", (1, 0)), 10 + 7 + 1),
        ("=SUM(Two!A:A)", 30, ("Two", (8, 0)), 37),
        ("=SUM(OFFSET(A1,0,0,3,1))", 6, ("One", (1, 0)), 11),
    ],
)
def test_books_of_others_are_worked_out(tmp_path: Path, formula: str, before: float, edit: Any, wanted: float) -> None:
    cells = after(foreign(tmp_path / "b.xlsx", formula, before), *edit, 7)
    assert (cells[0, 5], cells[1, 5]) == (wanted, wanted + 1)
    assert cells[0, 7] == (2 if "OFFSET" in formula else 99)


def test_a_book_that_asks_to_be_worked_out_is_worked_out_whole(tmp_path: Path) -> None:
    assert after(foreign(tmp_path / "b.xlsx", "=A1", 1, ask=True), "Two", (5, 5), 7)[0, 7] == 2


def replace_in_sheet(path: Path, old: bytes, new: bytes) -> None:
    with zipfile.ZipFile(path) as package:
        parts = {name: package.read(name) for name in package.namelist()}
    assert old in parts["xl/worksheets/sheet1.xml"]
    parts["xl/worksheets/sheet1.xml"] = parts["xl/worksheets/sheet1.xml"].replace(old, new)
    with zipfile.ZipFile(path, "w") as package:
        for name, data in parts.items():
            package.writestr(name, data)


def test_a_formula_without_a_value_gets_one(tmp_path: Path) -> None:
    path = foreign(tmp_path / "b.xlsx", "=A1", 1)
    replace_in_sheet(path, b"<v>99</v>", b"")
    assert after(path, "Two", (5, 5), 7)[0, 7] == 2


def test_the_empty_text_a_formula_came_to_is_no_blank_cell(tmp_path: Path) -> None:
    """A program reckons with a blank cell as 0, with a text as #VALUE!; a row that lacks a reading shows nothing."""
    path = tmp_path / "b.xlsx"
    book = xlsxwriter.Workbook(path)
    sheet = book.add_worksheet("One")
    sheet.write_row("A1", [2, 0])
    sheet.write_formula("C1", '=IF(B1>0,B1,"")', None, "empty")
    sheet.write_formula("D1", '=IFERROR(A1+C1,"nothing")', None, "nothing")
    book.calc_on_load = False  # or all would be worked out afresh
    book.close()
    replace_in_sheet(path, b"<v>empty</v>", b"<v></v>")
    assert after(path, "One", (0, 0), 7)[0, 3] == "nothing"
    assert after(path, "One", (0, 1), 3)[0, 3] == 10
    assert after(path, "One", (0, 1), None)[0, 3] == "nothing"
