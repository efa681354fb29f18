"""The cells that say what answers are made from, filled from Python: no engine works letters of a text out in an array.

Their formulas are native all the same, for the programs a person types in; a test holds the two against each other.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from functools import cache
from typing import Any

from orderbook.answers.fingerprint import OF_BARREL, SHARED, Fingerprints, fingerprints_of, list_mark
from orderbook.records.definition import book_definition
from orderbook.records.identifiers import tidy
from orderbook.records.rows import Place as RowPlace
from orderbook.records.rows import Row
from orderbook.xlsx.anatomy import area
from orderbook.xlsx.cells import Computed, Stored
from orderbook.xlsx.page import Formula, Page, Place
from orderbook.xlsx.reading import OpenBook, columns_of

LISTS_NOW, LIST_NOW = "lists_now", "list_now"
"""Names of the book for the cells of what all barrels share, and of the mark of the list alone."""
MARKED = ("Barrels", *OF_BARREL, *SHARED)
LOOKED_AT = (*MARKED, "Catalogue", "Instruments", "Needs", "Restorations", "Settings", "Units")
Marks = dict[str, dict[Place, Any]]
"""Sheet → place → value."""


def marks_of_book(book: OpenBook, changed: Mapping[str, Mapping[Place, Any]]) -> Marks:
    """Return the marks of a book as it is after changes."""
    columns, tables = {}, {}
    listed: int | None = None
    for name in LOOKED_AT:
        if table := book.anatomy.tables.get(name):
            keys = columns_of(table, book_definition().tables[name])
            columns[name] = table.sheet, keys
            rows = {row.number: row for row in book.tables[name] if not row.place.below}
            new = _changed_rows(name, table.sheet, {col: key for key, col in keys.items()}, changed, rows, table.top)
            tables[name] = tuple((rows | new).values())
            if name == "Catalogue" and not new:
                listed = int(book.records().derived(name, list_mark))
    named = {name: _spot(book.anatomy.names[name]) for name in (LISTS_NOW, LIST_NOW) if name in book.anatomy.names}
    return _cells(fingerprints_of(tables, listed), tables, columns, named)


def marks_of_pages(pages: Iterable[Page]) -> Marks:
    """Return the marks of the pages of a new book."""
    columns, tables = {}, {}
    named: dict[str, tuple[str, Place]] = {}
    for page in pages:
        named |= {name: (page.name, place) for name, place in page.names.items()}
        for laid in page.tables:
            if laid.name in LOOKED_AT:
                keys = {c.key: laid.left + n for n, c in enumerate(book_definition().tables[laid.name].columns)}
                columns[laid.name] = page.name, keys
                typed = [(key, col) for key, col in keys.items() if key not in _worked(laid.name)]
                tables[laid.name] = tuple(
                    Row(
                        {key: page.cells[number, col].value for key, col in typed}, _place(laid.name, page.name, number)
                    )
                    for number in range(laid.top + 1, laid.bottom + 1)
                )
    return _cells(fingerprints_of(tables), tables, columns, named)


def _cells(
    found: Fingerprints,
    tables: Mapping[str, tuple[Row, ...]],
    columns: Mapping[str, tuple[str, Mapping[str, int]]],
    named: Mapping[str, tuple[str, Place]],
) -> Marks:
    cells: Marks = {}
    for name in MARKED:
        sheet, keys = columns.get(name, ("", {}))
        for row in tables.get(name, ()):
            for key, value in _of_row(found, name, row).items():
                if key in keys:
                    cells.setdefault(sheet, {})[row.number, keys[key]] = value
    for name, value in ((LISTS_NOW, found.lists), (LIST_NOW, float(found.catalogue))):
        if name in named:
            sheet, place = named[name]
            cells.setdefault(sheet, {})[place] = value
    return cells


def _of_row(found: Fingerprints, table: str, row: Row) -> dict[str, Any]:
    one = found.marks.get(table, {}).get(row.place.row)
    filled: dict[str, Any] = {"mark_text": "", "mark": ""}
    if one is not None:
        filled = {"mark_text": one.text, "mark": float(one.number)}
    if table == "Barrels":
        barrel = row.get("barrel")
        filled["inputs_now"] = found.inputs.get(tidy(str(barrel)), "") if barrel not in (None, "") else ""
    return filled


def _changed_rows(
    table: str,
    sheet: str,
    keys: Mapping[int, str],
    changed: Mapping[str, Mapping[Place, Any]],
    rows: Mapping[int, Row],
    head: int,
) -> dict[int, Row]:
    new: dict[int, dict[str, Any]] = {}
    worked = _worked(table)
    for (number, col), value in changed.get(sheet, {}).items():
        key = keys.get(col)
        if key is None or key in worked or number <= head or isinstance(value, (Formula, Computed, Stored)):
            continue
        if number not in new:
            new[number] = dict(rows[number].values) if number in rows else {}
        new[number][key] = value
    return {number: Row(values, _place(table, sheet, number)) for number, values in new.items()}


def _place(table: str, sheet: str, number: int) -> RowPlace:
    return RowPlace(table, number + 1, sheet)


@cache
def _worked(name: str) -> frozenset[str]:
    return frozenset(c.key for c in book_definition().tables[name].columns if c.kind == "worked")


def _spot(address: str) -> tuple[str, Place]:
    sheet, _, cell = address.rpartition("!")
    top, left, _, _ = area(cell)
    return sheet.strip("'").replace("''", "'"), (top, left)
