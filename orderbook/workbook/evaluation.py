"""Works out the native formulas of a book, so that every formula carries the value a program would show.

The engine is the `formualizer` package, fed cell by cell: its tables know neither `[#This Row]` nor two areas at once,
so structured references are turned into addresses first.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Mapping, Sequence
from decimal import Decimal
from typing import Any

from orderbook.workbook.definition import BookDefinition
from orderbook.workbook.page import Formula, Page, Place
from orderbook.workbook.structured import PlacedTable, to_addresses

_ERRORS = {"Div": "#DIV/0!", "Na": "#N/A", "Name": "#NAME?", "Null": "#NULL!", "Num": "#NUM!", "Ref": "#REF!",
           "Value": "#VALUE!", "Spill": "#SPILL!"}  # fmt: skip
EPOCH = dt.date(1899, 12, 30)


def values_of(pages: Sequence[Page], book: BookDefinition) -> dict[str, dict[Place, Any]]:
    """Return sheet → place (from 0) → value of every formula on `pages`."""
    tables = placed_tables(pages, book)
    cells = ((p.name, place, cell.value) for p in pages for place, cell in p.cells.items())
    return evaluate([p.name for p in pages], cells, tables)


def placed_tables(pages: Sequence[Page], book: BookDefinition) -> list[PlacedTable]:
    """Return where each table of the pages lies, for structured references."""
    return [
        PlacedTable(
            t.name, p.name, t.top, t.left, t.bottom, t.right, tuple(c.header for c in book.tables[t.name].columns)
        )
        for p in pages
        for t in p.tables
    ]


def evaluate(
    sheets: Iterable[str],
    cells: Iterable[tuple[str, Place, Any]],
    tables: Sequence[PlacedTable],
    functions: Mapping[str, Any] | None = None,
) -> dict[str, dict[Place, Any]]:
    """Return sheet → place → value of every formula among `cells` (sheet, place from 0, value or Formula)."""
    import formualizer

    engine = formualizer.Workbook()
    for name, function in (functions or {}).items():
        engine.register_function(name, function)
    for sheet in sheets:
        engine.add_sheet(sheet)
    formulas: list[tuple[str, Place]] = []
    for sheet, (row, col), value in cells:
        if isinstance(value, Formula):
            formulas.append((sheet, (row, col)))
            engine.set_formula(sheet, row + 1, col + 1, to_addresses(value.text, tables, sheet, row, col))
        elif value is not None and value != "":
            engine.set_value(sheet, row + 1, col + 1, _given(value))
    engine.evaluate_all()
    found: dict[str, dict[Place, Any]] = {}
    for sheet, (row, col) in formulas:
        found.setdefault(sheet, {})[row, col] = _plain(engine.get_value(sheet, row + 1, col + 1))
    return found


def _given(value: Any) -> Any:
    if isinstance(value, Decimal):
        return float(value)
    if isinstance(value, dt.datetime):
        return (value - dt.datetime.combine(EPOCH, dt.time())) / dt.timedelta(days=1)
    if isinstance(value, dt.date):
        return float((value - EPOCH).days)
    return float(value) if isinstance(value, int) and not isinstance(value, bool) else value


def _plain(value: Any) -> Any:
    """Return an engine's value as a cell holds it; errors as a program writes them, an empty result as 0."""
    if isinstance(value, dict) and value.get("type") == "Error":
        return _ERRORS.get(value["kind"], "#VALUE!")
    if value is None:
        return 0
    return float((value - EPOCH).days) if isinstance(value, dt.date) and not isinstance(value, dt.datetime) else value
