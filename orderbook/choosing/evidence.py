"""How each thing that was seen at the bench weighs on the need, and when what was seen cannot all be true."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from math import erfc, pi, sqrt

import numpy as np

from orderbook.choosing.belief import Belief, Floats, cell_edges, cell_middles
from orderbook.errors import error

WRONG = 0.03  # chance that a verdict is wrong: common practice, no source
RAN_WELL_BELOW = 0.30  # a spring that ran well is at most this far above the need: common practice, no source
OVERPOWER_MARGIN = 0.25  # a spring said to be too strong overpowers by at least this: common practice, no source
LEAST_MASS = 0.01  # below this the evidence all but rules itself out
MOST_DOUBT = 0.50  # more likely than not some verdict is wrong


@dataclass(frozen=True, slots=True)
class Evidence:
    """One thing seen at the bench.

    `kind` is one of KINDS; `at` is x = ln(index / 100) of the torque it speaks about (the spring's drive for
    "too weak" and "ran well", its greatest torque for "never ran", its load for "too strong", the torque at
    that moment for "stopped", the need itself for "rod test"); `spread` is the standard uncertainty of x.
    """

    kind: str
    at: float
    spread: float
    what: str = ""


@dataclass(frozen=True, slots=True)
class Weighed:
    """The belief after the evidence, and how well the evidence agrees with it and with itself.

    `mass_all_right` is the start's mass left if no verdict is wrong; `chance_one_is_wrong` that at least one is.
    """

    belief: Belief
    mass: float
    mass_all_right: float
    chance_one_is_wrong: float

    @property
    def contradicts(self) -> bool:
        """Whether the strength is probably not the fault."""
        return self.mass_all_right < LEAST_MASS or self.chance_one_is_wrong > MOST_DOUBT


def weigh(start: Belief, seen: Sequence[Evidence], wrong: float = WRONG) -> Weighed:
    """Belief after everything seen, in whatever order it was seen.

    p(x) ∝ start(x)·Π((1 − ε)·L(x) + ε·W), with ε the chance of a wrong verdict, L one of KINDS, and W how likely a
    wrong one says this: 1 for a verdict, and for a torque the same chance everywhere on the grid.

    Parameters: start belief, the evidence, ε between 0 and 0.5.
    Returns: Weighed.
    Raises: OrderbookError(code="belief_without_mass") where nothing is left (only with ε = 0).
    Source: Bayes' rule; the margins are common practice, no source.

    >>> from orderbook.choosing.belief import start_belief
    >>> after = weigh(start_belief(), [Evidence("too weak", np.log(0.70), 0.05)])
    >>> round(after.belief.median_index), after.contradicts
    (83, False)
    """
    if not 0 <= wrong <= 0.5:
        raise error("wrong_verdicts_not_sensible", where="chance of a wrong verdict", saw=f"{wrong:g}")
    used, sure = start.p, start.p
    for one in seen:
        right = likelihood(one)
        used, sure = used * ((1 - wrong) * right + wrong * _if_wrong(one)), sure * right
    mass, all_right = float(np.sum(used)), float(np.sum(sure))
    doubt = 1 - (1 - wrong) ** len(seen) * all_right / mass if mass > 0 else 1.0
    return Weighed(Belief(used), mass, all_right, max(0.0, doubt))


def likelihood(seen: Evidence) -> Floats:
    """How likely this would be seen at each cell of the grid if the verdict is right; at most 1.

    Raises: KeyError for an unknown kind, ValueError for a spread that is not above zero (mistakes of the caller).
    """
    if not (np.isfinite(seen.at) and seen.spread > 0):
        raise ValueError(f"evidence needs a finite torque and a spread above zero, not {seen.at} and {seen.spread}")
    return KINDS[seen.kind](cell_middles(), seen.at, seen.spread)


def _if_wrong(seen: Evidence) -> float:
    if KINDS[seen.kind] is not _need_is_about:
        return 1.0
    edges = cell_edges()
    return min(1.0, seen.spread * sqrt(2 * pi) / float(edges[-1] - edges[0]))


def _need_above(x: Floats, at: float, spread: float) -> Floats:
    return _normal_below((x - at) / spread)


def _need_is_about(x: Floats, at: float, spread: float) -> Floats:
    return np.asarray(np.exp(-(((x - at) / spread) ** 2) / 2))


def _need_just_below(x: Floats, at: float, spread: float) -> Floats:
    return _normal_below((at - x) / spread) * _normal_below((x - at - np.log(1 - RAN_WELL_BELOW)) / spread)


def _need_far_below(x: Floats, at: float, spread: float) -> Floats:
    return _normal_below((at - np.log(1 + OVERPOWER_MARGIN) - x) / spread)


KINDS: dict[str, Callable[[Floats, float, float], Floats]] = {
    "too weak": _need_above,
    "never ran": _need_above,
    "stopped": _need_is_about,
    "ran well": _need_just_below,
    "too strong": _need_far_below,
    "rod test": _need_is_about,
}


def _normal_below(z: Floats) -> Floats:
    # math.erfc, not scipy: 2,400 values take half a millisecond, and the import would take a hundred times that
    return np.array([erfc(-value) / 2 for value in (z / sqrt(2)).tolist()])
