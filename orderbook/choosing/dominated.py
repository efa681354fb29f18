"""Which springs of a long list another one beats outright."""

from __future__ import annotations

from bisect import bisect_left, bisect_right

import numpy as np
from numpy.typing import NDArray


def dominated(drive: NDArray[np.float64], load: NDArray[np.float64], price: NDArray[np.float64]) -> NDArray[np.bool_]:
    """Mark the springs beside which another drives no less, loads less and costs no more.

    From the greatest drive down, the least load to be had up to each price is kept as a staircase, so that a list of
    n springs takes of the order of n log n steps.

    >>> dominated(np.array([90.0, 95.0, 80.0]), np.array([100.0, 99.0, 70.0]), np.array([10.0, 10.0, 10.0])).tolist()
    [True, False, False]
    """
    order = np.lexsort((load, -drive))
    found = np.zeros(len(drive), bool)
    prices: list[float] = []
    loads: list[float] = []
    for one in np.split(order, np.flatnonzero(np.diff(drive[order])) + 1):
        for at in one.tolist():
            _step(prices, loads, float(price[at]), float(load[at]))
        for at in one.tolist():
            step = bisect_right(prices, float(price[at])) - 1
            found[at] = step >= 0 and loads[step] < load[at]
    return found


def _step(prices: list[float], loads: list[float], price: float, load: float) -> None:
    """Put a price and load into the staircase: prices rise, loads fall."""
    at = bisect_right(prices, price)
    if at and loads[at - 1] <= load:
        return
    start = end = bisect_left(prices, price)
    while end < len(loads) and loads[end] >= load:
        end += 1
    prices[start:end], loads[start:end] = [price], [load]
