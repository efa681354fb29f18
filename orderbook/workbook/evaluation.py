"""Works out the native formulas of a book, so that every formula carries the value a program would show.

The engine is the `formualizer` package, fed cell by cell: its tables know neither `[#This Row]` nor two areas at once,
so structured references are turned into addresses first.
"""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Iterable, Mapping, Sequence
from decimal import Decimal
from typing import Any

from orderbook.workbook.definition import BookDefinition
from orderbook.workbook.page import Block, Formula, Page, Place
from orderbook.workbook.sheet_reading import CellError
from orderbook.workbook.structured import PlacedTable, to_addresses

_ERRORS = {"Div": "#DIV/0!", "Na": "#N/A", "Name": "#NAME?", "Null": "#NULL!", "Num": "#NUM!", "Ref": "#REF!",
           "Value": "#VALUE!", "Spill": "#SPILL!"}  # fmt: skip
_FIRST = re.compile(r"INDEX\(('(?:[^']|'')*'!)(\$[A-Z]+\$\d+)(?::\$[A-Z]+\$\d+)?,1\):")
EPOCH = dt.date(1899, 12, 30)


def values_of(
    pages: Sequence[Page], book: BookDefinition, functions: Mapping[str, Any] | None = None
) -> dict[str, dict[Place, Any]]:
    """Return sheet → place (from 0) → value of every formula on `pages`; blocks need the `functions` they call."""
    tables = placed_tables(pages, book)
    cells = []
    found: dict[str, dict[Place, Any]] = {}
    for page in pages:
        blank = _blank_cells(page, book)
        for place, cell in page.cells.items():
            if place in blank and isinstance(cell.value, Formula):
                found.setdefault(page.name, {})[place] = ""
            elif cell.value is not None:
                cells.append((page.name, place, cell.value))
    for sheet, values in evaluate([p.name for p in pages], cells, tables, functions).items():
        found.setdefault(sheet, {}).update(values)
    return found


def _blank_cells(page: Page, book: BookDefinition) -> set[Place]:
    """Return the cells of table rows that do not count; worked columns show nothing there, by definition."""
    blank = set()
    for laid in page.tables:
        table = book.tables[laid.name]
        counts = laid.left + [c.key for c in table.columns].index(table.counts_when)
        for row in range(laid.top + 1, laid.bottom + 1):
            if page.cells[row, counts].value in (None, ""):
                blank |= {(row, col) for col in range(laid.left, laid.right + 1)}
    return blank


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
    """Return sheet → place → value of every formula among `cells` (sheet, place from 0, value, Formula or Block)."""
    import formualizer

    engine = formualizer.Workbook()
    for name, function in (functions or {}).items():
        engine.register_function(name, function)
    for sheet in sheets:
        engine.add_sheet(sheet)
    formulas: list[tuple[str, Place, bool]] = []
    for sheet, (row, col), value in cells:
        if isinstance(value, (Formula, Block)):
            formulas += [(sheet, place, isinstance(value, Block)) for place in _area(row, col, value)]
            _set_formula(engine, sheet, (row, col), to_addresses(value.text, tables, sheet, row, col))
        elif value is not None and value != "":
            engine.set_value(sheet, row + 1, col + 1, _given(value))
    engine.evaluate_all()
    found: dict[str, dict[Place, Any]] = {}
    for sheet, (row, col), in_block in formulas:
        value = engine.get_value(sheet, row + 1, col + 1)
        found.setdefault(sheet, {})[row, col] = "" if value is None and in_block else _plain(value)
    return found


def _area(row: int, col: int, value: Formula | Block) -> list[Place]:
    rows, cols = (value.rows, value.cols) if isinstance(value, Block) else (1, 1)
    return [(row + down, col + right) for down in range(rows) for right in range(cols)]


def _set_formula(engine: Any, sheet: str, place: Place, text: str) -> None:
    """Give the engine a formula; one that it cannot read becomes an error, which leaves the stored value alone."""
    row, col = place
    try:
        engine.set_formula(sheet, row + 1, col + 1, _first_of(text))
    except Exception:  # the engine's own exception type is not exported
        engine.set_formula(sheet, row + 1, col + 1, "=NA()")


def _first_of(text: str) -> str:
    """Return `INDEX(range,1):cell` as `first cell:cell`, which the engine can read."""
    return _FIRST.sub(r"\1\2:", text)


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
        return CellError(_ERRORS.get(value["kind"], "#VALUE!"))
    if value is None:
        return 0
    return float((value - EPOCH).days) if isinstance(value, dt.date) and not isinstance(value, dt.datetime) else value
