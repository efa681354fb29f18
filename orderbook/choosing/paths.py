"""The best order from one state: a path of springs of rising drive, found layer by layer.

An order's cost splits into terms of neighbours on the path, so the best path is found one layer a spring,
for each set of suppliers the path uses.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from orderbook.choosing.belief import Floats
from orderbook.choosing.springs import Whole
from orderbook.choosing.table import Costs, Sending


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
    for supplier, moves in moves_from(table, state, state + 1, rest):
        least = moves.min(axis=2)
        for bits, row in zip((rest.sets | (1 << supplier)).tolist(), least, strict=True):
            best[bits] = np.minimum(best[bits], row) if bits in best else row
    columns = len(table.edges)
    full = np.full((len(best), columns), np.inf)
    full[:, state + 1 :] = np.array(list(best.values())).reshape(len(best), columns - state - 1)
    return Layer(np.array(list(best), np.int64), full)


def moves_from(
    table: Costs, state: int, first: int, rest: Layer, last: int | None = None
) -> Iterator[tuple[int, Floats]]:
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


def best_by_first(table: Costs, state: int, found: list[Layer], sent: Sending, counts: range | None = None) -> Firsts:
    """Least cost over all rounds of each spring as the first of an order of `counts` springs made in `state`."""
    rows = len(table.choice.offered)
    best = Firsts(np.full(rows, np.inf), np.zeros(rows, np.intp), np.zeros(rows, np.int64))
    for more, rest in enumerate(found):
        if counts is not None and more + 1 not in counts:
            continue
        for supplier, moves in moves_from(table, state, state, rest, state + 1):
            total = moves[:, 0, :] + (sent.of(rest.sets | (1 << supplier)) * table.above[state])[:, None]
            which = total.argmin(axis=0)
            least = total[which, np.arange(total.shape[1])]
            here = table.rows[supplier][-total.shape[1] :]
            better = least < best.cost[here]
            best.cost[here[better]] = least[better]
            best.more[here[better]] = more
            best.sets[here[better]] = rest.sets[which[better]]
    return best


def best_order(
    table: Costs, state: int, found: list[Layer], sent: Sending, counts: range | None = None
) -> tuple[float, tuple[int, ...]]:
    """Least cost over all rounds of an order made in `state`, and its rows; infinite and none where there is none."""
    least, begins = np.inf, (-1, 0, 0)
    for more, rest in enumerate(found):
        if counts is not None and more + 1 not in counts:
            continue
        for supplier, moves in moves_from(table, state, state, rest, state + 1):
            total = moves[:, 0, :] + (sent.of(rest.sets | (1 << supplier)) * table.above[state])[:, None]
            which, spring = divmod(int(total.argmin()), total.shape[1])
            if total[which, spring] < least:
                least = float(total[which, spring])
                begins = int(table.rows[supplier][-total.shape[1] :][spring]), more, int(rest.sets[which])
    return (least, followed(table, state, found, *begins)) if least < np.inf else (least, ())


def order_from(table: Costs, state: int, found: list[Layer], firsts: Firsts, row: int) -> tuple[int, ...]:
    """Rows of the best order that begins with the spring `row`, weakest first."""
    if not np.isfinite(firsts.cost[row]):
        return ()
    return followed(table, state, found, row, int(firsts.more[row]), int(firsts.sets[row]))


def followed(table: Costs, state: int, found: list[Layer], row: int, more: int, bits: int) -> tuple[int, ...]:
    """Rows of an order from its first on: `more` springs follow, from the suppliers in `bits`."""
    order = [row]
    for rest in reversed(found[:more]):
        reached = int(np.searchsorted(table.edges, table.choice.offered.edge[order[-1]]))
        spring, bits = _next_spring(table, state, reached, rest, bits)
        order.append(spring)
    return tuple(order)


def _next_spring(table: Costs, state: int, reached: int, rest: Layer, bits: int) -> tuple[int, int]:
    best, chosen = np.inf, (-1, 0)
    for supplier, moves in moves_from(table, state, reached, rest, reached + 1):
        fits = (rest.sets | (1 << supplier)) == bits
        total = np.where(fits[:, None], moves[:, 0, :], np.inf)
        which, spring = divmod(int(total.argmin()), total.shape[1])
        if total[which, spring] < best:
            best = float(total[which, spring])
            chosen = int(table.rows[supplier][-total.shape[1] :][spring]), int(rest.sets[which])
    return chosen
