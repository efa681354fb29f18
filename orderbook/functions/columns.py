"""The functions of a spring in a barrel as Python offers them: numbers, text, quantities, arrays, columns of a frame.

`mechanics` reckons with plain numbers. Here each argument is read as what its name says (`bore_mm` is a length in mm),
what is not given is left out, and a column of a data frame is answered by a column.
"""

from __future__ import annotations

import inspect
from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from functools import wraps
from typing import TYPE_CHECKING, Any, ParamSpec, TypeVar

import numpy as np
from numpy.typing import NDArray

from orderbook import measures, mechanics
from orderbook.errors import OrderbookError, error
from orderbook.measures import Measured, number
from orderbook.measures.given import in_unit, is_nothing

Parameters = ParamSpec("Parameters")
Result = TypeVar("Result")
UNITS = {"mm": "mm", "mpa": "MPa", "turns": "turn", "up": "turn", "reserve": "turn", "grams": "gram"}


def by_column(function: Callable[Parameters, Result]) -> Callable[Parameters, Result]:
    """Let a function of numbers take what a person has, and answer a data frame's column by a column.

    None, NaN and NA are "not given": an argument that may be left out is left out; a row that lacks one that may not is
    answered by NaN, and a single call by an error that names it.
    Raises: OrderbookError(argument_missing | length_not_read | number_not_read | unit_of_another_kind), naming the
    argument, and as the function; ValueError for columns of unequal index.

    >>> import pandas as pd
    >>> barrels = pd.DataFrame({"bore": ["15.6 mm", None, "0.62 in"], "arbor": [5.2, 5.0, 5.1]}, index=["a", "b", "c"])
    >>> spring_length(barrels.bore, barrels.arbor, 0.16).round(1).to_dict()
    {'a': 530.9, 'b': nan, 'c': 544.8}
    """
    signature = inspect.signature(function)
    takes_columns = [name for name, one in signature.parameters.items() if "Number" in str(one.annotation)]
    needed = [name for name, one in signature.parameters.items() if one.default is inspect.Parameter.empty]

    @wraps(function)
    def answered(*args: Parameters.args, **kwargs: Parameters.kwargs) -> Any:
        given = signature.bind(*args, **kwargs).arguments
        index = _index([value.index for value in given.values() if _is_series(value)])
        read = {name: _read(value, name) for name, value in given.items()}
        columns = {name: value for name, value in read.items() if isinstance(value, np.ndarray)}
        if wrong := [name for name in columns if name not in takes_columns]:
            raise error("number_not_read", where=wrong[0], saw="several numbers", expected="Expected one number.")
        call = _named_as_given(function, tuple(signature.parameters))
        if not columns:
            found: Any = call(_those_given(read, needed))
        else:
            found = _rows(call, read, columns, needed)
        return found if index is None else _column(found, index)

    return answered


def _read(value: Any, name: str) -> Any:
    """Read one argument: a float, a float array with NaN where nothing is given, or None."""
    unit = UNITS.get(name.rpartition("_")[2], "")
    value = in_unit(value, unit, where=name)
    if isinstance(value, (str, Measured)) or is_nothing(value):
        return _one(value, unit, name)
    if isinstance(value, (int, float)) or not hasattr(value, "__len__") or getattr(value, "ndim", 1) == 0:
        return _one(value.item() if hasattr(value, "item") else value, unit, name)
    cells = value if isinstance(value, np.ndarray) else np.array([*value], dtype=object)
    if cells.dtype.kind in "fiu":
        return cells.astype(np.float64)
    read = [_one(in_unit(cell, unit, where=name), unit, name) for cell in cells.ravel().tolist()]
    return np.array([np.nan if cell is None else cell for cell in read], dtype=np.float64).reshape(cells.shape)


def _one(value: Any, unit: str, name: str) -> float | None:
    if isinstance(value, Measured):
        return value.value
    if is_nothing(value) or (isinstance(value, str) and not value.strip()):
        return None
    if isinstance(value, (str, bool)):
        return measures.length_mm(value, where=name) if unit == "mm" else number(value, where=name)
    try:
        return float(value)
    except (TypeError, ValueError) as problem:
        raise error("number_not_read", where=name, saw=repr(value)) from problem


def _those_given(read: Mapping[str, Any], needed: Sequence[str]) -> dict[str, Any]:
    for name in needed:
        if read.get(name) is None:
            raise error("argument_missing", where=name, saw="not given")
    return {name: value for name, value in read.items() if value is not None}


def _rows(
    call: Callable[[dict[str, Any]], Any],
    read: Mapping[str, Any],
    columns: Mapping[str, NDArray[np.float64]],
    needed: Sequence[str],
) -> NDArray[np.float64]:
    """Answer rows, those with the same arguments given in one call."""
    single = {name: value for name, value in read.items() if name not in columns}
    missing = {name: np.isnan(cells) for name, cells in columns.items()}
    if not any(mask.any() for mask in missing.values()):
        return np.asarray(call(_those_given(read, needed)))
    names, shape = list(columns), np.broadcast_shapes(*(cells.shape for cells in columns.values()))
    wide = {name: np.broadcast_to(cells, shape).ravel() for name, cells in columns.items()}
    pattern = np.array([np.broadcast_to(missing[name], shape).ravel() for name in names]).T
    found = np.full(pattern.shape[0], np.nan)
    for lacks in np.unique(pattern, axis=0):
        rows = (pattern == lacks).all(axis=1)
        kept = {name: wide[name][rows] for name, lacking in zip(names, lacks, strict=True) if not lacking}
        if all(name in kept for name in needed if name in columns):
            found[rows] = call(_those_given(single | kept, needed))
    return found.reshape(shape)


def _named_as_given(function: Callable[..., Any], names: Sequence[str]) -> Callable[[dict[str, Any]], Any]:
    """Call a function so that its errors name the argument as Python calls it: `bore_mm` and not `bore`."""
    called = {name.removesuffix("_mm").removesuffix("_mpa").replace("_", " "): name for name in names}

    def call(given: dict[str, Any]) -> Any:
        try:
            return function(**given)
        except OrderbookError as problem:
            where, *told = problem.finding.marked
            if where not in called:
                raise
            marked = (called[where], told[0], told[1], told[2])
            raise OrderbookError(replace(problem.finding, marked=marked)) from problem

    return call


def _is_series(value: Any) -> bool:
    return hasattr(value, "index") and hasattr(value, "to_frame") and hasattr(value, "reindex")


def _index(indexes: Sequence[Any]) -> Any:
    if any(not one.equals(indexes[0]) for one in indexes[1:]):
        raise ValueError("the columns have unequal indexes: take them from one data frame")
    return indexes[0] if indexes else None


def _column(found: Any, index: Any) -> Any:
    import pandas as pd

    return pd.Series(found, index=index)


def length_mm(text: Any, *, where: str = "length", unit: str = "mm") -> Any:
    """Read lengths in any trade unit as millimetres: text, numbers, quantities, or columns of them.

    Parameters: text, one length or several; where, what an error calls it; unit, the meaning of a bare number.
    Returns: mm; a column for a column, with NaN where nothing is given.
    Raises: OrderbookError(length_not_read | length_not_sensible) with what was seen and what to write.

    >>> length_mm("1 1/2 in"), length_mm(["12 thou", None, 3]).tolist()
    (38.1, [0.3048, nan, 3.0])
    """
    if _is_series(text):
        return _column([length_mm(cell, where=where, unit=unit) for cell in text.tolist()], text.index)
    text = in_unit(text, unit, where=where)
    if isinstance(text, Measured):
        return measures.length_mm(text.value, where=where, unit=unit)
    if isinstance(text, str) or not hasattr(text, "__len__"):
        return np.nan if is_nothing(text) else measures.length_mm(text, where=where, unit=unit)
    return np.array([length_mm(cell, where=where, unit=unit) for cell in text], dtype=np.float64)


if TYPE_CHECKING:  # they keep their signatures
    from orderbook.mechanics import drive_index as drive_index
    from orderbook.mechanics import fusee_evenness as fusee_evenness
    from orderbook.mechanics import fusee_set_up as fusee_set_up
    from orderbook.mechanics import load_index as load_index
    from orderbook.mechanics import rod_test_torque as rod_test_torque
    from orderbook.mechanics import spring_fill as spring_fill
    from orderbook.mechanics import spring_length as spring_length
    from orderbook.mechanics import spring_slack as spring_slack
    from orderbook.mechanics import spring_strength as spring_strength
    from orderbook.mechanics import spring_torque as spring_torque
    from orderbook.mechanics import spring_turns as spring_turns
    from orderbook.mechanics import spring_width as spring_width
    from orderbook.mechanics import strongest_useful as strongest_useful
else:
    drive_index = by_column(mechanics.drive_index)
    fusee_evenness = by_column(mechanics.fusee_evenness)
    fusee_set_up = by_column(mechanics.fusee_set_up)
    load_index = by_column(mechanics.load_index)
    rod_test_torque = by_column(mechanics.rod_test_torque)
    spring_fill = by_column(mechanics.spring_fill)
    spring_length = by_column(mechanics.spring_length)
    spring_slack = by_column(mechanics.spring_slack)
    spring_strength = by_column(mechanics.spring_strength)
    spring_torque = by_column(mechanics.spring_torque)
    spring_turns = by_column(mechanics.spring_turns)
    spring_width = by_column(mechanics.spring_width)
    strongest_useful = by_column(mechanics.strongest_useful)
