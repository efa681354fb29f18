"""A plan followed to its end: what is ordered after what, and where the expected cost comes from.

After every spring that fails there is one next thing to do, so a plan is one chain of orders that ends in giving up.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from orderbook.choosing.belief import Belief, Floats, cell_middles
from orderbook.choosing.followed_cost import waited_for
from orderbook.choosing.overpower import Overpower, overpower
from orderbook.choosing.rounds import Order, Plan
from orderbook.choosing.table import Choice, chance_above, charged, ordered_cost

BENCH_DAYS = 0.5  # one fitting: let down, open, fit, close, run; common practice, no source
POST_DAYS = 7.0  # where a supplier's lead time is not known; common practice, no source


@dataclass(frozen=True, slots=True)
class Stage:
    """One fitting on a chain: which order it belongs to, the chance that it is reached and that it is the one."""

    order: int
    row: int
    reached: float
    fits: float
    fitting: float
    price: float
    overpower: float
    mean_overpower: float


@dataclass(frozen=True, slots=True)
class PlanOutcome:
    """The expected cost of a chain by what it is for; the parts add up to `cost`."""

    orders: tuple[Order, ...]
    stages: tuple[Stage, ...]
    postage: float
    delay: float
    give_up: float
    chance_of_a_fit: tuple[float, ...]
    chance_given_up: float
    chance_second_order: float
    days: float

    @property
    def cost(self) -> float:
        """Expected cost over all rounds."""
        return self.postage + self.delay + self.give_up + self.price + self.fitting + self.overpower

    @property
    def price(self) -> float:
        """Expected loss on springs: those tried at their price, those not needed at what they do not keep."""
        return sum(stage.price for stage in self.stages)

    @property
    def fitting(self) -> float:
        """Expected bench time."""
        return sum(stage.fitting for stage in self.stages)

    @property
    def overpower(self) -> float:
        """Expected cost of the kept spring being stronger than the need."""
        return sum(stage.overpower for stage in self.stages)

    def parts(self) -> dict[str, float]:
        """Return the cost by what it is for."""
        names = ("price", "postage", "fitting", "overpower", "delay", "give_up")
        return {name: getattr(self, name) for name in names}


def chain(plan: Plan, first: Order) -> tuple[Order, ...]:
    """Orders of a plan that begins with `first`, each made when the one before has failed."""
    orders, choice = [first] if first else [], plan.table.choice
    sent = plan.sent or bool(first and waited_for(choice, first))
    while orders and orders[-1]:
        state = int(np.searchsorted(plan.table.edges, choice.offered.edge[orders[-1][-1]]))
        following = plan.to_go.order_later[state] if sent else plan.to_go.order_fresh[state]
        sent = sent or bool(following and waited_for(choice, following))
        orders.append(following)
    return tuple(order for order in orders if order)


def account(
    choice: Choice, orders: Sequence[Order], lead_days: Sequence[float] | None = None, *, sent_before: bool = False
) -> PlanOutcome:
    """Expected cost of following `orders` one after the other, then giving up, by what it is for.

    `sent_before`: something has been sent for already, so that every sending here costs the delay.
    Days: a spring's fitting takes half a day; an order the longest lead time of its suppliers.
    """
    above = chance_above(choice.belief)
    weights = choice.weights
    kept = overpower(choice.belief, weights.overpower, weights.give_up)
    postage = delay = days = 0.0
    stages: list[Stage] = []
    fits: list[float] = []
    state, sent, second = 0, int(sent_before), 0.0
    for number, order in enumerate(orders):
        chance, begun = float(above[state]), state
        postage += charged(choice, order) * chance
        if waited_for(choice, order):
            sent += 1
            delay += weights.delay * chance * (sent > 1)
            second = chance if sent == 2 else second
            days += chance * _longest(choice, order, lead_days)
        for row in order:
            stages.append(_stage(choice, kept, above, number, row, begun, state))
            state = int(choice.offered.edge[row])
        fits.append(float(above[begun] - above[state]) if begun else 1 - float(above[state]))
    days += BENCH_DAYS * sum(stage.reached for stage in stages)
    left = float(above[state])
    give_up = weights.give_up * left
    return PlanOutcome(tuple(orders), tuple(stages), postage, delay, give_up, tuple(fits), left, second, days)


def _stage(choice: Choice, kept: Overpower, above: Floats, number: int, row: int, begun: int, state: int) -> Stage:
    offered, weights = choice.offered, choice.weights
    edge, load = int(offered.edge[row]), float(offered.load[row])
    reached = float(above[state])
    bought = float(ordered_cost(choice, np.array([row]))[0]) * float(above[begun])
    used = weights.kept * float(offered.price[row]) / int(offered.pieces[row]) * reached
    cost = kept.up_to(np.array([edge, state]), np.array([load, load]))
    return Stage(
        number,
        row,
        reached,
        reached - float(above[edge]),
        weights.trial * reached,
        bought + used,
        float(cost[0] - cost[1]),
        mean_overpower(choice.belief, load, state, edge),
    )


def mean_overpower(belief: Belief, load: float, after: int, edge: int) -> float:
    """Mean of how far the load is above the need, as a fraction, weighted by the chance that this spring is kept."""
    cells = slice(after, edge)
    return float(np.sum(np.maximum(np.expm1(load - cell_middles()[cells]), 0) * belief.p[cells]))


def _longest(choice: Choice, order: Order, lead_days: Sequence[float] | None) -> float:
    waited = {s for s in choice.offered.supplier[list(order)].tolist() if choice.terms[s].waits}
    return max(POST_DAYS if lead_days is None else float(lead_days[s]) for s in waited)
