"""What the numbers given to this room must be, before anything is worked out from them."""

from __future__ import annotations

from typing import Any

import numpy as np
import numpy.typing as npt

from orderbook.errors import error
from orderbook.measures.given import in_unit

Number = float | npt.ArrayLike
# what is no length; everything else given here is
UNIT_OF = {
    "turns": "turn", "turns_up": "turn", "turns_used": "turn", "set_up": "turn", "from_turns": "turn",
    "flow": "MPa", "flow_stress": "MPa", "modulus": "MPa", "fill": "", "grams": "gram",
}  # fmt: skip
LARGEST_BORE_MM = 500.0  # a barrel above half a metre is a slipped decimal mark, not a clock


def as_given(**numbers: Any) -> tuple[Any, ...]:
    """Turn numbers, columns and quantities into floats and float arrays; what is no number is an error that names it.

    >>> as_given(bore=11, arbor=[2.4, 3])
    (11.0, array([2.4, 3. ]))
    """
    return tuple(_as_float(name, value) for name, value in numbers.items())


def above_zero(unit: str = "mm", most: float = np.inf, **numbers: Any) -> None:
    """Raise unless every number is finite, above zero and at most `most`."""
    for name, value in numbers.items():
        if type(value) is float:
            if not 0.0 < value <= most:
                raise _not_sensible(name, value, unit, most)
        elif not np.all(right := (value > 0) & (value <= most)):
            raise _not_sensible(name, _first(value, ~right), unit, most)


def barrel_is_right(bore: Any, arbor: Any) -> None:
    """Raise unless bore and arbor are lengths of a barrel and the arbor is the smaller."""
    above_zero(bore=bore, arbor=arbor, most=LARGEST_BORE_MM)
    wrong = arbor >= bore
    if np.any(wrong) if isinstance(wrong, np.ndarray) else wrong:
        bore, arbor = np.broadcast_arrays(bore, arbor)
        saw = f"{_first(arbor, arbor >= bore):g} mm does not go into the bore ({_first(bore, arbor >= bore):g} mm)"
        raise error("arbor_not_below_bore", where="arbor", saw=saw)


def fill_is_right(fill: Any) -> None:
    """Raise unless every fill lies between 0 and 1, both excluded."""
    wrong = ~((np.asarray(fill) > 0) & (np.asarray(fill) < 1))
    if np.any(wrong):
        raise error("fill_not_sensible", where="fill", saw=f"{_first(fill, wrong):g}")


def _as_float(name: str, value: Any) -> Any:
    if type(value) is float:
        return value
    value = in_unit(value, UNIT_OF.get(name, "mm"), where=name.replace("_", " "))
    try:
        array = np.asarray(value, dtype=np.float64)
    except (TypeError, ValueError) as problem:
        raise error("number_not_read", where=name.replace("_", " "), saw=repr(value)) from problem
    return float(array) if array.ndim == 0 else array


def _first(value: Any, wrong: Any) -> float:
    return float(np.asarray(value)[np.broadcast_to(wrong, np.shape(value))].flat[0])


def _not_sensible(name: str, value: float, unit: str, most: float) -> Exception:
    said = name.replace("_", " ")
    saw = f"{value:g} {unit}".strip() if np.isfinite(value) else f"{value} is not a number that can be used"
    if unit != "mm":
        return error("number_not_sensible", where=said, saw=saw)
    expected = f"Expected a length above zero and at most {most:g} mm." if np.isfinite(most) else None
    return error("length_not_sensible", where=said, saw=saw, expected=expected)
