"""The exact optimum over all rounds: which springs to order now, and what to do after each one that fails.

One state says it all: the strongest spring that has failed. Springs stand at grid edges, so a state is an edge.
An order from a state is a path of springs of rising drive; its cost splits into terms of neighbours, so the
best path is found layer by layer, one layer a spring, for each set of suppliers the path uses.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from orderbook.choosing.belief import Belief, Floats
from orderbook.choosing.overpower import overpower
from orderbook.choosing.postage import Terms
from orderbook.choosing.springs import Springs, Whole
from orderbook.choosing.weights import Weights


@dataclass(frozen=True, slots=True)
class Choice:
    """All that decides an order: the belief, the springs, each supplier's terms, the weights, springs an order."""

    belief: Belief
    offered: Springs
    terms: tuple[Terms, ...]
    weights: Weights
    most: int = 3


@dataclass(frozen=True, slots=True)
class Costs:
    """A choice as tables. State 0 is the start; state i > 0 is "the spring at `edges[i]` has failed".

    `above[i]` is the chance of being in state i or beyond; `rows`, `at`, `ordered` and `step` are one entry a
    supplier: its springs weakest first, the state each leads to, the money lost by ordering it even if it is not
    needed, and the cost of fitting it after state u (infinite unless it is stronger than u).
    """

    choice: Choice
    edges: Whole
    above: Floats
    rows: tuple[Whole, ...]
    at: tuple[Whole, ...]
    ordered: tuple[Floats, ...]
    step: tuple[Floats, ...]


def costs(choice: Choice) -> Costs:
    """Tables of a choice."""
    edge = choice.offered.edge
    edges = np.concatenate([[0], np.unique(edge)]).astype(np.intp)
    above = np.concatenate([np.cumsum(choice.belief.p[::-1])[::-1], [0.0]])[edges]
    above[0] = 1.0
    by_strength = np.lexsort((choice.offered.load, edge))
    rows = tuple(by_strength[choice.offered.supplier[by_strength] == s] for s in range(len(choice.terms)))
    at = tuple(np.searchsorted(edges, edge[r]) for r in rows)
    return Costs(
        choice,
        edges,
        above,
        rows,
        at,
        tuple(ordered_cost(choice, r) for r in rows),
        tuple(step_cost(choice, r, edges, above) for r in rows),
    )


def ordered_cost(choice: Choice, rows: Whole) -> Floats:
    """Money lost by ordering springs that are then not needed: what the price does not keep."""
    lost = (1 - choice.weights.kept) * choice.offered.price[rows]
    return np.where(choice.offered.owned[rows], 0.0, lost)


def step_cost(choice: Choice, rows: Whole, edges: Whole, above: Floats) -> Floats:
    """Cost of fitting each spring after each state: the fitting, the rest of its price, its overpower if kept.

    (trial + v·price / pieces)·S(u) + ∫ from u to the spring of its overpower; shape (states, springs)
    """
    offered, weights = choice.offered, choice.weights
    fitting = weights.trial + weights.kept * offered.price[rows] / offered.pieces[rows]
    kept = overpower(choice.belief, weights.overpower, weights.give_up)
    edge, load = offered.edge[rows], offered.load[rows]
    over = kept.up_to(edge, load)[None, :] - kept.up_to(edges[:, None], load[None, :])
    step = fitting[None, :] * above[:, None] + over
    return np.where(edge[None, :] > edges[:, None], step, np.inf)


@dataclass(frozen=True, slots=True)
class Layer:
    """Least cost of the rest of an order: one row a set of suppliers (bits), one column a state."""

    sets: NDArray[np.int64]
    least: Floats


def layers(table: Costs, state: int, terminal: Floats, most: int) -> list[Layer]:
    """Least cost from each state beyond `state` of ordering exactly 0, 1 … `most` more springs, for each supplier set.

    What is ordered in `state` is paid with the chance of `state`, whether it is reached or not.
    """
    found = [Layer(np.zeros(1, np.int64), terminal[None, :])]
    for _ in range(most):
        found.append(_one_more(table, state, found[-1]))
    return found


def _one_more(table: Costs, state: int, rest: Layer) -> Layer:
    best: dict[int, Floats] = {}
    for supplier, moves in _moves(table, state, state + 1, rest):
        least = moves.min(axis=2)
        for bits, row in zip((rest.sets | (1 << supplier)).tolist(), least, strict=True):
            best[bits] = np.minimum(best[bits], row) if bits in best else row
    columns = len(table.edges)
    full = np.full((len(best), columns), np.inf)
    full[:, state + 1 :] = np.array(list(best.values())).reshape(len(best), columns - state - 1)
    return Layer(np.array(list(best), np.int64), full)


def _moves(table: Costs, state: int, first: int, rest: Layer, last: int | None = None) -> Iterator[tuple[int, Floats]]:
    """For each supplier that has a spring beyond `state`: cost (set, from state, spring) of fitting it next."""
    for supplier, (at, ordered, step) in enumerate(zip(table.at, table.ordered, table.step, strict=True)):
        beyond = int(np.searchsorted(at, state, side="right"))
        if beyond < len(at):
            then = rest.least[:, at[beyond:]] + ordered[beyond:] * table.above[state]
            yield supplier, step[None, first:last, beyond:] + then[:, None, :]


@dataclass(frozen=True, slots=True)
class Firsts:
    """The best orders from one state, by the spring that is fitted first (one entry a row of the offer).

    `cost` is over all rounds, infinite where no order can begin so; `more` how many springs follow in the same
    order and `sets` whose they are.
    """

    cost: Floats
    more: Whole
    sets: NDArray[np.int64]


def best_by_first(table: Costs, state: int, found: list[Layer], sent: Sending) -> Firsts:
    """Least cost over all rounds of each spring as the first of an order made in `state`."""
    rows = len(table.choice.offered)
    best = Firsts(np.full(rows, np.inf), np.zeros(rows, np.intp), np.zeros(rows, np.int64))
    for more, rest in enumerate(found):
        for supplier, moves in _moves(table, state, state, rest, state + 1):
            total = moves[:, 0, :] + (sent.of(rest.sets | (1 << supplier)) * table.above[state])[:, None]
            which = total.argmin(axis=0)
            least = total[which, np.arange(total.shape[1])]
            here = table.rows[supplier][-total.shape[1] :]
            better = least < best.cost[here]
            best.cost[here[better]] = least[better]
            best.more[here[better]] = more
            best.sets[here[better]] = rest.sets[which[better]]
    return best


def order_from(table: Costs, state: int, found: list[Layer], firsts: Firsts, row: int) -> tuple[int, ...]:
    """Rows of the best order that begins with the spring `row`, weakest first."""
    order, bits, scale_state = [row], int(firsts.sets[row]), state
    for more in range(int(firsts.more[row]), 0, -1):
        reached = int(np.searchsorted(table.edges, table.choice.offered.edge[order[-1]]))
        spring, bits = _next_spring(table, scale_state, reached, found[more - 1], bits)
        order.append(spring)
    return tuple(order)


def _next_spring(table: Costs, state: int, reached: int, rest: Layer, bits: int) -> tuple[int, int]:
    best, chosen = np.inf, (-1, 0)
    for supplier, moves in _moves(table, state, reached, rest, reached + 1):
        fits = (rest.sets | (1 << supplier)) == bits
        total = np.where(fits[:, None], moves[:, 0, :], np.inf)
        which, spring = divmod(int(total.argmin()), total.shape[1])
        if total[which, spring] < best:
            best = float(total[which, spring])
            chosen = int(table.rows[supplier][-total.shape[1] :][spring]), int(rest.sets[which])
    return chosen


@dataclass(frozen=True, slots=True)
class Sending:
    """What each set of suppliers costs to send for: postage, and the delay where one of them is waited for."""

    postage: Floats
    waits: NDArray[np.bool_]
    delay: float
    drawer_alone: bool = True

    def of(self, sets: NDArray[np.int64]) -> Floats:
        """Postage and delay of each set; infinite for the drawer alone where that is reckoned apart."""
        bits = ((sets[:, None] >> np.arange(len(self.postage))) & 1).astype(bool)
        waited = (bits & self.waits).any(axis=1)
        cost = bits @ self.postage + self.delay * waited
        return np.where(waited | self.drawer_alone, cost, np.inf)


def sending(choice: Choice, delay: float, drawer_alone: bool = True) -> Sending:
    """Sending costs of a choice."""
    postage = np.array([terms.postage for terms in choice.terms])
    return Sending(postage, np.array([terms.waits for terms in choice.terms], dtype=bool), delay, drawer_alone)


@dataclass(frozen=True, slots=True)
class CostToGo:
    """F: least cost from each state on, weighted by the chance of reaching it, and the order that reaches it.

    `later` once an order has been sent for (another one costs the delay), `fresh` before that; an empty order
    means giving up.
    """

    later: Floats
    fresh: Floats
    order_later: tuple[tuple[int, ...], ...]
    order_fresh: tuple[tuple[int, ...], ...]


def cost_to_go(table: Costs) -> CostToGo:
    """F by backward induction over the states, strongest first."""
    states = len(table.edges)
    later, fresh = np.full(states, np.inf), np.full(states, np.inf)
    order_later: list[tuple[int, ...]] = [()] * states
    order_fresh: list[tuple[int, ...]] = [()] * states
    again, once = sending(table.choice, table.choice.weights.delay), sending(table.choice, 0.0, drawer_alone=False)
    drawer = only_owned(table)
    for state in range(states - 1, -1, -1):
        if state:
            later[state], order_later[state] = _best(table, state, later, again)
        if drawer is not None or state == 0:
            fresh[state], order_fresh[state] = _best(table, state, later, once)
        if drawer is not None:
            own, order = _best(drawer, state, fresh, sending(table.choice, 0.0))
            if own < fresh[state]:
                fresh[state], order_fresh[state] = own, order
    return CostToGo(later, fresh, tuple(order_later), tuple(order_fresh))


def _best(table: Costs, state: int, terminal: Floats, sent: Sending) -> tuple[float, tuple[int, ...]]:
    found = layers(table, state, terminal, table.choice.most - 1)
    firsts = best_by_first(table, state, found, sent)
    give_up = table.choice.weights.give_up * float(table.above[state])
    row = int(firsts.cost.argmin()) if len(firsts.cost) else -1
    if row < 0 or firsts.cost[row] >= give_up:
        return give_up, ()
    return float(firsts.cost[row]), order_from(table, state, found, firsts, row)


def only_owned(table: Costs) -> Costs | None:
    """The same tables with nothing but the drawer; None if the drawer is empty."""
    keep = [not terms.waits and len(rows) > 0 for terms, rows in zip(table.choice.terms, table.rows, strict=True)]
    if not any(keep):
        return None

    def kept(columns: tuple[NDArray[Any], ...]) -> tuple[NDArray[Any], ...]:
        return tuple(c if k else c[..., :0] for c, k in zip(columns, keep, strict=True))

    return replace(table, rows=kept(table.rows), at=kept(table.at), ordered=kept(table.ordered), step=kept(table.step))
