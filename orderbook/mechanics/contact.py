"""Touching coils: a strip whose coils cannot pass through each other.

With p = 1/κ² − u the square of a coil's bare radius, p may not fall going outwards. What the moment alone would make,
p* = 1/κ*² − u with κ* = κ0 + μ, rises to one top and falls after it, so the coils of least ∫ (κ − κ*)² ds are p* up to
some place, and beyond it one pack [u_p, Q] with one p, where ∫ (κ − κ*)·κ³ du = 0 and p = p*(u_p) (or the whole strip
is the pack); then p is kept between arbor (r²) and wall (ρ²). It is a convex problem in κ, because p′ ≥ 0 means
κ′ + κ³/2 ≤ 0, so this is the only minimum. All integrals are closed.
"""

from __future__ import annotations

from typing import Any

import numpy as np

from orderbook.mechanics.arithmetic import TINY, Arithmetic
from orderbook.mechanics.strip import (
    STEPS,
    Winding,
    free_curvature,
    leaves_wall,
    taken,
    wall_area,
    wall_gap,
    wall_strain,
)

CLOSE = 1e-11
FEW = 64  # columns so short that picking from them costs more than it saves
SETTLED = 1e-10  # parts of the strip's own size below which rounding steers


def touching_from(w: Winding, ways: Arithmetic) -> Any:
    """μ up to which touching coils change nothing: the outer end lies on the wall, or p* rises all along the strip.

    While p* at the outer end is ρ² or more, every p* of a pack is, so that all of it lies on the wall either way; and
    p* rises up to the outer end while κ*³ ≤ −2·κ0′ there.
    """
    outer = w.arbor_square + w.room
    bend = ways.choose(w.room < w.elastic_from, 1 / (outer * ways.sqrt(outer)) - 8 * w.set_curvature**3, 0.0)
    rising = ways.greatest(bend, 0.0) ** (1 / 3) - free_curvature(w, w.room, ways)
    return ways.greatest(ways.greatest(rising, wall_gap(w, w.room, ways)), 0.0)


def most_touching(w: Winding, ways: Arithmetic) -> Any:
    """μ at which a pack of the whole strip is wound on to the arbor: ∫ (κa − κ0)·κa³ du / ∫ κa³ du."""
    c, first, last = w.set_curvature, w.arbor_square, w.arbor_square + w.room
    turn = ways.within(w.arbor_square + w.elastic_from, first, last)
    root_first, root_turn = ways.sqrt(first), ways.sqrt(turn)
    set_part = 6 * c * (1 / root_first - 1 / root_turn) - 8 * c**3 * (root_turn - root_first)
    return (set_part + 1 / turn - 1 / last) / (2 * (1 / root_first - 1 / ways.sqrt(last)))


def turns_touching(w: Winding, mu: Any, ways: Arithmetic, near: Any = None) -> tuple[Any, Any, Any]:
    """Return θ(μ) in turns from run down, dθ/dμ, and what finds the pack of the next μ sooner, with touching coils."""
    place, p, p_slope = pack(w, mu, ways, near)
    on_wall = p >= w.core_square
    u1 = ways.choose(on_wall, ways.least(_reaches_wall(w, mu, ways), place), place)
    free = mu * u1 - wall_area(w, u1, ways)
    inner, outer, core = ways.sqrt(p + place), ways.sqrt(p + w.room), w.core_square
    packed = 2 * (outer - inner - ways.sqrt(core + w.room) + ways.sqrt(core + place))
    slope = (1 / outer - 1 / inner) * p_slope
    turns = free + ways.choose(on_wall, 0.0, packed)
    rise = (u1 + ways.choose(on_wall, 0.0, slope)) / (2 * w.strength)
    return turns / (2 * w.strength), rise, ways.choose(place > 0, place, p)


def strain_touching(w: Winding, mu: Any, ways: Arithmetic) -> Any:
    """Strain energy at μ above run down, in N·mm, with touching coils."""
    place, p, _ = pack(w, mu, ways)
    on_wall = p >= w.core_square
    u1 = ways.choose(on_wall, ways.least(_reaches_wall(w, mu, ways), place), place)
    free = mu * mu * u1 - wall_strain(w, w.core_square, 0.0 * u1, u1, ways)
    packed = wall_strain(w, p, place, w.room, ways) - wall_strain(w, w.core_square, place, w.room, ways)
    return w.stiffness * np.pi / (2 * w.strength) * (free + ways.choose(on_wall, 0.0, packed))


def pack(w: Winding, mu: Any, ways: Arithmetic, near: Any = None) -> tuple[Any, Any, Any]:
    """Return where the pack of touching coils begins, its p, and dp/dμ; the outer end where there is none.

    Near: where it began (or its p, where it is the whole strip) at a moment not far off.
    """
    some = ways.greatest(mu, 1e-12 * w.most)
    nothing = 0.0 * (w.room + mu)
    none = (_bare(w, w.room + nothing, some, ways)[1] >= 0) | (mu <= 0)
    if ways.every(none):
        return w.room + nothing, _bare(w, w.room + nothing, some, ways)[0], nothing
    bare, _ = _bare(w, nothing, some, ways)
    whole = _balance(w, nothing, bare, some, ways)[0] <= 0
    # fully wound p is r² itself: the bracket reaches below it, or Newton's steps there would all be refused
    low = ways.choose(whole, 0.9 * w.arbor_square, nothing)
    high = ways.choose(whole, bare, w.room + nothing)
    # it grows nearly evenly with μ from the outer end, and is the whole strip from about three quarters on
    grown = (mu - w.touching_from) / ways.greatest(w.most - w.touching_from, TINY)
    at = w.room * ways.within(1 - 4 / 3 * grown, 0.1, 0.95)
    at = ways.choose(whole, 0.5 * (low + high), at)
    if near is not None:
        at = ways.choose((near > low) & (near < high), near, at)
    at = _balanced(w, some, (whole, none), (low, high), at, ways)
    place = ways.choose(none, w.room + nothing, ways.choose(whole, nothing, ways.within(at, 0.0, w.room)))
    p = ways.choose(whole & ~_as_flag(none), ways.greatest(at, w.arbor_square), _bare(w, place, some, ways)[0])
    _, by_p, by_mu = _balance(w, place, p, some, ways)
    return place, p, ways.choose(none, 0.0, -by_mu / ways.choose(abs(by_p) > TINY, by_p, -1.0))


def _balanced(w: Winding, mu: Any, which: Any, bracket: Any, at: Any, ways: Arithmetic, steps: int = STEPS) -> Any:
    """Solve the balance for the place of the pack, or for its p where it is the whole strip: Newton in a bracket.

    Columns that have settled drop out, so that a few slow ones do not hold up the rest.
    """
    (whole, none), (low, high) = which, bracket
    for step in range(steps):
        place = ways.choose(whole, 0.0 * at, at)
        p, rise = _bare(w, place, mu, ways)
        p, rise = ways.choose(whole, at, p), ways.choose(whole, 1.0, rise)
        miss, by_p, _ = _balance(w, place, p, mu, ways)
        low, high = ways.choose(miss > 0, at, low), ways.choose(miss > 0, high, at)
        # at the outer end the balance vanishes twice; dividing that out keeps Newton away from it
        slope = by_p * rise + ways.choose(whole, 0.0, 2 * miss / ways.greatest(w.room - place, TINY))
        guess = at - miss / ways.choose(abs(slope) > TINY, slope, TINY)
        inside = (guess > low) & (guess < high)
        new = ways.choose(inside, guess, 0.5 * (low + high))
        # after a step of Newton's the next would be of the size of this one squared
        change, scale = abs(new - at), w.room + w.arbor_square
        # at the end of its digits a step may point out of the bracket, which is as near as it gets
        settled = abs(guess - at) <= SETTLED * scale
        done = ((change <= 1e-6 * scale) & inside) | settled | (change <= CLOSE * scale) | none
        at = ways.choose(settled, guess, new)
        if ways.every(done):
            break
        if isinstance(done, np.ndarray) and done.size > FEW and np.count_nonzero(done) > done.size / 2:
            left = ~done
            sides, ends = (whole[left], none[left]), (low[left], high[left])
            at[left] = _balanced(taken(w, left), mu[left], sides, ends, at[left], ways, steps - step - 1)
            break
    return at


def _as_flag(value: Any) -> Any:
    return np.bool_(value) if isinstance(value, bool) else value


def _reaches_wall(w: Winding, mu: Any, ways: Arithmetic) -> Any:
    return ways.choose(mu < w.wall_top, leaves_wall(w, mu, ways), w.room)


def _bare(w: Winding, u: Any, mu: Any, ways: Arithmetic) -> tuple[Any, Any]:
    """p* = 1/κ*² − u, and its slope along the strip."""
    inner = w.arbor_square + u
    wanted = free_curvature(w, u, ways) + mu
    bend = ways.choose(u < w.elastic_from, 4 * w.set_curvature**3 - 0.5 / (inner * ways.sqrt(inner)), 0.0)
    return 1 / (wanted * wanted) - u, -2 * bend / (wanted * wanted * wanted) - 1


def _balance(w: Winding, place: Any, p: Any, mu: Any, ways: Arithmetic) -> tuple[Any, Any, Any]:
    """∫ (κ − κ*)·κ³ du over the pack, and its slopes in p and μ."""
    c3, c = 4 * w.set_curvature**3, w.set_curvature
    turn = ways.within(w.elastic_from, place, w.room)
    z1, z2, zt = p + place, p + w.room, p + turn
    r1, r2, rt = (ways.sqrt(z) for z in (z1, z2, zt))
    apart = p - w.arbor_square
    s1, st = (ways.sqrt((w.arbor_square + u) / z) for u, z in ((place, z1), (turn, zt)))
    gap, both = 1 / z1 - 1 / zt, s1 + st
    set_part = 2 * gap / both + c3 * (2 * (rt - r1) + 2 * apart * (1 / rt - 1 / r1)) + 6 * c * (1 / rt - 1 / r1)
    by_mu = 2 * (1 / r1 - 1 / r2)
    balance = (1 / z1 - 1 / z2) - set_part - mu * by_mu
    cubes = 1 / (z1 * r1) - 1 / (zt * rt)
    sums = 1 / z1 + 1 / zt
    fifth = 2 / 3 * gap / both * (sums + (sums - apart / (z1 * zt)) / (1 + s1 * st))
    fifth = fifth + c3 * (2 * (1 / r1 - 1 / rt) - 2 / 3 * apart * cubes) - 2 * c * cubes
    fifth = fifth + mu * 2 / 3 * (1 / (z1 * r1) - 1 / (z2 * r2))
    return balance, 1.5 * fifth - (1 / (z1 * z1) - 1 / (z2 * z2)), -by_mu
