"""Ranges handed over by a worksheet, as the tables of a book: columns are found by their headers, in any order."""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Sequence
from typing import Any

from orderbook.errors import error
from orderbook.measures.given import is_table, rows_of
from orderbook.records.books import Books, books_from
from orderbook.records.definition import book_definition
from orderbook.records.rows import Place, Row

Range = Any
"""A range with its header row: rows of cells as a worksheet hands them over, or a data frame."""
FIRST_DAY = dt.date(1899, 12, 30)  # day 0 of a worksheet that counts from 1900


def books_in(currency: str = "", **tables: Range | None) -> Books:
    """Return the records of ranges given by the names of their tables (in lower case); those left out are not there.

    Raises: OrderbookError(header_missing) naming the column that is not there.
    """
    names = {name.lower(): name for name in book_definition().tables}
    given = {word: cells_of(cells, word) for word, cells in tables.items() if cells is not None}
    rows = {names[word]: rows_in(names[word], cells, word) for word, cells in given.items()}
    return books_from(rows, currency=currency)


def cells_of(given: Range, where: str) -> list[list[Any]]:
    """Return a range as rows of cells with their header.

    >>> import pandas as pd
    >>> cells_of(pd.DataFrame({"item": ["a", None]}), "catalogue")
    [['item'], ['a'], [None]]
    """
    if not is_table(given):
        cells: list[list[Any]] = given
        return cells
    rows = rows_of(given, where=where)
    heads = list(dict.fromkeys(name for row in rows for name in row))
    return [heads, *([row.get(name) for name in heads] for row in rows)]


def rows_in(table: str, cells: Sequence[Sequence[Any]], where: str) -> tuple[Row, ...]:
    """Return the rows of a range with its header row that count, keyed by column; other columns are left alone.

    Raises: OrderbookError(header_missing) naming the column that is not there.

    >>> rows_in("Catalogue", [["Item", "Width mm", "Strength mm", "Length mm", "Supplier"],
    ...                       ["a", 2.5, 0.16, 340, "S"], [None] * 5], "catalogue")[0].get("item")
    'a'
    """
    definition = book_definition().tables[table]
    keys = {_plain(name): c.key for c in definition.columns for name in (c.key, c.header)}
    header = [keys.get(_plain(cell), "") for cell in (cells[0] if cells else [])]
    for column in definition.columns:
        if column.required and column.key not in header:
            raise error("header_missing", where=where, saw=f"no column {column.header!r}")
    counts = header.index(definition.counts_when)
    places = [(n, key) for n, key in enumerate(header) if key]
    days = {c.key for c in definition.columns if c.format == "date"}
    return tuple(
        Row({key: _cell(row[n], key in days) for n, key in places}, Place(table, number))
        for number, row in enumerate(cells[1:], 2)
        if not is_empty(row[counts])
    )


def is_empty(value: Any) -> bool:
    """Say whether a cell shows nothing."""
    return value is None or (isinstance(value, str) and not value.strip())


def _cell(value: Any, is_day: bool) -> Any:
    """Take nothing for an empty text; Excel hands over days, Calc their numbers."""
    if is_day and isinstance(value, float) and 0 < value < 2958466:
        return FIRST_DAY + dt.timedelta(days=int(value))
    return None if is_empty(value) else value


def _plain(header: Any) -> str:
    return re.sub(r"\s+", " ", str(header)).strip().casefold()
