"""Simulated restorers who follow a plan with springs that are never quite what the list says.

The plan takes a trial as exact; here every spring's true torque differs from its nominal one, and all springs share
the difference that the common flow stress makes. So the cost that is announced is the one that would be paid.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from orderbook.choosing.belief import Floats, cell_middles
from orderbook.choosing.followed_cost import waited_for
from orderbook.choosing.rounds import Order
from orderbook.choosing.table import Choice, charged, ordered_cost


@dataclass(frozen=True, slots=True)
class Doubt:
    """Standard uncertainty of ln drive: each spring's own, and the part that moves all springs of a barrel together."""

    own: Floats
    common: Floats


@dataclass(frozen=True, slots=True)
class Restored:
    """What the restorers met with: mean cost and its standard error, and each one's cost."""

    cost: float
    error: float
    fits_first_order: float
    mean_overpower: float
    costs: Floats


def restorers(
    choice: Choice,
    orders: Sequence[Order],
    doubt: Doubt,
    *,
    sent_before: bool = False,
    draws: int = 20_000,
    seed: int = 1820,
) -> Restored:
    """Draw needs and true torques, follow the orders, pay what is due; the same seed meets the same movements."""
    rng = np.random.default_rng(seed)
    needs = rng.choice(cell_middles(), draws, p=choice.belief.p)
    common = rng.standard_normal(draws)
    rows = {row for order in orders for row in order}
    shift = {row: _shift(doubt, row, common, seed) for row in rows}
    return follow(choice, orders, needs, shift, sent_before=sent_before)


def _shift(doubt: Doubt, row: int, common: Floats, seed: int) -> Floats:
    """A spring's own draw hangs on the spring alone, so that plans are compared on the same springs."""
    own = np.random.default_rng([seed, row]).standard_normal(len(common))
    return np.asarray(doubt.own[row] * own + doubt.common[row] * common)


def follow(
    choice: Choice, orders: Sequence[Order], needs: Floats, shift: dict[int, Floats], *, sent_before: bool = False
) -> Restored:
    """What following the orders costs each movement: `needs` in x, `shift` of each spring's true ln drive and load."""
    offered, weights, draws = choice.offered, choice.weights, len(needs)
    cost, searching = np.zeros(draws), np.ones(draws, bool)
    over_kept, first_fit, sent = np.zeros(draws), 0.0, sent_before
    for number, order in enumerate(orders):
        waits = waited_for(choice, order)
        due = charged(choice, order) + float(ordered_cost(choice, np.array(order)).sum())
        cost += searching * (due + weights.delay * (waits and sent))
        sent = sent or waits
        for row in order:
            used = weights.trial + weights.kept * offered.price[row] / offered.pieces[row]
            cost += searching * used
            fits = searching & (needs <= offered.drive[row] + shift[row])
            over = np.maximum(np.expm1(offered.load[row] + shift[row] - needs), 0.0)
            cost += fits * np.minimum(weights.overpower * over, weights.give_up)
            over_kept += fits * over
            searching = searching & ~fits
        first_fit = 1 - float(searching.mean()) if number == 0 else first_fit
    cost += searching * weights.give_up
    found = max(1, int((~searching).sum()))
    return Restored(
        float(cost.mean()), float(cost.std() / np.sqrt(draws)), first_fit, float(over_kept.sum() / found), cost
    )
