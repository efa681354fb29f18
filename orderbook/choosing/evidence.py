"""How each thing that was seen at the bench weighs on the need, and when what was seen cannot all be true."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from math import erfc, exp, pi, sqrt

import numpy as np

from orderbook.barrel.practice import Share
from orderbook.choosing.belief import CELLS, Belief, Floats, cell_edges, cell_middles
from orderbook.choosing.normal import normal_below
from orderbook.errors import error

WRONG = 0.03  # chance that a verdict is wrong: common practice, no source
OVERPOWER_MARGIN = 0.25  # a spring said to be too strong overpowers by at least this: common practice, no source
LEAST_MASS = 0.01  # below this the evidence all but rules itself out
MOST_DOUBT = 0.50  # more likely than not some verdict is wrong
A_WATCH_LEAVES = Share(1.35, 0.15)  # the margin where none is told: a watch's, see `barrel.practice`


@dataclass(frozen=True, slots=True)
class Evidence:
    """One thing seen at the bench.

    `kind` is one of KINDS; `at` is x = ln(index / 100) of the torque it speaks about (the spring's drive for
    "too weak" and "ran well", its greatest torque for "never ran", its load for "too strong", the torque at
    that moment for "stopped", the need itself for "rod test"); `spread` is the standard uncertainty of x. `margin` is
    what springs of such movements have left over, by which a spring that ran well may lie above the need.
    """

    kind: str
    at: float
    spread: float
    what: str = ""
    margin: Share = A_WATCH_LEAVES


@dataclass(frozen=True, slots=True)
class Weighed:
    """The belief after the evidence, and how well the evidence agrees with it and with itself.

    `mass_all_right` is what is left of the usual if no verdict is wrong (see `agreement`); `chance_one_is_wrong` that
    at least one is. `right` is the start times the likelihoods with no verdict wrong, cell by cell.
    """

    belief: Belief
    mass: float
    mass_all_right: float
    chance_one_is_wrong: float
    right: Floats
    verdicts: int = 0

    @property
    def contradicts(self) -> bool:
        """Whether the strength is probably not the fault."""
        return self.mass_all_right < LEAST_MASS or self.chance_one_is_wrong > MOST_DOUBT


def weigh(start: Belief, seen: Sequence[Evidence], enough: Floats | None = None, *, wrong: float = WRONG) -> Weighed:
    """Belief after everything seen, in whatever order it was seen.

    p(x) ∝ start(x)·Π((1 − ε)·L(x) + ε·W), with ε the chance of a wrong verdict, L one of KINDS, and W how likely a
    wrong one says this: 1 for a verdict, and for a torque the same chance everywhere on the grid. The same verdict on
    the same spring counts once: the spring's own error does not change from one fitting to the next.

    Parameters: start belief, the evidence; enough, ln of the load of the just-sufficient strip at each cell, which
    "too strong" is measured by (left out: as the drive); ε between 0 and 0.5.
    Returns: Weighed.
    Raises: OrderbookError(code="belief_without_mass") where nothing is left (only with ε = 0).
    Source: Bayes' rule; the margins are common practice, no source.

    >>> from orderbook.choosing.belief import start_belief
    >>> after = weigh(start_belief(65.0, 0.25), [Evidence("too weak", np.log(0.70), 0.05)])
    >>> round(after.belief.median_index), after.contradicts
    (80, False)
    """
    if not 0 <= wrong <= 0.5:
        raise error("wrong_verdicts_not_sensible", where="chance of a wrong verdict", saw=f"{wrong:g}")
    seen = each_once(seen)
    used, sure = start.p, start.p
    for one in seen:
        right = likelihood(one, enough)
        used, sure = used * ((1 - wrong) * right + wrong * _if_wrong(one)), sure * right
    mass, all_right = float(np.sum(used)), float(np.sum(sure))
    doubt = 1 - (1 - wrong) ** len(seen) * all_right / mass if mass > 0 else 1.0
    return Weighed(Belief(used), mass, agreement(start, seen, enough), max(0.0, doubt), sure, len(seen))


def each_once(seen: Sequence[Evidence]) -> tuple[Evidence, ...]:
    """Return the evidence with each verdict on one spring once; rod tests are measured anew each time and all stay.

    >>> len(each_once([Evidence("too weak", -0.3, 0.05)] * 3 + [Evidence("rod test", -0.3, 0.05)] * 2))
    3
    """
    kept = {
        (one.kind, one.at, one.spread, place if one.kind == "rod test" else 0): one for place, one in enumerate(seen)
    }
    return tuple(kept.values())


def agreement(start: Belief, seen: Sequence[Evidence], enough: Floats | None = None) -> float:
    """How much of the usual is left if all that was seen is right; below LEAST_MASS it contradicts itself.

    min(m·Σ q(x)·K(x − a) / max over b of Σ q(x)·K(x − b), P(χ² with n − 1 degrees ≥ Q)), with m = Σ start(x)·ΠL(x)
    over the verdicts and q what they leave; n torques aᵢ ± sᵢ of weighted mean a, K the bell of the mean's own
    spread, Q = Σ((aᵢ − a)/sᵢ)². A torque says where the need is, and the more closely it does the fewer needs it
    leaves; so its bell is measured by the most it could have left, and several torques by how they scatter.

    Source: the chi-squared test of a weighted mean, as in any textbook of statistics.

    >>> from orderbook.choosing.belief import start_belief
    >>> narrow = [Evidence("stopped", float(np.log(0.77)) + d, 0.01) for d in (-0.01, 0.01)]
    >>> agreement(start_belief(65.0, 0.25), narrow) > 0.1
    True
    """
    left = start.p
    for one in seen:
        left = left if _is_torque(one) else left * likelihood(one, enough)
    torques = [one for one in seen if _is_torque(one)]
    mass = float(np.sum(left))
    if not torques or mass <= 0:
        return mass
    weight = np.array([one.spread**-2 for one in torques])
    at = np.array([one.at for one in torques])
    mean, spread = float(np.sum(weight * at) / np.sum(weight)), float(np.sum(weight) ** -0.5)
    apart = float(np.sum(weight * (at - mean) ** 2))
    return min(mass * _share_of_the_most(left, mean, spread), chi_squared_above(apart, len(torques) - 1))


def _share_of_the_most(left: Floats, at: float, spread: float) -> float:
    """What a torque leaves of a belief, to the most it would leave wherever it had been measured."""
    middles = cell_middles()
    width = float(middles[1] - middles[0])
    cells = min(int(6 * spread / width) + 1, CELLS)
    reach = np.arange(-cells, cells + 1)
    most = np.convolve(left, np.exp(-((reach * width / spread) ** 2) / 2), mode="full").max()
    here = float(np.sum(left * np.exp(-(((middles - at) / spread) ** 2) / 2)))
    return min(1.0, here / float(most)) if most > 0 else 0.0


def chi_squared_above(value: float, degrees: int) -> float:
    """Chance that chi-squared is above a value: the closed sums for whole degrees of freedom (1 for none)."""
    if degrees < 1:
        return 1.0
    half, odd = value / 2, degrees % 2
    total, term = (erfc(sqrt(half)), exp(-half) * sqrt(half / pi) * 2) if odd else (0.0, exp(-half))
    for step in range(degrees // 2):
        total += term
        term *= half / (step + 1.5 if odd else step + 1)
    return total


def likelihood(seen: Evidence, enough: Floats | None = None) -> Floats:
    """How likely this would be seen at each cell of the grid if the verdict is right; at most 1.

    Raises: KeyError for an unknown kind, ValueError for a spread that is not above zero (mistakes of the caller).
    """
    if not (np.isfinite(seen.at) and seen.spread > 0):
        raise ValueError(f"evidence needs a finite torque and a spread above zero, not {seen.at} and {seen.spread}")
    of, by = KINDS[seen.kind]
    return of(cell_middles() if by == "drive" or enough is None else enough, seen)


def _is_torque(seen: Evidence) -> bool:
    return KINDS[seen.kind][0] is _need_is_about


def _if_wrong(seen: Evidence) -> float:
    if not _is_torque(seen):
        return 1.0
    edges = cell_edges()
    return min(1.0, seen.spread * sqrt(2 * pi) / float(edges[-1] - edges[0]))


def _need_above(x: Floats, seen: Evidence) -> Floats:
    """P(need > torque), softened by the ± of the spring."""
    return normal_below((x - seen.at) / seen.spread)


def _need_is_about(x: Floats, seen: Evidence) -> Floats:
    return np.asarray(np.exp(-(((x - seen.at) / seen.spread) ** 2) / 2))


def _need_below(x: Floats, seen: Evidence) -> Floats:
    """P(need ≤ drive), and P(margin ≥ drive/need): a spring runs well that leaves no more over than springs do."""
    least = (x - seen.at + np.log(seen.margin.median)) / seen.margin.spread
    return normal_below((seen.at - x) / seen.spread) * normal_below(least)


def _need_far_below(load_needed: Floats, seen: Evidence) -> Floats:
    """P(load of the just-sufficient strip < load / 1.25)."""
    return normal_below((seen.at - np.log(1 + OVERPOWER_MARGIN) - load_needed) / seen.spread)


# how likely each is seen, and whether it speaks about the drive needed or about the load that goes with it
KINDS: dict[str, tuple[Callable[[Floats, Evidence], Floats], str]] = {
    "too weak": (_need_above, "drive"),
    "never ran": (_need_above, "drive"),
    "stopped": (_need_is_about, "drive"),
    "ran well": (_need_below, "drive"),
    "too strong": (_need_far_below, "load"),
    "rod test": (_need_is_about, "drive"),
}
TOO_WEAK = ("too weak", "never ran")  # the verdicts that say a spring cannot do it
