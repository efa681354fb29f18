"""`orderbook.Book`: what it writes another reader finds, and what it cannot write leaves the book as it was."""

from decimal import Decimal
from pathlib import Path

import openpyxl
import pytest

from orderbook import Book, OrderbookError
from orderbook.measures import Measured

B1 = "R-001-B1"


@pytest.fixture(scope="module")
def clocks_bytes(tmp_path_factory: pytest.TempPathFactory) -> bytes:
    """A book of one watch, made by `Book` itself."""
    book = Book.new(tmp_path_factory.mktemp("clocks") / "clocks.xlsx")
    book.append("Restorations", {"restoration": "R-001", "piece": "a lever watch", "state": "open"})
    book.append("Barrels", {"barrel": B1, "restoration": "R-001", "drive": "going", "turns_asked": 7})
    readings = (("bore", 15.60), ("bore", 15.64), ("arbor", 4.9), ("depth", 3.1))
    book.append("Readings", *({"barrel": B1, "what": what, "value": mm, "unit": "mm"} for what, mm in readings))
    return book.path.read_bytes()


@pytest.fixture
def book(tmp_path: Path, clocks_bytes: bytes) -> Book:
    path = tmp_path / "clocks.xlsx"
    path.write_bytes(clocks_bytes)
    return Book(path)


def cells(book: Book, sheet: str) -> list[tuple[object, ...]]:
    """Read a sheet with a library that shares nothing with ours."""
    opened = openpyxl.load_workbook(book.path, read_only=True, data_only=True)
    found: list[tuple[object, ...]] = [row for row in opened[sheet].iter_rows(values_only=True) if any(row)]
    opened.close()
    return found


def test_what_is_added_is_in_the_file_at_once_and_the_sums_follow(book: Book) -> None:
    book.append("Ledger", {"restoration": "R-001", "category": "part", "kind": "paid", "amount": Decimal("10.50"), "currency": "GBP"})  # fmt: skip # noqa: E501
    assert any(10.5 in row and "paid" in row for row in cells(book, "Ledger"))
    assert book.rows("Ledger")[0]["in_book"] == Decimal("10.5")
    barrels = [row for row in cells(book, "Barrels") if B1 in row]
    assert any(isinstance(value, float) and value == pytest.approx(15.62) for value in barrels[0])


def test_a_barrel_is_read_and_sized(book: Book) -> None:
    barrel = book.barrel(B1)
    assert isinstance(barrel.bore, Measured)
    assert barrel.bore.value == pytest.approx(15.62)
    assert book.size(B1).as_dict()["width_mm"] == pytest.approx(2.98)


def test_an_end_and_a_movement_said_outweigh_those_of_the_book(book: Book) -> None:
    sizes = ((0.13, 700), (0.15, 600), (0.17, 530), (0.19, 470))
    book.append("Catalogue", *(
        {"supplier": "Supplier North", "item": f"N{n}", "width_mm": 2.9, "strength_mm": strength, "length_mm": length,
         "end": "loop", "price": 5, "currency": "GBP"}
        for n, (strength, length) in enumerate(sizes)
    ))  # fmt: skip
    assert not book.grade(B1).stages.why.str.contains("end is").any()
    assert book.grade(B1, end="hole").stages.why.str.contains("end is loop, not hole").all()
    # a watch by its size; a clock needs less of what its barrel can do (55 in place of 65, from what practice says)
    assert [book.rank(B1, movement=said).as_dict()["start_median"] for said in (None, "clock")] == [65, 55]
    with pytest.raises(OrderbookError) as caught:
        book.grade(B1, movement="train")
    assert caught.value.code == "choice_not_known"


def test_a_change_by_another_hand_is_seen(book: Book) -> None:
    other = Book(book.path)
    assert book.row("Restorations", "r-001")["note"] is None
    other.update("Restorations", "R-001", {"note": "it ticks"})
    assert book.row("Restorations", "r-001")["note"] == "it ticks"


def test_a_row_is_changed_as_it_was_read_or_not_at_all(book: Book) -> None:
    depth = book.rows("Readings")[3]
    book.update("Readings", depth, {"value": 3.3})
    assert book.rows("Readings")[3]["value"] == 3.3
    before = book.path.read_bytes()
    with pytest.raises(OrderbookError) as caught:
        book.update("Readings", depth, {"value": 3.4})
    assert caught.value.code == "book_row_moved"
    assert book.path.read_bytes() == before


def test_a_row_may_get_a_number_nobody_has_or_keep_its_own(book: Book) -> None:
    book.append("Barrels", {"barrel": "R-001-B2", "restoration": "R-001"})
    book.update("Barrels", B1, {"barrel": B1.lower(), "note": "same"})
    book.update("Barrels", B1, {"barrel": "R-001-B3"})
    assert [row["barrel"] for row in book.rows("Barrels")] == ["R-001-B3", "R-001-B2"]


@pytest.mark.parametrize(
    ("call", "code"),
    [
        (lambda b: b.rows("Shops"), "book_table_unknown"),
        (lambda b: b.append("Ledger", {"sum": 3}), "book_column_unknown"),
        (lambda b: b.append("Ledger", {"in_book": 3}), "book_column_unknown"),
        (lambda b: b.update("Barrels", "R-009", {"note": "x"}), "book_no_such_row"),
        (lambda b: b.grade(B1), "book_without_springs"),
        (lambda b: Book(b.path.with_name("none.xlsx")).rows("Ledger"), "book_not_found"),
        (lambda b: Book.new(b.path), "book_exists"),
        (lambda b: b.append("Barrels", {"barrel": f" {B1.lower()}", "restoration": "R-001"}), "book_id_twice"),
        (lambda b: b.update("Barrels", B1, {"barrel": "r-001-b2 "}), "book_id_twice"),
        (lambda b: b.append("Needs", {"need": "N-001"}, {"need": "n-001"}), "book_id_twice"),
    ],
)
def test_what_cannot_be_done_is_said_and_the_book_stays(book: Book, call: object, code: str) -> None:
    book.append("Barrels", {"barrel": "R-001-B2", "restoration": "R-001"})
    before = book.path.read_bytes()
    assert callable(call)
    with pytest.raises(OrderbookError) as caught:
        call(book)
    assert caught.value.code == code
    assert book.path.read_bytes() == before
