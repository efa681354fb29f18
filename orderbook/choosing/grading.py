"""The graded order: two or three springs to try, weakest first, at the least expected cost over all rounds."""

from __future__ import annotations

import itertools
from collections.abc import Callable
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import TYPE_CHECKING, Any, ClassVar

import numpy as np

from orderbook.barrel.barrel import Barrel
from orderbook.barrel.rods import ABSOLUTE_SHARE
from orderbook.barrel.springs_seen import spring_said
from orderbook.catalogue import Catalogue, CatalogueReading
from orderbook.choosing.belief import cell_edges, start_belief
from orderbook.choosing.bench import Bench
from orderbook.choosing.chain import PlanOutcome, Stage, account, chain
from orderbook.choosing.evidence import weigh
from orderbook.choosing.explaining import explained
from orderbook.choosing.options import Options
from orderbook.choosing.policies import Policy, policies
from orderbook.choosing.ranking import (
    Considered,
    consider,
    counts_of,
    reference_dict,
    remarks,
    spring_dict,
    unfit_dict,
    weights_dict,
)
from orderbook.choosing.reasons import Alternative, Holds, Rival, alternatives, fewer, holds, rivals
from orderbook.choosing.restorers import Doubt, Restored
from orderbook.choosing.rod_worth import Worth, worth_of_rod_test
from orderbook.choosing.rounds import Rule
from orderbook.choosing.table import Choice
from orderbook.errors import Finding, finding, spelled
from orderbook.mechanics import Reference
from orderbook.shown import Drawn

if TYPE_CHECKING:
    from pandas import DataFrame

HOLD_BACK = {
    "strength_not_the_fault": "Order nothing yet: the strength is probably not the fault.",
    "spring_ran_well": "Keep the spring that ran well ({said}): a stronger one would only load more.",
    "no_spring_is_the_cure": "Order nothing yet: probably no spring in this barrel is the cure.",
    "nearly_strongest_too_weak": "Order nothing yet: a spring nearly as strong as this barrel can use was too weak.",
    "nothing_stronger": "Order nothing from these lists: none of their springs drives more than one that was too weak.",
}
ROD_FIRST = "Do a rod test first: it saves more than it takes. Note it (⟨rod⟩) and ask again. Else:"
ROD_FROM_MM = 25.0  # least bore of a movement with a square a rod can be put on: common practice, no source
RATIO_U = 0.07  # of a rod test that compares what the spring gives with what just drives the train
PLACES_TO_LOOK = (  # the usual list: common practice, no source
    "Look for friction first: endshake and side shake of every pivot, depthing, bent or worn pivots, thick or old oil, "
    "the escapement, the chain or gut, hands that touch."
)


@dataclass(frozen=True, slots=True, repr=False)
class Grading(Drawn):
    """The graded order and all that is said with it: `stages` as a data frame, `next_action`, `findings`.

    `marked_action` is what to do next with the names of inputs marked; `next_action` spells them.

    >>> import orderbook
    >>> from orderbook.locate import data_folder
    >>> barrel = orderbook.Barrel(bore=15.6, arbor=5.2, depth=3.1, used=3.5).tried("2.9 x 0.15 x 560", "too weak")
    >>> order = orderbook.grade(barrel, data_folder("demo_catalog") / "supplier_north_watch.csv")
    >>> list(order.stages.columns[:5])
    ['stage', 'supplier', 'item', 'width_mm', 'strength_mm']
    >>> order.next_action
    'Order Supplier North ...'
    """

    shown_words: ClassVar[str] = "orderbook.reports.choice_tables:grading_text"
    shown_picture: ClassVar[str] = "orderbook.reports.belief_figure:draw"
    shown_key: ClassVar[str] = "stages"
    shown_columns: ClassVar[tuple[str, ...]] = (
        "stage", "supplier", "item", "width_mm", "strength_mm", "length_mm", "trim_to_mm", "drive_index", "load_index",
        "step_percent", "chance_it_is_the_one", "price", "currency", "why",
    )  # fmt: skip

    considered: Considered
    account: PlanOutcome
    policies: tuple[Policy, ...]
    seen: Restored | None
    alternatives: tuple[Alternative, ...]
    sensitivity: tuple[tuple[str, Holds], ...]
    rod_test: Worth | None
    marked_action: str
    findings: tuple[Finding, ...]

    @property
    def currency(self) -> str:
        """The money of the answer; empty where no list has prices."""
        return self.considered.offer.currency

    @property
    def reference(self) -> Reference:
        """The strongest useful spring of the barrel, whose drive and load are 100 %."""
        return self.considered.reference

    @property
    def next_action(self) -> str:
        """What to do next."""
        return spelled(self.marked_action)

    @property
    def stages(self) -> DataFrame:
        """The springs to order as a data frame, weakest first."""
        return self.to_frame()

    @property
    def fittings(self) -> tuple[Stage, ...]:
        """Fittings of the first order, weakest first."""
        return tuple(stage for stage in self.account.stages if stage.order == 0)

    @property
    def chance_of_a_fit(self) -> float:
        """Chance that the order contains a spring that is just strong enough, trials taken as exact."""
        return self.account.chance_of_a_fit[0] if self.account.chance_of_a_fit else 0.0

    @property
    def expected_overpower_percent(self) -> float:
        """How far, on average, the kept spring of this order loads above the need, in per cent of the need."""
        fits = sum(stage.fits for stage in self.fittings)
        return 100 * sum(stage.mean_overpower for stage in self.fittings) / fits if fits > 0 else 0.0

    def belief_points(self, points: int = 120) -> list[tuple[float, float, float]]:
        """Points of the picture: drive index, and the chance per per cent of index before and after what was seen."""
        c = self.considered
        edges, before = cell_edges(), start_belief(spread=c.spread).p
        index = 100 * np.exp(edges)
        cuts = np.searchsorted(index, np.linspace(35, 165, points + 1))
        found = []
        for low, high in pairwise(cuts.tolist()):
            width = float(index[high] - index[low])
            was, now = (float(p[low:high].sum()) / width for p in (before, c.weighed.belief.p))
            found.append((float(index[low] + index[high]) / 2, was, now))
        return found

    def stage_dicts(self) -> list[dict[str, Any]]:
        """The stages as JSON keys of `grade`."""
        return [self._stage(number) for number in range(len(self.fittings))]

    def as_dict(self, *, explain: bool = False) -> dict[str, Any]:
        """The JSON keys of `grade`; with `explain` all that recomputes the optimum outside."""
        c = self.considered
        low, high = c.weighed.belief.interval_index()
        answer = {
            "stages": self.stage_dicts(),
            "chance_of_a_fit": self.chance_of_a_fit,
            "expected_overpower_percent": self.expected_overpower_percent,
            "expected_cost": c.money(self.seen.cost if self.seen else self.account.cost),
            "planned_cost": c.money(c.plan.cost),
            "need_low": low,
            "need_high": high,
            "need_median": c.weighed.belief.median_index,
            "start_spread": c.spread,
            "policies": [_policy_dict(c, one) for one in self.policies],
            "why_these": [self._alternative(one) for one in self.alternatives],
            "sensitivity": [{"what": w, "down_to": h.down_to, "up_to": h.up_to} for w, h in self.sensitivity],
            "rod_test": self._rod_test(),
            "next_action": self.next_action,
            "reference": reference_dict(c.reference),
            "currency": c.offer.currency,
            "weights": weights_dict(c),
            **counts_of(c),
            "do_not_go_in": [unfit_dict(c, one) for one in c.offer.unfit],
            "findings": [f.as_dict() for f in self.findings],
        }
        return answer | (explained(c) if explain else {})

    def _alternative(self, one: Alternative) -> dict[str, Any]:
        c = self.considered
        items = [str(c.offer.row(i)["item"]) for i in one.order]
        without = c.offer.row(one.row)["item"]
        return {"without": without, "best_then": items, "costs_more": c.money(one.costs_more)}

    def _rod_test(self) -> dict[str, Any] | None:
        if self.rod_test is None:
            return None
        money = self.considered.money
        return {
            "saves": money(self.rod_test.saves),
            "takes": money(self.rod_test.takes),
            "pays": self.rod_test.pays,
        }

    def _stage(self, number: int) -> dict[str, Any]:
        c, stage = self.considered, self.fittings[number]
        drive = c.offer.fits.drive_index
        before = drive[self.fittings[number - 1].row] if number else None
        return {
            "stage": number + 1,
            **spring_dict(c, stage.row),
            "step_percent": None if before is None else float(100 * (drive[stage.row] / before - 1)),
            "chance_it_is_the_one": stage.fits,
            "cost_share": c.money(stage.price + stage.fitting + stage.overpower),
            "why": _why(self, number),
        }


def grade(barrel: Barrel | Bench, springs: Catalogue | CatalogueReading, options: Options | None = None) -> Grading:
    """Springs to order now, weakest first; weights, belief and what would come after are part of the answer.

    Raises: OrderbookError as `consider`.
    """
    return grading_of(consider(barrel, springs, options))


def stages_of(c: Considered) -> Grading:
    """Graded order alone, for a cell that must answer at once: no rivals, no alternatives, no sensitivity."""
    held_back = () if c.options.even_so else held_back_by(c.findings)
    order = () if held_back else _order(c)
    told = account(c.choice, chain(c.plan, order), c.offer.lead_days, sent_before=c.plan.sent)
    findings = c.findings + _about_the_order(c, order, bool(held_back))
    return Grading(c, told, (), None, (), (), None, _next_action(c, order, held_back, None), findings)


def held_back_by(findings: tuple[Finding, ...]) -> tuple[str, ...]:
    """Codes of the findings for which no order is shown, the weightiest first."""
    codes = {found.code for found in findings}
    return tuple(code for code in HOLD_BACK if code in codes)


def grading_of(c: Considered) -> Grading:
    """Graded order from what was already considered."""
    alone = stages_of(c)
    if not alone.fittings:
        return alone
    told, findings, order = alone.account, alone.findings, _order(c)
    plan = replace(c.plan, order=order)
    seen, rival = rivals(plan, c.rule, _doubt(c))
    if rival is not None:
        findings += (_about_a_rival(c, rival),)
    few, rule = fewer(plan, c.rule)
    rod = _rod_test(c, few, rule)
    return Grading(
        c,
        told,
        policies(plan, c.offer.lead_days),
        seen,
        alternatives(plan, c.rule),
        _sensitivity(c, few, rule),
        rod,
        _next_action(c, order, (), rod),
        findings,
    )


def _rod_test(c: Considered, few: Choice, rule: Rule) -> Worth | None:
    """What a rod test would save, where one can be made and none was; the fitted spring makes it a ratio."""
    if c.bench.rods or c.bench.bore_mm < ROD_FROM_MM:
        return None
    return worth_of_rod_test(few, rule, RATIO_U if c.bench.tried else ABSOLUTE_SHARE)


def _sensitivity(c: Considered, few: Choice, rule: Rule) -> tuple[tuple[str, Holds], ...]:
    """How far λ, the spread before any trial and the bench time may be multiplied with the same springs best."""

    def weights(name: str) -> Callable[[float], Choice]:
        return lambda factor: replace(few, weights=few.weights.scaled(**{name: factor}))

    def spread(factor: float) -> Choice:
        start = start_belief(spread=min(1.0, max(0.01, c.spread * factor)))
        return replace(few, belief=weigh(start, c.seen).belief)

    moved = {"overpower": weights("overpower"), "spread": spread, "trial": weights("trial")}
    return tuple((name, holds(few, rule, choice)) for name, choice in moved.items())


def _about_a_rival(c: Considered, rival: Rival) -> Finding:
    items = ", ".join(str(c.offer.row(i)["item"]) for i in rival.order)
    saw = f"{items} would cost {c.money(rival.saves)} ± {c.money(2 * rival.error)} less with springs as they are"
    return finding("another_plan_does_better", where="stages", saw=saw)


def _order(c: Considered) -> tuple[int, ...]:
    """The order to show: the best plan's, or, where the user insists, the best order although giving up costs less."""
    cost = c.plan.cost_by_first
    if c.plan.order or not (c.options.must or c.options.even_so) or not np.isfinite(cost).any():
        return c.plan.order
    return c.plan.order_of(int(cost.argmin()))


def _doubt(c: Considered) -> Doubt:
    return Doubt(c.offer.fits.own_u, c.offer.fits.common_u)


def _about_the_order(c: Considered, order: tuple[int, ...], held_back: bool) -> tuple[Finding, ...]:
    findings: list[Finding] = []
    if not c.plan.order and not held_back and np.isfinite(c.plan.cost_by_first).any():
        least = float(c.plan.cost_by_first.min())
        saw = f"the best order would cost {c.money(least)}, giving up {c.money(c.weights.give_up)}"
        findings.append(finding("nothing_worth_ordering", where="order", saw=saw))
    for before, after in itertools.pairwise(order):
        step = c.offer.springs.drive[after] - c.offer.springs.drive[before]
        together = 2 * float(np.hypot(c.offer.fits.own_u[before], c.offer.fits.own_u[after]))
        if step < together:
            items = " and ".join(str(c.offer.row(i)["item"]) for i in (before, after))
            saw = f"{items} are {100 * np.expm1(step):.0f} % apart, their ± together {100 * together:.0f} %"
            findings.append(finding("step_within_doubt", where="stages", saw=saw))
    return tuple(findings)


def _next_action(c: Considered, order: tuple[int, ...], held_back: tuple[str, ...], rod: Worth | None) -> str:
    if held_back and held_back[0] == "spring_ran_well":
        return HOLD_BACK[held_back[0]].format(said=spring_said(c.bench.tried[-1].said))
    if held_back:
        return f"{HOLD_BACK[held_back[0]]} {PLACES_TO_LOOK} If all is free, doubt the verdict you trust least."
    if not order:
        return "Order nothing from these lists." if len(c.offer.fits) else "Look at the springs that come nearest."
    first = f"{ROD_FIRST} " if rod is not None and rod.pays else ""
    return first + _order_words(c, order)


def _order_words(c: Considered, order: tuple[int, ...]) -> str:
    if c.offer.is_owned(order[0]) and all(c.offer.is_owned(i) for i in order):
        owned = c.offer.owned(order[0])
        from_where = "from the drawer" if owned and owned.place == "drawer" else "that has come"
        return f"Fit {c.offer.row(order[0])['item']} {from_where}."
    names = [f"{c.offer.row(i)['supplier']} {c.offer.row(i)['item']}" for i in order if not c.offer.is_owned(i)]
    first = c.offer.row(order[0])["item"]
    return f"Order {', '.join(names)}; fit {first} first, and stop at the first that runs well."


def _why(grading: Grading, number: int) -> str:
    c, stages = grading.considered, grading.fittings
    stage = stages[number]
    if number == 0:
        words = "weakest worth trying" if len(stages) > 1 else "the one spring worth trying"
    elif number == len(stages) - 1:
        words = "strongest worth having at hand"
    else:
        words = "next step up"
    over = 100 * stage.mean_overpower / stage.fits if stage.fits > 0 else 0.0
    if c.offer.fits.load_index[stage.row] > 100:
        words += "; loads more than the strongest useful spring: fit it only after a rod test"
    return "; ".join([words, f"if it is the one, loads {over:.0f} % above the need", *remarks(c, stage.row)])


def _policy_dict(c: Considered, one: Policy) -> dict[str, Any]:
    return {
        "policy": one.policy,
        "expected_cost": c.money(one.account.cost),
        "expected_days": one.account.days,
        "chance_second_order": one.account.chance_second_order,
    }
