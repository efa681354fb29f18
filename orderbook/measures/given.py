"""What a caller may bring: text, numbers, columns, or quantities with a unit, which are converted and never stripped.

A quantity is known by what it can do (`dimensionality`, `to`), so that one of any pint registry is served and pint is
not imported.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from decimal import Decimal
from typing import Any

from orderbook.errors import error

UNITS = {"mm": "lengths", "turn": "turns", "MPa": "stresses", "hour": "hours", "gram": "masses", "": "plain numbers"}


def is_quantity(value: object) -> bool:
    """Say whether a value carries a unit of its own."""
    return hasattr(value, "dimensionality") and hasattr(value, "to")


def in_unit(value: Any, unit: str, *, where: str) -> Any:
    """Return the number (or array) a quantity is in a unit; what carries no unit comes back as it is.

    Raises: OrderbookError(unit_of_another_kind) for a quantity of another kind.

    >>> import pint
    >>> in_unit(pint.UnitRegistry().Quantity(1.56, "cm"), "mm", where="bore"), in_unit(15.6, "mm", where="bore")
    (15.600000000000001, 15.6)
    """
    if not is_quantity(value):
        return value
    if not value.dimensionality and (unit == "" or str(value.units) == "dimensionless"):
        return value.magnitude  # a bare number; a turn is not 2π of something
    try:
        return value.to(unit or "dimensionless").magnitude
    except Exception as problem:
        if type(problem).__name__ != "DimensionalityError":
            raise
        saw = f"{value}, where {UNITS.get(unit, unit)} are meant"
        raise error("unit_of_another_kind", where=where, saw=saw) from problem


def flat(value: Any, unit: str, *, where: str) -> list[str | float]:
    """Return what was given as a list of texts and numbers; None, NaN and NA are nothing.

    >>> flat(["15.6 mm", 15.61, None, float("nan")], "mm", where="bore")
    ['15.6 mm', 15.61]
    """
    value = in_unit(value, unit, where=where)
    if hasattr(value, "tolist"):  # a numpy number or array, a pandas column
        value = value.tolist()
    if isinstance(value, str):
        return [value] if value.strip() else []
    if is_nothing(value):
        return []
    if isinstance(value, Iterable):
        return [one for item in value for one in flat(item, unit, where=where)]
    return [float(value) if isinstance(value, Decimal) else value]


def is_nothing(value: Any) -> bool:
    """Say whether a value stands for "not given": None, NaN, or a table's NA."""
    if value is None or type(value).__name__ in ("NAType", "NaTType"):
        return True
    return isinstance(value, (float, Decimal)) and math.isnan(value)


def is_table(value: Any) -> bool:
    """Say whether a value is a data frame, or another table that has columns (pandas, polars, arrow)."""
    return any(hasattr(value, name) for name in ("to_pylist", "to_dicts")) or (
        hasattr(value, "to_dict") and hasattr(value, "columns")
    )


def rows_of(given: Any, *, where: str) -> list[dict[str, Any]]:
    """Return a table as rows: a data frame, columns by name, or rows by column; NaN and NA become None.

    Raises: OrderbookError(rows_not_read) for what is no table.

    >>> rows_of({"currency": ["EUR", "CHF"], "rate": [0.86, float("nan")]}, where="rates")
    [{'currency': 'EUR', 'rate': 0.86}, {'currency': 'CHF', 'rate': None}]
    """
    if hasattr(given, "to_pylist"):
        rows = given.to_pylist()
    elif hasattr(given, "to_dicts"):
        rows = given.to_dicts()
    elif is_table(given):
        named = [name for name in given.index.names if name is not None]
        rows = (given.reset_index() if named else given).to_dict("records")
    elif isinstance(given, Mapping):
        rows = [dict(zip(given, cells, strict=True)) for cells in zip(*given.values(), strict=True)]
    else:
        rows = [given] if isinstance(given, str) or not isinstance(given, Iterable) else list(given)
    if not all(isinstance(row, Mapping) for row in rows):
        raise error("rows_not_read", where=where, saw=_short(given))
    return [{str(name): None if is_nothing(cell) else cell for name, cell in row.items()} for row in rows]


def _short(value: Any) -> str:
    shown = repr(value)
    return shown if len(shown) <= 60 else f"{shown[:57]}…"
