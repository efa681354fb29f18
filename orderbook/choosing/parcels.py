"""Orders whose postage hangs on what they are worth: tiers, free from an amount, a least order, a limit on money.

The layered paths with the least possible postage give a lower bound for every beginning of an order; beginnings
that cannot beat the best order known are dropped, all others are lengthened. What is left is the exact optimum.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from orderbook.choosing.belief import Floats
from orderbook.choosing.paths import Layer
from orderbook.choosing.sending import Sending
from orderbook.choosing.springs import Whole
from orderbook.choosing.table import Costs

SLACK = 1e-9  # of the bound: rounding must not drop an order that is as good


@dataclass(frozen=True, slots=True)
class Beginnings:
    """Beginnings of orders, one row each: where they have got to, what they cost so far, and whose they are.

    `worth` is the order value by supplier in the supplier's currency, `spent` the prices in the book's.
    """

    path: Whole
    at: Whole
    cost: Floats
    sets: NDArray[np.int64]
    worth: Floats
    spent: Floats


@dataclass(frozen=True, slots=True)
class Found:
    """The best order that begins with each spring: its cost over all rounds and its rows (−1 fills up)."""

    cost: Floats
    order: Whole


def best_parcels(
    table: Costs, state: int, found: list[Layer], sent: Sending, *, counts: range, limit: float, each: bool
) -> Found:
    """Exact least cost of each spring as the first (`each`), or of the best first only, of an order from `state`.

    found: layers from `state` with the costs to go as the terminal layer, one layer for each spring but the first.
    limit: most that the prices and postage of this order may come to.
    """
    rows, most = len(table.choice.offered), max(counts)
    best = Found(np.full(rows, np.inf), np.full((rows, most), -1, np.intp))
    give_up = table.choice.weights.give_up * float(table.above[state])
    now = _nothing(table, state)
    for length in range(1, most + 1):
        now = _lengthened(table, state, now, limit)
        if length in counts:
            _note(table, state, now, found[0].least[0], sent, limit, best)
        ceiling = best.cost if each else np.full(rows, min(give_up, best.cost.min(initial=np.inf)))
        now = _kept(now, _bound(table, state, now, found, sent, counts, length) < ceiling[now.path[:, 0]])
        if not len(now.at):
            break
    return best


def _nothing(table: Costs, state: int) -> Beginnings:
    suppliers = len(table.choice.terms)
    return Beginnings(
        np.empty((1, 0), np.intp),
        np.array([state]),
        np.zeros(1),
        np.zeros(1, np.int64),
        np.zeros((1, suppliers)),
        np.zeros(1),
    )


def _lengthened(table: Costs, state: int, now: Beginnings, limit: float) -> Beginnings:
    offered = table.choice.offered
    parts: list[Beginnings] = []
    for supplier, (rows, at, ordered, step) in enumerate(
        zip(table.rows, table.at, table.ordered, table.step, strict=True)
    ):
        cost = now.cost[:, None] + step[now.at] + ordered[None, :] * table.above[state]
        price = np.where(offered.owned[rows], 0.0, offered.price[rows])
        begun, spring = np.nonzero(np.isfinite(cost) & (now.spent[:, None] + price <= limit))
        worth = now.worth[begun].copy()
        worth[:, supplier] += offered.listed[rows[spring]]
        parts.append(
            Beginnings(
                np.concatenate([now.path[begun], rows[spring][:, None]], axis=1),
                at[spring],
                cost[begun, spring],
                now.sets[begun] | (1 << supplier),
                worth,
                now.spent[begun] + price[spring],
            )
        )
    return Beginnings(*(np.concatenate([getattr(part, name) for part in parts]) for name in Beginnings.__slots__))


def _kept(now: Beginnings, rows: NDArray[np.bool_]) -> Beginnings:
    return Beginnings(*(getattr(now, name)[rows] for name in Beginnings.__slots__))


def _note(
    table: Costs, state: int, now: Beginnings, terminal: Floats, sent: Sending, limit: float, best: Found
) -> None:
    charged = np.zeros(len(now.at))
    for supplier, terms in enumerate(table.choice.terms):
        used = (now.sets >> supplier) & 1 == 1
        charged[used] += terms.charge(now.worth[used, supplier])
    waiting = sent.of(now.sets) - sent.postage_of(now.sets)
    total = now.cost + (charged + waiting) * table.above[state] + terminal[now.at]
    total[now.spent + charged > limit] = np.inf
    by_cost = np.argsort(total, kind="stable")
    first, place = np.unique(now.path[by_cost, 0], return_index=True)
    least = by_cost[place]
    better = total[least] < best.cost[first]
    best.cost[first[better]] = total[least[better]]
    best.order[first[better], :] = -1
    best.order[first[better], : now.path.shape[1]] = now.path[least[better]]


def _bound(
    table: Costs, state: int, now: Beginnings, found: list[Layer], sent: Sending, counts: range, length: int
) -> Floats:
    bound = np.full(len(now.at), np.inf)
    more = [m for m in range(1, max(counts) - length + 1) if m + length in counts]
    for bits in np.unique(now.sets).tolist():
        here = now.sets == bits
        for layer in (found[m] for m in more):
            rest = layer.least + (sent.of(layer.sets | bits) * table.above[state])[:, None]
            if len(rest):
                bound[here] = np.minimum(bound[here], rest.min(axis=0)[now.at[here]])
    return np.asarray((now.cost + bound) * (1 - SLACK))
