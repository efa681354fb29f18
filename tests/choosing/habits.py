"""Common habits of ordering, and situations on real barrels to try them in against the graded order.

The habits are ours, put as fairly as we could: common practice, no source. Each goes on in its own way when its
springs have failed, and gives up when nothing stronger is in the list or after three orders.
"""

from dataclasses import dataclass, replace
from itertools import product

import numpy as np

from orderbook.barrel.practice import practice_of
from orderbook.catalogue import Catalogue
from orderbook.choosing.bench import Bench, TriedStrip
from orderbook.choosing.considering import Considered, consider
from orderbook.choosing.objective import Choice
from orderbook.choosing.options import Options
from orderbook.choosing.restorers import Doubt
from orderbook.mechanics import Run, drive_and_load, reference_spring, spring_length

ORDERS = 3
PRICE = 1000.0


@dataclass(frozen=True)
class Barrel:
    """A barrel, its kind of movement, and its fine and coarse steps of strength."""

    name: str
    movement: str
    bore: float
    arbor: float
    width: float
    run: Run
    fine: float

    def bench(self, tried=()):
        return Bench(self.bore, self.arbor, self.width, self.run, tried=tuple(tried), movement=self.movement)

    def strengths(self, step):
        best = reference_spring(self.bore, self.arbor, self.width, self.run).strength_mm
        return np.arange(np.ceil(0.45 * best / step) * step, 1.25 * best, step)

    def half_fill(self, strength):
        return spring_length(self.bore, self.arbor, strength, 0.5)

    def listed(self, step):
        """Half-fill springs of every strength, dearer with strength as lists are."""
        strength = self.strengths(step)
        n = len(strength)
        return Catalogue.of(
            supplier=["Supplier North"] * n, item=[f"S{1000 * e:.1f}" for e in strength],
            width_mm=np.full(n, self.width),
            strength_mm=strength, length_mm=self.half_fill(strength), currency=["GBP"] * n,
            price_minor=np.rint(PRICE * (0.7 + 0.3 * strength / strength.max())).astype(int),
        )  # fmt: skip

    def strength_at(self, wanted):
        """Half-fill strength of a drive index, below the strongest useful one."""
        strength = self.strengths(self.fine / 4)
        sizes = (self.bore, self.arbor, self.width, strength, self.half_fill(strength))
        best = reference_spring(self.bore, self.arbor, self.width, self.run)
        index = 100 * drive_and_load(*sizes, self.run).drive_nmm / best.drive_nmm
        rising = slice(0, int(np.nanargmax(index)) + 1)
        return float(np.interp(wanted, index[rising], strength[rising]))


BARRELS = (
    Barrel("going watch", "watch", 15.6, 5.2, 2.9, Run(3.5), 0.005),
    Barrel("fusee watch", "watch", 15.6, 5.2, 2.9, Run(3.5, "fusee"), 0.005),
    Barrel("going clock", "clock", 34.0, 11.0, 18.0, Run(5.5), 0.01),
    Barrel("fusee clock", "clock", 40.0, 13.0, 21.0, Run(6.0, "fusee"), 0.01),
)
DRIVES = (40, 55, 70, 85)
VERDICTS = ("too weak", "never ran", "stopped")


@dataclass(frozen=True)
class Situation:
    """One barrel, list and what was seen; what was considered of it, and what the habits go by."""

    barrel: Barrel
    steps: str
    seen: str
    considered: Considered
    choice: Choice
    doubt: Doubt
    strength: np.ndarray
    fitted_mm: float
    thumb_mm: float


def situations(barrels=BARRELS, drives=DRIVES, verdicts=VERDICTS):
    """Every situation in which something may be ordered, one at a time."""
    for barrel, (word, times) in product(barrels, (("fine", 1), ("coarse", 4))):
        made = barrel.listed(barrel.fine * times)
        thumb = barrel.strength_at(practice_of(barrel.movement).fitted.median)
        for seen, tried in _tried(barrel, drives, verdicts):
            c = consider(barrel.bench(tried), made, Options(currency="GBP"))
            if not len(c.offer):
                continue
            fits = c.offer.fits
            doubt = Doubt(fits.own_u, fits.common_u, fits.load_own_u, fits.load_common_u)
            fitted = tried[0].strength_mm if tried else 0.0
            yield Situation(barrel, word, seen, c, c.choice, doubt, fits.strength_mm, fitted, thumb)


def _tried(barrel, drives, verdicts):
    found = [("nothing fitted", ())]
    for drive, verdict in product(drives, verdicts):
        strength = barrel.strength_at(drive)
        after = 0.8 * barrel.run.used_turns if verdict == "stopped" else None
        length = float(barrel.half_fill(strength))
        spring = TriedStrip(barrel.width, strength, length, verdict, after, said=f"{drive}: {verdict}")
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
