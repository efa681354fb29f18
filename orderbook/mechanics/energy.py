"""The work in a wound spring: 2π·∫ M dθ, which is the strain energy of the strip, in closed form."""

from __future__ import annotations

from typing import Any

import numpy as np

from orderbook.mechanics.arithmetic import Arithmetic
from orderbook.mechanics.barrel import spring_turns
from orderbook.mechanics.contact import strain_touching
from orderbook.mechanics.given import Number, as_given
from orderbook.mechanics.strip import Winding, places, taken, wall_strain
from orderbook.mechanics.torque import FLOW_STRESS_MPA, MODULUS_MPA, ready, turns_are_in_barrel
from orderbook.mechanics.winding import moment_at


def stored_energy(
    bore_mm: Number,
    arbor_mm: Number,
    width_mm: Number,
    strength_mm: Number,
    length_mm: Number,
    turns_up: Number | None = None,
    from_turns: Number = 0.0,
    flow_stress_mpa: Number = FLOW_STRESS_MPA,
    modulus_mpa: Number = MODULUS_MPA,
) -> Any:
    """Work the spring gives up between two states, without friction; from fully wound unless told.

    W = 2π·∫ M dθ = (E·I/2)·∫ [(κ − κ0)² − (κ′ − κ0)²] ds, from `from_turns` to `turns_up`; M is 0 in the slack.

    Parameters: lengths in mm; turns from run down; MPa; they broadcast.
    Returns: mJ (N·mm).
    Raises: as `spring_torque`.
    Source: strain energy of a strip in bending; the torque as `spring_torque`.

    >>> round(stored_energy(15.6, 5.2, 2.9, 0.21, 404.4))
    1040
    """
    wanted = spring_turns(bore_mm, arbor_mm, strength_mm, length_mm) if turns_up is None else turns_up
    upper, lower = as_given(turns_up=wanted, from_turns=from_turns)
    given = (bore_mm, arbor_mm, width_mm, strength_mm, length_mm, flow_stress_mpa, modulus_mpa)
    strip, ways, _ = ready(*given, turns=upper + lower)
    turns_are_in_barrel(upper, strip.turns)
    turns_are_in_barrel(lower, strip.turns)
    return work_at(strip, upper, ways) - work_at(strip, lower, ways)


def work_at(w: Winding, theta: Any, ways: Arithmetic) -> Any:
    """Work from where the torque begins to θ turns, in N·mm; 0 in the slack."""
    mu = ways.greatest(moment_at(w, theta, ways), 0.0)
    work = strain(w, mu, ways) - strain(w, 0.0 * mu, ways)
    return ways.choose(theta > w.slack, work, 0.0 * work)


def strain(w: Winding, mu: Any, ways: Arithmetic) -> Any:
    """Strain energy at μ above run down, in N·mm."""
    pressed = mu > w.touching_from
    if ways.every(pressed):
        return strain_touching(w, mu, ways)
    alone = _strain_alone(w, mu, ways)
    if not ways.some(pressed):
        return alone
    alone, pressed = (np.array(column) for column in np.broadcast_arrays(alone, pressed))
    alone[pressed] = strain_touching(taken(w, pressed), np.broadcast_to(mu, alone.shape)[pressed], ways)
    return alone


def strain_wound(w: Winding, ways: Arithmetic) -> Any:
    """Strain energy fully wound, above run down, in N·mm."""
    on_arbor = _arbor(w, w.room, ways) - _arbor(w, 0.0 * w.room, ways)
    return w.stiffness * np.pi / (2 * w.strength) * (on_arbor - wall_strain(w, w.core_square, 0.0, w.room, ways))


def _strain_alone(w: Winding, mu: Any, ways: Arithmetic) -> Any:
    u1, u2, ua = places(w, mu, ways)
    core = w.core_square
    on_wall = wall_strain(w, core, 0.0 * u1, u1, ways) + wall_strain(w, core, u2, ua, ways)
    pack = _arbor(w, w.room, ways) - _arbor(w, ua, ways) - wall_strain(w, core, ua, w.room, ways)
    return w.stiffness * np.pi / (2 * w.strength) * (mu * mu * (u1 + ua - u2) - on_wall + pack)


def _arbor(w: Winding, u: Any, ways: Arithmetic) -> Any:
    """∫ (κa − κ0)² du, to within a constant that is the same for all u."""
    c, v = w.set_curvature, ways.least(u, w.elastic_from)
    y = w.arbor_square + v
    beyond = ways.log((w.arbor_square + u) / y)
    return 9 * c**2 * y - 12 * c**4 * y**2 + 16 / 3 * c**6 * y**3 + beyond
