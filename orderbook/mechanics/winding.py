"""Turns from the moment, and the moment from the turns, of a strip between wall and arbor."""

from __future__ import annotations

from typing import Any

import numpy as np

from orderbook.mechanics.arithmetic import TINY, Arithmetic
from orderbook.mechanics.contact import most_touching, touching_from, turns_touching
from orderbook.mechanics.strip import (
    STEPS,
    Winding,
    changed,
    places,
    taken,
    top_of_wall_gap,
    wall_area,
    wall_gap,
)

CLOSE = 1e-7
SLIM = 60.0  # R/e above which coils that could pass through each other would be off by 5 % and more fully wound


def winding(ways: Arithmetic, R: Any, r: Any, b: Any, e: Any, L: Any, flow_stress: Any, modulus: Any) -> Winding:
    """Prepare a strip: radii R and r, width b, strength e, length L in mm; MPa. Its coils cannot pass each other."""
    r2, room, c = r * r, L * e / np.pi, flow_stress / (modulus * e)
    rho2 = R * R - room
    elastic = ways.greatest(0.25 / (c * c) - r2, 0.0 * room)
    bend = ways.least(elastic, room)
    top = ways.least(top_of_wall_gap(r2, rho2, c, bend, ways), bend)
    w = Winding(e, modulus * b * e**3 / 12, r2, rho2, room, c, elastic, top, *(0.0 * room,) * 4, bend, *(0.0,) * 5)
    inner, outer = wall_gap(w, 0.0 * room, ways), wall_gap(w, room, ways)
    up = 2 * (ways.sqrt(r2 + room) - r - R + ways.sqrt(rho2))
    w = changed(
        w,
        wall_top=wall_gap(w, top, ways),
        wall_inner=inner,
        wall_bend=wall_gap(w, bend, ways),
        touching_from=touching_from(w, ways),
        least=ways.least(inner, outer),
        most=most_touching(w, ways),
        turns=up / (2 * e),
        steepest=ways.greatest(
            wall_gap(w, top, ways), ways.choose(elastic > room, 3 * c - 4 * c**3 * (r2 + room), 0.0)
        ),
    )
    # at no moment the coils never touch, so the slack is that of the coils alone
    return changed(w, slack=ways.greatest(turns_alone(w, 0.0 * room, ways)[0], 0.0 * room))


def turns_at(w: Winding, mu: Any, ways: Arithmetic) -> tuple[Any, Any]:
    """Return θ(μ) in turns from run down, and dθ/dμ."""
    pressed = mu > w.touching_from
    if ways.every(pressed):
        return turns_touching(w, mu, ways)[:2]
    at, slope = turns_alone(w, mu, ways)
    if not ways.some(pressed):
        return at, slope
    mu, at, slope, pressed = (np.array(column) for column in np.broadcast_arrays(mu, at, slope, pressed))
    at[pressed], slope[pressed], _ = turns_touching(taken(w, pressed), mu[pressed], ways)
    return at, slope


def turns_alone(w: Winding, mu: Any, ways: Arithmetic) -> tuple[Any, Any]:
    """Turns, and dθ/dμ, were every coil kept between wall and arbor, but not from passing through the next."""
    r2, rho2, room = w.arbor_square, w.core_square, w.room
    u1, u2, ua = places(w, mu, ways)
    free = mu * (u1 + ua - u2) - (wall_area(w, u1, ways) + wall_area(w, ua, ways) - wall_area(w, u2, ways))
    pack = 2 * (ways.sqrt(r2 + room) - ways.sqrt(r2 + ua) - ways.sqrt(rho2 + room) + ways.sqrt(rho2 + ua))
    return (free + pack) / (2 * w.strength), (u1 + ua - u2) / (2 * w.strength)


def moment_at(w: Winding, theta: Any, ways: Arithmetic) -> Any:
    """Return μ at θ turns from run down.

    First as if no coils touched, which holds up to where they do and is a good guess above it.
    """
    mu = _alone_at(w, theta, ways)
    pressed = mu > w.touching_from
    if ways.every(pressed):
        mu = _touching_at(w, theta, mu, ways)
    elif ways.some(pressed):
        mu, theta, pressed = (np.array(column) for column in np.broadcast_arrays(mu, theta, pressed))
        mu[pressed] = _touching_at(taken(w, pressed), theta[pressed], mu[pressed], ways)
    return ways.choose(theta >= w.turns, w.most, ways.choose(theta <= 0, w.least, mu))


def _alone_at(w: Winding, theta: Any, ways: Arithmetic) -> Any:
    """μ at θ turns were no coils to touch: Newton's steps inside a closing bracket, from the steepest place.

    Towards run down √θ is nearly straight in μ, towards fully wound √(N − θ), so the steps are taken in those.
    """
    c, r2 = w.set_curvature, w.arbor_square
    low, high = w.least, ways.choose(w.elastic_from > 0, 3 * c - 4 * c**3 * r2, 1 / ways.sqrt(r2))
    mu = ways.within(w.steepest, low, high)
    at, slope = turns_alone(w, mu, ways)
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
        at, slope = turns_alone(w, mu, ways)
    return mu


def _touching_at(w: Winding, theta: Any, mu: Any, ways: Arithmetic) -> Any:
    """μ at θ turns where coils touch, from a guess: Newton's steps inside a closing bracket.

    Where the whole pack leaves the wall the slope jumps, and steps could go to and fro across that: one that is not
    at most half of the step before gives way to halving the bracket.
    """
    low, high = w.touching_from, w.most
    mu, near, before = ways.within(mu, low, high), None, high - low
    for _ in range(STEPS):
        at, slope, near = turns_touching(w, mu, ways, near)
        low, high = ways.choose(at < theta, mu, low), ways.choose(at < theta, high, mu)
        guess = mu + (theta - at) / ways.greatest(slope, TINY)
        close = abs(guess - mu) <= CLOSE * w.most
        inside = (guess >= low) & (guess <= high) & (abs(guess - mu) <= 0.5 * before)
        new = ways.choose(inside | close, guess, 0.5 * (low + high))
        before = ways.choose(inside, abs(guess - mu), high - low)
        mu = new
        if ways.every(close):
            break
    return mu
