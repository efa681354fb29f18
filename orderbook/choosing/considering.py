"""From a barrel and a list to the plan: all that ranking and grading share, worked out once."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from orderbook.barrel.barrel import Barrel
from orderbook.barrel.practice import NeedStart
from orderbook.barrel.springs_seen import spring_said
from orderbook.catalogue import Catalogue, CatalogueReading
from orderbook.choosing.belief import Belief, Floats, start_belief
from orderbook.choosing.bench import Bench, bench_of
from orderbook.choosing.candidates import LIMIT, TRIED, Offer, listed_in, must_of, offer_of
from orderbook.choosing.evidence import TOO_WEAK, Evidence, Weighed, weigh
from orderbook.choosing.fitting import Scale, scale_of
from orderbook.choosing.limits import NEARLY_STRONGEST, NO_CURE, SMALL_STEP, hardest_failed
from orderbook.choosing.long_lists import Candidates
from orderbook.choosing.more_clicks import MoreClicks, more_clicks
from orderbook.choosing.objective import Choice, Overpower, overpower
from orderbook.choosing.options import Options
from orderbook.choosing.prices import limit_of, weights_of
from orderbook.choosing.rounds import NEAR_TIE, Order, Plan, Rule, anywhere, best_plan
from orderbook.choosing.seen import TriedSpring, evidence_of, hardest, index_of, start_for, tried_in
from orderbook.choosing.springs import springs as springs_of
from orderbook.choosing.weights import Weights
from orderbook.errors import Finding, finding
from orderbook.measures import plainly
from orderbook.measures.money import Money
from orderbook.mechanics import Reference

MANY_REJECTED = 0.2  # of a list's rows: above it, that they are missing is said where one chooses
FAR_BELOW = 1.25  # times the load that is needed: a list whose weakest loads more has nothing weak enough


@dataclass(frozen=True, slots=True)
class Considered:
    """Everything worked out on the way to a choice.

    `start` is where the belief began, `weighed` what it is with all that was seen. `first` is more set-up for a spring
    that was too weak, where that is to be tried before anything is ordered; `plan` is then what follows if it does not
    do. `any_first` is the cost of each spring as the first, and its order, if any might be the first.
    """

    bench: Bench
    options: Options
    scale: Scale
    start: NeedStart
    tried: tuple[TriedSpring, ...]
    seen: tuple[Evidence, ...]
    weighed: Weighed
    first: MoreClicks | None
    offer: Offer
    weights: Weights
    rule: Rule
    plan: Plan
    any_first: tuple[Floats, Callable[[int], Order]]
    row_counts: dict[str, int]
    findings: tuple[Finding, ...]
    left_out: int = 0

    @property
    def reference(self) -> Reference:
        """The strongest useful spring of the barrel."""
        return self.scale.reference

    @property
    def do_not_go_in(self) -> int:
        """How many springs of the lists are left out; `offer.unfit` of a long list holds the nearest alone."""
        return len(self.offer.unfit) + self.left_out

    @property
    def choice(self) -> Choice:
        """The choice as plain numbers."""
        return self.plan.table.choice

    def money(self, amount: float) -> str:
        """An amount of minor units as text with the currency's decimals; without prices, a multiple of the median."""
        if not self.offer.currency:
            return f"{amount:.2f}"
        return Money(round(amount), self.offer.currency).text if np.isfinite(amount) else ""

    def score(self, amount: float) -> float:
        """A cost as a score: in median prices, for most of it is time and risk and not money."""
        return amount / self.offer.median_price


def consider(
    barrel: Barrel | Bench,
    springs: Catalogue | CatalogueReading | Candidates,
    options: Options | None = None,
    findings: tuple[Finding, ...] = (),
) -> Considered:
    """From a barrel and a list to the plan: fit, prices, belief, weights, optimum.

    `findings` about the list are passed on, with what is to be known of the readings.
    Raises: OrderbookError for what cannot be used: a run no spring gives, weights, items that are not there.
    """
    options = options or Options()
    bench, about_bench = (barrel, ()) if isinstance(barrel, Bench) else bench_of(barrel)
    about_bench = about_bench if isinstance(barrel, Bench) else (*barrel.notes, *about_bench)
    left_out = springs.left_out if isinstance(springs, Candidates) else 0
    springs = springs.reading if isinstance(springs, Candidates) else springs
    reading = springs if isinstance(springs, CatalogueReading) else None
    catalogue = springs.catalogue if isinstance(springs, CatalogueReading) else springs
    scale = scale_of(bench)
    needed = scale.needed_load()
    start, about_start = start_for(bench, options, scale)
    begin = start_belief(start.median, start.spread)
    tried = tried_in(bench, scale)
    seen, about_seen = evidence_of(bench, scale, tried)
    weighed = weigh(begin, seen, needed)

    listed = listed_in(bench, catalogue, options, scale, tried)

    def planned(known: Weighed, failed: tuple[TriedSpring, ...]) -> _Planned:
        offer = offer_of(bench, listed, options, scale, known, failed)
        weights = weights_of(offer.median_price, offer.currency, options)
        choice = Choice(known.belief, offer.springs, offer.terms, weights, options.most, needed)
        limit = limit_of(offer.currency, options, all_owned=bool(offer.springs.owned.all()))
        rule = Rule(_counts(offer, options), must_of(offer, options), limit=limit)
        plan = best_plan(choice, rule)
        if not np.isfinite(plan.cost_by_first).any() and not offer.springs.begins.all():
            # none of the nearest can be in an order that meets all that is asked: any may come first then
            offer = replace(offer, springs=replace(offer.springs, begins=np.ones(len(offer), bool)))
            plan = best_plan(replace(choice, offered=offer.springs), rule)
        return _Planned(offer, weights, rule, plan)

    now = planned(weighed, tried)
    first = more_clicks(bench, scale, seen)
    if first is not None and not _may_be_raised(first, tried):
        first = None
    if first is not None:
        after = planned(weigh(begin, (*seen, first.evidence), needed), (*tried, _as_failed(first)))
        kept = overpower(now.plan.table.choice)
        if _with_clicks_first(first, weighed.belief, kept, after) < now.plan.cost:
            now = after
        else:
            first = None
    about_lists = (*reading.findings, *about_rejects(reading)) if reading else ()
    told = (*findings, *about_lists, *about_bench, *about_start, *about_seen, *now.offer.findings)
    told += _about_the_need(weighed, now.offer, needed) + _about_the_plan(now, options)
    any_first = now.plan.cost_by_first, now.plan.order_of
    if not now.offer.springs.begins.all():
        any_first = anywhere(now.plan, now.rule)
        told += _about_the_step(now, any_first[0], tried)
    told += _about_the_last(bench) or _about_what_failed(seen, tried, now.offer)
    counts = reading.counts() if reading else {}
    return Considered(
        bench,
        options,
        scale,
        start,
        tried,
        seen,
        weighed,
        first,
        now.offer,
        now.weights,
        now.rule,
        now.plan,
        any_first,
        counts,
        told,
        left_out,
    )


@dataclass(frozen=True, slots=True)
class _Planned:
    """What may be proposed and the plan of it, for one state of knowledge."""

    offer: Offer
    weights: Weights
    rule: Rule
    plan: Plan


def _may_be_raised(first: MoreClicks, tried: tuple[TriedSpring, ...]) -> bool:
    """Whether more set-up keeps below the strongest useful load and below every spring that was strong enough."""
    strong = [one for one in tried if one.spring.verdict in ("too strong", "ran well")]
    return first.load[1] <= 100 and all(first.drive[1] <= one.drive and first.load[1] <= one.load for one in strong)


def _as_failed(first: MoreClicks) -> TriedSpring:
    """The spring as it would be told of if it were too weak with more set-up too."""
    spring = replace(first.spring, verdict="too weak", set_up_turns=first.turns[1])
    return TriedSpring(spring, first.drive[1], first.load[1], first.load[1], first.own_u, first.own_u)


def _with_clicks_first(first: MoreClicks, belief: Belief, kept: Overpower, after: _Planned) -> float:
    """Cost of trying more set-up first: one trial, the overpower if it does, and what follows if it does not."""
    one = springs_of([first.drive[1]], [first.load[1]], [0.0])
    fails = belief.chance_above(first.drive[1])
    over = float(kept.up_to(one.edge, one.load)[0])
    return after.weights["trial"] + over + fails * after.plan.cost


def about_rejects(reading: CatalogueReading) -> tuple[Finding, ...]:
    """Lists of which many rows could not be read: what is chosen from them is chosen from the rest."""
    kept = Counter(str(name) for name in reading.catalogue.file)
    rejected = Counter(one.file for one in reading.rejects)
    if not rejected:  # a long list keeps the counts of its rejects and not each of them
        name = ", ".join(sorted(kept)) or "the list"
        counts = {name: (reading.rows_rejected, reading.rows_in)}
    else:
        counts = {name: (bad, bad + kept[name]) for name, bad in sorted(rejected.items())}
    return tuple(
        finding(
            "many_rows_rejected",
            where=name,
            saw=f"{bad} of {rows} rows of {name} could not be read; see: ⟨!catalogue⟩",
        )
        for name, (bad, rows) in counts.items()
        if bad > MANY_REJECTED * rows
    )


def _counts(offer: Offer, options: Options) -> range | None:
    if options.count is None:
        return None
    steps = len(np.unique(offer.springs.edge))
    return range(min(options.count, max(steps, 1)), options.count + 1)


def _about_the_need(weighed: Weighed, offer: Offer, needed: Floats) -> tuple[Finding, ...]:
    findings: list[Finding] = []
    if weighed.contradicts:
        saw = (
            f"these results can hardly all be true: only {100 * weighed.mass_all_right:.1f} % of usual needs allow "
            f"them together, and with a chance of {100 * weighed.chance_one_is_wrong:.0f} % a verdict is wrong"
        )
        findings.append(finding("strength_not_the_fault", where="tried springs", saw=saw))
    most = max(100.0, float(offer.fits.drive_index.max(initial=0)))
    above = weighed.belief.chance_above(most)
    if above > 0.5:
        saw = f"chance {100 * above:.0f} % that the need is above the most this barrel can give"
        code = "no_spring_is_the_cure" if above >= NO_CURE else "perhaps_no_cure"
        findings.append(finding(code, where="need", saw=saw))
    if len(offer):
        weakest = float(offer.springs.load.min())
        far_below = float(weighed.belief.p[needed < weakest - np.log(FAR_BELOW)].sum())
        if far_below > 0.5:
            saw = f"chance {100 * far_below:.0f} % that even the weakest loads 25 % above what is needed"
            findings.append(finding("nothing_weak_enough", where="list", saw=saw))
    return tuple(findings)


def _about_the_plan(now: _Planned, options: Options) -> tuple[Finding, ...]:
    plan, offer = now.plan, now.offer
    if not len(offer) and offer.left_out_by(TRIED):
        return ()
    if not len(offer):
        return (finding("nothing_goes_in", where="list", saw=_nearest(offer)),)
    told: list[Finding] = []
    if options.count and plan.order and len(plan.order) < options.count:
        told.append(finding("fewer_than_asked", where="⟨count⟩", saw=f"{len(plan.order)} of {options.count}"))
    if plan.gap > 0.01 * plan.cost:
        saw = f"with {len(offer)} springs and postage by value, a better order could be up to "
        told.append(
            finding("order_not_proven_best", where="order", saw=f"{saw}{100 * plan.gap / plan.cost:.0f} % cheaper")
        )
    if not np.isfinite(plan.cost_by_first).any():
        where = "⟨at_most⟩" if options.at_most else "⟨must⟩" if options.must else "order"
        told.append(finding("no_order_possible", where=where, saw="no order meets all that is asked"))
    if offer.only_too_strong:
        saw = f"all {len(offer)} that go in load more than the strongest useful spring"
        told.append(finding("only_above_the_strongest", where="list", saw=saw))
    return tuple(told)


def _about_the_step(now: _Planned, cost: Floats, tried: tuple[TriedSpring, ...]) -> tuple[Finding, ...]:
    """Say that a nearer spring comes first although a stronger one would cost less on average."""
    failed, best = hardest_failed(tried), int(cost.argmin())
    if failed is None or not now.plan.order or (1 + NEAR_TIE) * cost[best] >= now.plan.cost:
        return ()
    better = (now.plan.cost - float(cost[best])) / now.offer.median_price
    first, other = (str(now.offer.row(row)["item"]) for row in (now.plan.order[0], best))
    saw = f"{first} is at most {100 * SMALL_STEP:.0f} % stronger than {spring_said(failed.spring.said)}, "
    saw += f"which was too weak; to begin with {other} would score {better:.1f} better"
    return (finding("small_step_first", where="stages", saw=saw),)


def _about_the_last(bench: Bench) -> tuple[Finding, ...]:
    """Whether the last spring tried ran well: then nothing is to be ordered."""
    if not bench.tried or bench.tried[-1].verdict != "ran well":
        return ()
    return (finding("spring_ran_well", where="tried springs", saw=f"{spring_said(bench.tried[-1].said)} ran well"),)


def _about_what_failed(seen: tuple[Evidence, ...], tried: tuple[TriedSpring, ...], offer: Offer) -> tuple[Finding, ...]:
    """Whether a spring that was too weak leaves room for a stronger one in this barrel, and in these lists."""
    failed = hardest(seen, *TOO_WEAK)
    if failed is None:
        return ()
    if (index := index_of(failed)) >= NEARLY_STRONGEST:
        verdict = "never ran" if failed.kind == "never ran" else "was too weak"
        saw = f"{spring_said(failed.what)} {verdict} at {index:.0f} % of what the strongest useful spring drives"
        return (finding("nearly_strongest_too_weak", where="tried springs", saw=saw),)
    stiff = [one for one in tried if one.spring.verdict in TOO_WEAK and one.load >= 100]
    if stiff:
        stiffest = max(stiff, key=lambda one: one.load)
        saw = f"{spring_said(stiffest.spring.said)} loads {stiffest.load:.0f} % of what the strongest useful spring "
        return (finding("nearly_strongest_too_weak", where="tried springs", saw=f"{saw}loads, and it was too weak"),)
    if not len(offer) and offer.left_out_by(TRIED):
        more = ", or load more than the strongest useful spring" if offer.left_out_by(LIMIT) else ""
        saw = f"all that go in drive no more than {spring_said(failed.what)}{more}"
        return (finding("nothing_stronger", where="list", saw=saw),)
    return ()


def _nearest(offer: Offer) -> str:
    if not offer.unfit:
        return "the list holds no spring"
    near = offer.unfit[0]
    row = offer.catalogue.row(near.row)
    return f"nearest is {row['supplier']} {row['item']} {size_text(row)}: {near.says}"


def size_text(row: Mapping[str, Any]) -> str:
    """Width × strength × length of a list row.

    >>> size_text({"width_mm": 2.9, "strength_mm": 0.165, "length_mm": 560.0})
    '2.9 × 0.165 × 560'
    """
    return f"{row['width_mm']:g} × {row['strength_mm']:.4g} × {plainly(row['length_mm'], 4)}"
