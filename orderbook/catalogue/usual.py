"""What is usual of mainsprings: length, width and strength of one stand in relations that a list as a whole keeps.

Length ÷ strength is mostly 1,500 to 8,000 and width ÷ strength 5 to 150: common practice, no source. A list that leaves
these as a whole has a column in another unit, two columns swapped, or barrels taken for springs.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from orderbook.catalogue.headings import SIZES
from orderbook.catalogue.sizes import UNITS_TRIED
from orderbook.catalogue.units import known_unit
from orderbook.errors import OrderbookError, error

Floats = NDArray[np.float64]


class Range(NamedTuple):
    """From and to."""

    low: float
    high: float


# of a whole list: somewhat wider than "mostly"
LENGTH_TO_STRENGTH = Range(1_100.0, 11_000.0)
WIDTH_TO_STRENGTH = Range(5.0, 150.0)
LENGTH_TO_WIDTH = Range(40.0, 700.0)
# of one row: beyond these it is a misprint or in another unit
ROW_LENGTH_TO_STRENGTH = Range(500.0, 14_000.0)
ROW_WIDTH_TO_STRENGTH = Range(3.5, 200.0)
ROW_LENGTH_TO_WIDTH = Range(20.0, 800.0)
SHORT = (900.0, 80.0)  # length to strength and to width: short of both is a length in centimetres, more often than not
IN_WORDS = {"in": "inches", "ft": "feet", "thou": "thousandths of an inch", "ligne": "lignes", "douzième": "douzièmes"}
MOST = 0.6  # of the rows must be usual


def share_usual(width: Floats, strength: Floats, length: Floats) -> float:
    """The share of springs whose three relations are usual.

    >>> share_usual(np.array([2.5, 18.0]), np.array([0.16, 0.4]), np.array([340.0, 60.0]))
    0.5
    """
    inside = _inside(length / strength, LENGTH_TO_STRENGTH) & _inside(width / strength, WIDTH_TO_STRENGTH)
    inside &= _inside(length / width, LENGTH_TO_WIDTH)
    return float(np.count_nonzero(inside)) / max(1, len(inside))


def refuse_unusual(width: Floats, strength: Floats, length: Floats, headings: tuple[str, str, str], file: str) -> None:
    """Ask about a list whose sizes as a whole are not those of mainsprings.

    Parameters: sizes in mm; headings, of width, strength and length.
    Raises: OrderbookError(sizes_unusual) with what is unusual, and what would make it usual.
    """
    known = np.isfinite(width) & np.isfinite(strength) & np.isfinite(length)
    width, strength, length = width[known], strength[known], length[known]
    if not len(width) or share_usual(width, strength, length) >= MOST:
        return
    parts = []
    for name, value, usual in (
        ("length ÷ strength", float(np.median(length / strength)), LENGTH_TO_STRENGTH),
        ("width ÷ strength", float(np.median(width / strength)), WIDTH_TO_STRENGTH),
        ("length ÷ width", float(np.median(length / width)), LENGTH_TO_WIDTH),
    ):
        if not usual.low <= value <= usual.high:
            parts.append(f"{name} is mostly {value:,.0f}")
    first = f"{headings[0]} {width[0]:.4g}, {headings[1]} {strength[0]:.4g}, {headings[2]} {length[0]:.4g} mm"
    saw = f"{' and '.join(parts) or 'few rows are usual'}, as in {first}"
    fits = _would_fit(width, strength, length, headings)
    try_this = f"It would be usual with {' or '.join(fits)}" if fits else "Are columns swapped, or is one a barrel's"
    raise error("sizes_unusual", where=file, saw=saw, try_this=f"{try_this}? Say the units in a column map.")


def unusual_rows(width: Floats, strength: Floats, length: Floats) -> list[tuple[str, NDArray[np.bool_]]]:
    """For each relation the reason, and the rows that are far beyond it."""
    with np.errstate(invalid="ignore", divide="ignore"):
        across, along, wound = width / strength, length / width, length / strength
        short = (wound < SHORT[0]) & (along < SHORT[1])
    return [
        ("width ÷ strength is far from the usual 5 to 150", _beyond(across, ROW_WIDTH_TO_STRENGTH)),
        ("length ÷ width is far from the usual 40 to 700", _beyond(along, ROW_LENGTH_TO_WIDTH)),
        ("length ÷ strength is far from the usual 1,500 to 8,000", _beyond(wound, ROW_LENGTH_TO_STRENGTH)),
        ("the length is unusually short for its width and strength", np.asarray(short)),
    ]


def _beyond(values: Floats, usual: Range) -> NDArray[np.bool_]:
    return ~_inside(values, usual) & np.isfinite(values)


def _inside(values: Floats, usual: Range) -> NDArray[np.bool_]:
    return np.asarray((values >= usual.low) & (values <= usual.high))


def _would_fit(width: Floats, strength: Floats, length: Floats, headings: tuple[str, str, str]) -> list[str]:
    """Which one column in which other unit would make the list usual."""
    fits = []
    for at, heading in enumerate(headings):
        for unit in UNITS_TRIED[1:]:
            sizes = [width, strength, length]
            sizes[at] = sizes[at] * float(known_unit(unit) or 1)
            if share_usual(*sizes) >= 0.9:
                fits.append(f"{heading!r} in {IN_WORDS.get(unit, unit)}")
    return fits[:4]


__all__ = ["SIZES", "OrderbookError", "refuse_unusual", "share_usual", "unusual_rows"]
