"""The shape of a spring lying free: by springback, as measured on the bench, or ideal; and its torque, by nodes.

The closed formulas of `winding` take springback. A measured or ideal shape is reckoned here on fine nodes along the
strip; coils are not kept from passing through each other, which fully wound gives 1 % more at R/e 28, 5 % at 62.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt

from orderbook.errors import error
from orderbook.mechanics.barrel import spring_goes_in
from orderbook.mechanics.given import above_zero, barrel_is_right
from orderbook.mechanics.torque import FLOW_STRESS_MPA, MODULUS_MPA

Array = npt.NDArray[np.float64]
NODES, MOMENTS = 1500, 241


@dataclass(frozen=True, slots=True)
class ShapeCurve:
    """Torque of a spring of some free shape: turns up from run down (rising) and N·mm, and its slack."""

    turns: Array
    torque_nmm: Array
    slack_turns: float

    def torque(self, turns_up: Any) -> Any:
        """Torque at these turns from run down; 0 in the slack."""
        return np.where(turns_up > self.slack_turns, np.interp(turns_up, self.turns, self.torque_nmm), 0.0)


def springback_ratio(x: Any) -> Any:
    """Free curvature over wound curvature of an elastic, perfectly plastic strip.

    κ0/κ = 4x³ − 3x + 1 with x = σ/(κ·E·e), for x < ½; 0 beyond, where the strip never yielded.

    Source: Kalpakjian & Schmid, *Manufacturing Processes* (Ri/Rf = 4x³ − 3x + 1, x = Ri·Y/(E·T); second-hand).

    >>> [round(float(springback_ratio(x)), 4) for x in (0, 0.05, 0.1, 0.25, 0.5, 0.7)]
    [1.0, 0.8505, 0.704, 0.3125, 0.0, 0.0]
    """
    x = np.minimum(np.asarray(x, dtype=float), 0.5)
    return 4 * x**3 - 3 * x + 1


def springback(along_mm: Any, arbor_mm: float, strength_mm: float, flow_stress: float, modulus: float) -> Array:
    """Free curvature left by winding a straight strip on to the arbor once, at places along it from the inner end.

    >>> float(springback(0.0, 5.2, 0.21, 1700.0, 206000.0).round(3))
    0.268
    """
    wound = 1 / np.sqrt(arbor_mm**2 / 4 + np.asarray(along_mm) * strength_mm / np.pi)
    return np.asarray(wound * springback_ratio(flow_stress / (wound * modulus * strength_mm)))


def ideal(along_mm: Any, arbor_mm: float, strength_mm: float, flow_stress: float, modulus: float) -> Array:
    """Free curvature of the ideal spring: wound, every place is bent by just the elastic limit.

    κ0 = κa − 2σ/(E·e)
    Source: *J. Japan Soc. Precision Eng.* vol. 18 (1952), abstract: κ_max − κ_free = 2p/t.
    """
    wound = 1 / np.sqrt(arbor_mm**2 / 4 + np.asarray(along_mm) * strength_mm / np.pi)
    return np.asarray(wound - 2 * flow_stress / (modulus * strength_mm))


def measured(along_mm: Any, coils: float, outer_mm: float, length_mm: float) -> Array:
    """Free curvature of a spring as it lies on the bench: so many coils, so large across.

    The radius squared grows evenly along the strip, from r_i = L/(π·n) − D/2 inside to D/2; so ∫κ0 ds = 2π·n.
    Raises: OrderbookError(free_shape_not_possible) where such a strip cannot make so many coils so large.

    >>> along = np.linspace(0, 500, 100_001)
    >>> round(float(measured(along, 6.0, 40.0, 500.0).mean() * 500 / (2 * np.pi)), 4)
    6.0
    """
    outer = outer_mm / 2
    inner = length_mm / (np.pi * coils) - outer
    if inner <= 0:
        saw = f"{coils:g} coils of {length_mm:g} mm cannot be {outer_mm:g} mm across"
        raise error("free_shape_not_possible", where="free", saw=saw)
    return np.asarray(1 / np.sqrt(inner**2 + (outer**2 - inner**2) * np.asarray(along_mm) / length_mm))


def shape_curve(
    bore_mm: float,
    arbor_mm: float,
    width_mm: float,
    strength_mm: float,
    length_mm: float,
    free_curvature: Any,
    modulus_mpa: float = MODULUS_MPA,
) -> ShapeCurve:
    """Torque of a spring of any free shape, without friction.

    θ(M) = (1/2π)·∫ (κ − κb) ds with κ = κ0 + M/(E·I) kept between wall and arbor, by the midpoint rule on fine nodes.

    Parameters: lengths in mm; free_curvature, a function of mm along the strip from its inner end; MPa.
    Returns: the curve, from run down to fully wound.
    Raises: as `spring_torque`.

    >>> set_ = lambda s: springback(s, 5.2, 0.21, FLOW_STRESS_MPA, MODULUS_MPA)
    >>> round(float(shape_curve(15.6, 5.2, 2.9, 0.21, 404.4, set_).torque(2.345)), 1)
    26.6
    """
    bore, arbor, e, length = (float(value) for value in (bore_mm, arbor_mm, strength_mm, length_mm))
    barrel_is_right(bore, arbor)
    above_zero(width=float(width_mm), strength=e, length=length)
    spring_goes_in(bore, arbor, e, length)
    along = (np.arange(NODES) + 0.5) / NODES * length
    grown = along * e / np.pi
    wound = 1 / np.sqrt(arbor**2 / 4 + grown)
    wall = 1 / np.sqrt(bore**2 / 4 - length * e / np.pi + grown)
    free = np.asarray(free_curvature(along))
    stiffness = modulus_mpa * float(width_mm) * e**3 / 12
    low, high = float((wall - free).min()), float((wound - free).max())
    mu = np.union1d(np.linspace(low, high, MOMENTS), [0.0] if low < 0 < high else [low])
    bent = np.clip(free + mu[:, None], wall, wound)
    turns = (bent - wall).mean(axis=1) * length / (2 * np.pi)
    slack = float(np.interp(0.0, mu, turns)) if low < 0 else 0.0
    return ShapeCurve(turns, mu * stiffness, slack)


__all__ = ["FLOW_STRESS_MPA", "ShapeCurve", "ideal", "measured", "shape_curve", "springback", "springback_ratio"]
