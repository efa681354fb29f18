"""What one more measurement would save before anything is ordered: the expected value of a rod test."""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import erfc, sqrt

import numpy as np

from orderbook.choosing.belief import Belief, Floats, cell_edges, cell_middles
from orderbook.choosing.reasons import QUICK
from orderbook.choosing.rounds import Rule, best_plan
from orderbook.choosing.table import Choice

OUTCOMES = 8  # kinds of result told apart; a finer reading can only be worth more
TIME = 0.5  # of the bench time of one fitting: common practice, no source


@dataclass(frozen=True, slots=True)
class Worth:
    """Expected saving of a measurement, and its bench time, both in money."""

    saves: float
    takes: float

    @property
    def pays(self) -> bool:
        """Whether it saves more than it takes."""
        return self.saves > self.takes


def worth_of_rod_test(choice: Choice, rule: Rule, spread: float) -> Worth:
    """What a rod test of standard uncertainty `spread` (in ln) would save on average.

    Σ over results of P(result)·(least cost now − least cost knowing it); results are ranges of equal chance of
    the reading x + normal(0, spread), so what is found is a little less than the whole worth, never more.

    Source: expected value of sample information (Raiffa & Schlaifer, 1961, MEMORY, print not re-seen).
    """
    now = best_plan(choice, rule, exact=0, wider=QUICK).cost
    told = results(choice.belief, spread)
    later = sum(
        float(chances @ choice.belief.p)
        * best_plan(replace(choice, belief=Belief(choice.belief.p * chances)), rule, exact=0, wider=QUICK).cost
        for chances in told
    )
    return Worth(max(0.0, now - later), TIME * choice.weights.trial)


def results(belief: Belief, spread: float, number: int = OUTCOMES) -> Floats:
    """Chance of each range of the reading at each cell of the belief; the ranges are about as likely as each other."""
    edges, middles = cell_edges(), cell_middles()
    readings = np.linspace(edges[0] - 4 * spread, edges[-1] + 4 * spread, 240)
    below = np.array([float(_below(reading, middles, spread) @ belief.p) for reading in readings])
    cuts = np.interp(np.arange(1, number) / number, below, readings)
    steps = np.stack([np.zeros_like(middles), *(_below(cut, middles, spread) for cut in cuts), np.ones_like(middles)])
    return np.asarray(np.diff(steps, axis=0))


def _below(cut: float, x: Floats, spread: float) -> Floats:
    return np.array([erfc(value) / 2 for value in ((x - cut) / (spread * sqrt(2))).tolist()])
