"""The book in a real LibreOffice, without our add-in: it opens, calculates the same, and follows what is typed."""

from pathlib import Path
from typing import Any

import pytest

from orderbook.locate import data_folder
from orderbook.sheets.blank_book import TEMPLATE
from orderbook.xlsx.changes import Changes, append_rows, commit, update_row
from orderbook.xlsx.page import address
from orderbook.xlsx.reading import open_book
from orderbook.xlsx.sheet_reading import CellError
from tests.office import Document, Office

pytestmark = pytest.mark.libreoffice


def differences(path: Path, document: Document) -> list[str]:
    """Compare what LibreOffice works out with the values the book holds."""
    wrong = []
    for sheet, cells in open_book(path).cells.items():
        formulas = {place: cell for place, cell in cells.items() if cell.formula is not None}
        if formulas:
            bottom, right = max(r for r, _ in formulas), max(c for _, c in formulas)
            shown = document.data(sheet, f"A1:{address(bottom, right, fixed=False)}")
            errors = document.errors(sheet)
            for (row, col), cell in formulas.items():
                theirs = CellError(errors[row, col]) if (row, col) in errors else shown[row][col]
                if not same(cell.value, theirs):
                    where = f"{sheet}!{address(row, col, fixed=False)}"
                    wrong.append(f"{where}: {cell.value!r} here, {theirs!r} there: {cell.formula}"[:300])
    return wrong


def same(ours: Any, theirs: Any) -> bool:
    if isinstance(theirs, CellError) or isinstance(ours, CellError):
        return ours == theirs == "#N/A"  # what a chart leaves out; no other error may stand in a book of ours
    if isinstance(ours, float) or isinstance(theirs, (int, float)):
        return isinstance(theirs, (int, float)) and theirs == pytest.approx(ours or 0, rel=1e-9, abs=1e-9)
    return (ours or "") == (theirs or "")


def test_every_native_formula_of_the_template_comes_to_the_stored_value(office: Office) -> None:
    path = data_folder("workbook_template") / TEMPLATE
    with office.open(path, relink=False) as document:
        document.recalculate()
        assert differences(path, document) == []


def test_every_native_formula_of_the_demo_book_comes_to_the_stored_value(office: Office, demo_book: Path) -> None:
    with office.open(demo_book, relink=False) as document:
        document.recalculate()
        assert differences(demo_book, document) == []


@pytest.mark.slow
def test_what_was_stored_change_by_change_is_what_it_works_out(office: Office, demo_book: Path, tmp_path: Path) -> None:
    """Each save works out only what depends on it; after many, LibreOffice works out all and finds the same."""
    path = tmp_path / "book.xlsx"
    path.write_bytes(demo_book.read_bytes())
    steps: list[tuple[str, Any]] = [
        ("Ledger", {"restoration": "R-007", "category": "part", "kind": "paid", "amount": 12.34, "currency": "GBP"}),
        (
            "Ledger",
            {"restoration": "R-006", "category": "not a category", "kind": "paid", "amount": 5, "currency": "GBP"},
        ),
        ("Readings", {"barrel": "R-007-B1", "what": "bore", "value": 56.2, "unit": "mm"}),
        ("Readings", {"barrel": "R-006-B1", "what": "arbor", "value": "5,2", "unit": "mm"}),
        ("Barrels", {"barrel": "R-007-B9", "restoration": "R-007", "drive": "going", "turns_asked": 7}),
        ("Work", {"date": None, "need": "N-001", "hours": 1.5, "rate": 38}),
        ("Drawer", {"drawer": "D-090", "width_mm": 36, "strength_mm": 0.5, "length_mm": 2000}),
    ]
    for table, row in steps:
        book, changes = open_book(path), Changes()
        append_rows(changes, book, table, [{key: value for key, value in row.items() if value is not None}])
        commit(book, changes)
    book, changes = open_book(path), Changes()
    changes.put("Bench", (0, 3), "R-006-B1")
    changes.put("Account", (0, 2), "R-006")
    first = book.rows("Ledger")[0]
    update_row(changes, book, "Ledger", first.number, {"restoration": None, "amount": None})
    commit(book, changes)
    with office.open(path, relink=False) as document:
        document.recalculate()
        assert differences(path, document) == []


def test_another_bore_moves_strength_and_length_and_another_depth_the_width(office: Office, demo_book: Path) -> None:
    with office.open(demo_book, relink=False) as document:
        before = [row[0] for row in document.cells("Bench", "J5:J8")]
        document.put("Readings", "D4", [[60.0]])
        after = [row[0] for row in document.cells("Bench", "J5:J8")]
        assert after[0] == before[0]
        assert after[1] > before[1] * 1.02
        assert after[2] != before[2]
        document.put("Barrels", "J4", [[9.0]])  # turns asked
        assert document.cell("Bench", "J8") >= 9.0  # the strength to order is at most what gives the turns asked
        document.put("Readings", "D10:D11", [[40.0], [40.0]])
        assert document.cell("Bench", "J5") == pytest.approx(39.0)
        assert document.errors("Bench") == {}


def test_a_ledger_row_moves_the_totals(office: Office, demo_book: Path) -> None:
    with office.open(demo_book, relink=False) as document:
        paid, balance = (document.cell("Account", cell) for cell in ("E6", "G6"))
        document.put("Ledger", "C31:G31", [["R-007", "part", "paid", 10.5, "GBP"]])
        assert document.cell("Account", "E6") == pytest.approx(paid + 10.5)
        assert document.cell("Account", "G6") == pytest.approx(balance - 10.5)
        document.put("Ledger", "C32:G32", [["R-007", "part", "paid", "1O", "GBP"]])
        assert document.cell("Account", "E6") == pytest.approx(paid + 10.5)
        assert document.cell("Account", "I6") == 2


def test_saved_as_xlsx_by_libreoffice_it_is_read_again(office: Office, demo_book: Path, tmp_path: Path) -> None:
    with office.open(demo_book, relink=False) as document:
        saved = document.save(tmp_path / "saved.xlsx")
    before, after = open_book(demo_book), open_book(saved)
    for name, rows in before.tables.items():
        mine = [{k: v for k, v in row.values.items() if v is not None} for row in rows]
        theirs = [{k: v for k, v in row.values.items() if v is not None} for row in after.tables[name]]
        assert len(theirs) == len(mine), name
        for one, other in zip(mine, theirs, strict=True):
            assert set(one) == set(other), name
            for key, value in one.items():
                assert other[key] == (pytest.approx(value, rel=1e-9) if isinstance(value, float) else value), (
                    name,
                    key,
                )
