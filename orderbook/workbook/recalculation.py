"""Works out the formulas of a book that depend on changes, so that stored values stay right in every program."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from orderbook.workbook.anatomy import BookTable, area
from orderbook.workbook.cells import Computed, Stored
from orderbook.workbook.definition import book_definition
from orderbook.workbook.evaluation import evaluate
from orderbook.workbook.growth import Growth
from orderbook.workbook.page import Block, Formula, Place, address
from orderbook.workbook.reading import OpenBook, columns_of
from orderbook.workbook.sheet_reading import CellError, SheetCell
from orderbook.workbook.structured import PlacedTable

SAME = 1e-12


def recalculated(
    book: OpenBook,
    changed: Mapping[str, Mapping[Place, Any]],
    growths: Sequence[Growth],
    functions: Mapping[str, Any],
) -> tuple[dict[str, dict[Place, Any]], bool]:
    """Return the changes with every formula's new value among them, and whether a formula could not be worked out.

    A formula the engine cannot work out keeps its stored value; the program is then asked to work out all on opening.
    """
    blank = _blank_rows(book, changed)
    found = evaluate(list(book.anatomy.sheets), _cells(book, changed, blank), _tables(book, growths), functions)
    result = {sheet: dict(cells) for sheet, cells in changed.items()}
    unknown = False
    filled = {sheet: _filled_by_arrays(cells) for sheet, cells in book.cells.items()}
    for sheet, values in found.items():
        for place, value in values.items():
            unknown = _store(result, book, sheet, place, value, place in filled.get(sheet, ())) or unknown
    for sheet, cells in result.items():
        for place, value in cells.items():
            if isinstance(value, Formula):
                cells[place] = Computed(value.text, found.get(sheet, {}).get(place, ""))
    return {sheet: cells for sheet, cells in result.items() if cells}, unknown


def _store(
    result: dict[str, dict[Place, Any]], book: OpenBook, sheet: str, place: Place, value: Any, in_block: bool
) -> bool:
    """Note a formula's new value, or that of a cell a block fills; True if the engine could not work it out."""
    old = book.cells[sheet].get(place)
    new = result.get(sheet, {}).get(place)
    if in_block:
        if isinstance(value, CellError):
            return old is None or not isinstance(old.value, CellError)
        if not _equal(None if old is None else old.value, value):
            result.setdefault(sheet, {})[place] = None if value == "" else value
        return False
    if isinstance(new, (Formula, Computed)) or old is None:
        return False
    if isinstance(value, CellError) and not isinstance(old.value, CellError):
        return True
    if not _equal(old.value, value):
        result.setdefault(sheet, {})[place] = Stored(value)
    return False


def _equal(old: Any, new: Any) -> bool:
    if isinstance(old, (int, float)) and isinstance(new, (int, float)) and not isinstance(old, bool):
        return abs(old - new) <= SAME * max(abs(old), abs(new), 1e-3)
    return bool(old == new or (old is None and new == ""))


def _cells(
    book: OpenBook, changed: Mapping[str, Mapping[Place, Any]], blank: Mapping[str, list[tuple[int, int, set[int]]]]
) -> Iterator[tuple[str, Place, Any]]:
    for sheet, cells in book.cells.items():
        own = changed.get(sheet, {})
        spans = blank.get(sheet, [])
        filled = _filled_by_arrays(cells)
        for place, cell in cells.items():
            if place in own or place in filled or _is_blank(place, spans):
                continue
            yield sheet, place, _given(cell, cells)
        for place, value in own.items():
            yield sheet, place, Formula(value.text) if isinstance(value, Computed) else value


def _given(cell: SheetCell, cells: Mapping[Place, SheetCell]) -> Any:
    if cell.formula is None:
        return cell.value
    if cell.shared is not None and not cell.formula:
        return Formula("=" + _unshared(cell, cells))
    if cell.array:
        top, left, bottom, right = area(cell.array)
        return Block("=" + cell.formula, bottom - top + 1, right - left + 1)
    return Formula("=" + cell.formula)


def _unshared(cell: SheetCell, cells: Mapping[Place, SheetCell]) -> str:
    """Return the formula of a cell that shares another's."""
    from openpyxl.formula.translate import Translator

    master = next(c for c in cells.values() if c.shared == cell.shared and c.formula)
    here, there = address(cell.row, cell.col, fixed=False), address(master.row, master.col, fixed=False)
    return str(Translator("=" + (master.formula or ""), there).translate_formula(here)).lstrip("=")


def _filled_by_arrays(cells: Mapping[Place, SheetCell]) -> set[Place]:
    filled = set()
    for cell in cells.values():
        if cell.array:
            top, left, bottom, right = area(cell.array)
            filled |= {(r, c) for r in range(top, bottom + 1) for c in range(left, right + 1)} - {(cell.row, cell.col)}
    return filled


def _blank_rows(
    book: OpenBook, changed: Mapping[str, Mapping[Place, Any]]
) -> dict[str, list[tuple[int, int, set[int]]]]:
    """Return sheet → (left, right, rows) of the rows of our tables that do not count: their formulas are empty text."""
    found: dict[str, list[tuple[int, int, set[int]]]] = {}
    for name, table in book.anatomy.tables.items():
        definition = book_definition().tables.get(name)
        if definition is None or definition.counts_when not in columns_of(table, definition):
            continue
        counts = columns_of(table, definition)[definition.counts_when]
        own = changed.get(table.sheet, {})
        rows = set(range(table.top + 1, table.bottom + 1)) - {row.number for row in book.tables[name]}
        rows = {r for r in rows if own.get((r, counts)) in (None, "")}
        emptied = {
            r for r in range(table.top + 1, table.bottom + 1) if (r, counts) in own and own[r, counts] in (None, "")
        }
        found.setdefault(table.sheet, []).append((table.left, table.right, rows - emptied))
    return found


def _is_blank(place: Place, spans: Sequence[tuple[int, int, set[int]]]) -> bool:
    row, col = place
    return any(left <= col <= right and row in rows for left, right, rows in spans)


def _tables(book: OpenBook, growths: Sequence[Growth]) -> list[PlacedTable]:
    bottoms = {growth.table.name: growth.bottom for growth in growths}
    return [_placed(table, bottoms.get(name, table.bottom)) for name, table in book.anatomy.tables.items()]


def _placed(table: BookTable, bottom: int) -> PlacedTable:
    return PlacedTable(table.name, table.sheet, table.top, table.left, bottom, table.right, table.heads, table.totals)
