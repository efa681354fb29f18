"""Common habits of ordering, and situations on real barrels to try them in against the graded order.

The habits are ours, put as fairly as we could: common practice, no source. Each goes on in its own way when its
springs have failed, and gives up when nothing stronger is in the list or after three orders.
"""

from dataclasses import dataclass, replace
from itertools import product

import numpy as np

from orderbook.choosing.belief import start_belief
from orderbook.choosing.bench import Bench, TriedStrip
from orderbook.choosing.evidence import weigh
from orderbook.choosing.fitting import Strips, fit, yardstick_of
from orderbook.choosing.postage import Terms
from orderbook.choosing.springs import springs
from orderbook.choosing.table import Choice
from orderbook.choosing.trial_evidence import evidence_of
from orderbook.choosing.weights import default_weights
from orderbook.mechanics import Run, drive_and_load, reference_spring

ORDERS = 3
PRICE = 1000.0


@dataclass(frozen=True)
class Barrel:
    """A barrel, its fine and coarse steps of strength, and half-fill springs of every strength."""

    name: str
    bore: float
    arbor: float
    width: float
    run: Run
    fine: float

    def bench(self, tried=()):
        return Bench(self.bore, self.arbor, self.width, self.run, tried=tuple(tried))

    def strips(self, step):
        best = reference_spring(self.bore, self.arbor, self.width, self.run).strength_mm
        strength = np.arange(np.ceil(0.45 * best / step) * step, 1.25 * best, step)
        length = np.pi * (self.bore**2 - self.arbor**2) / 8 / strength
        return Strips(np.full_like(strength, self.width), strength, length, np.full_like(strength, 0.03))


BARRELS = (
    Barrel("going watch", 15.6, 5.2, 2.9, Run(3.5), 0.005),
    Barrel("fusee watch", 15.6, 5.2, 2.9, Run(3.5, "fusee"), 0.005),
    Barrel("going clock", 34.0, 11.0, 18.0, Run(5.5), 0.01),
    Barrel("fusee clock", 40.0, 13.0, 21.0, Run(6.0, "fusee"), 0.01),
)
DRIVES = (50, 65, 80, 95)
VERDICTS = ("too weak", "never ran", "stopped")
SPREADS = (0.15, 0.20, 0.30)


@dataclass(frozen=True)
class Situation:
    """One barrel, list, spread and what was seen; the choice it makes, and each spring's doubt."""

    barrel: str
    steps: str
    spread: float
    seen: str
    choice: Choice
    own_u: np.ndarray
    common_u: np.ndarray
    strength: np.ndarray
    fitted_mm: float
    thumb_mm: float
    contradicts: bool


def situations(barrels=BARRELS, spreads=SPREADS, drives=DRIVES, verdicts=VERDICTS):
    """Every situation, one at a time."""
    for barrel, (word, times) in product(barrels, (("fine", 1), ("coarse", 4))):
        yardstick = yardstick_of(barrel.bench())
        strips = barrel.strips(barrel.fine * times)
        fits, _ = fit(barrel.bench(), strips, yardstick)
        strength = strips.strength_mm[fits.row]
        scan = barrel.strips(barrel.fine / 4)
        drive = drive_and_load(
            barrel.bore, barrel.arbor, scan.width_mm, scan.strength_mm, scan.length_mm, barrel.run
        ).drive_nmm
        index = 100 * drive / yardstick.reference.drive_nmm
        rising = slice(0, int(np.nanargmax(index)) + 1)

        def strength_at(wanted, scan=scan, index=index, rising=rising):
            return float(np.interp(wanted, index[rising], scan.strength_mm[rising]))

        offered = springs(fits.drive_index, fits.load_index, PRICE * (0.7 + 0.3 * strength / strength.max()))
        for spread, (seen, tried) in product(spreads, _tried(barrel, strength_at, drives, verdicts)):
            evidence, _ = evidence_of(barrel.bench(tried), yardstick)
            weighed = weigh(start_belief(spread=spread), evidence)
            choice = Choice(weighed.belief, offered, (Terms(0.4 * PRICE),), default_weights(PRICE))
            fitted = tried[0].strength_mm if tried else 0.0
            yield Situation(
                barrel.name, word, spread, seen, choice, fits.own_u, fits.common_u, strength, fitted,
                strength_at(100 / 1.3), weighed.contradicts,
            )  # fmt: skip


def _tried(barrel, strength_at, drives, verdicts):
    found = [("nothing fitted", ())]
    for drive, verdict in product(drives, verdicts):
        strength = strength_at(drive)
        length = np.pi * (barrel.bore**2 - barrel.arbor**2) / 8 / strength
        after = 0.8 * barrel.run.used_turns if verdict == "stopped" else None
        spring = TriedStrip(barrel.width, strength, length, verdict, after, said=f"{drive}")
        found.append((f"{drive} {verdict}", (spring,)))
    return found


def next_three(situation):
    """The next three steps up from the fitted spring; from the rule of thumb where none is fitted."""
    rows = _stronger(situation, situation.fitted_mm or situation.thumb_mm - 1e-6)
    return _in_orders([rows[i : i + 3] for i in range(0, len(rows), 3)])


def around_the_rule(situation):
    """The springs nearest to 0.9, 1 and 1.1 of the rule of thumb, stronger than the fitted one; then three up."""
    rows = _stronger(situation, situation.fitted_mm)
    strength = situation.strength
    wanted = {min(rows, key=lambda r: abs(strength[r] - part * situation.thumb_mm)) for part in (0.9, 1, 1.1) if rows}
    first = sorted(wanted, key=lambda r: situation.choice.offered.edge[r])
    rest = [r for r in rows if not first or strength[r] > strength[first[-1]]]
    return _in_orders([first, *(rest[i : i + 3] for i in range(0, len(rest), 3))])


def the_middle_one(situation):
    """One spring half way between the fitted one, or the rule of thumb, and the strongest; then half way again."""
    rows = _stronger(situation, situation.fitted_mm or situation.thumb_mm - 1e-6)
    orders = []
    while rows:
        middle = rows[len(rows) // 2]
        orders.append([middle])
        rows = [r for r in rows if situation.strength[r] > situation.strength[middle]]
    return _in_orders(orders)


HABITS = {"next three steps up": next_three, "±10 % around the rule": around_the_rule, "the middle one": the_middle_one}


def _stronger(situation, than_mm):
    """Rows of rising drive above a strength, up to the strongest useful one."""
    edge, strength = situation.choice.offered.edge, situation.strength
    rows = [r for r in np.argsort(strength).tolist() if strength[r] > than_mm + 1e-6]
    rising = []
    for row in rows:
        if not rising or edge[row] > edge[rising[-1]]:
            rising.append(row)
    return rising


def _in_orders(orders):
    return tuple(tuple(order) for order in orders if order)[:ORDERS]


def scaled(situation, **factors):
    """The situation with some weights multiplied."""
    choice = situation.choice
    return replace(situation, choice=replace(choice, weights=choice.weights.scaled(**factors)))
