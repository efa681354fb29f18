"""One call of a worksheet function: from cell values to cell values, whatever stands in the cells.

A cell value is a number, a text, a truth value or None; a range is a list of rows. Whatever fails becomes one short
line of text that begins with `#`.
"""

from __future__ import annotations

import datetime
import math
from collections.abc import Callable, Collection, Sequence
from dataclasses import dataclass
from decimal import Decimal
from functools import cache, partial
from typing import Any

from orderbook.errors import OrderbookError, error, speaking
from orderbook.functions.table import FUNCTIONS, Argument, Function, verb_of
from orderbook.measures import length_mm, number
from orderbook.records.spelling import in_cells

Cell = float | str | bool | None
Answer = Cell | list[list[Cell]]
LINE = 200  # letters of one line in a cell
MOST_ROWS = 200_000


def answer(name: str, values: Sequence[Any]) -> Answer:
    """Give what a cell (or a block of cells) shows for this call; never raises for what a user may type.

    >>> answer("LENGTH_MM", ["12 thou"])
    0.3048
    >>> answer("LENGTH_MM", [[["12 thou"], [""], ["a bit"]]])
    [[0.3048], [None], ["#length: 'a bit'. Write one number and one unit; a bare number is millimetres."]]
    """
    import numpy

    try:
        with numpy.errstate(all="ignore"), speaking(in_cells):  # what is not finite is said in words
            return _found(name, values)
    except OrderbookError as problem:
        return one_line(problem)
    except ArithmeticError:
        return out_of_bounds(name)
    except Exception as problem:  # a defect of ours must not become a traceback or a dialog in somebody's book
        return trimmed(f"#{name} failed inside: {type(problem).__name__} {problem}. Please report it.")


def _found(name: str, values: Sequence[Any]) -> Answer:
    quick = _quick(name) if set(map(type, values)) == {float} else None
    if quick is not None and quick.least <= len(values) <= quick.most:
        return _number(quick, values)
    return shaped(_answer(name, values))


@dataclass(frozen=True, slots=True)
class Quick:
    """What a call with single numbers needs, looked up once: sheets call some functions thousands of times."""

    verb: Callable[..., Any]
    keywords: tuple[str, ...]
    least: int
    most: int
    if_none: str


@cache
def _quick(name: str) -> Quick | None:
    function = FUNCTIONS.get(name)
    if function is None or function.block or not function.by_column:
        return None
    keywords = tuple(argument.keyword for argument in function.arguments)
    return Quick(verb_of(name), keywords, function.required, len(keywords), function.if_none)


def _number(quick: Quick, values: Sequence[Any]) -> Cell:
    """Answer single numbers without looking at each."""
    found = quick.verb(**dict(zip(quick.keywords, values, strict=False)))
    if type(found) is float and math.isfinite(found):
        return found
    return plain(quick.if_none or found if found != found else found)


def sheet_functions() -> dict[str, Callable[..., Any]]:
    """Return every worksheet function as the engine that works a book out calls it.

    >>> sheet_functions()["LENGTH_MM"]("1 in")
    25.4
    """
    return {name: partial(_for_engine, name) for name in FUNCTIONS}


def _for_engine(name: str, *values: Any) -> Any:
    found = answer(name, [_from_engine(value) for value in values])
    if isinstance(found, list):
        return [["" if cell is None else cell for cell in row] for row in found]
    return "" if found is None else found


def _from_engine(value: Any) -> Any:
    """Take an error as the text a cell shows; a range comes as rows."""
    if isinstance(value, list):
        return [[_from_engine(cell) for cell in row] for row in value]
    return "#ERROR!" if isinstance(value, dict) else value


def one_line(problem: OrderbookError) -> str:
    """Say an error in one line that begins with `#`; a line that came in from another cell stays as it is."""
    with speaking(in_cells):
        if problem.code == "cell_holds_error" and problem.saw.startswith("#"):
            return trimmed(problem.saw)
        return trimmed(f"#{problem.where}: {problem.saw.rstrip('.')}. {problem.try_this}")


def out_of_bounds(name: str) -> str:
    """Say in one line that the reckoning overflowed or divided by nothing: no spring has such numbers."""
    return f"#{name}: a number is too large or too small to reckon with. Check the readings and their units."


def trimmed(line: str) -> str:
    """Keep a line to the length a cell can show, cut between words.

    >>> trimmed("#a\\nb"), len(trimmed("#word " * 90)) <= LINE
    ('#a b', True)
    """
    line = " ".join(line.split())
    return line if len(line) <= LINE else line[: LINE - 1].rsplit(" ", 1)[0] + "…"


def _answer(name: str, values: Sequence[Any]) -> Any:
    function = FUNCTIONS.get(name)
    if function is None:
        raise error("function_not_known", where=name, saw="this version of orderbook has no such function")
    given = list(values)
    while given and _is_empty(given[-1]):
        given.pop()
    if len(given) > len(function.arguments):
        raise error("arguments_do_not_fit", where=name, saw=f"{len(given)} arguments", try_this=function.syntax)
    given += [None] * (len(function.arguments) - len(given))
    return _block(function, given) if function.block else _each_row(function, given)


def _is_empty(value: Any) -> bool:
    return value is None or (isinstance(value, str) and not value.strip())


def _block(function: Function, given: list[Any]) -> Any:
    arguments = zip(function.arguments, given, strict=True)
    keywords = {a.keyword: _table(a, v) if a.kind == "table" else _value(a, _single(a, v)) for a, v in arguments}
    return verb_of(function.name)(**{key: value for key, value in keywords.items() if value is not None})


def _table(argument: Argument, value: Any) -> list[list[Cell]] | None:
    """Take a range as it is, without the blank rows below it."""
    if _is_empty(value) and argument.optional:
        return None
    if not _is_range(value):
        raise error("table_expected", where=argument.name, saw="one cell" if not _is_empty(value) else "empty")
    last = next((n for n in range(len(value), 0, -1) if not all(map(_is_empty, value[n - 1]))), 0)
    if last > MOST_ROWS:
        raise error("too_many_rows", where=argument.name, saw=f"{last:,} rows")
    return list(value[:last])


def _is_range(value: Any) -> bool:
    return isinstance(value, (list, tuple))


def _single(argument: Argument, value: Any) -> Cell:
    if not _is_range(value):
        return value  # type: ignore[no-any-return]
    if len(value) == 1 and len(value[0]) == 1:
        return value[0][0]  # type: ignore[no-any-return]
    raise error("one_cell_expected", where=argument.name, saw=_size(value))


def _size(rows: Sequence[Sequence[Any]]) -> str:
    return f"a range of {len(rows)} × {len(rows[0]) if rows else 0} cells"


def _each_row(function: Function, given: list[Any]) -> Any:
    """Answer once for single cells, or once a row for columns of equal length."""
    columns = {i: value for i, value in enumerate(given) if _is_range(value) and not (len(value) == len(value[0]) == 1)}
    if not columns:
        return _scalar(function, [_single(a, v) for a, v in zip(function.arguments, given, strict=True)])
    count = _common_length(function, columns)
    cells = [
        [row[0] for row in value] if i in columns else _single(function.arguments[i], value)
        for i, value in enumerate(given)
    ]
    return [[value] for value in _rows(function, cells, columns.keys(), count)]


def _common_length(function: Function, columns: dict[int, Any]) -> int:
    lengths = {}
    for i, rows in columns.items():
        if any(len(row) != 1 for row in rows):
            raise error("column_expected", where=function.arguments[i].name, saw=_size(rows))
        lengths[function.arguments[i].name] = len(rows)
    if len(set(lengths.values())) > 1:
        saw = ", ".join(f"{name} {length}" for name, length in lengths.items())
        raise error("columns_differ", where=function.name, saw=f"rows: {saw}")
    count: int = next(iter(lengths.values()))
    if count > MOST_ROWS:
        raise error("too_many_rows", where=function.name, saw=f"{count:,} rows")
    return count


def _rows(function: Function, cells: list[Any], columns: Collection[int], count: int) -> list[Any]:
    """Answer all rows in one call where every cell is a number; else sort the rows out one by one."""
    one_value = any(function.arguments[i].one_value for i in columns)
    if function.by_column and not one_value and all(_all_numbers(cells[i]) for i in columns):
        return _many(function, cells, columns, 0, count)
    return [_one(function, [c[n] if i in columns else c for i, c in enumerate(cells)]) for n in range(count)]


def _all_numbers(column: list[Any]) -> bool:
    return set(map(type, column)) <= {float, int}


def _many(function: Function, cells: list[Any], columns: Collection[int], first: int, last: int) -> list[Any]:
    """Call the verb for rows first…last at once; where one of them is bad, halve until it stands alone."""
    import numpy

    if last - first == 1:
        return [_one(function, [c[first] if i in columns else c for i, c in enumerate(cells)])]
    keywords = {}
    for i, (argument, given) in enumerate(zip(function.arguments, cells, strict=True)):
        value = numpy.array(given[first:last], dtype=float) if i in columns else _value(argument, given)
        if value is not None:
            keywords[argument.keyword] = value
    try:
        found = verb_of(function.name)(**keywords)
    except (OrderbookError, ArithmeticError):
        middle = (first + last) // 2
        return [v for a, b in ((first, middle), (middle, last)) for v in _many(function, cells, columns, a, b)]
    values: list[Any] = numpy.broadcast_to(numpy.asarray(found), (last - first,)).tolist()
    return [value if value == value else function.if_none for value in values] if function.if_none else values


def _one(function: Function, values: list[Any]) -> Cell:
    """Answer one row of a column call; a blank row gives a blank answer, a bad one its own line."""
    needed = [v for a, v in zip(function.arguments, values, strict=True) if not a.optional]
    if all(map(_is_empty, needed)):
        return None
    try:
        return plain(_scalar(function, values))
    except OrderbookError as problem:
        return one_line(problem)
    except ArithmeticError:
        return out_of_bounds(function.name)


def _scalar(function: Function, values: list[Any]) -> Any:
    keywords = {a.keyword: _value(a, v) for a, v in zip(function.arguments, values, strict=True)}
    found = verb_of(function.name)(**{key: value for key, value in keywords.items() if value is not None})
    return function.if_none or found if found != found else found


def _value(argument: Argument, value: Any) -> float | str | None:
    """Read one cell as this argument wants it; None where an optional one is empty."""
    if _is_empty(value):
        if argument.optional:
            return None
        raise error("cell_empty", where=argument.name, saw="empty")
    if isinstance(value, str) and value.lstrip().startswith("#"):
        raise error("cell_holds_error", where=argument.name, saw=value.strip())
    if isinstance(value, (bool, datetime.date)):
        raise error("number_not_read", where=argument.name, saw=str(value))
    if argument.kind == "text":
        return value if isinstance(value, str) else float(value)
    if isinstance(value, str):
        read = length_mm if argument.kind == "length" else number
        return read(value, where=argument.name)
    return float(value)


def shaped(found: Any) -> Answer:
    """Make an answer rectangular and plain: what Excel and Calc can both take.

    >>> shaped([[1, None], ["a"]]), shaped(float("nan")), shaped([])
    ([[1.0, None], ['a', None]], None, '#nothing to show')
    """
    if not isinstance(found, (list, tuple)):
        return plain(found)
    if not found or not any(found):
        return "#nothing to show"
    if all(len(row) == 1 and type(row[0]) is float and math.isfinite(row[0]) for row in found):
        return list(found)  # the common case of a column of numbers needs no copy of each
    width = max(map(len, found))
    return [[plain(value) for value in row] + [None] * (width - len(row)) for row in found]


def plain(value: Any) -> Cell:
    """Make one value plain: numbers as float, missing as None, what is not finite as one line.

    >>> plain(Decimal("18.50")), plain(float("inf"))
    (18.5, '#the answer is not a finite number')
    """
    if value is None or isinstance(value, (bool, str)):
        return value
    if isinstance(value, datetime.date):
        return value.isoformat()
    if isinstance(value, (int, float, Decimal)) or hasattr(value, "__float__"):
        value = float(value)
        if math.isnan(value):
            return None
        return value if math.isfinite(value) else "#the answer is not a finite number"
    return str(value)
