"""Ranges handed over by a worksheet, as rows keyed by column: found by their headers, in any order."""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from orderbook.errors import error
from orderbook.records.definition import book_definition

CELL_ERROR = re.compile(r"#(N/A|[A-Z0-9/_]+[!?])")  # as a worksheet shows it; an item may begin with # too
FIRST_DAY = dt.date(1899, 12, 30)  # day 0 of a worksheet that counts from 1900
Range = Sequence[Sequence[Any]]


def columns_in(table: str, cells: Range, where: str) -> dict[str, list[Any]]:
    """Return the columns of a range with its header row: key → values, in the rows that count.

    Headers are those of the book's table of that name; other columns are left alone.
    Raises: OrderbookError(header_missing) naming the column that is not there.

    >>> columns_in("Catalogue", [["Item", "Width mm", "Strength mm", "Length mm", "Supplier"],
    ...                          ["a", 2.5, 0.16, 340, "S"], [None] * 5], "catalogue")["item"]
    ['a']
    """
    definition = book_definition().tables[table]
    keys = {_plain(name): c.key for c in definition.columns for name in (c.key, c.header)}
    header = [keys.get(_plain(cell), "") for cell in (cells[0] if cells else [])]
    needed = {c.key: c.header for c in definition.columns if c.required}
    for key, name in needed.items():
        if key not in header:
            raise error("header_missing", where=where, saw=f"no column {name!r}")
    counts = header.index(definition.counts_when)
    rows = [row for row in cells[1:] if not is_empty(row[counts])]
    return {key: [row[n] for row in rows] for n, key in enumerate(header) if key}


def rows_in(table: str, cells: Range | None, where: str) -> list[dict[str, Any]]:
    """Return the rows of a range that count, each keyed by column; empty for a range that was left out."""
    if cells is None:
        return []
    columns = columns_in(table, cells, where)
    return [dict(zip(columns, values, strict=True)) for values in zip(*columns.values(), strict=True)]


def is_empty(value: Any) -> bool:
    """Say whether a cell shows nothing."""
    return value is None or (isinstance(value, str) and not value.strip())


def shows_error(value: Any) -> bool:
    """Say whether a cell shows an error of the worksheet.

    >>> shows_error("#DIV/0!"), shows_error("#N/A"), shows_error("#12 blue"), shows_error(3.0)
    (True, True, False, False)
    """
    return isinstance(value, str) and value[:1] == "#" and CELL_ERROR.fullmatch(value) is not None


def text(row: Mapping[str, Any], key: str) -> str:
    """Return a cell as the text a person would type; empty where there is none.

    >>> text({"a": 3.0}, "a"), text({"a": 0.165}, "a"), text({}, "a")
    ('3', '0.165', '')
    """
    value = row.get(key)
    if isinstance(value, float) and value.is_integer():
        value = int(value)
    return "" if is_empty(value) else str(value).strip()


def day(row: Mapping[str, Any], key: str) -> str:
    """Return a cell that holds a day as 2026-11-02: Excel hands over days, Calc their numbers."""
    value = row.get(key)
    if isinstance(value, dt.datetime):
        value = value.date()
    if isinstance(value, dt.date):
        return value.isoformat()
    if isinstance(value, float) and 0 < value < 2958466:
        return (FIRST_DAY + dt.timedelta(days=int(value))).isoformat()
    return text(row, key)


def positive(row: Mapping[str, Any], key: str) -> float | None:
    """Return a number above zero, None where there is none: an empty result of a formula may read as 0.

    Raises: OrderbookError(cell_holds_error).
    """
    value = row.get(key)
    if isinstance(value, str) and value.startswith("#"):
        raise error("cell_holds_error", where=key, saw=f"the cell shows {value}")
    return float(value) if isinstance(value, (int, float)) and not isinstance(value, bool) and value > 0 else None


def without_holes(rows: Iterable[Mapping[str, Any]], keys: Sequence[str]) -> list[dict[str, str]]:
    """Return rows as texts of these columns, as the side files of the command line give them."""
    return [{key: text(row, key) for key in keys} for row in rows]


def _plain(header: Any) -> str:
    return re.sub(r"\s+", " ", str(header)).strip().casefold()
