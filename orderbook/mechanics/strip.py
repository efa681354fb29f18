"""A strip between the wall and the arbor: where along it the coils lie, and the integrals that follow from that.

With u = s·e/π along the strip (s from the inner end, 0 … Q = L·e/π) the curvatures are
κa = 1/√(r² + u) wound, κb = 1/√(ρ² + u) on the wall (ρ² = R² − Q), and free, by springback with c = σ/(E·e),
κ0 = κa + 4c³(r² + u) − 3c where c√(r² + u) < ½, else 0. A moment M = μ·E·I gives κ = κ0 + μ, kept between κb and κa:
θ(μ) = (1/2e)·∫₀^Q (κ − κb) du turns from run down. All integrals are closed; where the strip lies on the wall is
one stretch [u1, u2], because κb − κ0 rises to one top and falls after it; where it lies on the arbor, [ua, Q].
"""

from __future__ import annotations

from dataclasses import dataclass, fields
from typing import Any

import numpy as np

from orderbook.mechanics.arithmetic import TINY, Arithmetic

FINE = 1e-13
STEPS = 80


@dataclass(frozen=True, slots=True)
class Winding:
    """A strip in a barrel, ready to be wound: floats, or columns of equal length."""

    strength: Any
    stiffness: Any  # E·I in N·mm²
    arbor_square: Any  # r²
    core_square: Any  # ρ²
    room: Any  # Q
    set_curvature: Any  # c
    elastic_from: Any  # u beyond which the strip never took a set
    top: Any  # u where κb − κ0 is greatest
    wall_top: Any  # κb − κ0 there
    wall_inner: Any  # and at the inner end
    wall_bend: Any  # and where the set part ends
    touching_from: Any  # μ up to which no coil touches the next but on wall or arbor
    bend: Any  # u of the place where the set part ends, within the strip
    least: Any  # μ at which the strip begins to leave the wall
    most: Any  # μ at which it is fully wound
    turns: Any  # N
    slack: Any  # θ0
    steepest: Any  # μ about which the turns grow fastest


def places(w: Winding, mu: Any, ways: Arithmetic) -> tuple[Any, Any, Any]:
    """Return u1, u2, ua: the strip is on the wall between the first two, and wound tight beyond the last."""
    on_wall = mu < w.wall_top
    ua = _meets_arbor(w, mu, ways)
    if not ways.some(on_wall):
        return ua, ua, ua
    u1 = ways.choose(on_wall, leaves_wall(w, mu, ways), ua)
    u2 = ways.choose(on_wall, _meets_wall(w, mu, ways), ua)
    return u1, u2, ua


def flattened(w: Winding) -> Winding:
    """Return the strips as plain columns of one dimension."""
    return Winding(**{f.name: np.atleast_1d(getattr(w, f.name)).ravel() for f in fields(Winding)})


def part_of(w: Winding, which: slice | tuple[slice, None]) -> Winding:
    """Return some of the strips out of plain columns; with None, as columns beside which their points can lie."""
    return Winding(**{f.name: getattr(w, f.name)[which] for f in fields(Winding)})


def taken(w: Winding, which: Any) -> Winding:
    """Return the strips picked by a mask as long as the columns, or as the columns and what they broadcast with."""
    picked = {f.name: np.broadcast_to(getattr(w, f.name), which.shape)[which] for f in fields(Winding)}
    return Winding(**picked)


def changed(w: Winding, **changes: Any) -> Winding:
    """Return the strip with some of its numbers changed."""
    values = {f.name: getattr(w, f.name) for f in fields(Winding)}
    return Winding(**(values | changes))


def top_of_wall_gap(r2: Any, rho2: Any, c: Any, bend: Any, ways: Arithmetic) -> Any:
    """Find u where κb − κ0 is greatest: ½[(r² + u)^-3/2 − (ρ² + u)^-3/2] = 4c³."""
    u, wanted = 0.0 * bend, (8 * c**3) ** (-2 / 3)
    for _ in range(STEPS):
        inner, outer = r2 + u, rho2 + u
        gap = inner**-1.5 - outer**-1.5
        slope = gap ** (-5 / 3) * (inner**-2.5 - outer**-2.5)
        step = (gap ** (-2 / 3) - wanted) / slope
        new = ways.within(u - step, 0.0, bend)
        done, u = abs(new - u) <= FINE * (bend + r2), new
        if ways.every(done):
            break
    return u


def wall_gap(w: Winding, u: Any, ways: Arithmetic) -> Any:
    """κb − κ0: the moment (as μ) that lifts the strip off the wall at u."""
    return 1 / ways.sqrt(w.core_square + u) - free_curvature(w, u, ways)


def free_curvature(w: Winding, u: Any, ways: Arithmetic) -> Any:
    """κ0, the curvature of the strip lying free."""
    inner = w.arbor_square + u
    c = w.set_curvature
    return ways.choose(u < w.elastic_from, 1 / ways.sqrt(inner) + 4 * c**3 * inner - 3 * c, 0.0)


def wall_area(w: Winding, u: Any, ways: Arithmetic) -> Any:
    """∫₀ᵘ (κb − κ0) du."""
    c, r2 = w.set_curvature, w.arbor_square
    v = ways.least(u, w.elastic_from)
    free = 2 * (ways.sqrt(r2 + v) - ways.sqrt(r2)) + 2 * c**3 * v * (2 * r2 + v) - 3 * c * v
    return 2 * (ways.sqrt(w.core_square + u) - ways.sqrt(w.core_square)) - free


def leaves_wall(w: Winding, mu: Any, ways: Arithmetic) -> Any:
    """u1: where, going outwards, the strip comes to the wall."""
    if not ways.some(mu > w.wall_inner):
        return 0.0 * mu
    part = (w.wall_top - mu) / ways.greatest(w.wall_top - w.wall_inner, TINY)
    start = w.top * (1 - ways.sqrt(ways.within(part, 0.0, 1.0)))
    return ways.choose(mu > w.wall_inner, _root(w, mu, start, 0.0, w.top, w.wall_inner, ways), 0.0)


def _meets_wall(w: Winding, mu: Any, ways: Arithmetic) -> Any:
    """u2: where, going outwards, the strip leaves the wall again; the outer end if it does not."""
    some = ways.greatest(mu, 1e-100)
    beyond = ways.within(1 / some / some - w.core_square, w.bend, w.room)
    if not ways.some(mu > w.wall_bend):
        return beyond
    part = (w.wall_top - mu) / ways.greatest(w.wall_top - w.wall_bend, TINY)
    start = w.top + (w.bend - w.top) * ways.sqrt(ways.within(part, 0.0, 1.0))
    within_set = _root(w, mu, start, w.top, w.bend, w.wall_bend, ways)
    return ways.choose(mu > w.wall_bend, within_set, beyond)


def _meets_arbor(w: Winding, mu: Any, ways: Arithmetic) -> Any:
    """ua: beyond it the strip lies wound as tight as it can."""
    c = w.set_curvature
    some = ways.greatest(mu, 1e-100)
    set_part, elastic = (3 * c - mu) / (4 * c**3), 1 / some / some
    return ways.within(ways.choose(mu > 2 * c, set_part, elastic) - w.arbor_square, 0.0, w.room)


def _root(w: Winding, mu: Any, u: Any, low: Any, high: Any, end_gap: Any, ways: Arithmetic) -> Any:
    """Solve κb − κ0 = μ between low and high, where it is concave: Newton from a parabola through the ends."""
    c3 = 4 * w.set_curvature**3
    nowhere = (mu >= w.wall_top) | (mu <= end_gap)
    for _ in range(STEPS):
        inner, outer = w.arbor_square + u, w.core_square + u
        root_inner, root_outer = ways.sqrt(inner), ways.sqrt(outer)
        gap = 1 / root_outer - 1 / root_inner - c3 * inner + 3 * w.set_curvature - mu
        slope = 0.5 / (inner * root_inner) - 0.5 / (outer * root_outer) - c3
        new = ways.within(u - gap / ways.choose(abs(slope) > TINY, slope, TINY), low, high)
        # a step of 1e-6 leaves 1e-12 in u and less in the turns, which hardly feel it
        done, u = (abs(new - u) <= 1e-6 * w.room) | nowhere, new
        if ways.every(done):
            break
    return u


def wall_strain(w: Winding, core: Any, start: Any, end: Any, ways: Arithmetic) -> Any:
    """∫ (κ − κ0)² du between two places, with κ = 1/√(core + u): on the wall (core = ρ²) or in a pack."""
    return _strain_to(w, core, end, ways) - _strain_to(w, core, start, ways)


def _strain_to(w: Winding, core: Any, u: Any, ways: Arithmetic) -> Any:
    c, v = w.set_curvature, ways.least(u, w.elastic_from)
    y, z, apart = w.arbor_square + v, core + v, core - w.arbor_square
    root_y, root_z = ways.sqrt(y), ways.sqrt(z)
    free = ways.log(y) + 16 / 3 * c**6 * y**3 + 9 * c**2 * y + 16 / 3 * c**3 * y * root_y
    free = free - 12 * c * root_y - 12 * c**4 * y**2
    both = 2 * ways.log(root_y + root_z) + 4 * c**3 * (2 / 3 * z * root_z - 2 * apart * root_z) - 6 * c * root_z
    return ways.log(core + u) - 2 * both + free
