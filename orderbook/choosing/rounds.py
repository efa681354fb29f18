"""All rounds: the cost to go from each state by backward induction, and the first order of all."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

from orderbook.choosing.belief import Floats
from orderbook.choosing.parcels import best_parcels
from orderbook.choosing.paths import best_by_first, layers, order_from
from orderbook.choosing.sending import Sending, sending
from orderbook.choosing.springs import Whole, one_a_cell, worth_keeping
from orderbook.choosing.table import (
    Choice,
    Costs,
    at_the_start,
    costs,
    only_owned,
    ordered_cost,
    passing_through,
    step_cost,
)

Order = tuple[int, ...]
EXACT = 150  # springs up to which the cost to go is filled at the full resolution of the grid


@dataclass(frozen=True, slots=True)
class Rule:
    """What the first order must be like: how many springs, which of them surely, and what it may come to.

    `limit` bounds prices and postage of this order, in minor units of the book's currency.
    """

    counts: range | None = None
    must: Order = ()
    limit: float = np.inf


@dataclass(frozen=True, slots=True)
class CostToGo:
    """F: least cost from each state on, weighted by the chance of reaching it, and the order that reaches it.

    `later` once an order has been sent for (another one costs the delay), `fresh` before that; an empty order
    means giving up.
    """

    later: Floats
    fresh: Floats
    order_later: tuple[Order, ...]
    order_fresh: tuple[Order, ...]


@dataclass(frozen=True, slots=True)
class Plan:
    """The optimum: what to order now, its cost over all rounds, and the same for each spring as the first.

    `cost` is of the best first order, or of giving up at once where no order is better (`order` is then empty).
    """

    table: Costs
    to_go: CostToGo
    cost: float
    order: Order
    cost_by_first: Floats
    order_by_first: tuple[Order, ...] = field(repr=False)


def best_plan(choice: Choice, rule: Rule | None = None) -> Plan:
    """Least expected cost over all rounds, exactly, for the springs of a choice as they stand on the grid.

    Raises: OrderbookError(code="must_alike").
    """
    rule = rule or Rule()
    table = costs(choice, _worth_planning(choice, rule.must))
    to_go = cost_to_go(table) if _is_small(table) else wider_cost_to_go(table)
    cost, orders = first_orders(table, to_go, rule)
    give_up = choice.weights.give_up
    row = int(cost.argmin()) if len(cost) else -1
    if row < 0 or cost[row] >= give_up:
        return Plan(table, to_go, give_up, (), cost, orders)
    return Plan(table, to_go, float(cost[row]), orders[row], cost, orders)


def _is_flat(choice: Choice) -> bool:
    return all(terms.is_flat for terms in choice.terms)


def _worth_planning(choice: Choice, must: Order) -> Whole | None:
    """Rows the plan is made of: all, but in long lists with flat postage not those that are never better."""
    if not _is_flat(choice) or len(choice.offered) <= EXACT:
        return None
    return np.union1d(worth_keeping(choice.offered), np.array(must, dtype=np.intp))


def _is_small(table: Costs) -> bool:
    return sum(map(len, table.rows)) <= EXACT


def first_orders(table: Costs, to_go: CostToGo, rule: Rule) -> tuple[Floats, tuple[Order, ...]]:
    """For each spring the least cost over all rounds with it as the first to be fitted, and that order."""
    whole, once = at_the_start(table), sending(table.choice.terms, 0.0, drawer_alone=False)
    cost, orders = _orders(table, whole, 0, to_go.later, once, rule)
    drawer, whole_drawer = only_owned(table), only_owned(whole)
    if drawer is not None and whole_drawer is not None:
        own, own_orders = _orders(drawer, whole_drawer, 0, to_go.fresh, sending(table.choice.terms, 0.0), rule)
        orders = tuple(a if c <= o else b for c, o, a, b in zip(cost, own, orders, own_orders, strict=True))
        cost = np.minimum(cost, own)
    return cost, orders


def cost_to_go(table: Costs) -> CostToGo:
    """F by backward induction over the states, strongest first."""
    states = len(table.edges)
    terms, delay = table.choice.terms, table.choice.weights.delay
    later, fresh = np.full(states, np.inf), np.full(states, np.inf)
    order_later: list[Order] = [()] * states
    order_fresh: list[Order] = [()] * states
    again, once, alone = sending(terms, delay), sending(terms, 0.0, drawer_alone=False), sending(terms, 0.0)
    drawer = only_owned(table)
    for state in range(states - 1, -1, -1):
        if state:
            later[state], order_later[state] = _best(table, state, later, again)
        if drawer is not None or state == 0:
            fresh[state], order_fresh[state] = _best(table, state, later, once)
        if drawer is not None:
            own, order = _best(drawer, state, fresh, alone)
            if own < fresh[state]:
                fresh[state], order_fresh[state] = own, order
    return CostToGo(later, fresh, tuple(order_later), tuple(order_fresh))


def _best(table: Costs, state: int, terminal: Floats, sent: Sending) -> tuple[float, Order]:
    give_up = table.choice.weights.give_up * float(table.above[state])
    cost, orders = _orders(table, None, state, terminal, sent, Rule())
    row = int(cost.argmin()) if len(cost) else -1
    if row < 0 or cost[row] >= give_up:
        return give_up, ()
    return float(cost[row]), orders[row]


def _orders(
    table: Costs, firsts: Costs | None, state: int, terminal: Floats, sent: Sending, rule: Rule
) -> tuple[Floats, tuple[Order, ...]]:
    """Least cost of each spring in `firsts` as the first of an order from `state`, and that order.

    Without `firsts`: of the springs of `table`, and only the best order is worked out.
    """
    counts = rule.counts or range(1, table.choice.most + 1)
    each, firsts = firsts is not None, firsts or table
    if rule.must:
        firsts, _ = passing_through(firsts, rule.must, terminal)
        table, terminal = passing_through(table, rule.must, terminal)
    found = layers(table, state, terminal, max(counts) - 1)
    if not _is_flat(table.choice) or rule.limit < np.inf:
        parcels = best_parcels(table, state, found, sent, counts=counts, limit=rule.limit, each=each)
        return parcels.cost, tuple(_rows(order) for order in parcels.order)
    best = best_by_first(firsts, state, found, sent, counts)
    wanted = np.arange(len(best.cost)) if each else np.array([best.cost.argmin()] if len(best.cost) else [], int)
    orders: list[Order] = [()] * len(best.cost)
    for row in wanted[np.isfinite(best.cost[wanted])].tolist():
        orders[row] = order_from(table, state, found, best, row)
    return best.cost, tuple(orders)


def _rows(filled: Whole) -> Order:
    return tuple(filled[filled >= 0].tolist())


def wider_cost_to_go(table: Costs) -> CostToGo:
    """F for long lists: later orders are chosen among the best spring of each supplier in each cell of 1 %.

    Each state takes the better of the orders that are best from the wider states below and above it, at its own
    cost. So F is what can be had: never less than the exact one.
    """
    choice = table.choice
    wider = costs(choice, one_a_cell(choice.offered, choice.weights.overpower))
    known = cost_to_go(wider)
    again, once = sending(choice.terms, choice.weights.delay), sending(choice.terms, 0.0)
    later, order_later = _carried_over(table, wider, known.later, known.order_later, again)
    fresh, order_fresh = _carried_over(table, wider, known.fresh, known.order_fresh, once)
    fresh[0], order_fresh[0] = _best(table, 0, later, sending(choice.terms, 0.0, drawer_alone=False))
    return CostToGo(later, fresh, tuple(order_later), tuple(order_fresh))


def _carried_over(
    table: Costs, wider: Costs, cost: Floats, orders: tuple[Order, ...], sent: Sending
) -> tuple[Floats, list[Order]]:
    """Cost from each state of `table` of the orders planned from the two wider states next to it."""
    choice, give_up = table.choice, table.choice.weights.give_up
    best, chosen = give_up * table.above, np.full(len(table.edges), -1)
    planned = np.flatnonzero([len(order) > 0 for order in orders])
    if not len(planned):
        return best, [()] * len(best)
    now = np.array([_paid_now(choice, orders[c], sent) for c in planned.tolist()])
    first = np.array([orders[c][0] for c in planned.tolist()], dtype=np.intp)
    rest = (
        cost[planned]
        - now * wider.above[planned]
        - step_cost(choice, first, wider.edges[planned], wider.above[planned])
    )
    below = np.searchsorted(wider.edges[planned], table.edges, side="right") - 1
    for near in (below, below + 1):
        c = np.clip(near, 0, len(planned) - 1)
        total = now[c] * table.above + step_cost(choice, first[c], table.edges, table.above) + rest[c]
        better = total < best
        best[better], chosen[better] = total[better], planned[c[better]]
    return best, [orders[c] if c >= 0 else () for c in chosen.tolist()]


def _paid_now(choice: Choice, order: Order, sent: Sending) -> float:
    """What is due when the order is made, whether its springs are needed or not."""
    rows = np.array(order, dtype=np.intp)
    bits = np.bitwise_or.reduce(1 << choice.offered.supplier[rows])
    return float(ordered_cost(choice, rows).sum() + sent.of(np.array([bits], np.int64))[0])
