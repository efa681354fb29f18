"""Reads a book: tables found by name, columns by header, rows as they were typed.

What a person may rearrange is tolerated (columns moved, columns added, sheets renamed); what is needed and missing is
an error that names it. What the cells mean is read in `records` alone.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from typing import Any

from orderbook.errors import Finding, error, finding
from orderbook.records.books import Books, books_from
from orderbook.records.definition import BookDefinition, Table, book_definition
from orderbook.records.rows import Place as RowPlace
from orderbook.records.rows import Row
from orderbook.xlsx.anatomy import Anatomy, BookTable, anatomy
from orderbook.xlsx.cells import EPOCHS
from orderbook.xlsx.many_cells import many_cells
from orderbook.xlsx.package import open_package
from orderbook.xlsx.page import Place, address, letters
from orderbook.xlsx.saving import Stamp, stamp
from orderbook.xlsx.sheet_reading import CellError, SheetCell, cells_of, moments_of, shared_strings


@dataclass(frozen=True, slots=True, eq=False)  # compared by identity: what is worked out of it is kept beside it
class OpenBook:
    """A book as it was read; it holds no file open.

    `tables` are the rows in which a hand (or a list, or refresh) filled anything, those typed just below a table too.
    """

    path: Path
    stamp: Stamp
    anatomy: Anatomy
    cells: Mapping[str, Mapping[Place, SheetCell]]
    findings: tuple[Finding, ...]
    tables: Mapping[str, tuple[Row, ...]]

    def rows(self, name: str) -> tuple[Row, ...]:
        """Return the rows of a table that count: inside it, with their key filled.

        Raises: OrderbookError if the book lacks the table or a column it must have.
        """
        table_in(self, name)
        return self.counting(name)

    def counting(self, name: str) -> tuple[Row, ...]:
        """Return the rows that count; none where the book lacks the table."""
        key = book_definition().tables[name].counts_when
        return tuple(row for row in self.tables.get(name, ()) if not row.place.below and row.get(key) not in (None, ""))

    def records(self) -> Books:
        """Return the records of the book, read once.

        Raises: OrderbookError if a table, or a column that a table must have, is missing.
        """
        return _records(self)

    def row(self, name: str, key: str) -> Row:
        """Return the row of an identifier.

        Raises: OrderbookError if there is none, or two.
        """
        counts = book_definition().tables[name].counts_when
        found = [row for row in self.rows(name) if str(row[counts]).strip().lower() == key.strip().lower()]
        if not found:
            known = ", ".join(str(row[counts]) for row in self.rows(name)[:8]) or "none yet"
            raise error("book_no_such_row", where=f"{self.path}, table {name}", saw=f"no {key}; there are: {known}")
        if len(found) > 1:
            where = ", ".join(str(row.number + 1) for row in found)
            raise error("book_id_twice", where=f"{self.path}, table {name}", saw=f"{key} stands in rows {where}")
        return found[0]


@lru_cache(maxsize=2)
def _records(book: OpenBook) -> Books:
    for name, table in book_definition().tables.items():
        if name != "Choices" and (name in book.anatomy.tables or not table.later):
            table_in(book, name)
    return books_from(book.tables)


@many_cells()
def open_book(path: Path) -> OpenBook:
    """Read a whole book; the file is closed again when this returns.

    Raises: OrderbookError for what is not a book that can be kept without loss.
    """
    since = stamp(path)
    with open_package(path) as package:
        parts = anatomy(package, path)
        strings = shared_strings(package, parts.strings, path)
        moments = moments_of(package, parts.styles, path)
        cells = {
            sheet: {(c.row, c.col): c for c in cells_of(package, part, strings, path, moments)}
            for sheet, part in parts.sheets.items()
        }
    findings: list[Finding] = []
    definition = book_definition()
    tables = {
        name: tuple(_rows(table, definition.tables[name], cells[table.sheet], parts.date1904, findings))
        for name, table in parts.tables.items()
        if name in definition.tables
    }
    return OpenBook(path, since, parts, cells, tuple(findings), tables)


def table_in(book: OpenBook, name: str, definition: BookDefinition | None = None) -> BookTable:
    """Return a table of the book, checked: it is there, and so is each column it must have."""
    table = book.anatomy.tables.get(name)
    if table is None:
        there = ", ".join(sorted(book.anatomy.tables)) or "none"
        raise error("book_table_missing", where=str(book.path), saw=f"no table called {name}; there are: {there}")
    wanted = (definition or book_definition()).tables.get(name)
    heads = {head.strip().lower() for head in table.heads}
    for column in wanted.columns if wanted else ():
        if column.required and column.header.lower() not in heads:
            where = f"{book.path}, sheet {table.sheet}, table {name}"
            raise error("book_column_missing", where=where, saw=f'no column headed "{column.header}"')
    return table


def lacking(book: OpenBook) -> dict[str, tuple[str, ...]]:
    """Return table → headers it lacks of a book made today, those a person sees first; no header: the whole table."""
    found: dict[str, tuple[str, ...]] = {}
    for name, definition in book_definition().tables.items():
        if (table := book.anatomy.tables.get(name)) is None:
            found[name] = ()
        elif gone := {c.key for c in definition.columns} - set(columns_of(table, definition)):
            found[name] = tuple(c.header for c in sorted(definition.columns, key=lambda c: c.hidden) if c.key in gone)
    return found


def columns_of(table: BookTable, definition: Table) -> dict[str, int]:
    """Return key → column (from 0) of the columns that are there, in whatever order."""
    places = {head.strip().lower(): table.left + i for i, head in enumerate(table.heads)}
    return {c.key: places[c.header.lower()] for c in definition.columns if c.header.lower() in places}


def _rows(
    table: BookTable, definition: Table, cells: Mapping[Place, SheetCell], date1904: bool, findings: list[Finding]
) -> Iterator[Row]:
    columns = columns_of(table, definition)
    shown = {key: letters(col) for key, col in columns.items()}
    filled = {c.key for c in definition.columns if c.kind != "worked" and c.key in columns}
    days = {c.key for c in definition.columns if c.format == "date"}
    last = table.bottom - table.totals
    number = table.top
    while True:
        number += 1
        if last < number <= table.bottom:
            continue  # a totals row of the spreadsheet program's own is no row
        values: dict[str, Any] = {}
        for key, col in columns.items():
            if (cell := cells.get((number, col))) is not None:
                if cell.formula is not None and cell.value is None and key in filled:
                    where = f"{table.sheet}!{address(number, col, fixed=False)}"
                    findings.append(finding("book_formula_without_value", where=where, saw=f"={cell.formula}"))
                if (value := typed(cell, key in days, date1904)) is not None:
                    values[key] = value
        if any(key in filled for key in values):
            yield Row(values, RowPlace(table.name, number + 1, table.sheet, shown, below=number > last))
        elif number > last:
            return


def typed(cell: SheetCell, is_day: bool, date1904: bool) -> Any:
    """Return what a cell holds: a day or a time where it shows one, an error as the text it shows, None for nothing."""
    value = cell.value
    if value is None or value == "":
        return None
    if isinstance(value, CellError):
        return str(value)
    if isinstance(value, float):
        if (is_day or cell.moment == "day") and 0 <= value < 2958466:
            return EPOCHS[date1904] + dt.timedelta(days=int(value))
        if cell.moment == "time" and 0 <= value < 100:
            return dt.timedelta(days=value)
        return int(value) if value.is_integer() and abs(value) < 1e15 else value
    return value
