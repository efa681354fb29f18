"""All rounds: the cost to go from each state by backward induction, and the first order of all."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

from orderbook.choosing.belief import Floats
from orderbook.choosing.parcels import best_parcels
from orderbook.choosing.paths import best_by_first, layers, order_from
from orderbook.choosing.sending import Sending, sending
from orderbook.choosing.springs import Whole
from orderbook.choosing.table import Choice, Costs, costs, only_owned, passing_through

Order = tuple[int, ...]


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
    table = costs(choice)
    to_go = cost_to_go(table)
    cost, orders = first_orders(table, to_go, rule or Rule())
    give_up = choice.weights.give_up
    row = int(cost.argmin()) if len(cost) else -1
    if row < 0 or cost[row] >= give_up:
        return Plan(table, to_go, give_up, (), cost, orders)
    return Plan(table, to_go, float(cost[row]), orders[row], cost, orders)


def first_orders(table: Costs, to_go: CostToGo, rule: Rule) -> tuple[Floats, tuple[Order, ...]]:
    """For each spring the least cost over all rounds with it as the first to be fitted, and that order."""
    once = sending(table.choice.terms, 0.0, drawer_alone=False)
    cost, orders = _orders(table, 0, to_go.later, once, rule, each=True)
    drawer = only_owned(table)
    if drawer is not None:
        own, own_orders = _orders(drawer, 0, to_go.fresh, sending(table.choice.terms, 0.0), rule, each=True)
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
    cost, orders = _orders(table, state, terminal, sent, Rule(), each=False)
    row = int(cost.argmin()) if len(cost) else -1
    if row < 0 or cost[row] >= give_up:
        return give_up, ()
    return float(cost[row]), orders[row]


def _orders(
    table: Costs, state: int, terminal: Floats, sent: Sending, rule: Rule, *, each: bool
) -> tuple[Floats, tuple[Order, ...]]:
    """Least cost with each spring as the first of an order from `state`, and the order; the best only unless `each`."""
    counts = rule.counts or range(1, table.choice.most + 1)
    if rule.must:
        table, terminal = passing_through(table, rule.must, terminal)
    found = layers(table, state, terminal, max(counts) - 1)
    if all(terms.is_flat for terms in table.choice.terms) and rule.limit == np.inf:
        firsts = best_by_first(table, state, found, sent, counts)
        wanted = range(len(firsts.cost)) if each else [int(firsts.cost.argmin())] if len(firsts.cost) else []
        orders: list[Order] = [()] * len(firsts.cost)
        for row in wanted:
            if np.isfinite(firsts.cost[row]):
                orders[row] = order_from(table, state, found, firsts, row)
        return firsts.cost, tuple(orders)
    parcels = best_parcels(table, state, found, sent, counts=counts, limit=rule.limit, each=each)
    return parcels.cost, tuple(_rows(order) for order in parcels.order)


def _rows(filled: Whole) -> Order:
    return tuple(filled[filled >= 0].tolist())
