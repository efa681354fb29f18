"""One set of formulas, two ways to reckon: plain floats for one spring, numpy columns for a whole list.

A single torque in plain floats takes a hundredth of the time that numpy needs for a column of length one.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import numpy as np

TINY = 1e-300  # keeps a division defined where its result is not used


@dataclass(frozen=True, slots=True)
class Arithmetic:
    """The few operations that differ between a float and a column."""

    sqrt: Callable[[Any], Any]
    log: Callable[[Any], Any]
    least: Callable[[Any, Any], Any]
    greatest: Callable[[Any, Any], Any]
    choose: Callable[[Any, Any, Any], Any]
    every: Callable[[Any], bool]
    some: Callable[[Any], bool]

    def within(self, value: Any, low: Any, high: Any) -> Any:
        """Return `value` kept between `low` and `high`."""
        return self.least(self.greatest(value, low), high)


def _choose(condition: Any, then: Any, otherwise: Any) -> Any:
    return then if condition else otherwise


FLOATS = Arithmetic(
    sqrt=math.sqrt,
    log=math.log,
    least=lambda a, b: a if a < b else b,
    greatest=lambda a, b: a if a > b else b,
    choose=_choose,
    every=bool,
    some=bool,
)
COLUMNS = Arithmetic(
    sqrt=np.sqrt,
    log=np.log,
    least=np.minimum,
    greatest=np.maximum,
    choose=np.where,
    every=lambda condition: bool(np.all(condition)),
    some=lambda condition: bool(np.any(condition)),
)
