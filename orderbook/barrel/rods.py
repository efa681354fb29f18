"""What rod tests say a movement needs: read once, for the sizing and for the choice alike."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

from orderbook.barrel.barrel import Barrel
from orderbook.barrel.bench_tests import RodTest
from orderbook.barrel.modelling import Model, wider_than_barrel
from orderbook.barrel.springs_seen import OLD_FLOW_STRESS, STRENGTH_U_MM, SpringSeen, Tried
from orderbook.measures import Measured
from orderbook.mechanics.barrel import spring_length
from orderbook.mechanics.drive import torque_after
from orderbook.mechanics.rod_test import frictionless

MARGIN = 1.3  # what a movement needs, to what just drives its train; common practice, no source
COIL_FRICTION = 0.85  # of the torque, left by friction in the coils on the way down; common practice, no source
ABSOLUTE_SHARE = 0.15  # of a torque that is not compared with another's: ± 30 %
RATIO_SHARE = 0.05  # of the model's own torque at one turn against another


@dataclass(frozen=True, slots=True)
class RodNeed:
    """The least torque over the run, frictionless as the model gives it, that rod tests say is needed.

    `u` is its relative standard uncertainty.
    """

    need_nmm: float
    u: float
    source: str


@dataclass(frozen=True, slots=True)
class InBarrel:
    """The spring that was in the barrel while it was tested, in mm, and the standard uncertainty of its strength."""

    width_mm: float
    strength_mm: float
    length_mm: float
    strength_u_mm: float


def rod_need(barrel: Barrel, model: Model) -> RodNeed | None:
    """Return what the rod tests of a barrel say is needed; None without a test of what just drives the train.

    need = margin·drives·(model/gives) where the spring in the barrel was tested too, a ratio for each state of it,
    so that steel and friction cancel; else margin·drives/η.
    """
    drives = felt_on_the_way_down([rod for rod in barrel.rods if rod.kind == "just drives"])
    if drives is None or model.width is None:
        return None
    share = drives.u / drives.value
    if (ratio := _model_to_read(barrel, model)) is not None:
        need = MARGIN * drives.value * ratio.value
        together = math.hypot(share, ratio.u / ratio.value, RATIO_SHARE)
        return RodNeed(need, together, "two rod tests, in which steel and friction cancel")
    need = MARGIN * drives.value / COIL_FRICTION
    return RodNeed(need, math.hypot(share, ABSOLUTE_SHARE), "one rod test against the model's torque")


def spring_in(barrel: Barrel, model: Model) -> InBarrel | None:
    """Return the spring in the barrel: the strength given, else the last one tried, else the first original."""
    assert barrel.bore
    assert barrel.arbor
    assert model.width
    seen_here: list[Tried | SpringSeen] = [*barrel.trials[::-1], *barrel.originals]
    went_in = [s for s in seen_here if not wider_than_barrel(barrel, s.width_mm)]
    seen = went_in[0] if went_in else None
    if barrel.strength:
        width, strength, u = model.width.value, barrel.strength.value, barrel.strength.u
        length = barrel.length.value if barrel.length else None
    elif seen is not None:
        width, strength, u = seen.width_mm or model.width.value, seen.strength_mm, STRENGTH_U_MM
        length = seen.length_mm
    else:
        return None
    fits = spring_length(barrel.bore.value, barrel.arbor.value, strength, barrel.fill)
    return InBarrel(width, strength, float(length or fits), u)


def felt_on_the_way_down(rods: list[RodTest]) -> Measured | None:
    """Torque that leaves the spring on the way down: falling tests as read, one both ways without its friction."""
    if not rods:
        return None
    rising = [rod.torque for rod in rods if rod.direction == "rising"]
    falling = [rod.torque for rod in rods if rod.direction != "rising"]
    if rising and falling:
        mean, eta = frictionless(_mean(rising).value, _mean(falling).value)
        return Measured(mean * eta, _mean(falling).u, "rising and falling")
    if falling:
        return _mean(falling)
    up = _mean(rising)
    return Measured(up.value * COIL_FRICTION**2, up.u * COIL_FRICTION**2, "rising only, friction by the usual factor")


def _mean(readings: list[Measured]) -> Measured:
    value = sum(m.value for m in readings) / len(readings)
    return Measured(value, readings[0].u / len(readings) ** 0.5, readings[0].source)


def _model_to_read(barrel: Barrel, model: Model) -> Measured | None:
    """The model's torque of the spring in the barrel over the torque read, each state of it by itself, as one mean."""
    gives = [rod for rod in barrel.rods if rod.kind == "gives"]
    spring = spring_in(barrel, model) if gives else None
    if spring is None:
        return None
    torque = _torque_of(barrel, model, spring)
    read = {turns: felt_on_the_way_down([r for r in gives if r.turns_from_wound == turns]) for turns in _states(gives)}
    known = {turns: m for turns, m in read.items() if m is not None and torque(turns, 0.0, 0.0) > 0}
    if not known:
        return None
    ratio = math.exp(sum(math.log(torque(turns, 0.0, 0.0) / m.value) for turns, m in known.items()) / len(known))
    by_reading = math.sqrt(sum((m.u / m.value) ** 2 for m in known.values())) / len(known)
    by_strength = _half_step(lambda step: [torque(turns, step * spring.strength_u_mm, 0.0) for turns in known])
    by_steel = _half_step(lambda step: [torque(turns, 0.0, step * OLD_FLOW_STRESS) for turns in known])
    return Measured(ratio, ratio * math.hypot(by_reading, by_strength, by_steel), "model over rod test")


def _states(gives: list[RodTest]) -> list[float]:
    return sorted({rod.turns_from_wound for rod in gives})


def _torque_of(barrel: Barrel, model: Model, spring: InBarrel) -> Callable[[float, float, float], float]:
    """The model's torque of a spring so many turns from wound, for a step of its strength and of its flow stress."""
    assert barrel.bore
    assert barrel.arbor
    sizes = (barrel.bore.value, barrel.arbor.value, spring.width_mm)
    flow, modulus = model.material.flow_stress_mpa, model.material.modulus_mpa

    def torque(turns: float, thicker_mm: float, stronger: float) -> float:
        steel = {"flow_stress_mpa": flow * math.exp(stronger), "modulus_mpa": modulus}
        strength = spring.strength_mm + thicker_mm
        return torque_after(*sizes, strength, spring.length_mm, model.run, turns, **steel)

    return torque


def _half_step(torques: Callable[[float], list[float]]) -> float:
    """Half the change of the mean logarithm from one u below to one above; where there is none, as one test."""
    ends = [_mean_log(torques(step)) for step in (-1.0, 1.0)]
    half = abs(ends[1] - ends[0]) / 2
    return half if math.isfinite(half) else ABSOLUTE_SHARE


def _mean_log(torques: list[float]) -> float:
    return sum(math.log(t) if t > 0 else math.nan for t in torques) / len(torques)
