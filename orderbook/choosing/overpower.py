"""What it costs that the spring kept is stronger than the need: λ for each doubling, but never more than giving up."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from orderbook.choosing.belief import Belief, Floats, cell_middles
from orderbook.choosing.springs import Whole


@dataclass(frozen=True, slots=True)
class Overpower:
    """Running sums over the belief from which any spring's overpower between two needs is a few look-ups.

    Σ over cells of min(λ·max(e^(y − x) − 1, 0), give-up)·p(x), with y = ln(load index / 100)
    """

    below: Floats
    eased: Floats
    weight: float
    ceiling: float

    def up_to(self, edge: Whole, load: Floats) -> Floats:
        """Cost over all needs below a grid edge for springs of load y; `edge` and `load` broadcast."""
        middles = cell_middles()
        serves = np.minimum(edge, np.searchsorted(middles, load))
        far = load - np.log1p(self.ceiling / self.weight) if self.weight > 0 else np.full_like(load, -np.inf)
        too_far = np.minimum(edge, np.searchsorted(middles, far))
        over = np.exp(load) * (self.eased[serves] - self.eased[too_far]) - (self.below[serves] - self.below[too_far])
        return np.asarray(self.ceiling * self.below[too_far] + self.weight * over)


def overpower(belief: Belief, weight: float, ceiling: float) -> Overpower:
    """Sums for a belief, λ in money and the most overpower may cost (giving up).

    >>> from orderbook.choosing.belief import CELLS, start_belief
    >>> cost = overpower(start_belief(), 33.0, 22.0)
    >>> round(float(cost.up_to(np.array([CELLS]), np.array([0.0]))[0]), 1)
    10.4
    """
    below, eased = (np.concatenate([[0.0], np.cumsum(p)]) for p in (belief.p, belief.p * np.exp(-cell_middles())))
    return Overpower(below, eased, weight, ceiling)
