"""All rounds: the cost to go from each state by backward induction, and the first order of all."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, field, replace

import numpy as np

from orderbook.choosing.belief import Floats
from orderbook.choosing.objective import Choice, given_up, ordered, outlay, sent, used_by
from orderbook.choosing.parcels import best_parcels
from orderbook.choosing.paths import Layer, best_by_first, best_order, layers, order_from
from orderbook.choosing.postage import Terms
from orderbook.choosing.springs import Flags, Whole
from orderbook.choosing.table import (
    Costs,
    Sending,
    at_the_start,
    costs,
    one_a_cell,
    only,
    passing_through,
    step_cost,
    worth_keeping,
)

Order = tuple[int, ...]
BY_VALUE = 200  # springs up to which an order is exact where postage hangs on its value
EXACT = 150  # springs up to which the cost to go is filled at the full resolution of the grid
WIDER = 10  # cells of the grid for longer lists: 1 %
NEAR_TIE = 0.01  # of the least cost: within it the handier order is taken


@dataclass(frozen=True, slots=True)
class Rule:
    """What the first order must be like: how many springs, which of them surely, and what it may come to.

    `limit` bounds prices and postage of this order, in minor units of the book's currency; springs in `without`
    are not in it (they may be in later ones). Orders dearer than the best by no more than `near_tie` count as good.
    """

    counts: range | None = None
    must: Order = ()
    without: Order = ()
    limit: float = np.inf
    near_tie: float = NEAR_TIE


@dataclass(frozen=True, slots=True)
class CostToGo:
    """F: least cost from each state but the start on, weighted by the chance of reaching it, and its order.

    An empty order means giving up.
    """

    least: Floats
    order: tuple[Order, ...]


@dataclass(frozen=True, slots=True)
class Plan:
    """The optimum: what to order now, its cost over all rounds, and the same for each spring as the first.

    `order` is the handiest of the orders that cost next to the least, and `cost` what it costs; of giving up at once
    where no order is better (`order` is then empty). `cost_by_first` is the least with each spring as the first to be
    fitted, and `order_of(row)` that order; empty where none can. `gap` is the most by which a better order could be
    cheaper: 0 but for long lists with postage by value or a limit on money.
    """

    table: Costs
    to_go: CostToGo
    cost: float
    order: Order
    cost_by_first: Floats
    order_of: Callable[[int], Order] = field(repr=False)
    gap: float = 0.0

    @property
    def least(self) -> float:
        """Least cost of all, giving up included."""
        return float(min(given_up(self.table.choice), self.cost_by_first.min(initial=np.inf)))


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
    give_up = given_up(table.choice)
    row = int(cost.argmin()) if len(cost) else -1
    if row < 0 or cost[row] >= give_up:
        return Plan(table, to_go, give_up, (), cost, order_of)
    best = float(cost[row])
    handy_cost, handy = _handiest(table, to_go, rule, (1 + rule.near_tie) * best) if rule.near_tie else (np.inf, ())
    if not handy or handy_cost >= give_up:
        handy_cost, handy = best, order_of(row)
    return Plan(table, to_go, handy_cost, handy, cost, order_of)


def _handiest(table: Costs, to_go: CostToGo, rule: Rule, ceiling: float) -> tuple[float, Order]:
    """The handiest order that costs no more than a ceiling: nothing cut, one end, one width, one supplier, weak first.

    Each wish is kept where it can be without leaving the ceiling, in this order.
    """

    def is_good(may: Flags) -> bool:
        return float(first_orders(table, to_go, rule, may)[0].min(initial=np.inf)) <= ceiling

    found: list[tuple[int, float, Order]] = []
    for may in _narrowed(table, is_good):
        cost, order_of = first_orders(table, to_go, rule, may)
        firsts = np.flatnonzero(cost <= ceiling).tolist()
        found += [(int(table.choice.offered.edge[row]), float(cost[row]), order_of(row)) for row in firsts]
    _, cost_of, order = min(found, default=(0, np.inf, ()))
    return cost_of, order


def _narrowed(table: Costs, is_good: Callable[[Flags], bool]) -> list[Flags]:
    """Sets of springs, as handy as they come, from which a good order can be made."""
    offered = table.choice.offered
    sets = [np.ones(len(offered), bool)]
    for wish in (_uncut, _of_one_end, _of_one_width, _from_one_supplier):
        better = [part for may in sets for part in wish(table.choice, may) if is_good(part)]
        sets = better or sets
    return sets


def _uncut(choice: Choice, may: Flags) -> Iterator[Flags]:
    yield may & ~choice.offered.cut


def _of_one_end(choice: Choice, may: Flags) -> Iterator[Flags]:
    for end in np.unique(choice.offered.end[may]).tolist():
        yield may & (choice.offered.end == end)


def _of_one_width(choice: Choice, may: Flags) -> Iterator[Flags]:
    for width in np.unique(choice.offered.width_mm[may]).tolist():
        yield may & (choice.offered.width_mm == width)


def _from_one_supplier(choice: Choice, may: Flags) -> Iterator[Flags]:
    owned = choice.offered.owned
    for supplier in np.unique(choice.offered.supplier[may & ~owned]).tolist():
        yield may & (owned | (choice.offered.supplier == supplier))


def _near_best(choice: Choice, rule: Rule, wider: int) -> Plan:
    """Long lists with postage by value or a limit on money: exact among the most promising springs.

    The whole list is solved exactly twice with flat postage: the least each supplier can charge, which is a bound
    below every plan, and the usual one. Their orders, at their true postage, stand for the springs that are left
    out; the gap to the bound is told.
    """
    freely = replace(rule, limit=np.inf, near_tie=0.0)
    bound = best_plan(_flat(choice, lambda terms: terms.least), freely, wider=wider)
    usual = best_plan(_flat(choice, lambda terms: terms.postage), freely, wider=wider)
    whole = costs(choice)
    to_go = wider_cost_to_go(whole, wider)
    table = costs(choice, _promising(choice, (usual, bound), rule))
    among = _among(to_go, np.searchsorted(whole.edges, table.edges))
    cost, order_of = first_orders(table, among, rule)
    for plan in (usual, bound):
        orders = [plan.order_of(row) for row in range(len(cost))]
        stands_in = np.array([_true_cost(whole, to_go, order, rule) for order in orders])
        cost, order_of = np.minimum(cost, stands_in), _cheaper(cost, order_of, stands_in, orders.__getitem__)
    best = _plan(whole, to_go, cost, order_of, replace(rule, near_tie=0.0))
    return replace(best, gap=max(0.0, best.cost - bound.cost))


def _flat(choice: Choice, postage: Callable[[Terms], float]) -> Choice:
    return replace(choice, terms=tuple(one.flat(postage(one)) for one in choice.terms))


def _promising(choice: Choice, plans: tuple[Plan, ...], rule: Rule) -> Whole:
    """Springs of the best orders of each plan, and the best spring of each cell, up to a number that is quick."""
    rows = dict.fromkeys(rule.must)
    for plan in plans:
        for first in np.argsort(plan.cost_by_first, kind="stable")[: BY_VALUE // 4].tolist():
            rows.update(dict.fromkeys([first, *plan.order_of(first)]))
    cells = one_a_cell(choice, WIDER)
    rows.update(dict.fromkeys(cells[np.argsort(plans[0].cost_by_first[cells], kind="stable")].tolist()))
    return np.array(sorted(list(rows)[:BY_VALUE]), dtype=np.intp)


def _among(to_go: CostToGo, states: Whole) -> CostToGo:
    return CostToGo(to_go.least[states], tuple(to_go.order[i] for i in states.tolist()))


def _true_cost(table: Costs, to_go: CostToGo, order: Order, rule: Rule) -> float:
    """What an order from the start costs over all rounds; infinite where it may not be made."""
    choice = table.choice
    if not order or outlay(choice, order) > rule.limit:
        return np.inf
    now, first, rest, last = _parts(table, order)
    step = step_cost(choice, np.array([first]), table.edges[:1], table.above[:1], table.stops[:1])
    return float(now + step[0] + rest + to_go.least[last])


def _parts(table: Costs, order: Order) -> tuple[float, int, float, int]:
    """Due at once per chance of the state, first spring, cost of the further steps, state it ends in."""
    choice, rows = table.choice, np.array(order, dtype=np.intp)
    edge = choice.offered.edge[rows]
    at = np.searchsorted(table.edges, edge)
    now = float(ordered(choice, rows).sum() + sent(choice, *used_by(choice, order)))
    rest = step_cost(choice, rows[1:], edge[:-1], table.above[at[:-1]], table.stops[at[:-1]])
    return now, order[0], float(rest.sum()), int(at[-1])


def _worth_planning(choice: Choice, must: Order, exact: int) -> Whole | None:
    """Rows the plan is made of: all, but in long lists with flat postage not those that are never better."""
    if not choice.is_flat or len(choice.offered) <= exact:
        return None
    return np.union1d(worth_keeping(choice), np.array(must, dtype=np.intp))


def anywhere(plan: Plan, rule: Rule) -> tuple[Floats, Callable[[int], Order]]:
    """`first_orders` of a plan if any of its springs might be the first to be fitted; what follows stays."""
    return first_orders(_begun_anywhere(plan.table), plan.to_go, rule)


def _begun_anywhere(table: Costs) -> Costs:
    offered = table.choice.offered
    free = replace(table.choice, offered=replace(offered, begins=np.ones(len(offered), bool)))
    return costs(free, np.sort(np.concatenate(table.rows)))


def first_orders(
    table: Costs, to_go: CostToGo, rule: Rule, may: Flags | None = None
) -> tuple[Floats, Callable[[int], Order]]:
    """For each spring the least cost over all rounds with it as the first to be fitted, and that order.

    With `may` the order is made of those springs alone.
    """
    start = start_of(table, to_go, rule, may)
    table, found, sending, counts = start.table, start.found, start.sending, start.counts
    if table.choice.is_flat and start.limit == np.inf:
        firsts = best_by_first(start.whole, 0, found, sending, counts)
        return firsts.cost, lambda row: order_from(table, 0, found, firsts, row)
    parcels = best_parcels(table, 0, found, sending, counts=counts, limit=start.limit, each=True)
    return parcels.cost, lambda row: _rows(parcels.order[row])


@dataclass(frozen=True, slots=True)
class PlanStart:
    """A first order ready to be searched."""

    table: Costs
    whole: Costs
    found: list[Layer]
    sending: Sending
    counts: range
    limit: float


def start_of(table: Costs, to_go: CostToGo, rule: Rule, may: Flags | None = None) -> PlanStart:
    """Lay out the search for the first order."""
    if rule.without and not np.delete(table.choice.offered.begins, list(rule.without)).any():
        table = _begun_anywhere(table)  # without those that were to come first another must
    whole, terminal = at_the_start(table), to_go.least
    counts = rule.counts or range(1, table.choice.most + 1)
    if may is not None or rule.without:
        may = np.ones(len(table.choice.offered), bool) if may is None else may
        may = may & ~np.isin(np.arange(len(may)), rule.without)
        table, whole = only(table, may), only(whole, may)
    if rule.must:
        whole, _ = passing_through(whole, rule.must, terminal)
        table, terminal = passing_through(table, rule.must, terminal)
    found = layers(table, 0, terminal, max(counts) - 1)
    return PlanStart(table, whole, found, Sending(table.choice), counts, rule.limit)


def _cheaper(
    cost: Floats, order_of: Callable[[int], Order], other: Floats, other_of: Callable[[int], Order]
) -> Callable[[int], Order]:
    return lambda row: order_of(row) if cost[row] <= other[row] else other_of(row)


def cost_to_go(table: Costs) -> CostToGo:
    """F by backward induction over the states, strongest first."""
    states = len(table.edges)
    least = np.full(states, np.inf)
    order: list[Order] = [()] * states
    sending = Sending(table.choice)
    for state in range(states - 1, 0, -1):
        least[state], order[state] = _best(table, state, least, sending)
    return CostToGo(least, tuple(order))


def _best(table: Costs, state: int, terminal: Floats, sending: Sending) -> tuple[float, Order]:
    give_up = float(table.give_up[state])
    if table.stops[state]:
        return give_up, ()
    found = layers(table, state, terminal, table.choice.most - 1)
    if table.choice.is_flat:
        cost, order = best_order(table, state, found, sending)
    else:
        counts = range(1, table.choice.most + 1)
        parcels = best_parcels(table, state, found, sending, counts=counts, limit=np.inf, each=False)
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
    wider = costs(replace(choice, offered=choice.offered.on_wider_grid(cells)), one_a_cell(choice, cells))
    return followed(table, wider.edges, cost_to_go(wider).order)


def followed(table: Costs, wider: Whole, orders: tuple[Order, ...]) -> CostToGo:
    """Cost to go if every state follows the better of the two orders planned at the wider edges around it."""
    choice, cost = table.choice, np.array(table.give_up)
    chosen = np.full(len(table.edges), -1)
    planned = np.flatnonzero([len(order) > 0 for order in orders])
    if not len(planned):
        return CostToGo(cost, ((),) * len(cost))
    now, first, rest, last = map(np.array, zip(*(_parts(table, orders[p]) for p in planned.tolist()), strict=True))
    below = np.searchsorted(wider[planned], table.edges, side="right") - 1
    near = np.clip(np.stack([below, below + 1]), 0, len(planned) - 1)
    steps = step_cost(choice, first[near], table.edges, table.above, table.stops)
    to_last = now[near] * table.above + steps + rest[near]
    for state in range(len(cost) - 1, -1, -1):
        for which, so_far in zip(near[:, state], to_last[:, state], strict=True):
            if so_far + cost[last[which]] < cost[state]:
                cost[state], chosen[state] = so_far + cost[last[which]], planned[which]
    return CostToGo(cost, tuple(orders[c] if c >= 0 else () for c in chosen.tolist()))
