"""Works out the native formulas of a book, so that every formula carries the value a program would show.

The engine is the `formualizer` package, fed cell by cell: its tables know neither `[#This Row]` nor two areas at once,
so structured references are turned into addresses first.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Mapping, Sequence
from decimal import Decimal
from typing import Any

from orderbook.records.definition import BookDefinition
from orderbook.xlsx.page import ArrayFormula, Formula, Page, Place
from orderbook.xlsx.references import first_of
from orderbook.xlsx.sheet_reading import CellError
from orderbook.xlsx.structured import PlacedTable, to_addresses

_ERRORS = {"Div": "#DIV/0!", "Na": "#N/A", "Name": "#NAME?", "Null": "#NULL!", "Num": "#NUM!", "Ref": "#REF!",
           "Value": "#VALUE!", "Spill": "#SPILL!"}  # fmt: skip
_RUN = 1000  # values given at a time; longer runs take longer for each
EPOCH = dt.date(1899, 12, 30)
Spot = tuple[str, Place]
"""A cell: its sheet, and its row and column from 0."""
Columns = dict[tuple[str, int], dict[int, Any]]
"""(sheet, column) → row → value."""


def values_of(
    pages: Sequence[Page], book: BookDefinition, functions: Mapping[str, Any] | None = None
) -> dict[str, dict[Place, Any]]:
    """Return sheet → place (from 0) → value of every formula on `pages`; blocks need the `functions` they call."""
    from orderbook.xlsx.marks import marks_of_pages

    tables = placed_tables(pages, book)
    cells = []
    found: dict[str, dict[Place, Any]] = {}
    marks = marks_of_pages(pages)
    for page in pages:
        blank, known = _blank_cells(page, book), marks.get(page.name, {})
        for place, cell in page.cells.items():
            if place in known:
                found.setdefault(page.name, {})[place] = known[place]
                cells.append((page.name, place, known[place]))
            elif place in blank and isinstance(cell.value, Formula):
                found.setdefault(page.name, {})[place] = ""
            elif cell.value not in (None, ""):
                cells.append((page.name, place, cell.value))
    formulas, columns = parted(cells)
    for sheet, values in evaluate([p.name for p in pages], formulas, columns, tables, functions).items():
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


def parted(cells: Iterable[tuple[str, Place, Any]]) -> tuple[dict[Spot, Formula | ArrayFormula], Columns]:
    """Part cells (sheet, place from 0, what it holds) into formulas and columns of values."""
    formulas: dict[Spot, Formula | ArrayFormula] = {}
    columns: Columns = {}
    for sheet, (row, col), value in cells:
        if isinstance(value, (Formula, ArrayFormula)):
            formulas[sheet, (row, col)] = value
        elif value is not None and value != "":
            columns.setdefault((sheet, col), {})[row] = value
    return formulas, columns


def evaluate(
    sheets: Iterable[str],
    formulas: Mapping[Spot, Formula | ArrayFormula],
    columns: Columns,
    tables: Sequence[PlacedTable],
    functions: Mapping[str, Any] | None = None,
) -> dict[str, dict[Place, Any]]:
    """Return sheet → place → value of every formula; `columns` hold the values the formulas look at."""
    import formualizer

    engine = formualizer.Workbook(config=formualizer.WorkbookConfig(enable_changelog=False))
    for name, function in (functions or {}).items():
        engine.register_function(name, function)
    for sheet in sheets:
        engine.add_sheet(sheet)
    for (sheet, col), values in columns.items():
        _set_values(engine, sheet, col, values)
    asked: list[tuple[str, Place, bool]] = []
    for (sheet, (row, col)), formula in formulas.items():
        asked += [(sheet, place, isinstance(formula, ArrayFormula)) for place in _area(row, col, formula)]
        _set_formula(engine, sheet, (row, col), to_addresses(formula.text, tables, sheet, row, col))
    engine.evaluate_all()
    found: dict[str, dict[Place, Any]] = {}
    for sheet, (row, col), in_block in asked:
        value = engine.get_value(sheet, row + 1, col + 1)
        found.setdefault(sheet, {})[row, col] = "" if value is None and in_block else _plain(value)
    return found


def _area(row: int, col: int, value: Formula | ArrayFormula) -> list[Place]:
    rows, cols = (value.rows, value.cols) if isinstance(value, ArrayFormula) else (1, 1)
    return [(row + down, col + right) for down in range(rows) for right in range(cols)]


def _set_values(engine: Any, sheet: str, col: int, values: Mapping[int, Any]) -> None:
    """Give the engine a column, in runs of neighbouring rows: cell by cell it takes a hundred times as long.

    The empty text a formula came to is a text, not a blank cell: what reckons with it comes to #VALUE!.
    """
    run: list[list[Any]] = []
    first = then = 0
    for row in sorted(values):
        value = values[row]
        if type(value) is not float and type(value) is not str:
            value = _given(value)
        if value is None:
            continue
        if type(value) is CellError:
            _set_formula(engine, sheet, (row, col), f"={value}")
            continue
        if row != then or len(run) == _RUN:
            if run:
                engine.set_values_batch(sheet, first + 1, col + 1, run)
            run, first = [], row
        run.append([value])
        then = row + 1
    if run:
        engine.set_values_batch(sheet, first + 1, col + 1, run)


def _set_formula(engine: Any, sheet: str, place: Place, text: str) -> None:
    """Give the engine a formula; one that it cannot read becomes #NAME?, which leaves the stored value alone."""
    row, col = place
    try:
        engine.set_formula(sheet, row + 1, col + 1, first_of(text))
    except Exception:  # the engine's own exception type is not exported
        engine.set_formula(sheet, row + 1, col + 1, "=#NAME?")


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
