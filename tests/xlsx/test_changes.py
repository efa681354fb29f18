"""Changes to a book: rows land where they belong and nothing else moves."""

import hashlib
import zipfile
from pathlib import Path

import pytest

from orderbook.errors import OrderbookError
from orderbook.sheets.new_book import write_new_book
from orderbook.xlsx.changes import Changes, append_rows, commit, replace_rows, set_cells, update_row
from orderbook.xlsx.reading import open_book

START = {
    "Restorations": [{"restoration": "R-001", "piece": "a lever watch", "state": "open"}],
    "Barrels": [{"barrel": "R-001-B1", "restoration": "R-001", "turns_asked": 7.0, "drive": "going"}],
    "Readings": [
        {"barrel": "R-001-B1", "what": what, "value": value, "unit": "mm", "instrument": "caliper"}
        for what, value in (("bore", 34.02), ("bore", 34.00), ("arbor", 11.2), ("depth", 22.1))
    ],
}


@pytest.fixture(scope="module")
def start_bytes(tmp_path_factory: pytest.TempPathFactory) -> bytes:
    path = tmp_path_factory.mktemp("start") / "book.xlsx"
    write_new_book(path, START)
    return path.read_bytes()


@pytest.fixture
def book(tmp_path: Path, start_bytes: bytes) -> Path:
    path = tmp_path / "book.xlsx"
    path.write_bytes(start_bytes)
    return path


def packed(path: Path) -> dict[str, str]:
    """Return part → digest of its packed bytes."""
    found = {}
    with zipfile.ZipFile(path) as package, path.open("rb") as file:
        for info in package.infolist():
            file.seek(info.header_offset + 26)
            skip = int.from_bytes(file.read(2), "little") + int.from_bytes(file.read(2), "little")
            file.seek(info.header_offset + 30 + skip)
            found[info.filename] = hashlib.sha256(file.read(info.compress_size)).hexdigest()
    return found


def test_a_row_lands_in_the_first_blank_row_and_native_formulas_follow(book: Path) -> None:
    before = packed(book)
    opened, changes = open_book(book), Changes()
    append_rows(changes, opened, "Readings", [{"barrel": "R-001-B1", "what": "bore", "value": 34.5, "unit": "mm"}])
    commit(opened, changes)
    read = open_book(book)
    assert read.rows("Readings")[-1].number == opened.rows("Readings")[-1].number + 1
    assert read.rows("Barrels")[0]["bore_mm"] == pytest.approx((34.02 + 34.00 + 34.5) / 3)
    after = packed(book)
    assert list(before) == list(after)
    sheets = {read.anatomy.sheets[name] for name in ("Readings", "Barrels")}
    assert {part for part in before if before[part] != after[part]} >= sheets
    assert not {part for part in before if before[part] != after[part] and not part.startswith("xl/worksheets/")}


def test_a_table_grows_below_its_blank_rows(book: Path) -> None:
    opened, changes = open_book(book), Changes()
    before = opened.anatomy.tables["Suppliers"]
    append_rows(changes, opened, "Suppliers", [{"supplier": f"Supplier {i}", "lead_days": i} for i in range(60)])
    commit(opened, changes)
    read = open_book(book)
    assert [row["lead_days"] for row in read.rows("Suppliers")] == list(range(60))
    assert read.anatomy.tables["Suppliers"].bottom == before.top + 60


def test_rows_are_replaced_and_what_is_left_over_goes_blank(book: Path) -> None:
    opened, changes = open_book(book), Changes()
    replace_rows(changes, opened, "Stages", [{"barrel": "R-001-B1", "stage": n, "item": f"i{n}"} for n in (1, 2, 3)])
    commit(opened, changes)
    opened, changes = open_book(book), Changes()
    assert [row["place"] for row in opened.rows("Stages")] == ["R-001-B1/1", "R-001-B1/2", "R-001-B1/3"]
    replace_rows(changes, opened, "Stages", [{"barrel": "R-001-B1", "stage": 1, "item": "only"}])
    commit(opened, changes)
    assert [row["item"] for row in open_book(book).rows("Stages")] == ["only"]


def test_a_formula_is_never_overwritten_by_a_value(book: Path) -> None:
    opened, changes = open_book(book), Changes()
    row = opened.row("Barrels", "R-001-B1")
    before = book.read_bytes()
    update_row(changes, opened, "Barrels", row.number, {"bore_mm": 35.0})
    with pytest.raises(OrderbookError) as caught:
        commit(opened, changes)
    assert caught.value.code == "book_formula_in_the_way"
    assert book.read_bytes() == before


def test_the_book_that_was_is_kept_beside_it(book: Path) -> None:
    before = book.read_bytes()
    opened, changes = open_book(book), Changes()
    update_row(changes, opened, "Restorations", opened.row("Restorations", "r-001").number, {"note": "it ticks"})
    commit(opened, changes)
    assert (book.parent / "book.xlsx.bak").read_bytes() == before
    assert sorted(p.name for p in book.parent.iterdir()) == ["book.xlsx", "book.xlsx.bak"]
    assert open_book(book).rows("Restorations")[0]["note"] == "it ticks"


def test_a_cell_can_be_set_without_reading_the_book(book: Path) -> None:
    before = packed(book)
    set_cells(book, {"Restorations": {(3, 2): "a cylinder watch"}})
    read = open_book(book)
    assert read.rows("Restorations")[0]["piece"] == "a cylinder watch"
    after = packed(book)
    parts = {read.anatomy.sheets["Restorations"], read.anatomy.workbook}
    assert {part for part in before if before[part] != after[part]} == parts
