"""All rounds: the cost to go from each state by backward induction, and the first order of all."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field, replace

import numpy as np

from orderbook.choosing.belief import Floats
from orderbook.choosing.followed_cost import followed, waited_for
from orderbook.choosing.parcels import best_parcels
from orderbook.choosing.paths import Layer, best_by_first, best_order, layers, order_from
from orderbook.choosing.postage import Terms
from orderbook.choosing.springs import Whole, one_a_cell, worth_keeping
from orderbook.choosing.supplier_postage import Sending, sending
from orderbook.choosing.table import (
    Choice,
    Costs,
    at_the_start,
    charged,
    costs,
    only_owned,
    ordered_cost,
    outlay,
    passing_through,
    step_cost,
    without,
)

Order = tuple[int, ...]
BY_VALUE = 200  # springs up to which an order is exact where postage hangs on its value
EXACT = 150  # springs up to which the cost to go is filled at the full resolution of the grid
WIDER = 10  # cells of the grid for longer lists: 1 %


@dataclass(frozen=True, slots=True)
class Rule:
    """What the first order must be like: how many springs, which of them surely, and what it may come to.

    `limit` bounds prices and postage of this order, in minor units of the book's currency; springs in `without`
    are not in it (they may be in later ones). `sent` says that something has been sent for before, so that sending
    again costs the delay.
    """

    counts: range | None = None
    must: Order = ()
    without: Order = ()
    sent: bool = False
    limit: float = np.inf


@dataclass(frozen=True, slots=True)
class CostToGo:
    """F: least cost from each state but the start on, weighted by the chance of reaching it, and its order.

    `later` once an order has been sent for (another one costs the delay), `fresh` before that; an empty order
    means giving up. `fresh` is infinite where it cannot come to that.
    """

    later: Floats
    fresh: Floats
    order_later: tuple[Order, ...]
    order_fresh: tuple[Order, ...]


@dataclass(frozen=True, slots=True)
class Plan:
    """The optimum: what to order now, its cost over all rounds, and the same for each spring as the first.

    `cost` is of the best first order, or of giving up at once where no order is better (`order` is then empty).
    `order_of(row)` is the best order that begins with a spring; empty where none can. `gap` is the most by which a
    better order could be cheaper: 0 but for long lists with postage by value or a limit on money.
    """

    table: Costs
    to_go: CostToGo
    cost: float
    order: Order
    cost_by_first: Floats
    sent: bool
    order_of: Callable[[int], Order] = field(repr=False)
    gap: float = 0.0


def best_plan(choice: Choice, rule: Rule | None = None, exact: int = EXACT, wider: int = WIDER) -> Plan:
    """Least expected cost over all rounds, exactly, for the springs of a choice as they stand on the grid.

    Lists of more than `exact` springs fill the cost to go on a grid of `wider` cells of 0.1 %; the first order stays
    exact for it.

    Raises: OrderbookError(code="must_alike").
    """
    rule = rule or Rule()
    if not (choice.is_flat and rule.limit == np.inf) and len(choice.offered) > BY_VALUE:
        return _near_best(choice, rule, wider)
    table = costs(choice, _worth_planning(choice, rule.must, exact))
    is_small = sum(map(len, table.rows)) <= exact
    to_go = cost_to_go(table) if is_small else wider_cost_to_go(table, wider)
    cost, order_of = first_orders(table, to_go, rule)
    return _plan(table, to_go, cost, order_of, rule)


def _plan(table: Costs, to_go: CostToGo, cost: Floats, order_of: Callable[[int], Order], rule: Rule) -> Plan:
    give_up = table.choice.weights.give_up
    row = int(cost.argmin()) if len(cost) else -1
    if row < 0 or cost[row] >= give_up:
        return Plan(table, to_go, give_up, (), cost, rule.sent, order_of)
    return Plan(table, to_go, float(cost[row]), order_of(row), cost, rule.sent, order_of)


def _near_best(choice: Choice, rule: Rule, wider: int) -> Plan:
    """Long lists with postage by value or a limit on money: exact among the most promising springs.

    The whole list is solved exactly twice with flat postage: the least each supplier can charge, which is a bound
    below every plan, and the usual one. Their orders, at their true postage, stand for the springs that are left
    out; the gap to the bound is told.
    """
    bound = best_plan(_flat(choice, lambda terms: terms.least), replace(rule, limit=np.inf), wider=wider)
    usual = best_plan(_flat(choice, lambda terms: terms.postage), replace(rule, limit=np.inf), wider=wider)
    whole = costs(choice)
    to_go = wider_cost_to_go(whole, wider)
    table = costs(choice, _promising(choice, (usual, bound), rule))
    cost, order_of = first_orders(table, _among(to_go, np.searchsorted(whole.edges, table.edges)), rule)
    for plan in (usual, bound):
        orders = [plan.order_of(row) for row in range(len(cost))]
        stands_in = np.array([_true_cost(whole, to_go, order, rule) for order in orders])
        cost, order_of = np.minimum(cost, stands_in), _cheaper(cost, order_of, stands_in, orders.__getitem__)
    best = _plan(whole, to_go, cost, order_of, rule)
    return replace(best, gap=max(0.0, best.cost - bound.cost))


def _flat(choice: Choice, postage: Callable[[Terms], float]) -> Choice:
    return replace(choice, terms=tuple(Terms(postage(one), waits=one.waits) for one in choice.terms))


def _promising(choice: Choice, plans: tuple[Plan, ...], rule: Rule) -> Whole:
    """Springs of the best orders of each plan, and the best spring of each cell, up to a number that is quick."""
    rows = dict.fromkeys(rule.must)
    for plan in plans:
        for first in np.argsort(plan.cost_by_first, kind="stable")[: BY_VALUE // 4].tolist():
            rows.update(dict.fromkeys([first, *plan.order_of(first)]))
    cells = one_a_cell(choice.offered, choice.weights.overpower, WIDER)
    rows.update(dict.fromkeys(cells[np.argsort(plans[0].cost_by_first[cells], kind="stable")].tolist()))
    return np.array(sorted(list(rows)[:BY_VALUE]), dtype=np.intp)


def _among(to_go: CostToGo, states: Whole) -> CostToGo:
    orders = ([way[i] for i in states.tolist()] for way in (to_go.order_later, to_go.order_fresh))
    return CostToGo(to_go.later[states], to_go.fresh[states], *(tuple(way) for way in orders))


def _true_cost(table: Costs, to_go: CostToGo, order: Order, rule: Rule) -> float:
    """What an order from the start costs over all rounds; infinite where it may not be made."""
    choice = table.choice
    if not order or outlay(choice, order) > rule.limit:
        return np.inf
    rows = np.array(order, dtype=np.intp)
    edges = np.concatenate([[0], choice.offered.edge[rows]])
    at = np.searchsorted(table.edges, edges)
    waits = waited_for(choice, order)
    steps = step_cost(choice, rows, edges[:-1], table.above[at[:-1]])
    ends = to_go.later if waits or rule.sent else to_go.fresh
    delay = choice.weights.delay * (waits and rule.sent)
    return float(ordered_cost(choice, rows).sum() + charged(choice, order) + delay + steps.sum() + ends[at[-1]])


def _worth_planning(choice: Choice, must: Order, exact: int) -> Whole | None:
    """Rows the plan is made of: all, but in long lists with flat postage not those that are never better."""
    if not choice.is_flat or len(choice.offered) <= exact:
        return None
    return np.union1d(worth_keeping(choice.offered), np.array(must, dtype=np.intp))


def first_orders(table: Costs, to_go: CostToGo, rule: Rule) -> tuple[Floats, Callable[[int], Order]]:
    """For each spring the least cost over all rounds with it as the first to be fitted, and that order."""
    cost = np.full(len(table.choice.offered), np.inf)
    order_of: Callable[[int], Order] = _no_order
    for start in starts(table, to_go, rule):
        own, own_order_of = _first_orders(start)
        cost, order_of = np.minimum(cost, own), _cheaper(cost, order_of, own, own_order_of)
    return cost, order_of


@dataclass(frozen=True, slots=True)
class PlanStart:
    """One kind of first order ready to be searched: sent for, or from the drawer alone."""

    table: Costs
    whole: Costs
    found: list[Layer]
    sent: Sending
    counts: range
    limit: float


def starts(table: Costs, to_go: CostToGo, rule: Rule) -> list[PlanStart]:
    """The kinds of first order there are."""
    whole, terms = at_the_start(table), table.choice.terms
    delay = table.choice.weights.delay if rule.sent else 0.0
    kinds = [(table, whole, to_go.later, sending(terms, delay, drawer_alone=False))]
    drawer, whole_drawer = only_owned(table), only_owned(whole)
    if drawer is not None and whole_drawer is not None:
        kinds.append((drawer, whole_drawer, to_go.later if rule.sent else to_go.fresh, sending(terms, 0.0)))
    return [_start(*kind, rule) for kind in kinds]


def _start(table: Costs, whole: Costs, terminal: Floats, sent: Sending, rule: Rule) -> PlanStart:
    counts = rule.counts or range(1, table.choice.most + 1)
    table, whole = without(table, rule.without), without(whole, rule.without)
    if rule.must:
        whole, _ = passing_through(whole, rule.must, terminal)
        table, terminal = passing_through(table, rule.must, terminal)
    return PlanStart(table, whole, layers(table, 0, terminal, max(counts) - 1), sent, counts, rule.limit)


def _first_orders(start: PlanStart) -> tuple[Floats, Callable[[int], Order]]:
    table, found, sent, counts = start.table, start.found, start.sent, start.counts
    if table.choice.is_flat and start.limit == np.inf:
        firsts = best_by_first(start.whole, 0, found, sent, counts)
        return firsts.cost, lambda row: order_from(table, 0, found, firsts, row)
    parcels = best_parcels(table, 0, found, sent, counts=counts, limit=start.limit, each=True)
    return parcels.cost, lambda row: _rows(parcels.order[row])


def _no_order(row: int) -> Order:
    return ()


def _cheaper(
    cost: Floats, order_of: Callable[[int], Order], other: Floats, other_of: Callable[[int], Order]
) -> Callable[[int], Order]:
    return lambda row: order_of(row) if cost[row] <= other[row] else other_of(row)


def cost_to_go(table: Costs) -> CostToGo:
    """F by backward induction over the states, strongest first."""
    states = len(table.edges)
    terms, delay = table.choice.terms, table.choice.weights.delay
    later, fresh = np.full(states, np.inf), np.full(states, np.inf)
    order_later: list[Order] = [()] * states
    order_fresh: list[Order] = [()] * states
    again, once, alone = sending(terms, delay), sending(terms, 0.0, drawer_alone=False), sending(terms, 0.0)
    drawer = only_owned(table)
    # nothing has been sent for yet only where a spring of the drawer has failed
    unsent = set() if drawer is None else set(np.concatenate(drawer.at).tolist())
    for state in range(states - 1, 0, -1):
        later[state], order_later[state] = _best(table, state, later, again)
        if state in unsent:
            fresh[state], order_fresh[state] = _best(table, state, later, once)
        if state in unsent and drawer is not None:
            own, order = _best(drawer, state, fresh, alone)
            if own < fresh[state]:
                fresh[state], order_fresh[state] = own, order
    return CostToGo(later, fresh, tuple(order_later), tuple(order_fresh))


def _best(table: Costs, state: int, terminal: Floats, sent: Sending) -> tuple[float, Order]:
    give_up = table.choice.weights.give_up * float(table.above[state])
    found = layers(table, state, terminal, table.choice.most - 1)
    if table.choice.is_flat:
        cost, order = best_order(table, state, found, sent)
    else:
        counts = range(1, table.choice.most + 1)
        parcels = best_parcels(table, state, found, sent, counts=counts, limit=np.inf, each=False)
        row = int(parcels.cost.argmin()) if len(parcels.cost) else -1
        cost, order = (float(parcels.cost[row]), _rows(parcels.order[row])) if row >= 0 else (np.inf, ())
    return (cost, order) if cost < give_up else (give_up, ())


def _rows(filled: Whole) -> Order:
    return tuple(filled[filled >= 0].tolist())


def wider_cost_to_go(table: Costs, cells: int = WIDER) -> CostToGo:
    """F for long lists: later orders are planned among the best spring of each supplier at each edge of a wider grid.

    Every state then follows one of the two orders planned at the wider edges next to it, at its true cost. So F
    is what can be had: never less than the exact one.
    """
    choice = table.choice
    rows = one_a_cell(choice.offered, choice.weights.overpower, cells)
    wider = costs(replace(choice, offered=choice.offered.on_wider_grid(cells)), rows)
    planned = cost_to_go(wider)
    later, order_later = followed(table, wider.edges, planned.order_later, choice.weights.delay)
    fresh, order_fresh = followed(table, wider.edges, planned.order_fresh, 0.0, later)
    return CostToGo(later, fresh, tuple(order_later), tuple(order_fresh))
