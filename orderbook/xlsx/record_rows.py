"""The bridge between a book's tables and the rules of the books: rows as typed, and changes to rows."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Iterator, Mapping
from typing import Any

from orderbook.records.books import Books, books_from
from orderbook.records.definition import Table, book_definition
from orderbook.records.rows import Append, Change, Clear, Place, Put, Row
from orderbook.xlsx.anatomy import BookTable
from orderbook.xlsx.cells import EPOCHS
from orderbook.xlsx.changes import Changes, append_rows, update_row
from orderbook.xlsx.page import letters
from orderbook.xlsx.reading import OpenBook, columns_of, table_in
from orderbook.xlsx.sheet_reading import CellError, SheetCell

RECORDED = ("Restorations", "Barrels", "Readings", "Needs", "Catalogue", "Drawer", "Orders", "Trials", "Work", "Ledger",
            "Suppliers", "Instruments", "Units", "Rates", "Weights", "Settings")  # fmt: skip


def books_in(book: OpenBook) -> Books:
    """Return the records of a book.

    Raises: OrderbookError if a table, or a column that a table must have, is missing.
    """
    return books_from(typed_rows(book))


def typed_rows(book: OpenBook, names: Iterable[str] = RECORDED) -> dict[str, tuple[Row, ...]]:
    """Return table → rows as they were typed, those typed just below a table included."""
    return {name: tuple(_rows(book, table_in(book, name), book_definition().tables[name])) for name in names}


def with_record_changes(changes: Changes, book: OpenBook, records: Iterable[Change]) -> None:
    """Add changes of the rules of the books to the changes of a book."""
    added: dict[str, list[Mapping[str, Any]]] = {}
    for change in records:
        match change:
            case Append(table, values):
                added.setdefault(table, []).append(values)
            case Put(table, row, values):
                update_row(changes, book, table, row - 1, values)
            case Clear(table, row):
                definition = book_definition().tables[table]
                there = columns_of(table_in(book, table), definition)
                keys = [c.key for c in definition.columns if c.kind != "worked" and c.key in there]
                update_row(changes, book, table, row - 1, dict.fromkeys(keys))
    for table, rows in added.items():
        append_rows(changes, book, table, rows)


def _rows(book: OpenBook, table: BookTable, definition: Table) -> Iterator[Row]:
    columns = {k: col for k, col in columns_of(table, definition).items() if definition.column(k).kind != "worked"}
    cells = book.cells[table.sheet]
    shown = {key: letters(col) for key, col in columns.items()}
    last = table.bottom - table.totals
    number = table.top
    while True:
        number += 1
        values = {
            key: _typed(cells.get((number, col)), definition.column(key).format, book.anatomy.date1904)
            for key, col in columns.items()
        }
        if any(value is not None for value in values.values()):
            yield Row(values, Place(table.name, number + 1, table.sheet, shown, below=number > last))
        elif number > last:
            return


def _typed(cell: SheetCell | None, format_name: str, date1904: bool) -> Any:
    if cell is None or cell.value is None or cell.value == "":
        return None
    value = str(cell.value) if isinstance(cell.value, CellError) else cell.value
    if isinstance(value, float):
        if format_name == "date" and 0 <= value < 2958466:
            return EPOCHS[date1904] + dt.timedelta(days=int(value))
        return int(value) if value.is_integer() and abs(value) < 1e15 else value
    return value
