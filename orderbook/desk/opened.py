"""A book opened for a command: its records, and how changes are put back where they came from."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

from orderbook.errors import Finding, error
from orderbook.records.books import Books, books_from
from orderbook.records.rows import Change, Place, Row

if TYPE_CHECKING:
    from orderbook.workbook.reading import Row as AnswerRow


@dataclass(frozen=True, slots=True)
class Opened:
    """A book and the way back into its file or folder."""

    path: Path
    books: Books
    save: Callable[[Sequence[Change]], None]
    findings: tuple[Finding, ...] = ()  # what only the file itself can show: formulas that were typed over


def opened(path: Path) -> Opened:
    """Open a book: a workbook, or a folder of CSV files as `export` writes it.

    Raises: OrderbookError(book_not_found | book_not_read | book_currency_missing).
    """
    if not path.exists():
        raise error("book_not_found", where=str(path), saw="no such file or folder")
    if path.is_dir():
        from orderbook.desk import csv_folder

        tables = csv_folder.tables_in(path)
        return Opened(path, books_from(tables), partial(csv_folder.save, path, tables))
    return _workbook(path)


def _workbook(path: Path) -> Opened:
    from orderbook.workbook.changes import Changes, commit
    from orderbook.workbook.reading import open_book
    from orderbook.workbook.record_rows import typed_rows, with_record_changes

    book = open_book(path)

    def save(records: Sequence[Change]) -> None:
        changes = Changes()
        with_record_changes(changes, book, records)
        commit(book, changes)

    answers = {"Stages": tuple(_answer("Stages", row) for row in book.tables.get("Stages", ()))}
    return Opened(path, books_from(typed_rows(book) | answers), save)


def _answer(table: str, row: AnswerRow) -> Row:
    return Row(row.values, Place(table, row.number + 1))
