"""What is believed about the need: a probability on a fixed grid of x = ln(needed drive index / 100)."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

import numpy as np
from numpy.typing import NDArray

from orderbook.errors import error

Floats = NDArray[np.float64]

CELLS = 3200  # cells of just under 0.1 %
LOWEST, HIGHEST = 0.15, 3.3  # the grid's ends, as multiples of the reference's drive


@cache
def cell_edges() -> Floats:
    """Edges of the belief's cells, in x = ln(index / 100); one more than there are cells.

    >>> len(cell_edges())
    3201
    """
    edges = np.linspace(np.log(LOWEST), np.log(HIGHEST), CELLS + 1)
    edges.setflags(write=False)
    return edges


@cache
def cell_middles() -> Floats:
    """Middles of the belief's cells, in x = ln(index / 100)."""
    middles = (cell_edges()[1:] + cell_edges()[:-1]) / 2
    middles.setflags(write=False)
    return middles


@dataclass(frozen=True, slots=True)
class Belief:
    """Probability of each cell of the grid; the probabilities add up to one.

    >>> round(start_belief(65.0, 0.25).median_index)
    65
    """

    p: Floats

    def __post_init__(self) -> None:
        """Refuse what is no probability at all."""
        total = float(np.sum(self.p))
        if self.p.shape != (CELLS,) or not np.isfinite(total) or total <= 0 or bool(np.any(self.p < 0)):
            raise error("belief_without_mass", where="need", saw="nothing that was said leaves any need possible")
        object.__setattr__(self, "p", self.p / total)

    def chance_above(self, index: float) -> float:
        """Chance that the need is above a drive index (in per cent of the reference)."""
        return float(np.sum(self.p[cell_middles() > np.log(index / 100)]))

    def quantile(self, share: float) -> float:
        """Drive index below which the need lies with the chance `share`.

        Inverts the straight line through the cell's two edges, so it moves smoothly with the belief.
        """
        below = np.concatenate([[0.0], np.cumsum(self.p)])
        below /= below[-1]
        rises = np.concatenate([[True], np.diff(below) > 0])
        return float(100 * np.exp(np.interp(share, below[rises], cell_edges()[rises])))

    @property
    def median_index(self) -> float:
        """The drive index as likely above as below the need."""
        return self.quantile(0.5)

    def interval_index(self, share: float = 0.9) -> tuple[float, float]:
        """The middle interval of drive index that holds the need with the chance `share`."""
        return self.quantile((1 - share) / 2), self.quantile((1 + share) / 2)


def start_belief(median: float, spread: float) -> Belief:
    """Belief before any evidence: log-normal about a median.

    p(x) ∝ exp(−(x − ln(median/100))² / (2 spread²))

    Parameters: median in per cent of the reference's drive; spread as a fraction (0.25 = 25 %).
    Returns: Belief.
    Raises: OrderbookError(spread_not_sensible | need_not_sensible) unless 0.01 ≤ spread ≤ 1 and 15 < median < 330.
    Source: where the two come from is said by `orderbook.barrel.practice`.

    >>> low, high = start_belief(65.0, 0.25).interval_index()
    >>> round(low), round(high)
    (43, 98)
    """
    if not 0.01 <= spread <= 1:
        raise error("spread_not_sensible", where="⟨spread⟩", saw=f"{spread:g}")
    if not 100 * LOWEST < median < 100 * HIGHEST:
        raise error("need_not_sensible", where="⟨need⟩", saw=f"{median:g}")
    return Belief(np.exp(-((cell_middles() - np.log(median / 100)) ** 2) / (2 * spread**2)))
