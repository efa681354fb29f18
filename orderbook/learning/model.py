"""What pieces say of the need of the next one of their kind: levels of groups, each shrinking towards the one above.

    x = ln(need/100) of a piece  ~ Normal(μ of its bench and group, σ)
    μ of a bench within a group  ~ Normal(μ of the group, √0.2·τ)
    μ of a labelled group        ~ Normal(μ of its kind: movement, drive and train, √0.2·τ)
    μ of a kind                  ~ Normal(μ of the movement, √0.3·τ)
    μ of a movement              ~ Normal(start of practice m₀, √0.3·τ)

With practice's start of median m₀ and spread S: with a chance of 0.4 groups do not differ, τ is a tenth of S and σ the
rest; else ln σ is about ln(0.55·S) ± 0.35, and ln τ ± 0.35 about what makes the mean of σ² + τ² equal to S². So before
there are pieces the prediction has practice's own median and spread, and each piece moves it from there; and where
practice was right all along, little is lost by learning. All is worked out by sums on grids: for each pair (σ, τ) the
levels form a tree, what is below each branch is passed up it and what is above it down, and the pairs are weighed by
how likely they make all pieces. Nothing is drawn at random.

With a chance of 0.3 a bench brings mostly barrels whose first spring was too weak; its pieces then count as
`chances` says. A few barrels whose first spring was strong enough show that it does not.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import islice, pairwise
from typing import Any

import numpy as np

from orderbook.barrel.practice import Share
from orderbook.learning.chances import (
    KEPT,
    SPREADS,
    STEP,
    TOGETHER,
    Whole,
    each_log_chance,
    log_chances_of,
    medians,
)
from orderbook.learning.pieces import OWN, Floats, Group, Intervals, Piece

LEVELS = {"movement": 0.3, "kind": 0.3, "label": 0.2, "bench": 0.2}  # shares of τ²: ours, no source
WITHIN = 0.55  # usual spread within a group, to practice's spread: ours, no source
DOUBT = 0.35  # standard deviation of ln σ and ln τ: weak, ours, no source
NO_GROUPS = 0.4  # chance that groups do not differ, and practice's spread is that of single pieces: ours, no source
CHOSEN = 0.3  # chance that a bench brings mostly barrels whose first spring was too weak: ours, no source
ALIKE = 0.1  # τ of groups that do not differ, to practice's spread
STEPS = (-1.5, -0.75, 0.0, 0.75, 1.5)  # of ln τ, in standard deviations
NINE_IN_TEN = 1.6448536269514722  # standard deviations on either side that hold 90 %


@dataclass(frozen=True, slots=True)
class Known:
    """What the pieces of one group and bench come to: how many, and Σ ln Z and Σ ln Z'."""

    pieces: int
    log_chances: Whole

    def __add__(self, other: Known) -> Known:
        """Join two lots of pieces."""
        return Known(self.pieces + other.pieces, self.log_chances + other.log_chances)

    def without(self, piece: Piece) -> Known:
        """Take one piece out again, exactly."""
        return Known(self.pieces - 1, self.log_chances - log_chances_of([piece]))

    @property
    def told(self) -> Floats:
        """Ln of how likely all of them are, for each μ and σ of their bench."""
        all_brought, failures = self.log_chances / KEPT
        return np.asarray(np.logaddexp(math.log(1 - CHOSEN) + all_brought, math.log(CHOSEN) + failures))


Sums = dict[tuple[Group, str], Known]  # by group and bench


def sums_of(pieces: Iterable[Piece]) -> Sums:
    """What pieces come to, by group and bench; of a long row of pieces a few thousand are held at a time."""
    total: Sums = {}
    row = iter(pieces)
    while lot := list(islice(row, TOGETHER)):
        lot.sort(key=_name)
        each = each_log_chance(Intervals.of(lot))
        starts = [n for n, piece in enumerate(lot) if n == 0 or _name(piece) != _name(lot[n - 1])]
        summed = np.add.reduceat(each, starts, axis=0)
        for n, (start, end) in enumerate(pairwise([*starts, len(lot)])):
            known = Known(end - start, summed[n].reshape(2, len(medians()), -1))
            name = _name(lot[start])
            total[name] = total[name] + known if name in total else known
    return total


def _name(piece: Piece) -> tuple[Group, str]:
    return piece.group, piece.bench


def joined(*several: Mapping[tuple[Group, str], Known]) -> Sums:
    """Join sums, in whatever order: the answer is the same to the last digit."""
    total: Sums = {}
    for sums in several:
        for name, known in sums.items():
            total[name] = total[name] + known if name in total else known
    return total


@dataclass(frozen=True, slots=True)
class Learned:
    """The need to be expected of the next piece of a group: median in per cent and spread, as practice's start is told.

    `middle` is the median of the group itself with its 90 % interval, `within` the spread of pieces within a group;
    `own` and `others` are how many pieces of this group speak, `benches` how many other benches have some, and `kin`
    how many pieces of the same movement in other groups.
    """

    group: Group
    median: float
    spread: float
    middle: float
    middle_low: float
    middle_high: float
    within: float
    own: int
    others: int
    benches: int
    kin: int

    @property
    def start(self) -> Share:
        """Median and spread together."""
        return Share(self.median, self.spread)

    @property
    def taught(self) -> int:
        """How many pieces speak at all: where none does, practice alone is told."""
        return self.own + self.others + self.kin


def learned(sums: Mapping[tuple[Group, str], Known], group: Group, practice: Share) -> Learned:
    """What is to be expected of the next piece of a group on one's own bench.

    Parameters: sums of all pieces there are (those of other movements are not looked at); the group; practice's start
    of its movement, median in per cent and spread.
    Returns: Learned; median and spread are mean and standard deviation of ln need, the shape is taken as normal.
    Source: an ordinary normal hierarchy with interval-censored observations, as in any textbook of Bayesian statistics.

    >>> from orderbook.learning.pieces import Told
    >>> going = Group("clock", "going", "going")
    >>> nothing = learned({}, going, Share(55.0, 0.40))
    >>> round(nothing.median), round(nothing.spread, 2)
    (55, 0.4)
    >>> weak, enough = Told(-0.36, 0.05), Told(-0.22, 0.05)  # 70 and 80 %
    >>> eight = [Piece(going, (weak,), (enough,))] * 6 + [Piece(going, (), (enough,))] * 2
    >>> after = learned(sums_of(eight), going, Share(55.0, 0.40))
    >>> round(after.median), round(after.spread, 2)
    (68, 0.21)
    """
    mine = {name: known for name, known in sums.items() if name[0].movement == group.movement and known.pieces}
    tree = tree_of(mine)
    m0 = math.log(practice.median / 100)
    weights, means, squares, middles, middle_squares = (np.zeros((len(STEPS) + 1, len(SPREADS))) for _ in range(5))
    taus, prior = pairs(practice.spread)
    for j, tau in enumerate(taus):
        weights[j], at = posterior(tree, (group.kind, group, OWN), m0, tau)
        mu = medians()[:, None]
        middles[j], middle_squares[j] = (at * mu).sum(axis=0), (at * mu**2).sum(axis=0)
        means[j], squares[j] = middles[j], middle_squares[j] + np.array(SPREADS) ** 2
    share = np.exp(weights - weights.max()) * prior
    share /= share.sum()
    mean, middle = float((share * means).sum()), float((share * middles).sum())
    spread = math.sqrt(float((share * squares).sum()) - mean**2)
    doubt = math.sqrt(max(float((share * middle_squares).sum()) - middle**2, 0.0))
    if not mine:  # what the grid rounds off is no news
        mean, spread = m0, practice.spread
    own = mine.get((group, OWN))
    others = [known.pieces for (of, bench), known in mine.items() if of == group and bench != OWN]
    ends = (middle - NINE_IN_TEN * doubt, middle + NINE_IN_TEN * doubt)
    return Learned(
        group,
        100 * math.exp(mean),
        spread,
        100 * math.exp(middle),
        100 * math.exp(ends[0]),
        100 * math.exp(ends[1]),
        float((share.sum(axis=0) * np.array(SPREADS)).sum()),
        own.pieces if own else 0,
        sum(others),
        len(others),
        sum(known.pieces for (of, _), known in mine.items() if of != group),
    )


def posterior(tree: Tree, path: tuple[Any, ...], m0: float, tau: float) -> tuple[Floats, Floats]:
    """Return ln of how likely all pieces are, for each σ, and how μ at the end of a path lies: a density a column.

    Down the path comes what is known above; at each branch what its other branches say is added.
    """
    first, *below = (math.sqrt(share) * tau for share in LEVELS.values())
    down = -(((medians() - m0) / first) ** 2) / 2 - math.log(first * math.sqrt(2 * math.pi) / STEP)
    here: Floats = np.repeat(down[:, None], len(SPREADS), axis=1)
    node: Tree | Known = tree
    for depth, (name, sd) in enumerate(zip(path, below, strict=True)):
        branches = node if isinstance(node, dict) else {}
        for other, branch in branches.items():
            if other != name:
                here = here + _through(_told(branch, below[depth + 1 :]), _kernel(sd))
        here = _through(here, _kernel(sd).T)
        node = branches.get(name, {})
    here = here + _told(node, [])
    most = here.max(axis=0)
    density = np.exp(here - most)
    return np.log(density.sum(axis=0)) + most, density / density.sum(axis=0)


def _told(node: Tree | Known, below: Sequence[float]) -> Floats:
    """What everything below a branch says of its own μ: ln likelihood for each μ and σ."""
    if isinstance(node, Known):
        return node.told
    told = np.zeros((len(medians()), len(SPREADS)))
    for branch in node.values():
        told += _through(_told(branch, below[1:]), _kernel(below[0]))
    return told


def _through(logs: Floats, kernel: Floats) -> Floats:
    """Pass ln likelihoods or densities along a branch: the mean over the other end's normal."""
    most = logs.max(axis=0)
    return np.asarray(np.log(np.maximum(kernel @ np.exp(logs - most), 1e-300)) + most)


@lru_cache(maxsize=64)
def _kernel(sd: float) -> Floats:
    """N(μ below; μ above, sd) as weights: one row for each μ above, and each row adds up to one."""
    apart = medians()[:, None] - medians()[None, :]
    density = np.exp(-((apart / sd) ** 2) / 2)
    return np.asarray(density / density.sum(axis=1, keepdims=True))


Tree = dict[Any, Any]  # kind → labelled group → bench → Known


def tree_of(mine: Mapping[tuple[Group, str], Known]) -> Tree:
    """Hang what is known of each group and bench under its kind and its label."""
    tree: Tree = {}
    for (group, bench), known in mine.items():
        tree.setdefault(group.kind, {}).setdefault(group, {})[bench] = known
    return tree


@lru_cache(maxsize=8)
def pairs(spread: float) -> tuple[tuple[float, ...], Floats]:
    """Return the values of τ, and how likely each pair (τ, σ) is before any piece: rows τ, columns σ.

    The first τ stands for no groups at all.
    """
    sigma = np.array(SPREADS)
    of_sigma = np.exp(-((np.log(sigma / (WITHIN * spread)) / DOUBT) ** 2) / 2)
    of_sigma /= of_sigma.sum()
    of_tau = np.exp(-(np.array(STEPS) ** 2) / 2)
    of_tau /= of_tau.sum()
    taus = np.exp(DOUBT * np.array(STEPS))
    left = spread**2 - float((of_sigma * sigma**2).sum())
    taus *= math.sqrt(left / float((of_tau * taus**2).sum()))
    none = ALIKE * spread
    at = int(np.searchsorted(sigma, math.sqrt(spread**2 - none**2)))
    low, high = sigma[at - 1] ** 2, sigma[at] ** 2
    alone = np.zeros(len(sigma))
    alone[at] = (spread**2 - none**2 - low) / (high - low)
    alone[at - 1] = 1 - alone[at]
    prior = np.vstack([NO_GROUPS * alone, (1 - NO_GROUPS) * of_tau[:, None] * of_sigma[None, :]])
    return (none, *taus.tolist()), prior
