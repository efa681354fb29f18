"""Why these springs: what each is worth, how far the weights may move, what other plans and a rod test would do."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from orderbook.choosing.belief import LOWEST, Belief, Floats, cell_edges, cell_middles, start_belief
from orderbook.choosing.chain import Policy, chain, policies
from orderbook.choosing.considering import Considered
from orderbook.choosing.evidence import weigh
from orderbook.choosing.normal import normal_below
from orderbook.choosing.objective import Choice, given_up, used_by
from orderbook.choosing.parcels import best_orders
from orderbook.choosing.postage import Terms
from orderbook.choosing.restorers import Doubt, Restored, restorers
from orderbook.choosing.rounds import Order, Plan, Rule, best_plan, first_orders, start_of
from orderbook.choosing.table import one_a_cell
from orderbook.errors import Finding, finding

STEPS = (1.25, 1.5, 2.0, 3.0)  # how far a weight is moved, up and down, to see whether the order changes
QUICK = 25  # cells of the grid for what comes after the first order, where it is solved again and again: 2.4 %
ERRORS = 3.0  # standard errors by which another plan must do better to be named
OUTCOMES = 8  # kinds of result told apart; a finer reading can only be worth more
TIME = 0.5  # of the bench time of one fitting: common practice, no source


@dataclass(frozen=True, slots=True)
class Reasons:
    """Ways of ordering the same choice, the cost with springs as they are, what each spring is worth, what may move."""

    policies: tuple[Policy, ...]
    seen: Restored
    rival: Rival | None
    alternatives: tuple[Alternative, ...]
    sensitivity: tuple[tuple[str, Holds], ...]

    def findings(self, c: Considered) -> tuple[Finding, ...]:
        """Whether another plan does better with springs as they are."""
        if self.rival is None:
            return ()
        items = ", ".join(str(c.offer.row(i)["item"]) for i in self.rival.order)
        better, error = c.score(self.rival.saves), 2 * c.score(self.rival.error)
        saw = f"{items} would score {better:.1f} ± {error:.1f} better with springs as they are"
        return (finding("another_plan_does_better", where="stages", saw=saw),)

    def as_dict(self, c: Considered) -> dict[str, Any]:
        """The JSON keys."""
        return {
            "policies": [_policy_dict(c, one) for one in self.policies],
            "why_these": [_alternative_dict(c, one) for one in self.alternatives],
            "sensitivity": [{"what": w, "down_to": h.down_to, "up_to": h.up_to} for w, h in self.sensitivity],
        }


def reasons_of(c: Considered, order: Order) -> Reasons:
    """Work out why these springs, for an order of the plan."""
    plan = replace(c.plan, order=order)
    fits = c.offer.fits
    doubt = Doubt(fits.own_u, fits.common_u, fits.load_own_u, fits.load_common_u)
    seen, rival = rivals(plan, c.rule, doubt)
    few, rule = fewer(plan, c.rule)
    return Reasons(policies(plan), seen, rival, alternatives(plan, c.rule), _sensitivity(c, few, rule))


def _sensitivity(c: Considered, few: Choice, rule: Rule) -> tuple[tuple[str, Holds], ...]:
    """How far λ, the start of the need, its spread and the bench time may be multiplied with the same springs best."""

    def weights(name: str) -> Callable[[float], Choice]:
        return lambda factor: replace(few, weights=few.weights.scaled(**{name: factor}))

    def started(median: float, spread: float) -> Choice:
        median = min(max(median, 101 * LOWEST), 300.0)
        begin = start_belief(median, min(1.0, max(0.01, spread)))
        seen = c.seen if c.first is None else (*c.seen, c.first.evidence)
        return replace(few, belief=weigh(begin, seen, few.enough).belief)

    moved = {
        "overpower": weights("lambda"),
        "need": lambda factor: started(c.start.median * factor, c.start.spread),
        "spread": lambda factor: started(c.start.median, c.start.spread * factor),
        "trial": weights("trial"),
    }
    return tuple((name, holds(few, rule, choice)) for name, choice in moved.items())


def _policy_dict(c: Considered, one: Policy) -> dict[str, Any]:
    return {
        "policy": one.policy,
        "expected_cost": c.money(one.account.cost),
        "score": c.score(one.account.cost),
        "expected_days": one.account.days,
        "chance_second_order": one.account.chance_second_order,
    }


def _alternative_dict(c: Considered, one: Alternative) -> dict[str, Any]:
    items = [str(c.offer.row(i)["item"]) for i in one.order]
    told = {"without": c.offer.row(one.row)["item"], "best_then": items, "costs_more": c.money(one.costs_more)}
    return told | {"score_more": c.score(one.costs_more)}


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
    give_up = given_up(plan.table.choice)
    if cost[first] >= give_up:
        return Alternative(row, (), give_up - plan.cost)
    return Alternative(row, order_of(first), max(0.0, float(cost[first]) - plan.cost))


@dataclass(frozen=True, slots=True)
class Holds:
    """The least and greatest factor tried at which the same springs stay best; None where even the last tried does."""

    down_to: float | None
    up_to: float | None


def holds(choice: Choice, rule: Rule, moved: Callable[[float], Choice]) -> Holds:
    """How far something may be multiplied before other springs are best; `moved(factor)` is the choice then."""
    order = best_plan(choice, rule, exact=0, wider=QUICK).order
    return Holds(_last_same(order, rule, moved, -1), _last_same(order, rule, moved, 1))


def _last_same(order: Order, rule: Rule, moved: Callable[[float], Choice], way: int) -> float | None:
    last = 1.0
    for step in STEPS:
        if best_plan(moved(step**way), rule, exact=0, wider=QUICK).order != order:
            return last
        last = step**way
    return None


def fewer(plan: Plan, rule: Rule) -> tuple[Choice, Rule]:
    """The choice with one spring of each supplier in each cell of 1 %, the order's own among them; the rest go.

    Quick to solve again and again: what goes is the like of what stays, and postage stands as the order pays it,
    since following it with the order's value takes ten times as long. The rule names the same springs.
    """
    choice = plan.table.choice
    rows = one_a_cell(choice)
    cell = choice.offered.on_wider_grid(10).edge * len(choice.terms) + choice.offered.supplier
    ours = np.array(list(dict.fromkeys([*plan.order, *rule.must])), dtype=np.intp)
    kept = np.concatenate([ours, rows[~np.isin(cell[rows], cell[ours])]])
    must = tuple(int(np.flatnonzero(ours == row)[0]) for row in rule.must)
    few = replace(choice, offered=choice.offered.take(kept), terms=_as_paid(plan))
    return few, replace(rule, must=must, near_tie=0.0)


def _as_paid(plan: Plan) -> tuple[Terms, ...]:
    """Each supplier's terms with the postage that the plan's order pays, or its dearest where nothing is ordered."""
    choice = plan.table.choice
    used, worth = used_by(choice, plan.order)
    return tuple(
        terms.flat(float(terms.charge(worth[number])) if used[number] else terms.postage)
        for number, terms in enumerate(choice.terms)
    )


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
    chosen = restorers(choice, chain(plan, plan.order), doubt)
    best: Rival | None = None
    for _, order in cheapest_orders(plan, rule, number):
        if order == plan.order:
            continue
        seen = restorers(choice, chain(plan, order), doubt)
        saved = chosen.costs - seen.costs
        rival = Rival(order, seen, float(saved.mean()), float(saved.std() / np.sqrt(len(saved))))
        if rival.saves > ERRORS * rival.error and (best is None or rival.saves > best.saves):
            best = rival
    return chosen, best


def cheapest_orders(plan: Plan, rule: Rule, number: int) -> Sequence[tuple[float, Order]]:
    """The cheapest first orders with what they cost over all rounds, cheapest first."""
    start = start_of(plan.table, plan.to_go, rule)
    return best_orders(start.table, start.found, start.sending, counts=start.counts, limit=start.limit, number=number)


@dataclass(frozen=True, slots=True)
class Worth:
    """Expected saving of a measurement, and its bench time, both in money."""

    saves: float
    takes: float

    @property
    def pays(self) -> bool:
        """Whether it saves more than it takes."""
        return self.saves > self.takes


def worth_of_rod_test(choice: Choice, rule: Rule, spread: float) -> Worth:
    """What a rod test of standard uncertainty `spread` (in ln) would save on average before anything is ordered.

    Σ over results of P(result)·(least cost now − least cost knowing it); results are ranges of equal chance of
    the reading x + normal(0, spread), so what is found is a little less than the whole worth, never more.

    Source: expected value of sample information (Raiffa & Schlaifer, 1961, MEMORY, print not re-seen).
    """
    now = best_plan(choice, rule, exact=0, wider=QUICK).least
    told = results(choice.belief, spread)
    later = sum(
        float(chances @ choice.belief.p)
        * best_plan(replace(choice, belief=Belief(choice.belief.p * chances)), rule, exact=0, wider=QUICK).least
        for chances in told
    )
    return Worth(max(0.0, now - later), TIME * choice.weights["trial"])


def results(belief: Belief, spread: float, number: int = OUTCOMES) -> Floats:
    """Chance of each range of the reading at each cell of the belief; the ranges are about as likely as each other."""
    edges, middles = cell_edges(), cell_middles()
    readings = np.linspace(edges[0] - 4 * spread, edges[-1] + 4 * spread, 240)
    below = normal_below((readings[:, None] - middles) / spread) @ belief.p
    cuts = np.interp(np.arange(1, number) / number, below, readings)
    steps = [np.zeros_like(middles), *normal_below((cuts[:, None] - middles) / spread), np.ones_like(middles)]
    return np.asarray(np.diff(np.stack(steps), axis=0))
