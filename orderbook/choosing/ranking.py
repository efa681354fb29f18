"""Rank the springs of lists for one barrel: the cost of the best plan that begins with each."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, ClassVar

import numpy as np
from numpy.typing import NDArray

from orderbook.barrel.barrel import Barrel
from orderbook.barrel.springs_seen import spring_said
from orderbook.catalogue import Catalogue, CatalogueReading
from orderbook.choosing.bench import Bench, bench_of
from orderbook.choosing.candidates import TRIED, Offer, limit_of, must_of, offer_of, weights_of
from orderbook.choosing.chain import PlanOutcome, account, chain
from orderbook.choosing.dominated import dominated
from orderbook.choosing.evidence import Evidence, Weighed, weigh
from orderbook.choosing.explaining import explained
from orderbook.choosing.fitting import Unfit, Yardstick, yardstick_of
from orderbook.choosing.long_lists import Candidates
from orderbook.choosing.options import Options
from orderbook.choosing.rounds import Plan, Rule, best_plan
from orderbook.choosing.table import Choice
from orderbook.choosing.trial_evidence import evidence_of, start_of, tried_index
from orderbook.choosing.weights import Weights
from orderbook.errors import Finding, finding
from orderbook.measures import plainly
from orderbook.measures.money import Money
from orderbook.mechanics import Reference
from orderbook.shown import Drawn

if TYPE_CHECKING:
    from pandas import DataFrame

MANY_REJECTED = 0.2  # of a list's rows: above it, that they are missing is said where one chooses
NEARLY_STRONGEST = 90.0  # drive index from which a stronger spring can hardly give more: common practice, no source


@dataclass(frozen=True, slots=True)
class Considered:
    """Everything worked out on the way to a choice, shared by ranking and grading."""

    bench: Bench
    options: Options
    yardstick: Yardstick
    spread: float
    seen: tuple[Evidence, ...]
    weighed: Weighed
    offer: Offer
    weights: Weights
    rule: Rule
    plan: Plan
    row_counts: dict[str, int]
    findings: tuple[Finding, ...]
    left_out: int = 0

    @property
    def reference(self) -> Reference:
        """The strongest useful spring of the barrel."""
        return self.yardstick.reference

    @property
    def do_not_go_in(self) -> int:
        """How many springs of the lists do not go in; `offer.unfit` of a long list holds the nearest alone."""
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
    yardstick = yardstick_of(bench)
    start, spread = start_of(bench, options.spread)
    seen, about_seen = evidence_of(bench, yardstick)
    weighed = weigh(start, seen)
    failed = strongest_too_weak(seen)
    offer = offer_of(bench, catalogue, options, yardstick, failed)
    weights = weights_of(offer, options)
    choice = Choice(weighed.belief, offer.springs, offer.terms, weights, options.most)
    rule = Rule(
        _counts(offer, options), must_of(offer, options), limit=limit_of(offer, options), sent=options.sent_before
    )
    plan = best_plan(choice, rule)
    about_lists = (*reading.findings, *about_rejects(reading)) if reading else ()
    told = (*findings, *about_lists, *about_bench, *about_seen, *offer.findings)
    told += _about_the_need(weighed, offer) + _about_the_plan(plan, offer, options)
    told += _about_the_last(bench) or _about_what_failed(failed, _stiffest_too_weak(bench, yardstick), plan, offer)
    counts = reading.counts() if reading else {}
    return Considered(
        bench, options, yardstick, spread, seen, weighed, offer, weights, rule, plan, counts, told, left_out
    )


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


def _about_the_need(weighed: Weighed, offer: Offer) -> tuple[Finding, ...]:
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
        findings.append(finding("no_spring_is_the_cure", where="need", saw=saw))
    if len(offer.fits):
        weakest = float(offer.fits.load_index.min())
        far_below = 1 - weighed.belief.chance_above(weakest / 1.25)
        if far_below > 0.5:
            saw = f"the weakest loads {weakest:.0f}; chance {100 * far_below:.0f} % that the need is 25 % below that"
            findings.append(finding("nothing_weak_enough", where="list", saw=saw))
    return tuple(findings)


def _about_the_plan(plan: Plan, offer: Offer, options: Options) -> tuple[Finding, ...]:
    if not len(offer.fits) and any(one.measure == TRIED for one in offer.unfit):
        return ()
    if not len(offer.fits):
        return (finding("nothing_goes_in", where="list", saw=_nearest(offer)),)
    if options.count and plan.order and len(plan.order) < options.count:
        return (finding("fewer_than_asked", where="⟨count⟩", saw=f"{len(plan.order)} of {options.count}"),)
    if plan.gap > 0.01 * plan.cost:
        saw = f"with {len(offer.fits)} springs and postage by value, a better order could be up to "
        return (
            finding("order_not_proven_best", where="order", saw=f"{saw}{100 * plan.gap / plan.cost:.0f} % cheaper"),
        )
    if np.isfinite(plan.cost_by_first).any():
        return ()
    where = "⟨at_most⟩" if options.at_most else "⟨must⟩" if options.must else "order"
    return (finding("no_order_possible", where=where, saw="no order meets all that is asked"),)


def strongest_too_weak(seen: tuple[Evidence, ...]) -> Evidence | None:
    """Of the springs that were too weak or never ran, the one that says the need is highest."""
    return max((e for e in seen if e.kind in ("too weak", "never ran")), key=lambda e: e.at, default=None)


def _stiffest_too_weak(bench: Bench, yardstick: Yardstick) -> tuple[float, str]:
    """Of the springs that were too weak or never ran, the one that loads most: its load index, and how it was put."""
    failed = [one for one in bench.tried if one.verdict in ("too weak", "never ran")]
    loads = [(tried_index(bench, one, yardstick)[1], spring_said(one.said)) for one in failed]
    return max((one for one in loads if np.isfinite(one[0])), default=(0.0, ""))


def _about_the_last(bench: Bench) -> tuple[Finding, ...]:
    """Whether the last spring tried ran well: then nothing is to be ordered."""
    if not bench.tried or bench.tried[-1].verdict != "ran well":
        return ()
    return (finding("spring_ran_well", where="tried springs", saw=f"{spring_said(bench.tried[-1].said)} ran well"),)


def _about_what_failed(
    failed: Evidence | None, stiffest: tuple[float, str], plan: Plan, offer: Offer
) -> tuple[Finding, ...]:
    """Whether a spring that was too weak leaves room for a stronger one in this barrel, and in these lists."""
    if failed is None:
        return ()
    index, verdict = 100 * np.exp(failed.at), "never ran" if failed.kind == "never ran" else "was too weak"
    saw = f"{spring_said(failed.what)} {verdict} at {index:.0f} % of what the strongest useful spring drives"
    if index >= NEARLY_STRONGEST:
        return (finding("nearly_strongest_too_weak", where="tried springs", saw=saw),)
    if stiffest[0] >= 100:
        saw = f"{stiffest[1]} loads {stiffest[0]:.0f} % of what the strongest useful spring loads, and it was too weak"
        return (finding("nearly_strongest_too_weak", where="tried springs", saw=saw),)
    if not len(offer.fits) and any(one.measure == TRIED for one in offer.unfit):
        return (
            finding(
                "nothing_stronger", where="list", saw=f"all that go in drive no more than {spring_said(failed.what)}"
            ),
        )
    order = np.array(plan.order, dtype=np.intp)
    above = offer.springs.drive[order] - failed.at
    if len(order) and not (above > 2 * offer.fits.own_u[order]).any():
        saw += f"; the strongest proposed drives {100 * np.expm1(above.max()):.0f} % more, which is within its ±"
        return (finding("nearly_strongest_too_weak", where="tried springs", saw=saw),)
    return ()


def _nearest(offer: Offer) -> str:
    if not offer.unfit:
        return "the list holds no spring"
    near = offer.unfit[0]
    row = offer.catalogue.row(near.row)
    return f"nearest is {row['supplier']} {row['item']} {size_text(row)}: {near.says}"


def size_text(row: dict[str, Any]) -> str:
    """Width × strength × length of a list row.

    >>> size_text({"width_mm": 2.9, "strength_mm": 0.165, "length_mm": 560.0})
    '2.9 × 0.165 × 560'
    """
    return f"{row['width_mm']:g} × {row['strength_mm']:.4g} × {plainly(row['length_mm'], 4)}"


@dataclass(frozen=True, slots=True)
class Ranked:
    """One spring in its rank: which candidate, and the account of the best plan that begins with it."""

    rank: int
    spring: int
    cost: float
    account: PlanOutcome
    why: str


@dataclass(frozen=True, slots=True, repr=False)
class Ranking(Drawn):
    """Springs that go in, cheapest plan first; the rest apart, nearest first: `springs` as a data frame.

    >>> import orderbook
    >>> from orderbook.locate import data_folder
    >>> barrel = orderbook.Barrel(bore=15.6, arbor=5.2, depth=3.1, used=3.5)
    >>> ranked = orderbook.rank(barrel, data_folder("demo_catalog") / "supplier_north_watch.csv", top=2)
    >>> ranked.springs.cost.is_monotonic_increasing, ranked.counts["springs_that_go_in"] > 2
    (True, True)
    """

    shown_words: ClassVar[str] = "orderbook.reports.choice_tables:ranking_text"
    shown_picture: ClassVar[str] = "orderbook.reports.ranking_figure:draw"
    shown_key: ClassVar[str] = "springs"
    shown_columns: ClassVar[tuple[str, ...]] = (
        "rank", "supplier", "item", "width_mm", "strength_mm", "length_mm", "trim_to_mm", "drive_index", "load_index",
        "turns_delivered", "fill", "price", "currency", "cost", "why",
    )  # fmt: skip

    considered: Considered
    ranked: tuple[Ranked, ...]
    counts: dict[str, int]

    @property
    def findings(self) -> tuple[Finding, ...]:
        """What the user should know."""
        return self.considered.findings

    @property
    def springs(self) -> DataFrame:
        """The springs as a data frame, in their rank."""
        return self.to_frame()

    def as_dict(self, *, explain: bool = False) -> dict[str, Any]:
        """The JSON keys of `rank`; with `explain` all that recomputes the costs outside."""
        c = self.considered
        answer = {
            "springs": [ranked_dict(c, one) for one in self.ranked],
            "reference": reference_dict(c.reference),
            "currency": c.offer.currency,
            "weights": weights_dict(c),
            "do_not_go_in": [unfit_dict(c, one) for one in c.offer.unfit],
            **self.counts,
            "findings": [f.as_dict() for f in self.findings],
        }
        return answer | (explained(c) if explain else {})


def rank(
    barrel: Barrel | Bench, springs: Catalogue | CatalogueReading | Candidates, options: Options | None = None
) -> Ranking:
    """Each spring that goes in, by the cost of the best plan whose first spring to be fitted it is.

    So rank 1 is stage 1 of the graded order, always.

    Raises: OrderbookError as `consider`.
    """
    return ranking_of(consider(barrel, springs, options))


def ranking_of(c: Considered) -> Ranking:
    """Ranking from what was already considered."""
    cost = c.plan.cost_by_first
    by_cost = [i for i in np.argsort(cost, kind="stable").tolist() if np.isfinite(cost[i])]
    ranked = tuple(_ranked(c, place, i) for place, i in enumerate(by_cost[: c.options.top], 1))
    return Ranking(c, ranked, counts_of(c))


def counts_of(c: Considered) -> dict[str, int]:
    """Rows of the lists, and springs that go in, do not, can be ranked, and are dominated."""
    offered = c.offer.springs
    return c.row_counts | {
        "springs_that_go_in": len(c.offer.fits),
        "springs_that_do_not": c.do_not_go_in,
        "springs_ranked": int(np.isfinite(c.plan.cost_by_first).sum()),
        "springs_dominated": int(dominated(offered.drive, offered.load, offered.price).sum()),
    }


def _ranked(c: Considered, rank_: int, spring: int) -> Ranked:
    orders = chain(c.plan, c.plan.order_of(spring))
    told = account(c.choice, orders, c.offer.lead_days, sent_before=c.plan.sent)
    return Ranked(rank_, spring, float(c.plan.cost_by_first[spring]), told, _why(c, spring, told))


def _why(c: Considered, spring: int, told: PlanOutcome) -> str:
    first = told.stages[0]
    words = [f"fits with chance {100 * first.fits:.0f} %"]
    follows = len(told.orders[0]) - 1
    words.append(f"then {follows} more in the order" if follows else "alone in the order")
    return "; ".join(words + remarks(c, spring))


def remarks(c: Considered, spring: int) -> list[str]:
    """What else to know of a candidate: dominated, tried before, cut, price assumed, pack, drawer, end."""
    row, said = c.offer.row(spring), []
    if weaker := too_weak_already(c, spring):
        said.append(f"no stronger than {weaker}, which was too weak")
    if stronger := dominated_by(c, spring):
        said.append(f"loads more than {stronger} but drives no more")
    if row["pack"] > 1:
        said.append(f"pack of {row['pack']}")
    if owned := c.offer.owned(spring):
        said.append("in the drawer" if owned.place == "drawer" else f"received: {owned.called}")
    if c.offer.price[spring] is None:
        said.append("price assumed")
    wanted = c.bench.end.casefold()
    if wanted and row["end"] and row["end"].casefold() != wanted:
        said.append(f"end is {row['end']}, not {c.bench.end}: it must be made again")
    return said


def too_weak_already(c: Considered, spring: int) -> str:
    """The tried spring reported too weak that this one is no stronger than, if there is one."""
    drive = c.offer.springs.drive[spring]
    stronger = [e for e in c.seen if e.kind in ("too weak", "never ran") and e.at >= drive - 1e-9]
    return spring_said(stronger[0].what) if stronger else ""


def dominated_by(c: Considered, spring: int) -> str:
    """A candidate with no less drive, less load and no higher price, if there is one."""
    better = is_dominated(c, spring)
    return str(c.offer.row(int(np.flatnonzero(better)[0]))["item"]) if better.any() else ""


def is_dominated(c: Considered, spring: int) -> NDArray[np.bool_]:
    """Which candidates have no less drive than this one, less load and no higher price."""
    offered = c.offer.springs
    return np.asarray(
        (offered.drive >= offered.drive[spring])
        & (offered.load < offered.load[spring])
        & (offered.price <= offered.price[spring])
    )


def spring_dict(c: Considered, spring: int) -> dict[str, Any]:
    """What is said of a candidate wherever it is shown."""
    fits, row, price = c.offer.fits, c.offer.row(spring), c.offer.price[spring]
    trim = float(fits.trim_to_mm[spring])
    return {
        "found_in": c.offer.found_in(spring),
        "supplier": row["supplier"],
        "item": row["item"],
        "width_mm": row["width_mm"],
        "strength_mm": row["strength_mm"],
        "length_mm": row["length_mm"],
        "trim_to_mm": None if np.isnan(trim) else trim,
        "end": row["end"],
        "turns_delivered": float(fits.delivered_turns[spring]),
        "fill": float(fits.fill[spring]),
        "drive_index": float(fits.drive_index[spring]),
        "drive_index_u": float(fits.drive_index_u[spring]),
        "load_index": float(fits.load_index[spring]),
        "load_index_u": float(fits.load_index_u[spring]),
        "price": price.text if price is not None else "",
        "price_assumed": price is None,
        "listed_price": _listed_price(row),
        "listed_currency": row["currency"],
        "pack": row["pack"],
        "currency": c.offer.currency,
        "file": row["file"],
        "line": row["line"],
    }


def _listed_price(row: dict[str, Any]) -> str:
    """The price of a pack as the supplier prints it, in the supplier's currency."""
    known = row["price_minor"] >= 0 and row["currency"]
    return Money(row["price_minor"], row["currency"]).text if known else ""


def ranked_dict(c: Considered, one: Ranked) -> dict[str, Any]:
    """One spring as the JSON keys of `rank`."""
    parts = {name: c.money(amount) for name, amount in one.account.parts().items()}
    told = {"cost": c.money(one.cost), "cost_parts": parts, "why": one.why}
    return {"rank": one.rank, **spring_dict(c, one.spring), **told}


def unfit_dict(c: Considered, one: Unfit) -> dict[str, Any]:
    """A spring that does not go in as JSON keys."""
    row = c.offer.catalogue.row(one.row)
    names = ("supplier", "item", "width_mm", "strength_mm", "length_mm", "file", "line")
    return {name: row[name] for name in names} | {
        "measure": one.measure,
        "by": one.by,
        "unit": one.unit,
        "says": one.says,
    }


def reference_dict(reference: Reference) -> dict[str, float]:
    """The reference spring as JSON keys."""
    names = ("width_mm", "strength_mm", "length_mm", "drive_nmm", "load_nmm")
    return {name: float(getattr(reference, name)) for name in names}


def weights_dict(c: Considered) -> dict[str, Any]:
    """The weights in money as JSON keys; `kept` is a share."""
    w = c.weights
    money = {
        "trial": w.trial,
        "delay": w.delay,
        "lambda": w.overpower,
        "give_up": w.give_up,
        "median_price": c.offer.median_price,
    }
    return {name: c.money(amount) for name, amount in money.items()} | {"kept": w.kept}
