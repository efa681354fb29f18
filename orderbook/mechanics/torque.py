"""The torque of a spring at the barrel: slack, delivered turns and the moment at any turn, frictionless."""

from __future__ import annotations

from dataclasses import fields
from functools import lru_cache
from typing import Any

import numpy as np

from orderbook.errors import error
from orderbook.mechanics.arithmetic import COLUMNS, FLOATS, Arithmetic
from orderbook.mechanics.barrel import spring_goes_in
from orderbook.mechanics.given import Number, above_zero, as_given, barrel_is_right
from orderbook.mechanics.strip import Winding, changed
from orderbook.mechanics.winding import moment_at, winding

MODULUS_MPA = 206_000.0  # hardened carbon strip, from memory
PIECE = 16_384  # numbers in a column that fit the near memory of a processor
FLOW_STRESS_MPA = 1_700.0  # near 3–4 % surface strain, from memory; not the 0.2 % proof stress


def spring_slack(
    bore_mm: Number,
    arbor_mm: Number,
    strength_mm: Number,
    length_mm: Number,
    flow_stress_mpa: Number = FLOW_STRESS_MPA,
    modulus_mpa: Number = MODULUS_MPA,
) -> Any:
    """Turns from run down below which a set strip hangs slack and gives no torque.

    θ0 = the largest θ at which M ≤ 0, with the free shape left by springback; 0 where there is none.

    Parameters: bore, arbor, strength, length in mm; flow stress and modulus in MPa; they broadcast.
    Returns: turns. Delivered turns are `spring_turns` less this.
    Raises: OrderbookError(spring_too_big | arbor_not_below_bore | length_not_sensible | number_not_sensible).
    Source: elastic–perfectly-plastic springback, Kalpakjian & Schmid, *Manufacturing Processes* (from memory).

    >>> round(spring_slack(15.6, 5.2, 0.21, 404.4), 2)
    0.63
    """
    return ready(bore_mm, arbor_mm, 1.0, strength_mm, length_mm, flow_stress_mpa, modulus_mpa)[0].slack


def spring_torque(
    bore_mm: Number,
    arbor_mm: Number,
    width_mm: Number,
    strength_mm: Number,
    length_mm: Number,
    turns_up: Number,
    flow_stress_mpa: Number = FLOW_STRESS_MPA,
    modulus_mpa: Number = MODULUS_MPA,
) -> Any:
    """Torque at the barrel, `turns_up` turns from run down, without friction.

    M solves θ(M) = (1/2π)·∫(κ − κb) ds = turns_up, with κ = κ0 + M/(E·I) kept between κb (on the wall) and κa
    (wound), and I = b·e³/12.

    Parameters: lengths in mm; turns counted from run down, slack turns included; MPa; they broadcast.
    Returns: N·mm; 0 up to `spring_slack`.
    Raises: OrderbookError(turns_not_in_barrel) above `spring_turns`, and as `spring_slack`.
    Source: plane strip in bending, built in at both ends; free shape by springback (see `spring_slack`).

    >>> round(spring_torque(15.6, 5.2, 2.9, 0.21, 404.4, 2.345), 1)
    26.6
    """
    given = (bore_mm, arbor_mm, width_mm, strength_mm, length_mm, flow_stress_mpa, modulus_mpa)
    strip, ways, turns = ready(*given, *as_given(turns_up=turns_up))
    turns_are_in_barrel(turns, strip.turns)
    if ways is FLOATS:
        return max(strip.stiffness * moment_at(strip, turns, FLOATS), 0.0) if turns > strip.slack else 0.0
    return torque_of(strip, turns)


def torque_of(strip: Winding, turns: Any) -> Any:
    """Torque of prepared columns of springs at turns that broadcast with them, in pieces that stay near at hand."""
    shape = np.broadcast_shapes(np.shape(strip.turns), np.shape(turns))
    if len(shape) < 2 or np.prod(shape) < 2 * PIECE:
        return _torque_of(strip, turns)
    rows = max(1, PIECE // int(np.prod(shape[1:])))
    whole = changed(strip, **{f.name: _with_rows(getattr(strip, f.name), shape) for f in fields(Winding)})
    turns = _with_rows(turns, shape)
    pieces = [
        _torque_of(
            changed(whole, **{f.name: getattr(whole, f.name)[i : i + rows] for f in fields(Winding)}),
            turns[i : i + rows],
        )
        for i in range(0, shape[0], rows)
    ]
    return np.concatenate(pieces)


def _with_rows(value: Any, shape: tuple[int, ...]) -> Any:
    """Broadcast along the first axis only, so that what is one a spring stays one a spring."""
    value = np.asarray(value)
    value = value.reshape((1,) * (len(shape) - value.ndim) + value.shape)
    return np.broadcast_to(value, (shape[0], *value.shape[1:]))


def _torque_of(strip: Winding, turns: Any) -> Any:
    moment = strip.stiffness * moment_at(strip, turns, COLUMNS)
    return np.where(turns > strip.slack, np.maximum(moment, 0.0), 0.0)


def rate_per_turn(width_mm: Number, strength_mm: Number, length_mm: Number, modulus_mpa: Number = MODULUS_MPA) -> Any:
    """Rise of the torque per turn where the strip touches neither wall nor arbor.

    dM/dn = π·E·b·e³/(6·L), both ends built in

    Parameters: width, strength and length in mm; MPa.
    Returns: N·mm per turn.
    Raises: OrderbookError(length_not_sensible | number_not_sensible).
    Source: flat spiral with both ends clamped, k = E·b·t³/(12·L) per radian (spring-industry design note).

    >>> round(rate_per_turn(10, 1, 1200), 4)
    898.8446
    """
    width, strength, length, modulus = as_given(
        width=width_mm, strength=strength_mm, length=length_mm, modulus=modulus_mpa
    )
    above_zero(width=width, strength=strength, length=length)
    above_zero(unit="MPa", modulus=modulus)
    return np.pi * modulus * width * strength**3 / (6 * length)


def ready(
    bore_mm: Number,
    arbor_mm: Number,
    width_mm: Number,
    strength_mm: Number,
    length_mm: Number,
    flow_stress_mpa: Number,
    modulus_mpa: Number,
    turns: Any = 0.0,
) -> tuple[Winding, Arithmetic, Any]:
    """Check what is given and prepare the strip: in floats if all are numbers, else in columns as long as `turns`."""
    given: tuple[Any, ...] = (bore_mm, arbor_mm, width_mm, strength_mm, length_mm, flow_stress_mpa, modulus_mpa)
    if all(type(value) is float for value in (*given, turns)):
        return _one(*given), FLOATS, turns
    bore, arbor, width, strength, length = as_given(
        bore=bore_mm, arbor=arbor_mm, width=width_mm, strength=strength_mm, length=length_mm
    )
    flow_stress, modulus = as_given(flow_stress=flow_stress_mpa, modulus=modulus_mpa)
    springs = (bore, arbor, width, strength, length, flow_stress, modulus)
    if all(type(value) is float for value in (*springs, turns)):
        return _one(*springs), FLOATS, turns
    _makes_sense(*springs)
    strip = np.broadcast_arrays(bore / 2, arbor / 2, width, strength, length, flow_stress, modulus)
    return winding(COLUMNS, *strip), COLUMNS, np.asarray(turns)


@lru_cache(maxsize=512)
def _one(*given: Any) -> Winding:
    """Check and prepare one spring; its torque is often asked at one turn after another."""
    _makes_sense(*given)
    bore, arbor, *strip = given
    return winding(FLOATS, bore / 2, arbor / 2, *strip)


def _makes_sense(bore: Any, arbor: Any, width: Any, strength: Any, length: Any, flow_stress: Any, modulus: Any) -> None:
    barrel_is_right(bore, arbor)
    above_zero(width=width, strength=strength, length=length)
    above_zero(unit="MPa", flow_stress=flow_stress, modulus=modulus)
    spring_goes_in(bore, arbor, strength, length)


def turns_are_in_barrel(turns: Any, most: Any) -> None:
    """Raise where turns are below zero or above what the spring gives."""
    right = (turns >= 0) & (turns <= most * (1 + 1e-9))
    if right is True:
        return
    if np.any(wrong := np.logical_not(right)):
        turns, most, wrong = np.broadcast_arrays(turns, most, wrong)
        saw = f"{turns[wrong].flat[0]:.4g} turns up; this spring gives {most[wrong].flat[0]:.4g} in this barrel"
        raise error("turns_not_in_barrel", where="turns up", saw=saw)
