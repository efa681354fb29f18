"""Orders whose postage hangs on what they are worth: tiers, free from an amount, a least order, a limit on money.

The layered paths with the least possible postage give a lower bound for every beginning of an order; beginnings
that cannot beat the best order known are dropped, all others are lengthened. What is left is the exact optimum.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from orderbook.choosing.belief import Floats
from orderbook.choosing.objective import postage, sent
from orderbook.choosing.paths import Layer, best_by_first, best_order, order_from
from orderbook.choosing.springs import Whole
from orderbook.choosing.table import Costs, Sending, members

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
class BestParcels:
    """The best order that begins with each spring: its cost over all rounds and its rows (−1 fills up)."""

    cost: Floats
    order: Whole


def best_parcels(
    table: Costs, state: int, found: list[Layer], sent: Sending, *, counts: range, limit: float, each: bool
) -> BestParcels:
    """Exact least cost of each spring as the first (`each`), or of the best first only, of an order from `state`.

    found: layers from `state` with the costs to go as the terminal layer, one layer for each spring but the first.
    limit: most that the prices and postage of this order may come to.
    """
    search = _Search(table, state, found, sent, counts, limit)
    rows, most = len(table.choice.offered), max(counts)
    best = BestParcels(np.full(rows, np.inf), np.full((rows, most), -1, np.intp))
    give_up = float(table.give_up[state])
    for order in _seeds(search, each=each):
        now = _beginning(table, state, order)
        _note(search, now, best)
    now = _beginning(table, state, ())
    for length in range(1, most + 1):
        ceiling = best.cost if each else np.full(rows, min(give_up, best.cost.min(initial=np.inf)))
        now = _lengthened(search, now, ceiling, length)
        if length in counts:
            _note(search, now, best)
        if not len(now.at):
            break
    return best


@dataclass(frozen=True, slots=True)
class _Search:
    """What stays the same while the orders from one state are searched."""

    table: Costs
    state: int
    found: list[Layer]
    sent: Sending
    counts: range
    limit: float

    def least_rest(self, bits: int, length: int) -> Floats:
        """Lower bound, by the state reached, of ending a beginning of `length` springs or lengthening it."""
        more = [m for m in range(max(self.counts) - length + 1) if m + length in self.counts]
        rest = np.full(len(self.table.edges), np.inf)
        for layer in (self.found[m] for m in more):
            if len(layer.sets):
                sending = self.sent.of(layer.sets | bits) * self.table.above[self.state]
                rest = np.minimum(rest, (layer.least + sending[:, None]).min(axis=0))
        return rest


def _seeds(search: _Search, *, each: bool) -> list[tuple[int, ...]]:
    """Orders that are best where postage is the least it can be: their true costs are first ceilings."""
    table, state, found = search.table, search.state, search.found
    if not each:
        _, order = best_order(table, state, found, search.sent, search.counts)
        return [order] if order else []
    firsts = best_by_first(table, state, found, search.sent, search.counts)
    rows = np.flatnonzero(np.isfinite(firsts.cost)).tolist()
    return [order_from(table, state, found, firsts, row) for row in rows]


def _beginning(table: Costs, state: int, order: tuple[int, ...]) -> Beginnings:
    """One order as a beginning."""
    offered, suppliers = table.choice.offered, len(table.choice.terms)
    worth, cost, bits, at = np.zeros((1, suppliers)), 0.0, 0, state
    for row in order:
        supplier = int(offered.supplier[row])
        place = int(np.flatnonzero(table.rows[supplier] == row)[0])
        cost += float(table.step[supplier][at, place] + table.ordered[supplier][place] * table.above[state])
        worth[0, supplier] += offered.listed[row]
        bits |= 1 << supplier
        at = int(table.at[supplier][place])
    spent = sum(float(offered.price[row]) for row in order if not offered.owned[row])
    path = np.array(order, dtype=np.intp)[None, :]
    return Beginnings(path, np.array([at]), np.array([cost]), np.array([bits], np.int64), worth, np.array([spent]))


def _lengthened(search: _Search, now: Beginnings, ceiling: Floats, length: int) -> Beginnings:
    table, offered = search.table, search.table.choice.offered
    parts: list[Beginnings] = []
    for supplier, (rows, at, ordered, step) in enumerate(
        zip(table.rows, table.at, table.ordered, table.step, strict=True)
    ):
        cost = now.cost[:, None] + step[now.at] + ordered[None, :] * table.above[search.state]
        price = np.where(offered.owned[rows], 0.0, offered.price[rows])
        top = ceiling[rows][None, :] if length == 1 else ceiling[now.path[:, 0]][:, None]
        least = cost + _rest(search, now.sets | (1 << supplier), length)[:, at]
        may = np.isfinite(cost) & (now.spent[:, None] + price <= search.limit) & (least * (1 - SLACK) < top)
        begun, spring = np.nonzero(may)
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


def _rest(search: _Search, sets: NDArray[np.int64], length: int) -> Floats:
    known, which = np.unique(sets, return_inverse=True)
    return np.stack([search.least_rest(bits, length) for bits in known.tolist()])[which]


def _note(search: _Search, now: Beginnings, best: BestParcels) -> None:
    """Take each beginning as a whole order and keep the best of each first spring."""
    total = _totals(search, now)
    by_cost = np.argsort(total, kind="stable")
    first, place = np.unique(now.path[by_cost, 0], return_index=True)
    least = by_cost[place]
    better = total[least] < best.cost[first]
    best.cost[first[better]] = total[least[better]]
    best.order[first[better], :] = -1
    best.order[first[better], : now.path.shape[1]] = now.path[least[better]]


def _totals(search: _Search, now: Beginnings) -> Floats:
    """Cost of each beginning as a whole order: its true sending, and what comes after it."""
    table = search.table
    used = members(now.sets, len(table.choice.terms))
    sending = sent(table.choice, used, now.worth)
    total = now.cost + sending * table.above[search.state] + search.found[0].least[0][now.at]
    total[now.spent + postage(table.choice, used, now.worth) > search.limit] = np.inf
    return np.asarray(total)


def best_orders(
    table: Costs, found: list[Layer], sent: Sending, *, counts: range, limit: float, number: int
) -> list[tuple[float, tuple[int, ...]]]:
    """The `number` cheapest orders from the start, cheapest first, with their costs over all rounds."""
    search = _Search(table, 0, found, sent, counts, limit)
    known: dict[tuple[int, ...], float] = {}
    for order in _seeds(search, each=True):
        known[order] = float(_totals(search, _beginning(table, 0, order))[0])
    now = _beginning(table, 0, ())
    for length in range(1, max(counts) + 1):
        ceiling = sorted(known.values())[number - 1] if len(known) >= number else np.inf
        now = _lengthened(search, now, np.full(len(table.choice.offered), np.nextafter(ceiling, np.inf)), length)
        if length in counts:
            total = _totals(search, now)
            for place in np.flatnonzero(np.isfinite(total) & (total <= ceiling)).tolist():
                known[tuple(now.path[place].tolist())] = float(total[place])
        if not len(now.at):
            break
    cheapest = sorted((cost, order) for order, cost in known.items() if np.isfinite(cost))
    return cheapest[:number]
