"""Lengths as a restorer writes them, and readings with their standard uncertainty.

All lengths inside the program are millimetres.
"""

from orderbook.measures.lengths import length_mm, lengths_mm, number, unit_mm
from orderbook.measures.propagation import Draws, Propagated, monte_carlo, propagate, propagate_many
from orderbook.measures.readings import Instrument, Measured, Reading, from_repeats, instrument_from, read

__all__ = [
    "Draws",
    "Instrument",
    "Measured",
    "Propagated",
    "Reading",
    "from_repeats",
    "instrument_from",
    "length_mm",
    "lengths_mm",
    "monte_carlo",
    "number",
    "propagate",
    "propagate_many",
    "read",
    "unit_mm",
]
