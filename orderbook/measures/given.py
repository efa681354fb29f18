"""What a caller may bring: text, numbers, columns, or quantities with a unit, which are converted and never stripped.

A quantity is known by what it can do (`dimensionality`, `to`), so that one of any pint registry is served and pint is
not imported.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
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
    return [value]


def is_nothing(value: Any) -> bool:
    """Say whether a value stands for "not given": None, NaN, or a table's NA."""
    if value is None or type(value).__name__ in ("NAType", "NaTType"):
        return True
    return isinstance(value, float) and math.isnan(value)
