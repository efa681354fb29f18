"""A book opened for a command: its records, and how changes are put back where they came from."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

from orderbook.errors import Finding, error, finding
from orderbook.records.books import Books, books_from
from orderbook.records.rows import Change, Place, Row

if TYPE_CHECKING:
    from orderbook.xlsx.reading import OpenBook
    from orderbook.xlsx.reading import Row as AnswerRow


@dataclass(frozen=True, slots=True)
class Opened:
    """A book and the way back into its file or folder."""

    path: Path
    books: Books
    save: Callable[[Sequence[Change]], None]
    look: Callable[[], tuple[Finding, ...]] = tuple  # what only the file can show: its own sums, stale answers


def opened(path: Path) -> Opened:
    """Open a book: a workbook, or a folder of CSV files as `export` writes it.

    Raises: OrderbookError(book_not_found | book_currency_missing); as `open_book` for a workbook.
    """
    if not path.exists():
        raise error("book_not_found", where=str(path), saw="no such file or folder")
    if path.is_dir():
        from orderbook.book import csv_folder

        tables = csv_folder.tables_in(path)
        return Opened(path, books_from(tables), partial(csv_folder.save, path, tables))
    return _workbook(path)


def _workbook(path: Path) -> Opened:
    from orderbook.xlsx.changes import Changes, commit
    from orderbook.xlsx.reading import open_book
    from orderbook.xlsx.record_rows import typed_rows, with_record_changes

    book = open_book(path)

    def save(records: Sequence[Change]) -> None:
        changes = Changes()
        with_record_changes(changes, book, records)
        commit(book, changes)

    stale = _stale(book)
    stages = tuple(_answer("Stages", row) for row in book.tables.get("Stages", ()) if str(row["barrel"]) not in stale)
    books = books_from(typed_rows(book) | {"Stages": stages})

    def look() -> tuple[Finding, ...]:
        from orderbook.book.native_sheets import sheet_differences
        from orderbook.book.native_sums import native_differences

        return (*(stale.values()), *native_differences(book, books), *sheet_differences(book, books))

    return Opened(path, books, save, look)


def _answer(table: str, row: AnswerRow) -> Row:
    return Row(row.values, Place(table, row.number + 1))


def _stale(book: OpenBook) -> dict[str, Finding]:
    """Return the barrels whose stored answers were made from other readings than the book holds now."""
    now = {str(row["barrel"]): row["inputs_now"] for row in book.tables.get("Barrels", ())}
    return {
        name: finding("answers_stale", where=f"Answers row {row.number + 1}", saw=f"{name}: readings changed since")
        for row in book.tables.get("Answers", ())
        if (name := str(row["barrel"])) and row["kept_inputs"] and now.get(name) != row["kept_inputs"]
    }
