"""Torque curves against a loop of scipy quadrature and root finding: `python -m tests.benchmarks.mechanics`.

The peer solves θ(M) = turns with `brentq`, and θ(M) by `quad` over the clipped curvature; it finds the pack of touching
coils with `brentq` over `quad`, or, in the first row, reckons the coils alone, which is less work and another torque
near the top. Few curves of the peer are timed and given per curve; ours are all timed, and always with touching coils.
"""

from __future__ import annotations

import math
import time
from collections.abc import Callable

import numpy as np
from scipy.integrate import quad
from scipy.optimize import brentq

from orderbook.mechanics import spring_length, spring_slack, spring_torque, spring_turns
from tests.benchmarks.side_by_side import growth_table, write

R, r, WIDTH, E, SIGMA = 7.8, 2.6, 2.9, 206000.0, 1700.0
SPRINGS, POINTS = 10_000, 64


def peer_theta(e: float, length: float, touching: bool = True) -> Callable[[float], float]:
    """Turns at a moment (as M/EI), by quadrature."""
    room = length * e / math.pi
    c = SIGMA / (E * e)

    def free(u: float) -> float:
        wound = 1 / math.sqrt(r * r + u)
        x = c / wound
        return wound * (4 * x**3 - 3 * x + 1) if x < 0.5 else 0.0

    def turned(bent: Callable[[float], float], breaks: list[float]) -> float:
        points = sorted(b for b in breaks if 0 < b < room)
        return quad(bent, 0, room, points=points or None, limit=200, epsabs=1e-10, epsrel=1e-10)[0] / (2 * e)

    def alone(mu: float) -> float:
        def bent(u: float) -> float:
            wall = 1 / math.sqrt(R * R - room + u)
            return min(max(free(u) + mu, wall), 1 / math.sqrt(r * r + u)) - wall

        return turned(bent, [])

    def packed(mu: float) -> float:
        if mu <= 0:
            return alone(mu)

        def balance(place: float, p: float) -> float:
            return quad(lambda u: ((p + u) ** -0.5 - free(u) - mu) * (p + u) ** -1.5, place, room, epsrel=1e-9)[0]

        def bare(u: float) -> float:
            return (free(u) + mu) ** -2 - u

        if balance(0.0, bare(0.0)) <= 0:
            place, p = 0.0, max(r * r, brentq(lambda p: balance(0.0, p), 0.2 * r * r, bare(0.0), xtol=1e-12))
        else:
            end = room * (1 - 1e-6)
            place = end if balance(end, bare(end)) >= 0 else brentq(lambda u: balance(u, bare(u)), 0.0, end, xtol=1e-10)
            p = bare(place)
        low, high = r * r, R * R - room

        def bent(u: float) -> float:
            own = bare(u) if u < place else p
            return (min(max(own, low), high) + u) ** -0.5 - (high + u) ** -0.5

        return turned(bent, [place])

    return packed if touching else alone


def peer_torque(e: float, length: float, turns: float, touching: bool = True) -> float:
    """Torque at these turns, by root finding over quadrature."""
    theta = peer_theta(e, length, touching)
    x = SIGMA * r / (E * e)
    top = (1 - (4 * x**3 - 3 * x + 1) if x < 0.5 else 1.0) / r
    return E * WIDTH * e**3 / 12 * brentq(lambda mu: theta(mu) - turns, -0.3 * top, 1.001 * top, xtol=1e-11 * top)


def springs(thinnest: float, thickest: float, count: int) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Strengths between two R/e, lengths between fill 0.4 and 0.6, and turns that carry torque."""
    rng = np.random.default_rng(1)
    e = R / rng.uniform(thickest, thinnest, count)
    length = np.asarray(spring_length(2 * R, 2 * r, e, rng.uniform(0.4, 0.6, count)))
    slack, turns = spring_slack(2 * R, 2 * r, e, length), spring_turns(2 * R, 2 * r, e, length)
    up = slack[:, None] + (turns - slack)[:, None] * np.linspace(0.02, 0.98, POINTS)
    return e[:, None], length[:, None], up


def curves(thinnest: float, thickest: float, count: int, compared: int, touching: bool = True) -> tuple[float, float]:
    """Ratio of times per curve, and the largest relative difference on the curves compared."""
    e, length, up = springs(thinnest, thickest, count)
    spring_torque(2 * R, 2 * r, WIDTH, e[:2], length[:2], up[:2])
    began = time.perf_counter()
    ours = spring_torque(2 * R, 2 * r, WIDTH, e, length, up)
    each = (time.perf_counter() - began) / count
    began = time.perf_counter()
    theirs = np.array(
        [[peer_torque(float(e[i, 0]), float(length[i, 0]), float(t), touching) for t in up[i]] for i in range(compared)]
    )
    peer = (time.perf_counter() - began) / compared
    return peer / each, float(np.max(np.abs(ours[:compared] / theirs - 1)))


def one_torque(touching: bool = True) -> float:
    """Ratio of times of one torque of one spring."""
    e, length, up = (np.ravel(a) for a in springs(55, 30, 1))
    given = (2 * R, 2 * r, WIDTH, float(e[0]), float(length[0]))
    turns = [float(t) for t in up[::8]]
    ours, theirs = [], []
    for _ in range(5):
        began = time.perf_counter()
        for _ in range(50):
            for t in turns:
                spring_torque(*given, t)
        ours.append((time.perf_counter() - began) / 50)
        began = time.perf_counter()
        for t in turns:
            peer_torque(given[3], given[4], t, touching)
        theirs.append(time.perf_counter() - began)
    return min(theirs) / min(ours)


def grown() -> str:
    """Lay out how the time of a table of curves grows with the springs."""
    sizes, took = [2_500, 5_000, 10_000, 20_000], []
    for size in sizes:
        e, length, up = springs(58, 25, size)
        runs = []
        for _ in range(3):
            began = time.perf_counter()
            spring_torque(2 * R, 2 * r, WIDTH, e, length, up)
            runs.append(time.perf_counter() - began)
        took.append(min(runs))
    return growth_table(f"springs × {POINTS} points", sizes, took)


def main() -> None:
    """Measure, and write the page; a peer of coils alone solves less, and another torque near the top."""
    alone, _ = curves(58, 25, SPRINGS, 3, touching=False)
    many, far = curves(58, 25, SPRINGS, 1)
    packed, packed_far = curves(90, 62, 2000, 1)
    rows = [
        f"| {SPRINGS:,} springs × {POINTS} points, R/e 25–58, the peer's coils alone | {alone:,.0f} × | 1,000 × | |",
        f"| the same, the peer's coils touching too | {many:,.0f} × | 1,000 × | {far:.1e} |",
        f"| 2,000 springs × {POINTS} points, R/e 62–90 | {packed:,.0f} × | 100 × | {packed_far:.1e} |",
        f"| one `spring_torque` of one spring | {one_torque():,.0f} × | 100 × | |",
        f"| the same, the peer's coils alone | {one_torque(False):,.0f} × | | |",
    ]
    head = (
        "Faster per curve than a loop of `scipy.integrate.quad` under `scipy.optimize.brentq`, in the same run.\n\n"
        "| what | faster by | wanted | largest relative difference |\n| --- | --- | --- | --- |"
    )
    write(
        "mechanics",
        "Speed of the torque",
        "python -m tests.benchmarks.mechanics",
        "\n".join([head, *rows, "", grown()]),
    )


if __name__ == "__main__":
    main()
