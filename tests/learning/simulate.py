"""How well learning does in simulation: `python -m tests.learning.simulate [WORKSHOPS]`; minutes, not a test.

Coverage of a 90 % interval for the next need, and what orders cost with the learned start against practice's, on the
barrels of `tests.choosing.habits`.
"""

from __future__ import annotations

import itertools
import math
import sys
from dataclasses import replace

import numpy as np

from orderbook.barrel.practice import Share, start_of
from orderbook.choosing.belief import start_belief
from orderbook.choosing.chain import chain
from orderbook.choosing.considering import consider
from orderbook.choosing.options import Options
from orderbook.choosing.restorers import follow
from orderbook.choosing.rounds import best_plan
from orderbook.learning.chances import SPREADS
from orderbook.learning.model import learned, pairs, sums_of
from orderbook.learning.pieces import Group
from tests.choosing.habits import BARRELS
from tests.learning.workshops import CLOCKS, GOING, Truth, brought, tried

USUAL, AS_PRACTICE = "groups differ", "practice is right as it is"
MOVEMENTS = 2000  # that follow each plan


def coverage(pieces: int, workshops: int, truth: Truth | None = None, wrong: float = 0.0) -> float:
    """Share of next needs inside the 90 % interval; the model's own truths where none is given."""
    rng = np.random.default_rng(pieces)
    taus, prior = pairs(CLOCKS.spread)
    inside = 0
    for _ in range(workshops):
        tau, sigma = divmod(int(rng.choice(prior.size, p=(prior / prior.sum()).ravel())), len(SPREADS))
        here = truth or Truth(between=taus[tau], within=SPREADS[sigma])
        middle = here.group(rng)
        seen = [tried(need, rng, wrong=wrong) for need in here.needs(middle, pieces, rng)]
        told = learned(sums_of(seen), GOING, CLOCKS)
        off = here.needs(middle, 1, rng)[0] - math.log(told.median / 100)
        inside += abs(off) < 1.6449 * told.spread
    return inside / workshops


def savings(
    number: int, situation: str, workshops: int, *, failures: bool = False, wrong: float = 0.0
) -> dict[int | str, tuple[float, float]]:
    """By pieces learned from, how much more orders cost than with practice's start, and the ± of that.

    A share, less than 0 is cheaper. "known" is what whoever knew median and spread of each group exactly would pay.
    `failures`, whether benches bring only barrels whose first spring was too weak; `wrong`, chance of a wrong verdict.
    """
    rng = np.random.default_rng(5)
    barrel = BARRELS[number]
    c = consider(barrel.bench(()), barrel.listed(barrel.fine), Options(currency="GBP"))
    start = start_of(barrel.movement)
    practice, group = Share(start.median, start.spread), Group(barrel.movement, "going", "going")
    between, within = (0.825, 0.55) if situation == USUAL else (0.0, 1.0)
    truth = Truth(math.log(start.median / 100), between * start.spread, within * start.spread)
    fits, draws = c.offer.fits, np.random.default_rng(7)
    common = draws.standard_normal(MOVEMENTS)
    own = draws.standard_normal((len(fits), MOVEMENTS))
    drive = fits.own_u[:, None] * own + fits.common_u[:, None] * common
    load = fits.load_own_u[:, None] * own + fits.load_common_u[:, None] * common

    def paid(begin: Share, needs: np.ndarray) -> float:
        plan = best_plan(replace(c.choice, belief=start_belief(begin.median, begin.spread)))
        orders = chain(plan, plan.order)
        shift = {row: (drive[row], load[row]) for order in orders for row in order}
        return float(follow(c.choice, orders, needs, shift).costs.mean())

    without: list[float] = []
    with_pieces: dict[int | str, list[float]] = {count: [] for count in (3, 8, 20, "known")}
    for _ in range(workshops):
        middle = truth.group(rng)
        needs = rng.normal(middle, truth.within, MOVEMENTS)
        seen = brought(truth, middle, 20, rng, failures=failures, wrong=wrong, group=group)
        without.append(paid(practice, needs))
        for count, costs in with_pieces.items():
            known = Share(100 * math.exp(middle), truth.within)
            start = known if isinstance(count, str) else learned(sums_of(seen[:count]), group, practice).start
            costs.append(paid(start, needs))
    mean = float(np.mean(without))
    more = {count: np.subtract(costs, without) / mean for count, costs in with_pieces.items()}
    return {count: (float(one.mean()), float(one.std() / math.sqrt(workshops))) for count, one in more.items()}


if __name__ == "__main__":
    several = int(sys.argv[1]) if len(sys.argv) > 1 else 60
    for pieces in (0, 1, 2, 5, 8, 20, 50, 100):
        print(f"{pieces} pieces: {coverage(pieces, 10 * several):.3f}, {coverage(pieces, 10 * several, Truth()):.3f}")
    for number in (0, 2):
        for situation in (USUAL, AS_PRACTICE):
            for failures, wrong in itertools.product((False, True), (0.0, 0.03)):
                found = savings(number, situation, several, failures=failures, wrong=wrong)
                told = {n: f"{100 * share:+.1f} ± {100 * u:.1f} %" for n, (share, u) in found.items()}
                print(BARRELS[number].name, situation, "failures" if failures else "all", wrong, told, flush=True)
