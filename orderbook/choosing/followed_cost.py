"""Following orders that were planned on a wider grid: what they truly cost from every state."""

from __future__ import annotations

import numpy as np

from orderbook.choosing.belief import Floats
from orderbook.choosing.overpower import Overpower
from orderbook.choosing.springs import Whole
from orderbook.choosing.table import Choice, Costs, charged, ordered_cost, step_cost, sums

Order = tuple[int, ...]


def followed(
    table: Costs, wider: Whole, orders: tuple[Order, ...], delay: float, after_sending: Floats | None = None
) -> tuple[Floats, list[Order]]:
    """Cost to go if every state follows the better of the two orders planned at the wider edges around it.

    `after_sending` is the cost to go once something has been sent for; without it, the one being worked out.
    """
    choice = table.choice
    cost, chosen = choice.weights.give_up * table.above, np.full(len(table.edges), -1)
    planned = np.flatnonzero([len(order) > 0 for order in orders])
    if not len(planned):
        return cost, [()] * len(cost)
    kept = sums(choice)
    parts = (_parts(table, orders[p], delay, kept) for p in planned.tolist())
    now, first, rest, last, sent = map(np.array, zip(*parts, strict=True))
    below = np.searchsorted(wider[planned], table.edges, side="right") - 1
    near = np.clip(np.stack([below, below + 1]), 0, len(planned) - 1)
    to_last = now[near] * table.above + step_cost(choice, first[near], table.edges, table.above, kept) + rest[near]
    for state in range(len(cost) - 1, -1, -1):
        for which, so_far in zip(near[:, state], to_last[:, state], strict=True):
            ends = after_sending if after_sending is not None and sent[which] else cost
            if so_far + ends[last[which]] < cost[state]:
                cost[state], chosen[state] = so_far + ends[last[which]], planned[which]
    return cost, [orders[c] if c >= 0 else () for c in chosen.tolist()]


def _parts(table: Costs, order: Order, delay: float, kept: Overpower) -> tuple[float, int, float, int, bool]:
    """Due at once per chance of the state, first spring, cost of the further steps, state it ends in, sent for."""
    rows = np.array(order, dtype=np.intp)
    edge = table.choice.offered.edge[rows]
    at = np.searchsorted(table.edges, edge)
    waits = waited_for(table.choice, order)
    now = float(ordered_cost(table.choice, rows).sum()) + charged(table.choice, order) + delay * waits
    rest = float(step_cost(table.choice, rows[1:], edge[:-1], table.above[at[:-1]], kept).sum())
    return now, order[0], rest, int(at[-1]), waits


def waited_for(choice: Choice, order: Order) -> bool:
    """Whether anything of an order has to be sent for."""
    return any(choice.terms[s].waits for s in choice.offered.supplier[list(order)].tolist())
