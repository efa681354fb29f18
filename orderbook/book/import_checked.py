"""Rows that are to come into a book, seen as a check would see them there: mended where they have one reading.

A list of text has nothing but text; in a book a number is a number and a day a day. What a check would reject at its
cell stays out, and is named with the place it has in the list.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from datetime import date
from typing import Any

from orderbook.answers.means import means_of
from orderbook.errors import Finding, finding
from orderbook.records.books import Books
from orderbook.records.cells import number_in
from orderbook.records.checks import checked, typing
from orderbook.records.rows import Place, Put, Row
from orderbook.records.typed_readings import METRIC

# what a row says of rows elsewhere: those may come in with the next list
ABOUT_OTHERS = ("not_in_the_book", "of_another_piece", "row_of_no_piece")
BEYOND = 1_000_000  # rows of the list are seen as if they stood here: no sheet has as many


def as_in_the_book(books: Books, table: str, rows: Sequence[Row], findings: list[Finding]) -> list[Row]:
    """Return the rows that a check of the book would not reject, typed as a hand would type them.

    Parameters: rows with their place in the list; what stays out is added to the findings.
    """
    seen = [Row(row.values, Place(table, BEYOND + n, table)) for n, row in enumerate(rows)]
    for _ in range(3):  # a cure may call for another: a unit put beside a number, then the number
        mended = _mended(_with(books, table, seen), table, seen)
        if mended == seen:
            break
        seen = mended
    told = _told(_with(books, table, seen), table, seen)
    kept = []
    for row, there in zip(rows, seen, strict=True):
        found = told.get(there.place.row, ())
        if not any(map(_rejects, found)):
            kept.append(replace(row, values=there.values))
        for one in found:
            where = one.where.replace(f"{table} row {there.place.row}", row.place.of())
            if _rejects(one):
                told_of = finding("row_not_brought_in", where=where, saw=one.saw, try_this=one.try_this)
            else:
                told_of = finding(one.code, where=where, saw=one.saw, expected=one.expected)
            findings.append(told_of)
    return kept


def _with(books: Books, table: str, rows: Sequence[Row]) -> Books:
    tables = {**books.tables, table: (*books.tables.get(table, ()), *rows)}
    return Books(books.currency, tables)


def _mended(books: Books, table: str, rows: Sequence[Row]) -> list[Row]:
    """Return the rows with every cure of a typed cell; what settles states and sums is the book's own affair."""
    cures: dict[int, dict[str, Any]] = {}
    for step in typing.fixes(books):
        if isinstance(step.change, Put) and step.change.table == table and step.change.row >= BEYOND:
            cures.setdefault(step.change.row, {}).update(step.change.values)
    return [replace(row, values={**row.values, **cures.get(row.place.row, {})}) for row in map(_as_number, rows)]


def _as_number(row: Row) -> Row:
    """Return a reading that is a number alone as that number, whatever its unit."""
    value, unit = row.get("value"), str(row.get("unit") or "")
    if row.place.table != "Readings" or not isinstance(value, str):
        return row
    exact, _ = number_in(value, is_length=unit.casefold() in ("", *METRIC))
    return row if exact is None else replace(row, values={**row.values, "value": exact})


def _told(books: Books, table: str, rows: Sequence[Row]) -> dict[int, list[Finding]]:
    """Return row → what a check rejects about it, and an identifier of another shape."""
    found: dict[int, list[Finding]] = {}
    by_place = {row.place.of(): row.place.row for row in rows}
    for one in (*checked(books, on=date.today()).findings, *_of_readings(books, table, rows)):
        place = by_place.get(one.where.partition(" (")[0])
        if place is not None and one.code not in ABOUT_OTHERS and (_rejects(one) or one.code == "identifier_shape"):
            found.setdefault(place, []).append(one)
    return found


def _rejects(found: Finding) -> bool:
    return found.severity == "error" or found.code == "reading_not_used"


def _of_readings(books: Books, table: str, rows: Sequence[Row]) -> Iterator[Finding]:
    """What the means of the barrels say of their readings."""
    for barrel in dict.fromkeys(str(row.get("barrel") or "") for row in rows if table == "Readings"):
        yield from means_of(books, barrel).findings


__all__ = ["as_in_the_book"]
