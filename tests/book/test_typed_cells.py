"""Cells as people type them: what cannot be used or should be doubted is found at its cell, and only what has one
reading is mended."""

from collections.abc import Callable
from datetime import date, time, timedelta
from decimal import Decimal
from pathlib import Path
from typing import Any

import openpyxl
import pytest

from orderbook.answers.means import means_of
from orderbook.book.check import check
from orderbook.book.on_book import sizing_in
from orderbook.book.refresh import refresh
from orderbook.errors import Finding, OrderbookError
from orderbook.records.books import Books, books_from
from orderbook.records.checks import checked
from orderbook.records.definition import book_definition
from orderbook.records.rows import Place, Row, gathered
from orderbook.sheets.new_book import write_new_book
from orderbook.xlsx.page import letters
from orderbook.xlsx.reading import open_book
from orderbook.xlsx.saving import backup_of
from tests.answers.one_bench import FIRST, Tables, bench
from tests.office import Office
from tests.places import cell_of

ON = date(2026, 3, 12)
KEEP = object()  # what was typed stays as it is

# table, row from the first, column, what was typed, code of the finding, what --fix makes of it
TYPED: list[tuple[str, int, str, Any, str, Any]] = [
    ("Readings", 0, "value", "15,6O", "reading_not_used", KEEP),
    ("Readings", 0, "value", "l5.6", "reading_not_used", KEEP),
    ("Readings", 0, "value", "15.6-15.7", "reading_not_used", KEEP),
    ("Readings", 0, "value", "15.6 – 15.7", "reading_not_used", KEEP),
    ("Readings", 0, "value", "~34", "reading_not_used", KEEP),
    ("Readings", 0, "value", "c. 34", "reading_not_used", KEEP),
    ("Readings", 0, "value", 0, "reading_not_used", KEEP),
    ("Readings", 0, "value", -15.6, "reading_not_used", KEEP),
    ("Readings", 0, "value", "−15.6", "reading_not_used", KEEP),
    ("Readings", 0, "value", True, "reading_not_used", KEEP),
    ("Readings", 0, "value", None, "reading_not_used", KEEP),
    ("Readings", 0, "value", "3/8", "reading_not_used", KEEP),
    ("Readings", 0, "value", "1,234", "reading_not_used", KEEP),
    ("Readings", 0, "value", "15,60", "reading_typed_as_text", 15.6),
    ("Readings", 0, "value", "15.60 mm", "reading_typed_as_text", 15.6),
    ("Readings", 0, "value", " 15.6 ", "reading_typed_as_text", 15.6),
    ("Readings", 0, "value", "7 ligne", "reading_not_used", KEEP),  # the cell beside says mm
    ("Readings", 0, "unit", None, "reading_not_used", KEEP),
    ("Readings", 0, "unit", "furlongs", "reading_not_used", KEEP),
    ("Readings", 0, "unit", "mm ", "word_spelled_otherwise", "mm"),
    ("Readings", 0, "unit", "MM", "word_spelled_otherwise", "mm"),
    ("Readings", 0, "what", "bore ", "word_spelled_otherwise", "bore"),
    ("Readings", 0, "what", "boar", "word_not_listed", KEEP),
    ("Readings", 0, "instrument", "Caliper\u00a0", "word_spelled_otherwise", "caliper"),
    ("Readings", 0, "instrument", "micro", "instrument_not_listed", KEEP),
    ("Readings", 0, "barrel", "r-001–b1 ", "word_spelled_otherwise", FIRST),
    ("Readings", 1, "value", 15.0, "repeats_spread", KEEP),  # 15.6, 15.0 with a caliper of ± 0.03
    ("Barrels", 0, "turns_used", "3,5", "number_typed_as_text", 3.5),
    ("Barrels", 0, "turns_used", "3½", "number_typed_as_text", 3.5),
    ("Barrels", 0, "turns_used", 0, "amount_not_above_zero", KEEP),
    ("Barrels", 0, "turns_used", -3.5, "amount_not_above_zero", KEEP),
    ("Barrels", 0, "turns_used", True, "cell_not_a_number", KEEP),
    ("Barrels", 0, "turns_used", date(2026, 8, 3), "cell_holds_day", KEEP),
    ("Barrels", 0, "run_hours", "30:00", "hours_typed_as_time", 30),
    ("Barrels", 0, "clearance_mm", "1/8", "cell_not_a_number", KEEP),  # a fraction without a unit is never mm
    ("Barrels", 0, "train", "Going ", "word_spelled_otherwise", "going"),
    ("Barrels", 0, "restoration", "R–001", "word_spelled_otherwise", "R-001"),
    ("Barrels", 0, "end", "Hole ", "word_spelled_otherwise", "hole"),
    ("Work", 0, "hours", "1:30", "hours_typed_as_time", 1.5),
    ("Work", 0, "hours", "2:00", "hours_typed_as_time", 2),
    ("Work", 0, "rate", "38,00", "number_typed_as_text", 38),
    ("Ledger", 0, "amount", "1,234", "number_in_two_ways", KEEP),
    ("Ledger", 0, "amount", "1.234", "number_in_two_ways", KEEP),
    ("Ledger", 0, "amount", "1,250.00", "number_typed_as_text", 1250),
    ("Ledger", 0, "amount", "1.250,00", "number_typed_as_text", 1250),
    ("Ledger", 0, "amount", "1\u00a0250,00", "number_typed_as_text", 1250),
    ("Ledger", 0, "amount", "1\u202f250", "number_typed_as_text", 1250),
    ("Ledger", 0, "amount", "12 1/2", "number_typed_as_text", 12.5),
    ("Ledger", 0, "amount", "−5", "number_typed_as_text", -5),
    ("Ledger", 0, "amount", "8,5O", "row_not_added", KEEP),
    ("Ledger", 0, "amount", "£4.00", "row_not_added", KEEP),
    ("Ledger", 0, "kind", "Paid ", "word_spelled_otherwise", "paid"),
    ("Ledger", 0, "currency", "gbp", "word_spelled_otherwise", "GBP"),
    ("Ledger", 0, "date", "2 March 2026", "date_typed_as_text", date(2026, 3, 2)),
    ("Orders", 0, "order", 31, "identifier_shape", KEEP),
    ("Orders", 0, "supplier", "supplier north ", "word_spelled_otherwise", "Supplier North"),
    ("Orders", 0, "width_mm", 46237, "cell_holds_day", KEEP),
    ("Drawer", 1, "strength_mm", "0,185", "number_typed_as_text", 0.185),
    ("Suppliers", 0, "free_above", "75,00", "number_typed_as_text", 75),
    ("Restorations", 0, "state", "Open", "word_spelled_otherwise", "open"),
    ("Trials", 0, "verdict", "Too weak ", "word_spelled_otherwise", "too weak"),
    ("Trials", 0, "clicks", "2 ", "number_typed_as_text", 2),
]  # fmt: skip


def books_of(change: Callable[[Tables], Any] = lambda _: None) -> Books:
    """Return the book as a workbook's rows would be read: each cell has its place on a sheet."""
    tables, definition = bench(), book_definition()
    change(tables)
    rows = {}
    for name, listed in tables.items():
        keys = {column.key: letters(n) for n, column in enumerate(definition.tables[name].columns, 1)}
        sheet = definition.tables[name].sheet
        rows[name] = tuple(Row(values, Place(name, n, sheet, keys)) for n, values in enumerate(listed, 4))
    return books_from(rows)


def where(books: Books, table: str, number: int, key: str) -> str:
    return books.tables[table][number].place.of(key)


def found_in(books: Books) -> list[Finding]:
    read = [said for barrel in books.barrels for said in means_of(books, barrel.barrel).findings]
    return [*read, *checked(books, on=ON).findings]


def mended(books: Books) -> Books:
    return books.after(gathered(books.tables, [step.change for step in checked(books, on=ON).fixes]))


def codes_at(books: Books, place: str) -> list[str]:
    return [f.code for f in found_in(books) if f.where == place]


@pytest.mark.parametrize(
    ("table", "number", "key", "typed", "code", "wanted"),
    [pytest.param(*t, id=f"{t[0]}-{t[2]}-{t[3]!r}") for t in TYPED],
)
def test_found_at_its_cell_and_mended_only_if_it_has_one_reading(
    table: str, number: int, key: str, typed: Any, code: str, wanted: Any
) -> None:
    books = books_of(lambda tables: tables[table][number].update({key: typed}))
    place = where(books, table, number, key)
    assert code in codes_at(books, place), [str(f) for f in found_in(books)]
    after = mended(books)
    value = after.tables[table][number].get(key)
    if wanted is KEEP:
        assert value == typed
        assert code in codes_at(after, place)
    else:
        assert value == wanted if not isinstance(wanted, float) else float(value) == pytest.approx(wanted)  # type: ignore[arg-type]
        assert not isinstance(value, str) or isinstance(wanted, str)
        assert code not in codes_at(after, place)


def test_a_book_in_order_has_no_such_finding() -> None:
    codes = {code for *_, code, _ in TYPED}
    assert [str(f) for f in found_in(books_of()) if f.code in codes] == []


def test_a_text_with_its_unit_gives_the_unit_where_none_was_typed() -> None:
    after = mended(books_of(lambda t: t["Readings"][3].update(value="3.1 mm", unit=None)))
    assert (after.tables["Readings"][3].get("value"), after.tables["Readings"][3].get("unit")) == (Decimal("3.1"), "mm")


def test_the_reading_that_stands_apart_is_named_and_not_the_last() -> None:
    def slip(tables: Tables) -> None:
        tables["Readings"][0]["value"] = 1.56
        tables["Readings"].insert(2, {**tables["Readings"][1], "value": 15.61})

    books = books_of(slip)
    said = [f.where for f in found_in(books) if f.code == "repeats_disagree"]
    assert said == [where(books, "Readings", 0, "value")]


def test_of_two_that_disagree_both_are_named() -> None:
    books = books_of(lambda t: t["Readings"][0].update(value=1.56))
    (said,) = [f for f in found_in(books) if f.code == "repeats_disagree"]
    for number in (0, 1):
        assert where(books, "Readings", number, "value") in str(said)


def test_the_same_trial_twice() -> None:
    books = books_of(lambda t: t["Trials"].append(dict(t["Trials"][0])))
    assert "trial_twice" in codes_at(books, where(books, "Trials", 2, "order"))
    assert len(mended(books).tables["Trials"]) == 3  # a person says which of them goes


def test_an_error_in_a_cell_of_words_is_found() -> None:
    books = books_of(lambda t: t["Orders"][0].update(item="#REF!"))
    assert "cell_holds_error" in codes_at(books, where(books, "Orders", 0, "item"))


def written(path: Path, change: Callable[[Tables], Any] = lambda _: None) -> Path:
    tables = bench()
    change(tables)
    write_new_book(path, tables, barrel=FIRST, restoration="R-001")
    return path


def test_all_cures_of_a_book_are_one_save(tmp_path: Path) -> None:
    """A line that came: ledger rows are added, and a number typed as text is mended, in one save."""

    def typed(tables: Tables) -> None:
        tables["Orders"][0]["price"] = "6,10"
        tables["Work"][0]["hours"] = "1:30"

    path = written(tmp_path / "book.xlsx", typed)
    before = path.read_bytes()
    done = check(path, on=ON, fix=True)
    assert {"number_typed_as_text", "hours_typed_as_time", "ledger_row_missing"} <= {s.finding.code for s in done.fixed}
    assert backup_of(path).read_bytes() == before
    assert open_book(path).rows("Work")[0]["hours"] == 1.5
    assert not {s.finding.code for s in checked(open_book(path).records(), on=ON).fixes}


def test_readings_that_cannot_be_one_length_stop_refresh_as_they_stop_size(tmp_path: Path) -> None:
    path = written(tmp_path / "book.xlsx", lambda t: t["Readings"][0].update(value=1.56))
    done = refresh(path)
    (stopped,) = [a for a in done.answers if a.barrel == FIRST]
    assert stopped.answer is None
    assert stopped.problem is not None
    assert stopped.problem.code == "repeats_disagree"
    with pytest.raises(OrderbookError) as caught:
        sizing_in(path, FIRST)
    assert caught.value.code == "repeats_disagree"


@pytest.mark.libreoffice
def test_what_a_program_makes_of_a_fraction_and_of_hours(office: Office, tmp_path: Path) -> None:
    """3/8 and 1:30 typed by hand into the real program, saved by it."""
    path = written(tmp_path / "book.xlsx")
    with office.open(path, relink=False) as document:
        reading, hours, width = (
            cell_of(path, *cell) for cell in (("Readings", 0, "value"), ("Work", 0, "hours"), ("Orders", 1, "width_mm"))
        )
        document.type_in("Readings", reading, "3/8")
        document.type_in("Work", hours, "1:30")
        document.type_in("Orders", width, "3/8")
        saved = document.save(tmp_path / "saved.xlsx")
    found = {f.where.partition(" ")[0]: f.code for f in check(saved, on=ON).findings}
    assert found[f"Readings!{reading}"] == "reading_not_used"
    assert found[f"Work!{hours}"] == "hours_typed_as_time"
    assert found[f"Orders!{width}"] == "cell_holds_day"
    check(saved, on=ON, fix=True)
    assert open_book(saved).rows("Work")[0]["hours"] == 1.5


def test_a_book_of_another_program_with_its_own_styles_of_days(tmp_path: Path) -> None:
    path = written(tmp_path / "book.xlsx")
    book = openpyxl.load_workbook(path)
    book["Readings"][cell_of(path, "Readings", 0, "value")] = date(2026, 8, 3)
    book["Work"][cell_of(path, "Work", 0, "hours")] = time(2, 0)
    book.save(path)
    rows = open_book(path)
    assert rows.rows("Readings")[0]["value"] == date(2026, 8, 3)
    assert rows.rows("Work")[0]["hours"] == timedelta(hours=2)
