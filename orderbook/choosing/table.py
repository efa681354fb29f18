"""A choice laid out as tables: the states, the chance of each, and what every step between them costs.

One state says it all: the strongest spring that has failed. Springs stand at grid edges, so a state is an edge.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from orderbook.choosing.belief import Belief, Floats
from orderbook.choosing.overpower import Overpower, overpower
from orderbook.choosing.postage import Terms
from orderbook.choosing.springs import Springs, Whole
from orderbook.choosing.weights import Weights
from orderbook.errors import error


@dataclass(frozen=True, slots=True)
class Choice:
    """All that decides an order: the belief, the springs, each supplier's terms, the weights, springs an order."""

    belief: Belief
    offered: Springs
    terms: tuple[Terms, ...]
    weights: Weights
    most: int = 3

    @property
    def is_flat(self) -> bool:
        """Whether no supplier's postage hangs on what an order is worth."""
        return all(terms.is_flat for terms in self.terms)


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


def costs(choice: Choice, among: Whole | None = None) -> Costs:
    """Tables of a choice; with `among` only those rows of the offer can be ordered."""
    edge = choice.offered.edge
    rows = np.arange(len(edge)) if among is None else among
    edges = np.concatenate([[0], np.unique(edge[rows])]).astype(np.intp)
    by_strength = rows[np.lexsort((choice.offered.load[rows], edge[rows]))]
    return _laid_out(choice, edges, by_strength)


def at_the_start(table: Costs) -> Costs:
    """Tables of every spring of the offer, but for the start only; the states stay those of `table`."""
    edge = table.choice.offered.edge
    by_strength = np.lexsort((table.choice.offered.load, edge))
    return _laid_out(table.choice, table.edges, by_strength, from_states=1)


def _laid_out(choice: Choice, edges: Whole, by_strength: Whole, from_states: int | None = None) -> Costs:
    chance, kept = chance_above(choice.belief)[edges], sums(choice)
    rows = tuple(by_strength[choice.offered.supplier[by_strength] == s] for s in range(len(choice.terms)))
    begun = slice(0, from_states)
    return Costs(
        choice,
        edges,
        chance,
        rows,
        tuple(np.searchsorted(edges, choice.offered.edge[r]) for r in rows),
        tuple(ordered_cost(choice, r) for r in rows),
        tuple(step_cost(choice, r[None, :], edges[begun, None], chance[begun, None], kept) for r in rows),
    )


def chance_above(belief: Belief) -> Floats:
    """Chance that the need is above each grid edge; surely above the start."""
    above = np.concatenate([np.cumsum(belief.p[::-1])[::-1], [0.0]])
    above[0] = 1.0
    return above


def ordered_cost(choice: Choice, rows: Whole) -> Floats:
    """Money lost by ordering springs that are then not needed: what the price does not keep."""
    lost = (1 - choice.weights.kept) * choice.offered.price[rows]
    return np.where(choice.offered.owned[rows], 0.0, lost)


def step_cost(choice: Choice, rows: Whole, edges: Whole, above: Floats, kept: Overpower | None = None) -> Floats:
    """Cost of fitting springs after states: the fitting, the rest of the price, the overpower if kept.

    (trial + v·price / pieces)·S(u) + ∫ from u to the spring of its overpower; infinite unless it is stronger than u.
    `rows`, `edges` and `above` broadcast: a table of states and springs, or one state for each spring. `kept` are the
    sums of the belief, where they are known already.
    """
    offered, weights = choice.offered, choice.weights
    fitting = weights.trial + weights.kept * offered.price[rows] / offered.pieces[rows]
    kept = kept or sums(choice)
    edge, load = offered.edge[rows], offered.load[rows]
    over = kept.up_to(edge, load) - kept.up_to(edges, load)
    return np.where(edge > edges, fitting * above + over, np.inf)


def sums(choice: Choice) -> Overpower:
    """The running sums from which the overpower of a choice is looked up."""
    return overpower(choice.belief, choice.weights.overpower, choice.weights.give_up)


def only_owned(table: Costs) -> Costs | None:
    """The same tables with nothing but the drawer; None if the drawer is empty."""
    keep = [not terms.waits and len(rows) > 0 for terms, rows in zip(table.choice.terms, table.rows, strict=True)]
    if not any(keep):
        return None

    def kept(columns: tuple[NDArray[Any], ...]) -> tuple[NDArray[Any], ...]:
        return tuple(c if k else c[..., :0] for c, k in zip(columns, keep, strict=True))

    return replace(table, rows=kept(table.rows), at=kept(table.at), ordered=kept(table.ordered), step=kept(table.step))


def without(table: Costs, rows: tuple[int, ...]) -> Costs:
    """The same tables in which some springs cannot be fitted next."""
    if not rows:
        return table
    step = tuple(np.where(np.isin(r, rows), np.inf, s) for r, s in zip(table.rows, table.step, strict=True))
    return replace(table, step=step)


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

    def allowed(rows: Whole) -> NDArray[np.bool_]:
        passed_before = np.searchsorted(wanted, table.edges[:states], side="right")[:, None]
        passed_after = np.searchsorted(wanted, edge[rows], side="left")[None, :]
        stands_in = np.isin(edge[rows], wanted) & ~np.isin(rows, must)
        return (passed_before >= passed_after) & ~stands_in[None, :]

    step = tuple(np.where(allowed(r), s, np.inf) for r, s in zip(table.rows, table.step, strict=True))
    ends = np.where(table.edges >= (wanted[-1] if must else 0), terminal, np.inf)
    return replace(table, step=step), ends


def charged(choice: Choice, order: tuple[int, ...]) -> float:
    """Postage of an order: each supplier's charge for what is ordered there; infinite below a least order."""
    rows = np.array(order, dtype=np.intp)
    supplier, listed = choice.offered.supplier[rows], choice.offered.listed[rows]
    return sum(float(choice.terms[s].charge(listed[supplier == s].sum())) for s in np.unique(supplier).tolist())


def outlay(choice: Choice, order: tuple[int, ...]) -> float:
    """What an order costs when it is made: prices of what is not owned, and postage."""
    rows = np.array(order, dtype=np.intp)
    return float(choice.offered.price[rows][~choice.offered.owned[rows]].sum()) + charged(choice, order)
