"""What is believed about the need: a probability on a fixed grid of x = ln(needed drive index / 100)."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

import numpy as np
from numpy.typing import NDArray

from orderbook.errors import error

Floats = NDArray[np.float64]

CELLS = 2400  # cells of about 0.1 %
LOWEST, HIGHEST = 0.3, 3.3  # the grid's ends, as multiples of the reference's drive
START_MEDIAN = 1 / 1.3  # the maker left a margin of about 30 %: common practice, no source
SPREAD_RUN_KNOWN = 0.20  # turns used are known, or a spring survives: common practice, no source
SPREAD_RULE_ONLY = 0.30  # only a ratio rule speaks


@cache
def cell_edges() -> Floats:
    """Edges of the belief's cells, in x = ln(index / 100); one more than there are cells.

    >>> len(cell_edges())
    2401
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

    >>> start = start_belief()
    >>> round(start.median_index)
    77
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


def start_belief(median: float = START_MEDIAN, spread: float = SPREAD_RUN_KNOWN) -> Belief:
    """Belief before any evidence: log-normal about `median` (of the reference's drive).

    p(x) ∝ exp(−(x − ln median)² / (2 spread²))

    Parameters: median as a fraction of the reference's drive; spread as a fraction (0.2 = 20 %).
    Returns: Belief.
    Raises: OrderbookError(code="spread_not_sensible") unless 0.01 ≤ spread ≤ 1.
    Source: common practice, no source.

    >>> low, high = start_belief().interval_index()
    >>> round(low), round(high)
    (55, 107)
    """
    if not 0.01 <= spread <= 1:
        raise error("spread_not_sensible", where="⟨spread⟩", saw=f"{spread:g}")
    return Belief(np.exp(-((cell_middles() - np.log(median)) ** 2) / (2 * spread**2)))
