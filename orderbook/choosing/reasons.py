"""Why these springs: what each is worth, how far the weights may move, what other plans do with springs as they are."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np

from orderbook.choosing.chain import chain
from orderbook.choosing.parcels import best_orders
from orderbook.choosing.postage import Terms
from orderbook.choosing.restorers import Doubt, Restored, restorers
from orderbook.choosing.rounds import Order, Plan, Rule, best_plan, first_orders, starts
from orderbook.choosing.springs import one_a_cell
from orderbook.choosing.table import Choice

STEPS = (1.25, 1.5, 2.0, 3.0)  # how far a weight is moved, up and down, to see whether the order changes
QUICK = 25  # cells of the grid for what comes after the first order, where it is solved again and again: 2.5 %
ERRORS = 3.0  # standard errors by which another plan must do better to be named


@dataclass(frozen=True, slots=True)
class Alternative:
    """The best order that does without one spring of the order, and how much more it costs."""

    row: int
    order: Order
    costs_more: float


def alternatives(plan: Plan, rule: Rule) -> tuple[Alternative, ...]:
    """For each spring of the order: the best order without it; infinitely dearer where there is none.

    A spring that must be in the order has no alternative.
    """
    return tuple(_without(plan, rule, row) for row in plan.order if row not in rule.must)


def _without(plan: Plan, rule: Rule, row: int) -> Alternative:
    cost, order_of = first_orders(plan.table, plan.to_go, replace(rule, without=(*rule.without, row)))
    first = int(cost.argmin())
    give_up = plan.table.choice.weights.give_up
    if cost[first] >= give_up:
        return Alternative(row, (), give_up - plan.cost)
    return Alternative(row, order_of(first), float(cost[first]) - plan.cost)


@dataclass(frozen=True, slots=True)
class Holds:
    """The least and greatest factor tried at which the same springs stay best; None where even the last tried does."""

    down_to: float | None
    up_to: float | None


def holds(choice: Choice, rule: Rule, moved: Callable[[float], Choice]) -> Holds:
    """How far something may be multiplied before other springs are best; `moved(factor)` is the choice then."""
    order = best_plan(choice, rule, exact=0, wider=QUICK).order
    return Holds(_last_same(order, rule, moved, -1), _last_same(order, rule, moved, 1))


def fewer(plan: Plan, rule: Rule) -> tuple[Choice, Rule]:
    """The choice with one spring of each supplier in each cell of 1 %, the order's own among them; the rest go.

    Quick to solve again and again: what goes is the like of what stays, and postage stands as the order pays it,
    since following it with the order's value takes ten times as long. The rule names the same springs.
    """
    choice = plan.table.choice
    rows = one_a_cell(choice.offered, choice.weights.overpower)
    cell = choice.offered.on_wider_grid(10).edge * len(choice.terms) + choice.offered.supplier
    ours = np.array(list(dict.fromkeys([*plan.order, *rule.must])), dtype=np.intp)
    kept = np.concatenate([ours, rows[~np.isin(cell[rows], cell[ours])]])
    must = tuple(int(np.flatnonzero(ours == row)[0]) for row in rule.must)
    return replace(choice, offered=choice.offered.take(kept), terms=_as_paid(plan)), replace(rule, must=must)


def _as_paid(plan: Plan) -> tuple[Terms, ...]:
    """Each supplier's terms with the postage that the plan's order pays, or its dearest where nothing is ordered."""
    choice, order = plan.table.choice, np.array(plan.order, dtype=np.intp)
    from_here = [order[choice.offered.supplier[order] == number] for number in range(len(choice.terms))]
    worth = [float(choice.offered.listed[rows].sum()) for rows in from_here]
    return tuple(
        Terms(float(terms.charge(value)) if len(rows) else terms.postage, waits=terms.waits)
        for terms, rows, value in zip(choice.terms, from_here, worth, strict=True)
    )


def _last_same(order: Order, rule: Rule, moved: Callable[[float], Choice], way: int) -> float | None:
    last = 1.0
    for step in STEPS:
        if best_plan(moved(step**way), rule, exact=0, wider=QUICK).order != order:
            return last
        last = step**way
    return None


@dataclass(frozen=True, slots=True)
class Rival:
    """A plan that does better than the chosen one when springs are not quite what the list says."""

    order: Order
    seen: Restored
    saves: float
    error: float


def rivals(plan: Plan, rule: Rule, doubt: Doubt, number: int = 20) -> tuple[Restored, Rival | None]:
    """What the plan costs with springs as they are, and the best of the cheapest `number` plans if it does better.

    All plans meet the same movements and the same springs, so that their difference is known closely.
    """
    choice = plan.table.choice
    chosen = restorers(choice, chain(plan, plan.order), doubt, sent_before=plan.sent)
    best: Rival | None = None
    for order in cheapest_orders(plan, rule, number):
        if order == plan.order:
            continue
        seen = restorers(choice, chain(plan, order), doubt, sent_before=plan.sent)
        saved = chosen.costs - seen.costs
        rival = Rival(order, seen, float(saved.mean()), float(saved.std() / np.sqrt(len(saved))))
        if rival.saves > ERRORS * rival.error and (best is None or rival.saves > best.saves):
            best = rival
    return chosen, best


def cheapest_orders(plan: Plan, rule: Rule, number: int) -> Sequence[Order]:
    """The cheapest first orders, cheapest first."""
    found = [
        priced
        for start in starts(plan.table, plan.to_go, rule)
        for priced in best_orders(
            start.table, start.found, start.sent, counts=start.counts, limit=start.limit, number=number
        )
    ]
    return [order for _, order in sorted(found)[:number]]
