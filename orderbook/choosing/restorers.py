"""Simulated restorers who follow a plan with springs that are never quite what the list says.

The plan takes a trial as exact; here every spring's true torque differs from its nominal one, and all springs share
the difference that the common flow stress makes, each by its own slope and with its sign. So the cost that is announced
is the one that would be paid.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from orderbook.choosing.belief import Floats, cell_edges
from orderbook.choosing.objective import Choice, excess, fitted, given_up, kept_at, ordered, sent, used_by
from orderbook.choosing.rounds import Order
from orderbook.choosing.springs import Whole


@dataclass(frozen=True, slots=True)
class Doubt:
    """How well ln drive and ln load of each spring are known: its own part, and the part that moves all together.

    Own parts are standard uncertainties; common parts have the sign with which a harder steel moves them.
    """

    own: Floats
    common: Floats
    load_own: Floats
    load_common: Floats


def no_doubt(springs: int) -> Doubt:
    """Springs exactly as listed."""
    return Doubt(*(np.zeros(springs) for _ in range(4)))


@dataclass(frozen=True, slots=True)
class Restored:
    """What the restorers met with: mean cost and its standard error, and each one's cost."""

    cost: float
    error: float
    fits_first_order: float
    mean_overpower: float
    costs: Floats


Shift = tuple[Floats, Floats]


def restorers(
    choice: Choice, orders: Sequence[Order], doubt: Doubt, *, draws: int = 20_000, seed: int = 1820
) -> Restored:
    """Draw needs and true torques, follow the orders, pay what is due; the same seed meets the same movements."""
    rng = np.random.default_rng(seed)
    p = choice.belief.p
    cells = np.minimum(np.searchsorted(np.cumsum(p), rng.random(draws) * p.sum(), side="right"), len(p) - 1)
    within = rng.random(draws)
    edges = cell_edges()
    needs = edges[cells] + within * (edges[1] - edges[0])
    common = rng.standard_normal(draws)
    shift = {row: _shift(doubt, row, common, seed) for row in {row for order in orders for row in order}}
    return follow(choice, orders, needs, shift)


def _shift(doubt: Doubt, row: int, common: Floats, seed: int) -> Shift:
    """A spring's own draw hangs on the spring alone, so that plans are compared on the same springs."""
    own = np.random.default_rng([seed, row]).standard_normal(len(common))
    drive = doubt.own[row] * own + doubt.common[row] * common
    return drive, doubt.load_own[row] * own + doubt.load_common[row] * common


def follow(choice: Choice, orders: Sequence[Order], needs: Floats, shift: dict[int, Shift]) -> Restored:
    """What following the orders costs each movement: `needs` in x, `shift` of each spring's true ln drive and load."""
    offered, draws = choice.offered, len(needs)
    cell = cell_of(needs)
    cost, searching = np.zeros(draws), np.ones(draws, bool)
    over_kept, first_fit = np.zeros(draws), 0.0
    for number, order in enumerate(orders):
        rows = np.array(order, dtype=np.intp)
        used, worth = used_by(choice, order)
        cost += searching * float(ordered(choice, rows).sum() + sent(choice, used, worth))
        for row, bench in zip(order, fitted(choice, rows).tolist(), strict=True):
            drive, load = shift.get(row, (np.zeros(draws), np.zeros(draws)))
            cost += searching * bench
            fits = searching & (needs <= offered.drive[row] + drive)
            cost += fits * kept_at(choice, cell, offered.load[row] + load)
            over_kept += fits * excess(choice, cell, offered.load[row] + load)
            searching = searching & ~fits
        first_fit = 1 - float(searching.mean()) if number == 0 else first_fit
    cost += searching * given_up(choice)
    found = max(1, int((~searching).sum()))
    error = float(cost.std() / np.sqrt(draws))
    return Restored(float(cost.mean()), error, first_fit, float(over_kept.sum() / found), cost)


def cell_of(needs: Floats) -> Whole:
    """The cell of the belief that each need lies in; beyond the grid the last one."""
    edges = cell_edges()
    place = np.floor((needs - edges[0]) / (edges[1] - edges[0]))
    return np.asarray(np.clip(place, 0, len(edges) - 2), dtype=np.intp)
