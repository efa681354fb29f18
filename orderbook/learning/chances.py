"""How likely each piece is, for every median and every spread of its group: sums of these are all that is kept.

With L(x) what a piece says of its need x, and needs within a group normal about μ with spread σ,

    Z(μ, σ) = ∫ L(x)·N(x; μ, σ) dx,  L(x) = Π((1 − ε)·Φ(±(x − a)/u) + ε)·((1 − ε)·exp(−(x − t)²/2s²) + ε·W),

the product over every spring that was tried, on a fixed grid of (μ, σ), by sums over a fixed grid of x: steps of 0.02
are no longer than the shortest ± and a third of the least spread, where such sums are as good as exact.

A bench may bring mostly barrels in which the first spring was too weak, and hardly any that went well at once. The
chance that a barrel is brought at all then hangs on its first spring, the weakest, and a piece counts as

    Z'(μ, σ) = Z/(s + (1 − s)·(P + ρ·(1 − P))), times ρ where the first spring was enough,
    P = (1 − ε)·∫ Φ((x − a)/u)·N dx + ε = (1 − ε)·Φ((μ − a)/√(σ² + u²)) + ε,

with a the first spring, ρ the share it brings of those that went well, and s a share of all that no bench brings less
than: else a dozen pieces that agree could be the few odd ones of a thousand that nobody saw.

What a group knows is Σ ln Z and Σ ln Z' over its pieces. It is kept in whole 2⁻²⁸, so that sums are the same in
whatever order, and by however many workers, they are made, and a piece can be taken out again to the last digit.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from functools import cache

import numpy as np
from numpy.typing import NDArray

from orderbook.choosing.normal import normal_below
from orderbook.learning.pieces import NARROWEST_U, Floats, Intervals, Piece

Whole = NDArray[np.int64]
WRONG = 0.03  # chance of a wrong verdict: common practice, no source
WENT_WELL = 0.02  # ρ: ours, no source
BROUGHT = 0.1  # s: ours, no source
STEP = 0.02
SPREADS = tuple(np.geomspace(0.06, 0.50, 15).tolist())  # σ of ln need within a group: 16 % from one to the next
KEPT = 2.0**28  # parts of 1 in which ln Z is kept
LEAST = -60.0  # of ln Z: rarer than any wrong verdict
TOGETHER = 1024  # pieces worked out at a time


@cache
def medians() -> Floats:
    """The grid of μ, in ln(index/100): from 11 to 330 %."""
    return _fixed(np.arange(-2.2, 1.2 + STEP / 2, STEP))


@cache
def needs() -> Floats:
    """The grid of x, in ln(index/100); what lies beyond its ends counts with the ends."""
    return _fixed(np.arange(-3.6, 2.6 + STEP / 2, STEP))


def no_pieces() -> Whole:
    """Σ ln Z and Σ ln Z' of a group without pieces."""
    return np.zeros((2, len(medians()), len(SPREADS)), dtype=np.int64)


def log_chances(seen: Intervals, wrong: float = WRONG) -> Whole:
    """Σ ln Z and Σ ln Z' over pieces, on the grid of (μ, σ), in whole 2⁻²⁸: shape (2, μ, σ).

    >>> from orderbook.learning.pieces import Group, Told
    >>> one = Piece(Group("clock", "going", "going"), too_weak=(Told(-0.65, 0.05),))
    >>> bool((log_chances(Intervals.of([one, one])) == 2 * log_chances(Intervals.of([one]))).all())
    True
    """
    total = no_pieces()
    for start in range(0, len(seen.at), TOGETHER):
        total += each_log_chance(seen.take(slice(start, start + TOGETHER)), wrong).sum(axis=0).reshape(total.shape)
    return total


def each_log_chance(seen: Intervals, wrong: float = WRONG) -> Whole:
    """Ln Z and ln Z' of each piece (rows), each on the grid of (μ, σ), laid flat."""
    z = likelihoods(seen, wrong) @ _within()
    z = np.concatenate([z, z / _brought(seen, wrong)], axis=1)
    np.log(np.maximum(z, 1e-300, out=z), out=z)
    np.rint(np.multiply(KEPT, np.maximum(z, LEAST, out=z), out=z), out=z)
    return z.astype(np.int64)


def _brought(seen: Intervals, wrong: float) -> Floats:
    """How likely a bench of failures brings a piece, for each (μ, σ) laid flat; 1 where no spring tells."""
    first, failed, at_once = _first_springs(seen)
    rows = np.flatnonzero(failed | at_once)
    at, u = first[rows, :1, None], np.maximum(first[rows, 1:, None], NARROWEST_U)
    said = (1 - wrong) * normal_below((medians()[:, None] - at) / np.hypot(SPREADS, u)) + wrong
    brought = np.ones((len(first), len(medians()), len(SPREADS)))
    brought[rows] = BROUGHT + (1 - BROUGHT) * (said + WENT_WELL * (1 - said))
    brought[at_once] /= WENT_WELL
    return brought.reshape(len(first), -1)


def _first_springs(seen: Intervals) -> tuple[Floats, NDArray[np.bool_], NDArray[np.bool_]]:
    """The weakest spring of each piece, whether it was too weak, and whether it was enough and that is all there is."""
    none = np.full((len(seen.at), 1, 2), np.nan)
    weak, enough = (np.concatenate([springs, none], axis=1)[:, 0] for springs in (seen.too_weak, seen.enough))
    failed = np.isfinite(weak[:, 0])
    at_once = ~failed & np.isfinite(enough[:, 0]) & ~np.isfinite(seen.at[:, 0])
    return np.where(failed[:, None], weak, enough), failed, at_once


def log_chances_of(pieces: Iterable[Piece], wrong: float = WRONG) -> Whole:
    """Σ ln Z and Σ ln Z' over pieces."""
    return log_chances(Intervals.of(pieces), wrong)


def likelihoods(seen: Intervals, wrong: float = WRONG) -> Floats:
    """L(x) of each piece (rows) at each x of the grid."""
    told = np.ones((len(seen.at), len(needs())))
    for springs, sign in ((seen.too_weak, 1.0), (seen.enough, -1.0)):
        for layer in np.moveaxis(springs, 1, 0):
            rows = np.flatnonzero(np.isfinite(layer[:, 0]))
            told[rows] *= (1 - wrong) * _below(needs(), layer[rows], sign) + wrong
    rows = np.flatnonzero(np.isfinite(seen.at[:, 0]))
    at, u = seen.at[rows, :1], np.maximum(seen.at[rows, 1:], NARROWEST_U)
    anywhere = u * math.sqrt(2 * math.pi) / (needs()[-1] - needs()[0])
    told[rows] *= (1 - wrong) * np.exp(-(((needs() - at) / u) ** 2) / 2) + wrong * anywhere
    return told


def _below(x: Floats, spring: Floats, sign: float = 1.0) -> Floats:
    """Φ(±(x − a)/u) for springs of a and u (rows) at each x."""
    return normal_below(sign * (x - spring[:, :1]) / np.maximum(spring[:, 1:], NARROWEST_U))


@cache
def _within() -> Floats:
    """N(x; μ, σ) as weights of the grid of x (rows), one column for each (μ, σ); the columns add up to one."""
    x, middle, spread = needs()[:, None, None], medians()[None, :, None], np.array(SPREADS)[None, None, :]
    density = np.exp(-(((x - middle) / spread) ** 2) / 2) / (spread * math.sqrt(2 * math.pi)) * STEP
    low, high = ((x[0] - STEP / 2 - middle[0]) / spread[0], (x[-1] + STEP / 2 - middle[0]) / spread[0])
    density[0] += normal_below(low)
    density[-1] += normal_below(-high)
    return _fixed((density / density.sum(axis=0)).reshape(len(needs()), -1))


def _fixed(values: Floats) -> Floats:
    values.setflags(write=False)
    return values
