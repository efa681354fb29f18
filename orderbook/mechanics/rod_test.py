"""The rod test: a mass on a counterpoised rod on the winding square, and the torque it stands for."""

from __future__ import annotations

import math
from typing import Any

from orderbook.mechanics.given import Number, above_zero, as_given

GRAVITY = 9.80665  # m/s², standard


def rod_test_torque(grams: Number, arm_mm: Number) -> Any:
    """Torque of a mass at an arm, the rod counterpoised and horizontal.

    T = m·g·a·10⁻³

    Parameters: grams; arm from the middle of the square in mm; they broadcast.
    Returns: N·mm.
    Raises: OrderbookError(number_not_sensible | length_not_sensible).
    Source: statics; g = 9.80665 m/s² (standard).

    >>> round(rod_test_torque(50, 120), 1)
    58.8
    """
    mass, arm = as_given(grams=grams, arm=arm_mm)
    above_zero(unit="g", grams=mass)
    above_zero(arm=arm)
    return mass * GRAVITY * arm * 1e-3


def frictionless(rising_nmm: float, falling_nmm: float) -> tuple[float, float]:
    """Torque without friction and the efficiency η, from a test both rising and falling.

    T = √(rising·falling), η = √(falling/rising), if friction is the same both ways.

    >>> torque, eta = frictionless(60.0, 43.35)
    >>> round(torque, 2), round(eta, 2)
    (51.0, 0.85)
    """
    return math.sqrt(rising_nmm * falling_nmm), math.sqrt(falling_nmm / rising_nmm)
