"""Works out the formulas of a book that depend on changes, so that stored values stay right in every program."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cache, lru_cache
from typing import Any

from orderbook.records.definition import book_definition
from orderbook.xlsx.anatomy import BookTable, area
from orderbook.xlsx.cells import Computed, Stored
from orderbook.xlsx.dependents import Dependence
from orderbook.xlsx.evaluation import Columns, Spot, evaluate, parted
from orderbook.xlsx.growth import Growth
from orderbook.xlsx.marks import Marks, marks_of_book
from orderbook.xlsx.page import ArrayFormula, Formula, Place
from orderbook.xlsx.reading import OpenBook, columns_of
from orderbook.xlsx.references import without_names
from orderbook.xlsx.sheet_reading import CellError, SheetCell
from orderbook.xlsx.shifting import shifted
from orderbook.xlsx.structured import PlacedTable

SAME = 1e-12
CERTAIN = ("#N/A", "#DIV/0!")  # what a formula may well come to; another error may be the engine's own lack
Changed = Mapping[str, Mapping[Place, Any]]
Rows = Mapping[str, list[tuple[int, int, set[int]]]]
"""Sheet → (left, right, rows) of stretches of tables."""


@dataclass(frozen=True, slots=True)
class OpenFormulas:
    """How a book stands with its changes: every formula that counts, and what fills cells without being in them."""

    book: OpenBook
    changed: Changed
    tables: tuple[PlacedTable, ...]
    formulas: Mapping[Spot, Formula | ArrayFormula]
    filled: Mapping[str, set[Place]]
    blank: Rows
    turned: Rows
    marks: Marks


def recalculated(
    book: OpenBook,
    changed: Changed,
    growths: Sequence[Growth],
    functions: Mapping[str, Any],
    *,
    again: bool = False,
    everything: bool = False,
) -> tuple[dict[str, dict[Place, Any]], bool]:
    """Return the changes with every formula's new value among them, and whether a formula could not be worked out.

    Worked out is what depends on the changes, what holds no value yet, what changes by itself and, with `again`, what
    calls `functions`; everything where the book asks for that, or a formula does not say which cells it looks at.
    A formula the engine cannot work out keeps its stored value; the program is then asked to work out all on opening.
    """
    standing = _standing(book, changed, growths)
    if not standing.formulas:
        return {sheet: dict(cells) for sheet, cells in changed.items() if cells}, False
    formulas, columns = _to_work_out(
        standing, growths, functions if again else (), everything or book.anatomy.recalculate
    )
    found = evaluate(list(book.anatomy.sheets), formulas, columns, standing.tables, functions)
    return _with_values(standing, found)


def _to_work_out(
    standing: OpenFormulas, growths: Sequence[Growth], calls: Iterable[str], everything: bool
) -> tuple[Mapping[Spot, Formula | ArrayFormula], Columns]:
    """Return the formulas to work out and what they look at."""
    dependence = Dependence(standing.formulas, standing.tables, standing.book.cells)
    if not dependence.clear:
        return standing.formulas, parted(_all_values(standing))[1]
    begin = standing.formulas if everything else [*_begin(standing, calls), *dependence.changing]
    dependence.follow(_changed(_with_marks(standing), growths), begin)
    formulas = {spot: standing.formulas[spot] for spot in dependence.dirty()}
    return formulas, _looked_at(standing, dependence, formulas)


def _with_values(
    standing: OpenFormulas, found: Mapping[str, Mapping[Place, Any]]
) -> tuple[dict[str, dict[Place, Any]], bool]:
    result = {sheet: dict(cells) for sheet, cells in standing.changed.items()}
    unknown = False
    for sheet, values in found.items():
        filled = standing.filled.get(sheet, ())
        for place, value in values.items():
            unknown = _store(result, standing.book, sheet, place, value, place in filled) or unknown
    for sheet, cells in result.items():
        for place, value in cells.items():
            if isinstance(value, Formula):
                known = standing.marks.get(sheet, {})
                cells[place] = Computed(value.text, known.get(place, found.get(sheet, {}).get(place, "")))
    for sheet, place, value in _new_marks(standing):
        if place not in standing.changed.get(sheet, {}):
            result.setdefault(sheet, {})[place] = Stored(value)
    return {sheet: cells for sheet, cells in result.items() if cells}, unknown


def _new_marks(standing: OpenFormulas) -> Iterator[tuple[str, Place, Any]]:
    """Yield the marks that differ from what their formulas hold; a cell typed over is left alone."""
    for sheet, marks in standing.marks.items():
        cells = standing.book.cells[sheet]
        for place, value in marks.items():
            cell = cells.get(place)
            if cell is not None and cell.formula is not None and not same_value(cell.value, value):
                yield sheet, place, value


def _with_marks(standing: OpenFormulas) -> Changed:
    """Return the changes with the marks that change among them."""
    whole = {sheet: dict(cells) for sheet, cells in standing.changed.items()}
    for sheet, place, value in _new_marks(standing):
        whole.setdefault(sheet, {}).setdefault(place, value)
    return whole


def _store(
    result: dict[str, dict[Place, Any]], book: OpenBook, sheet: str, place: Place, value: Any, in_block: bool
) -> bool:
    """Note a formula's new value, or that of a cell a block fills; True if the engine could not work it out."""
    old = book.cells[sheet].get(place)
    new = result.get(sheet, {}).get(place)
    if in_block:
        if isinstance(value, CellError) and value not in CERTAIN:
            return old is None or not isinstance(old.value, CellError)
        if not same_value(None if old is None else old.value, value):
            result.setdefault(sheet, {})[place] = None if value == "" else value
        return False
    if isinstance(new, (Formula, Computed)) or old is None:
        return False
    if isinstance(value, CellError) and value not in CERTAIN and not isinstance(old.value, CellError):
        return True
    if not same_value(old.value, value):
        result.setdefault(sheet, {})[place] = Stored(value)
    return False


def same_value(old: Any, new: Any) -> bool:
    """Tell whether two values of a cell are one: numbers to rounding, all else exactly."""
    if isinstance(old, (int, float)) and isinstance(new, (int, float)) and not isinstance(old, bool):
        return abs(old - new) <= SAME * max(abs(old), abs(new), 1e-3)
    return bool(old == new or (old is None and new == ""))


def _standing(book: OpenBook, changed: Changed, growths: Sequence[Growth]) -> OpenFormulas:
    filled = {sheet: _filled_by_arrays(cells) for sheet, cells in book.cells.items()}
    blank, turned = _rows_of_tables(book, changed)
    marks = marks_of_book(book, changed)
    formulas = dict(_formulas(book, changed, filled, blank, marks))
    return OpenFormulas(book, changed, _tables(book, growths), formulas, filled, blank, turned, marks)


def _formulas(
    book: OpenBook,
    changed: Changed,
    filled: Mapping[str, set[Place]],
    blank: Rows,
    marks: Marks,
) -> Iterator[tuple[Spot, Formula | ArrayFormula]]:
    named = _with_addresses(book.anatomy.names)
    for sheet, cells in book.cells.items():
        own, spans, held, known = changed.get(sheet, {}), blank.get(sheet, []), filled[sheet], marks.get(sheet, {})
        masters = {cell.shared: cell for cell in cells.values() if cell.shared is not None and cell.formula}
        for place, cell in cells.items():
            outside = place not in own and place not in held and place not in known
            if cell.formula is not None and outside and not _within(place, spans):
                yield (sheet, place), _formula(cell, masters, named)
        for place, value in own.items():
            if isinstance(value, (Formula, Computed)) and place not in known:
                yield (sheet, place), Formula(named(value.text))


def _with_addresses(names: Mapping[str, str]) -> Callable[[str], str]:
    """Return the function that puts addresses for names, each text looked at once."""
    return cache(lambda text: without_names(text, names))


def _formula(cell: SheetCell, masters: Mapping[str, SheetCell], named: Callable[[str], str]) -> Formula | ArrayFormula:
    if cell.shared is not None and not cell.formula:
        return Formula("=" + named(_unshared(cell, masters[cell.shared])))
    text = "=" + named(cell.formula or "")
    if cell.array:
        top, left, bottom, right = area(cell.array)
        return ArrayFormula(text, bottom - top + 1, right - left + 1)
    return Formula(text)


def _unshared(cell: SheetCell, master: SheetCell) -> str:
    """Return the formula of a cell that shares another's."""
    return shifted(master.formula or "", cell.row - master.row, cell.col - master.col)


def _begin(standing: OpenFormulas, names: Iterable[str]) -> Iterator[Spot]:
    """Yield formulas to work out whatever they look at: new ones, those without a value, those that call `names`.

    So are those of rows that begin or cease to count.
    """
    calls = tuple(f"{name}(" for name in names)
    for (sheet, place), formula in standing.formulas.items():
        cell = standing.book.cells[sheet].get(place)
        new = place in standing.changed.get(sheet, {})
        mine = calls and any(call in formula.text.upper() for call in calls)
        if new or mine or cell is None or cell.value is None or _within(place, standing.turned.get(sheet, ())):
            yield sheet, place


def _changed(changed: Changed, growths: Sequence[Growth]) -> Iterator[tuple[str, int, list[int]]]:
    """Yield sheet, column and rows of what changes; rows that a table gains change in all its columns."""
    gained: dict[tuple[str, int], list[int]] = {}
    for growth in growths:
        rows = list(range(growth.table.bottom + 1, growth.bottom + 1))
        gained |= {(growth.table.sheet, col): rows for col in range(growth.table.left, growth.table.right + 1)}
    for sheet, own in changed.items():
        columns: dict[int, list[int]] = {}
        for row, col in own:
            columns.setdefault(col, []).append(row)
        for col, rows in columns.items():
            more = gained.pop((sheet, col), None)
            yield sheet, col, sorted(rows if more is None else {*rows, *more})
    for (sheet, col), rows in gained.items():
        yield sheet, col, rows


def _all_values(standing: OpenFormulas) -> Iterator[tuple[str, Place, Any]]:
    """Yield every value that counts."""
    for sheet, cells in standing.book.cells.items():
        own, held, spans = standing.changed.get(sheet, {}), standing.filled[sheet], standing.blank.get(sheet, [])
        for place, cell in cells.items():
            if cell.formula is None and place not in own and place not in held and not _within(place, spans):
                yield sheet, place, cell.value
        for place, value in own.items():
            if value != "" and not isinstance(value, (Formula, Computed)):
                yield sheet, place, value
        for place, value in standing.marks.get(sheet, {}).items():
            yield sheet, place, value


def _looked_at(standing: OpenFormulas, dependence: Dependence, dirty: Mapping[Spot, Formula | ArrayFormula]) -> Columns:
    """Return what the formulas to work out look at, with the values the cells hold."""
    to_fill = {sheet: set[Place]() for sheet in standing.book.cells}
    for (sheet, place), formula in dirty.items():
        if isinstance(formula, ArrayFormula):
            to_fill[sheet] |= _places(place, formula.rows, formula.cols)
    columns: Columns = {}
    for (sheet, col), spans in _columns_of(standing, dependence).items():
        values: dict[int, Any] = columns.setdefault((sheet, col), {})
        cells, own = standing.book.cells[sheet], standing.changed.get(sheet, {})
        blank, known = standing.blank.get(sheet, ()), standing.marks.get(sheet, {})
        for row in _rows_in(spans):
            place = row, col
            if place in known:
                values[row] = known[place]
            elif place in own:
                value = own[place]
                if value not in (None, "") and not isinstance(value, (Formula, Computed)):
                    values[row] = value
            elif (cell := cells.get(place)) is None or place in to_fill[sheet]:
                continue
            elif cell.formula is None:
                if cell.value != "":
                    values[row] = cell.value
            elif (sheet, place) not in dirty and not _within(place, blank):
                values[row] = cell.value  # empty text stays text: times a number it is an error, as in the program
    return columns


def _rows_in(spans: set[tuple[int, int]]) -> Iterable[int]:
    if len(spans) == 1:
        ((first, last),) = spans
        return range(first, last + 1)
    return {row for first, last in spans for row in range(first, last + 1)}


def _columns_of(standing: OpenFormulas, dependence: Dependence) -> dict[tuple[str, int], set[tuple[int, int]]]:
    """Return (sheet, column) → spans of rows that are looked at, no further than the sheet is filled."""
    ends = {}
    for sheet, cells in standing.book.cells.items():
        places = [*cells, *standing.changed.get(sheet, {})]
        ends[sheet] = max((row for row, _ in places), default=-1), max((col for _, col in places), default=-1)
    found: dict[tuple[str, int], set[tuple[int, int]]] = {}
    for seen in dependence.looked_at():
        last_row, last_col = ends[seen.sheet]
        for col in range(seen.left, min(seen.right, last_col) + 1):
            found.setdefault((seen.sheet, col), set()).add((seen.top, min(seen.bottom, last_row)))
    return found


def _filled_by_arrays(cells: Mapping[Place, SheetCell]) -> set[Place]:
    filled = set()
    for cell in cells.values():
        if cell.array:
            top, left, bottom, right = area(cell.array)
            filled |= _places((top, left), bottom - top + 1, right - left + 1) - {(cell.row, cell.col)}
    return filled


def _places(first: Place, rows: int, cols: int) -> set[Place]:
    return {(first[0] + down, first[1] + right) for down in range(rows) for right in range(cols)}


def _rows_of_tables(book: OpenBook, changed: Changed) -> tuple[Rows, Rows]:
    """Return the rows of our tables that do not count (their formulas are empty text), and those that turned."""
    blank: dict[str, list[tuple[int, int, set[int]]]] = {}
    turned: dict[str, list[tuple[int, int, set[int]]]] = {}
    for name, table in book.anatomy.tables.items():
        definition = book_definition().tables.get(name)
        if definition is None or definition.counts_when not in columns_of(table, definition):
            continue
        counts = columns_of(table, definition)[definition.counts_when]
        keys = {row: value for (row, col), value in changed.get(table.sheet, {}).items() if col == counts}
        filled = {row for row, value in keys.items() if value not in (None, "")}
        counted = {row.number for row in book.tables[name]}
        rows = set(range(table.top + 1, table.bottom + 1))
        blank.setdefault(table.sheet, []).append((table.left, table.right, rows - counted - keys.keys()))
        turned.setdefault(table.sheet, []).append(
            (table.left, table.right, (filled - counted) | (keys.keys() - filled))
        )
    return blank, turned


def _within(place: Place, spans: Iterable[tuple[int, int, set[int]]]) -> bool:
    row, col = place
    return any(left <= col <= right and row in rows for left, right, rows in spans)


def _tables(book: OpenBook, growths: Sequence[Growth]) -> tuple[PlacedTable, ...]:
    bottoms = {growth.table.name: growth.bottom for growth in growths}
    return tuple(_placed(table, bottoms.get(name, table.bottom)) for name, table in book.anatomy.tables.items())


@lru_cache(maxsize=256)
def _placed(table: BookTable, bottom: int) -> PlacedTable:
    return PlacedTable(table.name, table.sheet, table.top, table.left, bottom, table.right, table.heads, table.totals)
