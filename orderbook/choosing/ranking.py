"""Rank the springs of lists for one barrel: the cost of the best plan that begins with each."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, ClassVar

import numpy as np

from orderbook.barrel.barrel import Barrel
from orderbook.catalogue import Catalogue, CatalogueReading
from orderbook.choosing.bench import Bench
from orderbook.choosing.chain import PlanOutcome, account, chain
from orderbook.choosing.considering import Considered, consider
from orderbook.choosing.explaining import explained, first_dict
from orderbook.choosing.long_lists import Candidates
from orderbook.choosing.options import Options
from orderbook.choosing.said import (
    counts_of,
    need_dict,
    reference_dict,
    remarks,
    spring_dict,
    unfit_dict,
    weights_dict,
)
from orderbook.errors import Finding
from orderbook.shown import Drawn

if TYPE_CHECKING:
    from pandas import DataFrame


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
    """Springs that may be proposed, cheapest plan first; the rest apart, nearest first: `springs` as a data frame.

    >>> import orderbook
    >>> from orderbook.locate import data_folder
    >>> barrel = orderbook.Barrel(bore=15.6, arbor=5.2, depth=3.1, used=3.5)
    >>> ranked = orderbook.rank(barrel, data_folder("demo_catalog") / "supplier_north_watch.csv", top=2)
    >>> ranked.springs.score.is_monotonic_increasing, ranked.counts["springs_that_go_in"] > 2
    (True, True)
    """

    shown_words: ClassVar[str] = "orderbook.reports.choice_tables:ranking_text"
    shown_picture: ClassVar[str] = "orderbook.reports.ranking_figure:draw"
    shown_key: ClassVar[str] = "springs"
    shown_columns: ClassVar[tuple[str, ...]] = (
        "rank", "supplier", "item", "width_mm", "strength_mm", "length_mm", "trim_to_mm", "drive_index", "load_index",
        "turns_delivered", "fill", "price", "currency", "score", "why",
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
            "springs": [self._spring(one) for one in self.ranked],
            **need_dict(c),
            "first": first_dict(c.first),
            "reference": reference_dict(c.reference),
            "currency": c.offer.currency,
            "weights": weights_dict(c),
            "do_not_go_in": [unfit_dict(c, one) for one in c.offer.unfit],
            **self.counts,
            "findings": [f.as_dict() for f in self.findings],
        }
        return answer | (explained(c) if explain else {})

    def _spring(self, one: Ranked) -> dict[str, Any]:
        c = self.considered
        parts = {name: c.money(amount) for name, amount in one.account.parts.items()}
        told = {"cost": c.money(one.cost), "score": c.score(one.cost), "cost_parts": parts, "why": one.why}
        return {"rank": one.rank, **spring_dict(c, one.spring), **told}


def rank(
    barrel: Barrel | Bench, springs: Catalogue | CatalogueReading | Candidates, options: Options | None = None
) -> Ranking:
    """Each spring that may be proposed, by the cost of the best plan whose first spring to be fitted it is.

    So rank 1 is stage 1 of the graded order, always. Springs that may not be the first of it, since a nearer one is
    there, come last.

    Raises: OrderbookError as `consider`.
    """
    return ranking_of(consider(barrel, springs, options))


def ranking_of(c: Considered) -> Ranking:
    """Ranking from what was already considered."""
    cost = c.any_first[0]
    by_cost = [i for i in np.lexsort((cost, ~c.offer.springs.begins)).tolist() if np.isfinite(cost[i])]
    if c.plan.order:
        by_cost = [c.plan.order[0], *(i for i in by_cost if i != c.plan.order[0])]
    ranked = tuple(_ranked(c, place, i) for place, i in enumerate(by_cost[: c.options.top], 1))
    return Ranking(c, ranked, counts_of(c))


def _ranked(c: Considered, rank_: int, spring: int) -> Ranked:
    chosen = bool(c.plan.order) and spring == c.plan.order[0]
    order = c.plan.order if chosen else c.any_first[1](spring)
    told = account(c.choice, chain(c.plan, order))
    cost = c.plan.cost if chosen else float(c.any_first[0][spring])
    return Ranked(rank_, spring, cost, told, _why(c, spring, told))


def _why(c: Considered, spring: int, told: PlanOutcome) -> str:
    first = told.stages[0]
    words = [] if c.offer.springs.begins[spring] else ["a nearer spring comes first"]
    words += [f"fits with chance {100 * first.fits:.0f} %"]
    follows = len(told.orders[0]) - 1
    words.append(f"then {follows} more in the order" if follows else "alone in the order")
    return "; ".join(words + remarks(c, spring))
