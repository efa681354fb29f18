"""The model of learning against an independent library, brute force, and simulated benches that know the truth."""

from __future__ import annotations

import itertools
import math
import warnings

import numpy as np
import pytest
from scipy import integrate, stats

from orderbook.barrel.practice import Share
from orderbook.learning import chances, model
from orderbook.learning.chances import KEPT, SPREADS, likelihoods, log_chances, log_chances_of, medians
from orderbook.learning.model import joined, learned, sums_of
from orderbook.learning.pieces import OWN, Group, Intervals, Piece, Told
from tests.learning.workshops import CLOCKS, GOING, Truth, tried

EIGHT_DAY = Group("clock", "going", "going", "eight day")
FUSEE = Group("clock", "fusee", "going")


def some_pieces(count: int, seed: int = 3, group: Group = GOING) -> list[Piece]:
    rng = np.random.default_rng(seed)
    return [tried(need, rng, wrong=0.03, group=group) for need in Truth().needs(math.log(0.6), count, rng)]


def quad_z(piece: Piece, mu: float, sigma: float, wrong: float = 0.03) -> float:
    """∫ L(x)·N(x; μ, σ) dx by adaptive quadrature, with scipy's normal."""

    def integrand(x: float) -> float:
        told = stats.norm.pdf(x, mu, sigma)
        if piece.above:
            told *= (1 - wrong) * stats.norm.cdf((x - piece.above.x) / piece.above.u) + wrong
        if piece.below:
            told *= (1 - wrong) * stats.norm.cdf((piece.below.x - x) / piece.below.u) + wrong
        if piece.at:
            wide = piece.at.u * math.sqrt(2 * math.pi) / (chances.needs()[-1] - chances.needs()[0])
            bell = math.exp(-(((x - piece.at.x) / piece.at.u) ** 2) / 2)
            told *= (1 - wrong) * bell + wrong * wide
        return float(told)

    breaks = sorted({mu, *(t.x for t in (piece.above, piece.below, piece.at) if t)})
    found = integrate.quad(integrand, mu - 9 * sigma, mu + 9 * sigma, points=breaks, epsabs=1e-12, limit=500)
    return float(found[0])


@pytest.mark.parametrize(
    "piece",
    [
        Piece(GOING, above=Told(-0.65, 0.05), below=Told(-0.46, 0.05)),
        Piece(GOING, above=Told(-0.5, 0.12)),
        Piece(GOING, below=Told(-0.9, 0.03)),
        Piece(GOING, at=Told(-0.6, 0.04)),
        Piece(GOING, above=Told(-0.7, 0.06), at=Told(-0.55, 0.02), below=Told(-0.4, 0.06)),
        Piece(GOING, above=Told(-0.4, 0.04), below=Told(-0.6, 0.04)),
    ],
    ids=["interval", "above", "below", "point", "all three", "turned"],
)
def test_chance_of_a_piece_is_the_integral(piece: Piece) -> None:
    at = log_chances_of([piece]) / KEPT
    for m, s in itertools.product((70, 95, 120), (0, 7, 14)):
        mu, sigma = float(medians()[m]), SPREADS[s]
        assert at[m, s] == pytest.approx(math.log(quad_z(piece, mu, sigma)), abs=2e-6)


def test_fit_agrees_with_an_independent_library() -> None:
    """lifelines' log-normal with interval censoring: the same greatest likelihood, found by its own optimiser."""
    from lifelines import LogNormalFitter

    rng = np.random.default_rng(11)
    needs = rng.normal(math.log(0.6), 0.22, 300)
    low = np.floor(needs / 0.12) * 0.12
    pieces = [Piece(GOING, Told(at, 1e-9), Told(at + 0.12, 1e-9)) for at in low.tolist()]
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # the library's own
        fit = LogNormalFitter().fit_interval_censoring(np.exp(low), np.exp(low + 0.12))
    sharp = (
        log_chances(Intervals.of(pieces), wrong=0.0) / KEPT
    )  # ours is known on a grid: the top is that of a parabola
    middles, tops = zip(*(_top(medians(), sharp[:, s]) for s in range(6, len(SPREADS))), strict=True)
    ln_sigma, most = _top(np.log(SPREADS[6:]), np.array(tops))
    assert most == pytest.approx(fit.log_likelihood_, abs=0.3)
    assert math.exp(ln_sigma) == pytest.approx(fit.sigma_, rel=0.01)
    assert float(np.interp(ln_sigma, np.log(SPREADS[6:]), middles)) == pytest.approx(fit.mu_, abs=1e-3)


def _top(x: np.ndarray, y: np.ndarray) -> tuple[float, float]:
    at = int(np.clip(y.argmax(), 1, len(y) - 2))
    a, b, c = np.polyfit(x[at - 1 : at + 2], y[at - 1 : at + 2], 2)
    return float(-b / (2 * a)), float(c - b * b / (4 * a))


def test_whole_model_is_brute_force() -> None:
    """Every level summed out at once over a product grid, without a tree, for few pieces and fixed τ and σ."""
    pieces = [*some_pieces(3), *some_pieces(2, 5, EIGHT_DAY), *some_pieces(2, 6, FUSEE)]
    tau, m0 = 0.3, math.log(0.55)
    sums = sums_of(pieces)
    logs, density = model.posterior(model.tree_of(sums), (GOING, GOING, OWN), m0, tau)
    levels = {name: math.sqrt(share) * tau for name, share in model.LEVELS.items()}
    s = 9
    # a joint normal over the three benches' μ: the levels above summed out by hand
    shared = {"movement": levels["movement"] ** 2, "kind": levels["kind"] ** 2}
    own = levels["label"] ** 2 + levels["bench"] ** 2
    groups = (GOING, EIGHT_DAY, FUSEE)
    cov = np.array(
        [
            [shared["movement"] + (shared["kind"] if a.kind == b.kind else 0) + (own if a == b else 0) for b in groups]
            for a in groups
        ]
    )
    step = 4
    mu = medians()[::step]
    grid = np.stack(np.meshgrid(mu, mu, mu, indexing="ij"), axis=-1)
    joint = stats.multivariate_normal(np.full(3, m0), cov).pdf(grid) * (mu[1] - mu[0]) ** 3
    for axis, group in enumerate(groups):
        told = np.exp(sums[group, OWN].log_chances[::step, s] / KEPT)
        joint = joint * told.reshape([-1 if axis == n else 1 for n in range(3)])
    assert math.exp(logs[s]) == pytest.approx(joint.sum(), rel=2e-3)
    middle = (joint.sum(axis=(1, 2)) * mu).sum() / joint.sum()
    assert (density[:, s] * medians()).sum() == pytest.approx(middle, abs=1e-3)


def test_before_any_piece_it_is_practice() -> None:
    for start in (Share(55.0, 0.40), Share(65.0, 0.25)):
        found = learned({}, GOING, start)
        assert (found.median, found.spread) == pytest.approx((start.median, start.spread))
    prior = model.pairs(0.40)
    mean_square = (prior[1] * (np.array(SPREADS)[None, :] ** 2 + np.array(prior[0])[:, None] ** 2)).sum()
    assert math.sqrt(mean_square) == pytest.approx(0.40)


def test_levels_shrink_towards_the_one_above() -> None:
    sums = sums_of(some_pieces(12, 4, EIGHT_DAY))
    same, label, kind = (learned(sums, group, CLOCKS) for group in (EIGHT_DAY, GOING._replace(label="alarm"), FUSEE))
    told = [abs(math.log(one.median / 55.0)) for one in (same, label, kind)]
    assert told == sorted(told, reverse=True)
    assert same.spread < label.spread < kind.spread < 0.40
    assert learned(sums, Group("watch", "going", "going"), Share(65.0, 0.25)).spread == 0.25


def test_a_piece_taken_out_leaves_no_trace() -> None:
    pieces = some_pieces(9)
    known = sums_of(pieces)[GOING, OWN].without(pieces[4])
    rest = sums_of(pieces[:4] + pieces[5:])[GOING, OWN]
    assert known.pieces == rest.pieces
    assert (known.log_chances == rest.log_chances).all()


def test_sums_are_the_same_however_they_are_made() -> None:
    pieces = some_pieces(50)
    whole = sums_of(pieces)
    parts = [sums_of(pieces[i::7]) for i in range(7)]
    again = joined(*reversed(parts))
    assert again.keys() == whole.keys()
    assert (again[GOING, OWN].log_chances == whole[GOING, OWN].log_chances).all()


def test_one_odd_workshop_does_not_move_everybody() -> None:
    """A thousand pieces of one other bench move less than ten pieces each of six benches that agree."""
    far = Piece(GOING, Told(-0.03, 0.05), Told(0.07, 0.05))
    one = sums_of([Piece(far.group, far.above, far.below, bench="odd")] * 1000)
    six = sums_of([Piece(far.group, far.above, far.below, bench=f"b{n}") for n in range(6)] * 10)
    mine = sums_of(some_pieces(8))
    alone, odd, many = (learned(joined(mine, other), GOING, CLOCKS) for other in ({}, one, six))
    assert alone.median < odd.median < many.median
    assert odd.benches == 1
    assert many.others == 60
    assert math.log(odd.median / alone.median) < 0.10


def test_likelihood_is_at_most_one() -> None:
    assert likelihoods(Intervals.of(some_pieces(30))).max() <= 1.0
