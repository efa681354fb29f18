"""Lengths as a restorer writes them, and readings with their standard uncertainty.

All lengths inside the program are millimetres. What propagates needs numpy and is imported when it is first used: the
book and the accounts read lengths without it.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from orderbook.measures.half_widths import half_width_mm
from orderbook.measures.lengths import length_mm, lengths_mm, number, unit_mm
from orderbook.measures.plain_numbers import plainly
from orderbook.measures.readings import Instrument, Measured, Reading, from_repeats, instrument_from, read

if TYPE_CHECKING:
    from orderbook.measures.propagation import Draws, Propagated, monte_carlo, propagate, propagate_many

__all__ = [
    "Draws",
    "Instrument",
    "Measured",
    "Propagated",
    "Reading",
    "from_repeats",
    "half_width_mm",
    "instrument_from",
    "length_mm",
    "lengths_mm",
    "monte_carlo",
    "number",
    "plainly",
    "propagate",
    "propagate_many",
    "read",
    "unit_mm",
]


def __getattr__(name: str) -> Any:
    """Import what propagates when it is first asked for."""
    if name not in __all__:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    from orderbook.measures import propagation

    return getattr(propagation, name)
