"""Reads a book: tables found by name, columns by header, rows as plain records keyed as the definition keys them.

What a person may rearrange is tolerated (columns moved, columns added, sheets renamed); what is needed and missing is
an error that names it.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from decimal import Decimal
from pathlib import Path
from typing import Any

from orderbook.errors import Finding, OrderbookError, error, finding
from orderbook.measures import number as number_of
from orderbook.records.definition import BookDefinition, Column, Table, book_definition
from orderbook.xlsx.anatomy import Anatomy, BookTable, anatomy
from orderbook.xlsx.cells import EPOCHS
from orderbook.xlsx.many_cells import many_cells
from orderbook.xlsx.package import open_package
from orderbook.xlsx.page import Place, address
from orderbook.xlsx.saving import Stamp, stamp
from orderbook.xlsx.sheet_reading import CellError, SheetCell, cells_of, shared_strings

_NOT_NUMBERS = {"", "date", "plain"}


@dataclass(frozen=True, slots=True)
class Row:
    """A row of a table that counts: its place on the sheet (from 0) and its values by key."""

    number: int
    values: Mapping[str, Any]

    def __getitem__(self, key: str) -> Any:
        """Return the value of a column, None for an empty cell."""
        return self.values.get(key)


@dataclass(frozen=True, slots=True)
class OpenBook:
    """A book as it was read; it holds no file open."""

    path: Path
    stamp: Stamp
    anatomy: Anatomy
    cells: Mapping[str, Mapping[Place, SheetCell]]
    findings: tuple[Finding, ...]
    tables: Mapping[str, tuple[Row, ...]]

    def rows(self, name: str) -> tuple[Row, ...]:
        """Return the rows of a table that count.

        Raises: OrderbookError if the book lacks the table or a column it must have.
        """
        table_in(self, name)
        return self.tables[name]

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


@many_cells()
def open_book(path: Path) -> OpenBook:
    """Read a whole book; the file is closed again when this returns.

    Raises: OrderbookError for what is not a book that can be kept without loss.
    """
    since = stamp(path)
    with open_package(path) as package:
        parts = anatomy(package, path)
        strings = shared_strings(package, parts.strings, path)
        cells = {
            sheet: {(c.row, c.col): c for c in cells_of(package, part, strings, path)}
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


def columns_of(table: BookTable, definition: Table) -> dict[str, int]:
    """Return key → column (from 0) of the columns that are there, in whatever order."""
    places = {head.strip().lower(): table.left + i for i, head in enumerate(table.heads)}
    return {c.key: places[c.header.lower()] for c in definition.columns if c.header.lower() in places}


def _rows(
    table: BookTable, definition: Table, cells: Mapping[Place, SheetCell], date1904: bool, findings: list[Finding]
) -> Iterator[Row]:
    columns = columns_of(table, definition)
    counts = columns.get(definition.counts_when)
    if counts is None:
        return
    for number in range(table.top + 1, table.bottom + 1 - table.totals):
        key = cells.get((number, counts))
        if key is None or key.value is None or key.value == "":
            continue
        values = {}
        for name, col in columns.items():
            cell = cells.get((number, col))
            if cell is not None:
                values[name] = _value(cell, definition.column(name), date1904, table, findings)
        yield Row(number, values)


def _value(cell: SheetCell, column: Column, date1904: bool, table: BookTable, findings: list[Finding]) -> Any:
    where = f"{table.sheet}!{address(cell.row, cell.col, fixed=False)}"
    value = cell.value
    if value is None or value == "":
        if cell.formula is not None and value is None and column.kind == "input":
            findings.append(finding("book_formula_without_value", where=where, saw=f"={cell.formula}"))
        return None
    if isinstance(value, CellError):
        findings.append(finding("book_cell_error", where=where, saw=f"{value} in the column {column.header}"))
        return None
    if column.format == "date":
        return _date(value, date1904, where, findings)
    if column.format in _NOT_NUMBERS or column.kind == "worked":
        return _tidy(value)
    return _number(value, column, where, findings)


def _tidy(value: Any) -> Any:
    if isinstance(value, str):
        return value.strip() or None
    return int(value) if isinstance(value, float) and value.is_integer() and abs(value) < 1e15 else value


def _date(value: Any, date1904: bool, where: str, findings: list[Finding]) -> Any:
    if isinstance(value, float) and 0 <= value < 2958466:
        return EPOCHS[date1904] + dt.timedelta(days=int(value))
    try:
        return dt.date.fromisoformat(str(value).strip()[:10])
    except ValueError:
        findings.append(finding("book_date_not_read", where=where, saw=f'"{value}"'))
        return None


def _number(value: Any, column: Column, where: str, findings: list[Finding]) -> Any:
    """Return a number; text that is one (a decimal comma typed in another language) is read, and said."""
    money = column.format in ("money", "rate")
    if isinstance(value, float):
        if money:
            return Decimal(repr(value)) if not value.is_integer() else Decimal(int(value))
        return _tidy(value) if column.format in ("whole", "clicks") else value
    try:
        read = number_of(str(value), where=where)
    except OrderbookError as problem:
        findings.append(finding("book_text_for_number", where=where, saw=f'"{value}" in the column {column.header}'))
        del problem
        return None
    findings.append(finding("book_number_as_text", where=where, saw=f'"{value}" is text; it was read as {read:g}'))
    return Decimal(str(value).strip().replace(",", ".")) if money else read
