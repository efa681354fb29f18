"""A plan followed to its end: what is ordered after what, where the expected cost comes from, and other ways of it.

After every spring that fails there is one next thing to do, so a plan is one chain of orders that ends in giving up.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from orderbook.choosing.belief import Floats
from orderbook.choosing.objective import TERMS, Choice, excess, parts_due, used_by
from orderbook.choosing.rounds import Order, Plan, Rule, best_plan
from orderbook.choosing.table import chance_above

BENCH_DAYS = 0.5  # one fitting: let down, open, fit, close, run; common practice, no source
TOO_STRONG = 1.25  # times the load that is needed, from which a spring is too strong; common practice, no source
PARTS = tuple(dict.fromkeys(term.name for term in TERMS))


@dataclass(frozen=True, slots=True)
class Stage:
    """One fitting on a chain: which order it belongs to, the chance that it is reached and that it is the one.

    `too_strong` is the part of `fits` where it loads 25 % and more above what is needed; `mean_overpower` how far it
    loads above that, as a share, weighed with the chance that it is kept. `parts` is what this spring costs by term.
    """

    order: int
    row: int
    reached: float
    fits: float
    too_strong: float
    mean_overpower: float
    parts: Mapping[str, float]

    @property
    def cost(self) -> float:
        """What this spring costs on average."""
        return sum(self.parts.values())


@dataclass(frozen=True, slots=True)
class PlanOutcome:
    """The expected cost of a chain by what it is for (`parts` add up to `cost`), and how it may end."""

    orders: tuple[Order, ...]
    stages: tuple[Stage, ...]
    parts: Mapping[str, float]
    chance_of_a_fit: tuple[float, ...]
    chance_given_up: float
    chance_second_order: float
    days: float

    @property
    def cost(self) -> float:
        """Expected cost over all rounds."""
        return sum(self.parts.values())


def chain(plan: Plan, first: Order) -> tuple[Order, ...]:
    """Orders of a plan that begins with `first`, each made when the one before has failed."""
    orders, offered = [first] if first else [], plan.table.choice.offered
    while orders and orders[-1]:
        state = int(np.searchsorted(plan.table.edges, offered.edge[orders[-1][-1]]))
        orders.append(plan.to_go.order[state] if state < len(plan.to_go.order) else ())
    return tuple(order for order in orders if order)


def account(choice: Choice, orders: Sequence[Order]) -> PlanOutcome:
    """Expected cost of following `orders` one after the other, then giving up, by what it is for.

    Days: a spring's fitting takes half a day; an order the days of the slowest of its suppliers.
    """
    above = chance_above(choice.belief)
    parts = dict.fromkeys(PARTS, 0.0)
    stages: list[Stage] = []
    fits: list[float] = []
    days, second, sent_for, state = 0.0, 0.0, 0, 0
    for number, order in enumerate(orders):
        chance, begun = float(above[state]), state
        used, worth = used_by(choice, order)
        _add(parts, parts_due(choice, "sent", used, worth), chance)
        took = max((terms.days for terms, goes in zip(choice.terms, used.tolist(), strict=True) if goes), default=0.0)
        if not choice.offered.owned[list(order)].all():
            sent_for += 1
            second = chance if sent_for == 2 else second
        days += chance * took
        for row in order:
            stages.append(_stage(choice, above, number, row, begun, state))
            _add(parts, stages[-1].parts, 1.0)
            state = int(choice.offered.edge[row])
        fits.append(float(above[begun] - above[state]) if begun else 1 - float(above[state]))
    days += BENCH_DAYS * sum(stage.reached for stage in stages)
    left = float(above[state])
    _add(parts, parts_due(choice, "given up"), left)
    return PlanOutcome(tuple(orders), tuple(stages), parts, tuple(fits), left, second, days)


def _add(parts: dict[str, float], more: Mapping[str, Floats | float], chance: float) -> None:
    for name, value in more.items():
        parts[name] += float(value) * chance


def _stage(choice: Choice, above: Floats, number: int, row: int, begun: int, state: int) -> Stage:
    offered, rows = choice.offered, np.array([row])
    edge, load = int(offered.edge[row]), float(offered.load[row])
    reached = float(above[state])
    parts: dict[str, float] = {}
    for due, chance in (("ordered", float(above[begun])), ("fitted", reached)):
        for name, cost in parts_due(choice, due, rows).items():  # type: ignore[arg-type]
            parts[name] = parts.get(name, 0.0) + float(cost[0]) * chance
    for name, over in parts_due(choice, "kept").items():
        cost = over.up_to(np.array([edge, state]), np.array([load, load]))
        parts[name] = parts.get(name, 0.0) + float(cost[0] - cost[1])
    cells = np.arange(state, edge)
    over, p = excess(choice, cells, np.array(load)), choice.belief.p[cells]
    too_strong = float(p[over >= TOO_STRONG - 1].sum())
    fits = reached - float(above[edge])
    return Stage(number, row, reached, fits, too_strong, float((over * p).sum()), parts)


@dataclass(frozen=True, slots=True)
class Policy:
    """A way of ordering, in words, and its account."""

    policy: str
    account: PlanOutcome


def policies(plan: Plan) -> tuple[Policy, ...]:
    """Outcome of the graded order sent for at once, of one spring at a time, and of its last stage held back.

    One at a time is the best plan whose orders hold one spring each; it need not buy the same springs.
    """
    choice, order = plan.table.choice, plan.order
    if not order:
        return ()
    told = [Policy("all at once", account(choice, chain(plan, order)))]
    if len(order) > 2:
        held = (order[:-1], order[-1:], *chain(plan, order)[1:])
        told.append(Policy("the last one only if needed", account(choice, held)))
    singly = best_plan(replace(choice, most=1), Rule(near_tie=0.0))
    if singly.order:
        told.append(Policy("one at a time", account(choice, chain(singly, singly.order))))
    return tuple(told)
