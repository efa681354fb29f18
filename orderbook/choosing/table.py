"""A choice laid out as tables: the states, the chance of each, and what every step between them costs.

One state says it all: the strongest spring that has failed. Springs stand at grid edges, so a state is an edge.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace

import numpy as np
from numpy.typing import NDArray

from orderbook.choosing.belief import Belief, Floats
from orderbook.choosing.objective import Choice, fitted, given_up, kept, ordered, sent
from orderbook.choosing.springs import Flags, Whole
from orderbook.errors import error


@dataclass(frozen=True, slots=True)
class Costs:
    """A choice as tables. State 0 is the start; state i > 0 is "the spring at `edges[i]` has failed".

    `above[i]` is the chance of being in state i or beyond; `stops[i]` that nothing is fitted after it. `rows`, `at`,
    `ordered` and `step` are one entry a supplier: its springs weakest first, the state each leads to, what ordering it
    costs, and what fitting it after state u costs (infinite unless it is stronger than u, and u does not stop).
    """

    choice: Choice
    edges: Whole
    above: Floats
    stops: Flags
    rows: tuple[Whole, ...]
    at: tuple[Whole, ...]
    ordered: tuple[Floats, ...]
    step: tuple[Floats, ...]

    @property
    def give_up(self) -> Floats:
        """Cost of giving up in each state, weighed with its chance."""
        return given_up(self.choice) * self.above


def costs(choice: Choice, among: Whole | None = None) -> Costs:
    """Tables of a choice; with `among` only those rows of the offer can be ordered."""
    edge = choice.offered.edge
    rows = np.arange(len(edge)) if among is None else among
    edges = np.concatenate([[0], np.unique(edge[rows])]).astype(np.intp)
    by_strength = rows[np.lexsort((choice.offered.load[rows], edge[rows]))]
    stops = np.isin(edges, edge[rows][choice.offered.stops[rows]])
    return _laid_out(choice, edges, stops, by_strength)


def at_the_start(table: Costs) -> Costs:
    """Tables of every spring of the offer, but for the start only; the states stay those of `table`."""
    edge = table.choice.offered.edge
    by_strength = np.lexsort((table.choice.offered.load, edge))
    return _laid_out(table.choice, table.edges, table.stops, by_strength, from_states=1)


def _laid_out(choice: Choice, edges: Whole, stops: Flags, by_strength: Whole, from_states: int | None = None) -> Costs:
    chance = chance_above(choice.belief)[edges]
    rows = tuple(by_strength[choice.offered.supplier[by_strength] == s] for s in range(len(choice.terms)))
    begun = slice(0, from_states)
    return Costs(
        choice,
        edges,
        chance,
        stops,
        rows,
        tuple(np.searchsorted(edges, choice.offered.edge[r]) for r in rows),
        tuple(ordered(choice, r) for r in rows),
        tuple(step_cost(choice, r[None, :], edges[begun, None], chance[begun, None], stops[begun, None]) for r in rows),
    )


def chance_above(belief: Belief) -> Floats:
    """Chance that the need is above each grid edge; surely above the start."""
    above = np.concatenate([np.cumsum(belief.p[::-1])[::-1], [0.0]])
    above[0] = 1.0
    return above


def step_cost(choice: Choice, rows: Whole, edges: Whole, above: Floats, stops: Flags) -> Floats:
    """Cost of fitting springs after states: what is due when one is fitted, and when it is kept.

    fitted·S(u) + ∫ from u to the spring of what keeping it costs; infinite unless it is stronger than u and u goes on,
    and at the start (edge 0) unless the spring may be the first.
    `rows`, `edges`, `above` and `stops` broadcast: a table of states and springs, or one state for each spring.
    """
    edge, load = choice.offered.edge[rows], choice.offered.load[rows]
    over = kept(choice, edge, load) - kept(choice, edges, load)
    may = (edge > edges) & ~stops & (choice.offered.begins[rows] | (edges > 0))
    return np.where(may, fitted(choice, rows) * above + over, np.inf)


def only(table: Costs, may: Flags) -> Costs:
    """The same tables with some springs of the offer alone; the states stay."""
    keep = [may[rows] for rows in table.rows]
    return replace(
        table,
        rows=tuple(rows[k] for rows, k in zip(table.rows, keep, strict=True)),
        at=tuple(at[k] for at, k in zip(table.at, keep, strict=True)),
        ordered=tuple(cost[k] for cost, k in zip(table.ordered, keep, strict=True)),
        step=tuple(step[:, k] for step, k in zip(table.step, keep, strict=True)),
    )


def passing_through(table: Costs, must: tuple[int, ...], terminal: Floats) -> tuple[Costs, Floats]:
    """Tables and final costs in which no order leaves out a spring that must be in it.

    No step may pass over such a spring or take another in its place, and no order may end before the strongest.
    Raises: OrderbookError(code="must_alike") where two of them are as strong as each other.
    """
    edge = table.choice.offered.edge
    wanted = np.sort(edge[list(must)])
    if len(np.unique(wanted)) < len(must):
        raise error("must_alike", where="⟨must⟩", saw="two of the springs named drive alike to a tenth of a per cent")

    states = table.step[0].shape[0]

    def allowed(rows: Whole) -> Flags:
        passed_before = np.searchsorted(wanted, table.edges[:states], side="right")[:, None]
        passed_after = np.searchsorted(wanted, edge[rows], side="left")[None, :]
        stands_in = np.isin(edge[rows], wanted) & ~np.isin(rows, must)
        return np.asarray((passed_before >= passed_after) & ~stands_in[None, :])

    step = tuple(np.where(allowed(r), s, np.inf) for r, s in zip(table.rows, table.step, strict=True))
    ends = np.where(table.edges >= (wanted[-1] if must else 0), terminal, np.inf)
    return replace(table, step=step), ends


def worth_keeping(choice: Choice) -> Whole:
    """Rows left when, at one grid edge and one supplier, a spring goes beside which another is in no way dearer.

    In no way: when it is ordered, fitted or kept. Exact where postage does not hang on what the order is worth (a
    dearer spring may reach a free parcel): whoever would order the one that goes does no worse with the one that stays.

    >>> from orderbook.choosing.belief import start_belief
    >>> from orderbook.choosing.weights import usual_weights
    >>> from orderbook.choosing.springs import springs
    >>> three = springs([90, 90, 90], [95, 99, 94], [100, 120, 110])
    >>> worth_keeping(Choice(start_belief(65, 0.25), three, (), usual_weights(100.0))).tolist()
    [0, 2]
    """
    offered, rows = choice.offered, np.arange(len(choice.offered))
    columns = np.stack([ordered(choice, rows), fitted(choice, rows), offered.load], axis=1)
    place = np.stack([offered.edge, offered.supplier, offered.stops, offered.begins], axis=1)
    _, group = np.unique(place, axis=0, return_inverse=True)
    group = group.reshape(-1)
    by_group = np.lexsort((rows, *columns.T[::-1], group))
    found: list[int] = []
    for one in np.split(by_group, np.flatnonzero(np.diff(group[by_group])) + 1):
        best: list[int] = []
        for row in one.tolist():
            if not any(bool((columns[other] <= columns[row]).all()) for other in best):
                best.append(row)
        found += best
    return np.array(sorted(found), dtype=np.intp)


def one_a_cell(choice: Choice, cells: int = 10) -> Whole:
    """Rows of the best spring of each supplier at each edge of a wider grid (10 cells: 1 %).

    Best is the least that ordering, fitting and keeping it cost where the need is at the spring's own drive.
    """
    offered, rows = choice.offered, np.arange(len(choice.offered))
    here = np.minimum(offered.edge, len(choice.enough) - 1)
    over = choice.weights["lambda"] * np.maximum(np.expm1(offered.load - choice.enough[here]), 0)
    by_cost = np.argsort(ordered(choice, rows) + fitted(choice, rows) + over, kind="stable")
    cell = offered.on_wider_grid(cells).edge * (int(offered.supplier.max(initial=0)) + 1) + offered.supplier
    cell = 4 * cell + 2 * offered.stops + offered.begins
    _, first = np.unique(cell[by_cost], return_index=True)
    return np.asarray(np.sort(by_cost[first]), dtype=np.intp)


@dataclass(frozen=True, slots=True)
class Sending:
    """The least that sending to each set of suppliers (bits) costs: exact for flat postage, a lower bound else."""

    choice: Choice
    _known: dict[bytes, Floats] = field(default_factory=dict, repr=False, compare=False)

    def of(self, sets: NDArray[np.int64]) -> Floats:
        """Cost of each set."""
        key = sets.tobytes()  # the same few sets come up in every state
        if key not in self._known:
            self._known[key] = sent(self.choice, members(sets, len(self.choice.terms)))
        return self._known[key]


def members(sets: NDArray[np.int64], suppliers: int) -> Flags:
    """Which suppliers are in each set of bits.

    >>> members(np.array([1, 6]), 3).tolist()
    [[True, False, False], [False, True, True]]
    """
    return ((sets[:, None] >> np.arange(suppliers)) & 1).astype(bool)
