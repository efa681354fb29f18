"""The graded order: two or three springs to try, weakest first, at the least expected cost over all rounds."""

from __future__ import annotations

import itertools
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, ClassVar

import numpy as np

from orderbook.barrel.barrel import Barrel
from orderbook.barrel.rods import ABSOLUTE_SHARE
from orderbook.barrel.springs_seen import spring_said
from orderbook.catalogue import Catalogue, CatalogueReading
from orderbook.choosing.belief import cell_edges, start_belief
from orderbook.choosing.bench import Bench
from orderbook.choosing.candidates import DRAWER_NAME
from orderbook.choosing.chain import PlanOutcome, Stage, account, chain
from orderbook.choosing.considering import Considered, consider
from orderbook.choosing.explaining import explained, first_dict
from orderbook.choosing.limits import WIDE_ENOUGH
from orderbook.choosing.objective import charged, given_up, outlay
from orderbook.choosing.options import Options
from orderbook.choosing.reasons import Reasons, Worth, cheapest_orders, fewer, reasons_of, worth_of_rod_test
from orderbook.choosing.rounds import NEAR_TIE, Order, Rule, first_orders
from orderbook.choosing.said import (
    counts_of,
    need_dict,
    reference_dict,
    remarks,
    spring_dict,
    unfit_dict,
    weights_dict,
)
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
THIN = 1.25  # times the drive: a list with such a step between its springs is thin there; common practice, no source
NUMBERS = ("no", "one", "two", "three", "four", "five")


@dataclass(frozen=True, slots=True, repr=False)
class Grading(Drawn):
    """The graded order and all that is said with it: `stages` as a data frame, `next_action`, `findings`.

    `fittings` are the springs to order or to fit from what is at hand. Where more set-up comes first, they follow if it
    does not do; `first_action` says it then. Both it and `then` have the names of inputs marked; `next_action` spells
    them. What takes long and is not part of the order is in `reasons`.

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
    rod_test: Worth | None
    first_action: str
    then: str
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
    def marked_action(self) -> str:
        """What to do next, with the names of inputs marked."""
        return f"{self.first_action} {self.then}".strip()

    @property
    def next_action(self) -> str:
        """What to do next, in words."""
        return spelled(self.marked_action)

    @property
    def stages(self) -> DataFrame:
        """The springs to order as a data frame, weakest first."""
        return self.to_frame()

    def shown_rows(self) -> list[dict[str, Any]]:
        """Return the stages as their JSON keys."""
        return self.stage_dicts()

    @property
    def fittings(self) -> tuple[Stage, ...]:
        """Fittings of the first order, weakest first."""
        return tuple(stage for stage in self.account.stages if stage.order == 0)

    @property
    def order(self) -> Order:
        """Candidates of the first order, weakest first."""
        return tuple(stage.row for stage in self.fittings)

    @property
    def chance_of_a_fit(self) -> float:
        """Chance that the order contains a spring that is strong enough, trials taken as exact."""
        return self.account.chance_of_a_fit[0] if self.account.chance_of_a_fit else 0.0

    @property
    def chance_too_strong(self) -> float:
        """Chance that the weakest of them that is strong enough loads 25 % and more above what is needed."""
        return sum(stage.too_strong for stage in self.fittings)

    @property
    def chance_right(self) -> float:
        """Chance that one of them is strong enough and not too strong."""
        return self.chance_of_a_fit - self.chance_too_strong

    @property
    def expected_overpower_percent(self) -> float:
        """How far, on average, the kept spring of this order loads above what is needed, in per cent of that."""
        fits = sum(stage.fits for stage in self.fittings)
        return 100 * sum(stage.mean_overpower for stage in self.fittings) / fits if fits > 0 else 0.0

    @property
    def to_pay(self) -> tuple[float, float]:
        """What the order itself costs: springs and postage, in minor units."""
        post = charged(self.considered.choice, self.order) if self.order else 0.0
        return (outlay(self.considered.choice, self.order) - post, post) if self.order else (0.0, 0.0)

    def reasons(self) -> Reasons | None:
        """Why these springs: what takes long to work out, and is no part of the order; None where there is no order."""
        return reasons_of(self.considered, self.order) if self.fittings else None

    def belief_points(self, points: int = 120) -> list[tuple[float, float, float]]:
        """Points of the picture: drive index, and the chance per per cent of index before and after what was seen."""
        c = self.considered
        edges, before = cell_edges(), start_belief(c.start.median, c.start.spread).p
        index = 100 * np.exp(edges)
        cuts = np.searchsorted(index, np.linspace(20, 165, points + 1))
        found = []
        for low, high in itertools.pairwise(cuts.tolist()):
            width = float(index[high] - index[low])
            was, now = (float(p[low:high].sum()) / width for p in (before, c.weighed.belief.p))
            found.append((float(index[low] + index[high]) / 2, was, now))
        return found

    def stage_dicts(self) -> list[dict[str, Any]]:
        """The stages as JSON keys of `grade`."""
        return [self._stage(number) for number in range(len(self.fittings))]

    def as_dict(self, *, explain: bool = False, reasons: bool = True) -> dict[str, Any]:
        """The JSON keys of `grade`; without `reasons` those alone that are quick to work out.

        With `explain` all that recomputes the optimum outside.
        """
        c = self.considered
        why = self.reasons() if reasons else None
        goods, post = self.to_pay
        answer = {
            "stages": self.stage_dicts(),
            "first": first_dict(c.first) if self.first_action else None,
            "chance_of_a_fit": self.chance_of_a_fit,
            "chance_right": self.chance_right,
            "chance_too_strong": self.chance_too_strong,
            "chance_all_too_weak": 1 - self.chance_of_a_fit,
            "expected_overpower_percent": self.expected_overpower_percent,
            "to_pay": {"springs": c.money(goods), "postage": c.money(post)},
            "expected_cost": c.money(why.seen.cost if why else self.account.cost),
            "planned_cost": c.money(c.plan.cost),
            "score": c.score(why.seen.cost if why else self.account.cost),
            **need_dict(c),
            **(why.as_dict(c) if why else {}),
            "rod_test": self._rod_test(),
            "next_action": self.next_action,
            "reference": reference_dict(c.reference),
            "currency": c.offer.currency,
            "weights": weights_dict(c),
            **counts_of(c),
            "do_not_go_in": [unfit_dict(c, one) for one in c.offer.unfit],
            "findings": [f.as_dict() for f in (*self.findings, *(why.findings(c) if why else ()))],
        }
        return {**NO_REASONS, **answer} | (explained(c) if explain else {})

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
            "chance_too_strong": stage.too_strong,
            "loads_above_need_percent": 100 * stage.mean_overpower / stage.fits if stage.fits > 0 else None,
            "cost_share": c.money(stage.cost),
            "why": _why(self, number),
        }


NO_REASONS: dict[str, Any] = {"policies": [], "why_these": [], "sensitivity": []}


def grade(barrel: Barrel | Bench, springs: Catalogue | CatalogueReading, options: Options | None = None) -> Grading:
    """Springs to order now, weakest first; weights, belief and what would come after are part of the answer.

    Raises: OrderbookError as `consider`.
    """
    return grading_of(consider(barrel, springs, options))


def stages_of(c: Considered) -> Grading:
    """Graded order alone, for a cell that must answer at once: no word on rod tests, near ties and thin lists."""
    held_back = () if c.options.even_so else held_back_by(c.findings)
    order = () if held_back else _order(c)
    told = account(c.choice, chain(c.plan, order))
    findings = c.findings + _about_the_order(c, order, bool(held_back))
    first = _first_words(c) if held_back in ((), ("nothing_stronger",)) else ""
    return Grading(c, told, None, first, _then(c, order, held_back, bool(first), None), findings)


def held_back_by(findings: tuple[Finding, ...]) -> tuple[str, ...]:
    """Codes of the findings for which no order is shown, the weightiest first."""
    codes = {found.code for found in findings}
    return tuple(code for code in HOLD_BACK if code in codes)


def grading_of(c: Considered) -> Grading:
    """Graded order from what was already considered."""
    alone = stages_of(c)
    if not alone.fittings:
        return alone
    order = alone.order
    rod = _rod_test(c, order)
    findings = alone.findings + _near_tie(c, order) + _only_one(c, order) + _thin(c)
    return Grading(
        c, alone.account, rod, alone.first_action, _then(c, order, (), bool(alone.first_action), rod), findings
    )


def _rod_test(c: Considered, order: Order) -> Worth | None:
    """What a rod test would save, where one can be made, none was, and something is to be sent for.

    The fitted spring makes it a ratio.
    """
    if c.bench.rods or c.bench.bore_mm < ROD_FROM_MM or all(c.offer.is_owned(i) for i in order):
        return None
    few, rule = fewer(c.plan, c.rule)
    return worth_of_rod_test(few, rule, RATIO_U if c.bench.tried else ABSOLUTE_SHARE)


def _order(c: Considered) -> Order:
    """The order to show: the best plan's, or, where the user insists, the best order although giving up costs less."""
    cost = c.plan.cost_by_first
    if c.plan.order or not (c.options.must or c.options.even_so) or not np.isfinite(cost).any():
        return c.plan.order
    return c.plan.order_of(int(cost.argmin()))


def _about_the_order(c: Considered, order: Order, held_back: bool) -> tuple[Finding, ...]:
    findings: list[Finding] = []
    if not c.plan.order and not held_back and np.isfinite(c.plan.cost_by_first).any():
        score, give_up = c.score(float(c.plan.cost_by_first.min())), c.score(given_up(c.choice))
        saw = f"the best order scores {score:.1f} (price, time and risk, in median prices), giving up {give_up:.1f}"
        findings.append(finding("nothing_worth_ordering", where="order", saw=saw))
    for before, after in itertools.pairwise(order):
        step = c.offer.springs.drive[after] - c.offer.springs.drive[before]
        together = 2 * float(np.hypot(c.offer.fits.own_u[before], c.offer.fits.own_u[after]))
        if step < together:
            items = " and ".join(_item(c, i) for i in (before, after))
            saw = f"{items} are {100 * np.expm1(step):.0f} % apart, their ± together {100 * together:.0f} %"
            findings.append(finding("step_within_doubt", where="stages", saw=saw))
    narrow = [i for i in order if c.offer.fits.width_share[i] < WIDE_ENOUGH]
    if narrow:
        said = ", ".join(f"{_item(c, i)} has {100 * c.offer.fits.width_share[i]:.0f} %" for i in narrow)
        findings.append(finding("width_given_up", where="stages", saw=f"{said} of the width that goes in"))
    ends = {c.offer.ends[i] for i in order} - {""}
    if len(ends) > 1:
        findings.append(
            finding("ends_are_mixed", where="stages", saw=f"ends of {len(ends)} kinds: {', '.join(sorted(ends))}")
        )
    if made := [i for i in order if c.offer.springs.new_end[i]]:
        said = ", ".join(f"{_item(c, i)} has {c.offer.row(i)['end']}" for i in made)
        findings.append(finding("end_of_another_kind", where="stages", saw=f"the barrel takes {c.bench.end}; {said}"))
    return tuple(findings)


def _near_tie(c: Considered, order: Order) -> tuple[Finding, ...]:
    """Say which other order costs about as much: a reading that moves a little may turn the choice over."""
    if not c.plan.order:
        return ()
    ceiling = (1 + 2 * NEAR_TIE) * c.plan.least
    others = [(cost, o) for cost, o in cheapest_orders(c.plan, c.rule, 6) if o != order and cost <= ceiling]
    if not others:
        return ()
    cost, other = others[0]
    percent = 100 * (cost / c.plan.cost - 1)
    how = "as well" if abs(percent) < 0.05 else f"{abs(percent):.1f} % {'better' if percent < 0 else 'worse'}"
    saw = f"{', '.join(_item(c, i) for i in other)} would do {how}"
    return (finding("near_tie", where="stages", saw=saw),)


def _only_one(c: Considered, order: Order) -> tuple[Finding, ...]:
    """Say why one spring alone is proposed, and what would change it."""
    if len(order) != 1 or c.options.count == 1:
        return ()
    stronger = c.offer.springs.edge > c.offer.springs.edge[order[0]]
    if not stronger.any():
        out = f"; {c.do_not_go_in} of the lists are left out" if c.do_not_go_in else ""
        saw, hint = f"none stronger may be proposed{out}", "Bring in another list, or look at what is left out and why."
    elif c.offer.springs.stops[order[0]]:
        saw, hint = (
            "it drives nearly all that this barrel can give",
            "If it is too weak, the strength is not the fault.",
        )
    else:
        two, _ = first_orders(
            c.plan.table, c.plan.to_go, Rule(range(2, c.choice.most + 1), c.rule.must, limit=c.rule.limit)
        )
        more = float(two.min(initial=np.inf)) / c.plan.cost - 1
        why = (
            f"a second would cost {100 * more:.0f} % more on average"
            if np.isfinite(more)
            else "a second is not allowed"
        )
        saw, hint = why, "Ask for two (⟨count 2⟩), or say what waiting weighs for you (⟨weights⟩)."
    return (finding("one_spring_alone", where="stages", saw=f"{_item(c, order[0])} alone: {saw}", try_this=hint),)


def _thin(c: Considered) -> tuple[Finding, ...]:
    """Say where the lists have a wide step between springs that may be proposed, within what the need may be."""
    low, high = c.choice.belief.interval_index()
    drive = np.unique(np.round(c.offer.fits.drive_index, 1))
    inside = np.concatenate([[low], drive[(drive > low) & (drive < min(high, 100.0))], [min(high, 100.0)]])
    steps = inside[1:] / inside[:-1]
    if not len(steps) or steps.max() <= THIN:
        return ()
    at = int(steps.argmax())
    saw = f"no spring between drive {inside[at]:.0f} and {inside[at + 1]:.0f} % may be proposed"
    return (finding("list_is_thin", where="lists", saw=saw),)


def _first_words(c: Considered) -> str:
    first = c.first
    if first is None:
        return ""
    said = spring_said(first.spring.said)
    drive, even = first.drive, first.evenness
    return (
        f"First, it costs nothing: {first.says} with {said} "
        f"(drive {drive[0]:.0f} → {drive[1]:.0f} %, evenness {even[0]:.2f} → {even[1]:.2f})."
    )


def _then(c: Considered, order: Order, held_back: tuple[str, ...], first: bool, rod: Worth | None) -> str:
    if held_back and held_back[0] == "spring_ran_well":
        return HOLD_BACK[held_back[0]].format(said=spring_said(c.bench.tried[-1].said))
    if held_back == ("nothing_stronger",) and first:
        return "If it is still too weak: order nothing from these lists, none of their springs drives more."
    if held_back:
        return f"{HOLD_BACK[held_back[0]]} {PLACES_TO_LOOK} If all is free, doubt the verdict you trust least."
    if not order:
        return "Order nothing from these lists." if len(c.offer) else "Look at the springs that come nearest."
    rod_first = f"{ROD_FIRST} " if rod is not None and rod.pays else ""
    return still_too_weak(rod_first + _order_words(c, order)) if first else rod_first + _order_words(c, order)


def still_too_weak(words: str) -> str:
    """Say what follows where more set-up comes first and does not do."""
    return f"If it is still too weak: {words[:1].lower()}{words[1:]}"


def _order_words(c: Considered, order: Order) -> str:
    first = _item(c, order[0])
    if all(c.offer.is_owned(i) for i in order):
        owned = c.offer.owned(order[0])
        from_where = "from the drawer" if owned and owned.place == DRAWER_NAME else "that has come"
        return f"Fit {first} {from_where}."
    names = [f"{c.offer.row(i)['supplier']} {_item(c, i)}" for i in order if not c.offer.is_owned(i)]
    return f"Order {', '.join(names)}; fit {first} first, and stop at the first that runs well."


def _item(c: Considered, spring: int) -> str:
    return str(c.offer.row(spring)["item"])


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
    if c.offer.fits.load_index[stage.row] > 100 + 1e-6:
        words += "; loads more than the strongest useful spring: fit it only after a rod test"
    return "; ".join([words, f"if it is the one, it loads {over:.0f} % above what is needed", *remarks(c, stage.row)])
