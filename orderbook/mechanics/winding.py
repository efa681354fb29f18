"""Turns from the moment, and the moment from the turns, of a strip between wall and arbor."""

from __future__ import annotations

from typing import Any

import numpy as np

from orderbook.mechanics.arithmetic import TINY, Arithmetic
from orderbook.mechanics.contact import most_touching, turns_touching
from orderbook.mechanics.strip import STEPS, Winding, changed, places, top_of_wall_gap, wall_area, wall_gap

CLOSE = 1e-7
TOUCHING_FROM = 60.0  # R/e; below it coils kept apart change the torque by less than 0.2 % up to 0.98 of the turns


def winding(
    ways: Arithmetic, R: Any, r: Any, b: Any, e: Any, L: Any, flow_stress: Any, modulus: Any, *, touching: Any = None
) -> Winding:
    """Prepare a strip: radii R and r, width b, strength e, length L in mm; MPa.

    Touching coils are kept apart where told so, else where R/e is above 60: below, it hardly matters.
    """
    r2, room, c = r * r, L * e / np.pi, flow_stress / (modulus * e)
    rho2 = R * R - room
    elastic = ways.greatest(0.25 / (c * c) - r2, 0.0 * room)
    bend = ways.least(elastic, room)
    top = ways.least(top_of_wall_gap(r2, rho2, c, bend, ways), bend)
    w = Winding(
        e, modulus * b * e**3 / 12, r2, rho2, room, c, elastic, top, *(0.0 * room,) * 3, bend, *(0.0,) * 5, False
    )
    inner, outer = wall_gap(w, 0.0 * room, ways), wall_gap(w, room, ways)
    most = ways.choose(elastic > 0, 3 * c - 4 * c**3 * r2, 1 / r)
    up = 2 * (ways.sqrt(r2 + room) - r - R + ways.sqrt(rho2))
    w = changed(
        w,
        wall_top=wall_gap(w, top, ways),
        wall_inner=inner,
        wall_bend=wall_gap(w, bend, ways),
        least=ways.least(inner, outer),
        most=most,
        turns=up / (2 * e),
        steepest=ways.greatest(
            wall_gap(w, top, ways), ways.choose(elastic > room, 3 * c - 4 * c**3 * (r2 + room), 0.0)
        ),
    )
    touching = TOUCHING_FROM * e < R if touching is None else touching & (R > 0)
    if ways.some(touching):
        w = changed(w, most=ways.choose(touching, most_touching(w, ways), most))
    w = changed(w, touching=touching)
    # at no moment the coils never touch, so the slack is that of the coils alone
    return changed(w, slack=ways.greatest(turns_at(w, 0.0 * room, ways)[0], 0.0 * room))


def turns_at(w: Winding, mu: Any, ways: Arithmetic) -> tuple[Any, Any]:
    """Return θ(μ) in turns from run down, and dθ/dμ."""
    at, slope, _ = _turns_near(w, mu, ways, None)
    return at, slope


def _turns_near(w: Winding, mu: Any, ways: Arithmetic, near: Any) -> tuple[Any, Any, Any]:
    """As `turns_at`, from where the pack of touching coils was at a moment not far off; and where it is."""
    if ways.every(w.touching):
        return turns_touching(w, mu, ways, near)
    at, slope = _turns_alone(w, mu, ways)
    if not ways.some(w.touching):
        return at, slope, None
    pressed, its_slope, near = turns_touching(w, mu, ways, near)
    return ways.choose(w.touching, pressed, at), ways.choose(w.touching, its_slope, slope), near


def _turns_alone(w: Winding, mu: Any, ways: Arithmetic) -> tuple[Any, Any]:
    """Turns where every coil is kept between wall and arbor, but not from passing through the next."""
    r2, rho2, room = w.arbor_square, w.core_square, w.room
    u1, u2, ua = places(w, mu, ways)
    free = mu * (u1 + ua - u2) - (wall_area(w, u1, ways) + wall_area(w, ua, ways) - wall_area(w, u2, ways))
    pack = 2 * (ways.sqrt(r2 + room) - ways.sqrt(r2 + ua) - ways.sqrt(rho2 + room) + ways.sqrt(rho2 + ua))
    return (free + pack) / (2 * w.strength), (u1 + ua - u2) / (2 * w.strength)


def moment_at(w: Winding, theta: Any, ways: Arithmetic) -> Any:
    """Return μ at θ turns from run down.

    Newton's steps inside a closing bracket, from the steepest place; towards run down √θ is nearly straight in μ,
    towards fully wound √(N − θ), so the steps are taken in those.
    """
    low, high = w.least, w.most
    mu = ways.within(w.steepest, low, high)
    at, slope, near = _turns_near(w, mu, ways, None)
    upper = theta > at
    wanted = ways.sqrt(ways.greatest(ways.choose(upper, w.turns - theta, theta), 0.0))
    for _ in range(STEPS):
        low, high = ways.choose(at < theta, mu, low), ways.choose(at < theta, high, mu)
        here = ways.sqrt(ways.greatest(ways.choose(upper, w.turns - at, at), 0.0))
        step = 2 * here * ways.choose(upper, here - wanted, wanted - here) / ways.greatest(slope, TINY)
        guess = mu + step
        inside = (guess >= low) & (guess <= high) & (slope > TINY)
        new = ways.choose(inside, guess, 0.5 * (low + high))
        # the next step would be of the size of this one squared
        done = abs(new - mu) <= CLOSE * w.most
        mu = new
        if ways.every(done):
            break
        at, slope, near = _turns_near(w, mu, ways, near)
    return ways.choose(theta >= w.turns, w.most, ways.choose(theta <= 0, w.least, mu))
