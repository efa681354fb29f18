"""What drive the movement needs: the usual guess, and rod tests where they were made."""

from __future__ import annotations

import math

from orderbook.errors import Finding, finding
from orderbook.measures import Measured
from orderbook.mechanics.barrel import spring_length
from orderbook.mechanics.drive import torque_after
from orderbook.mechanics.rod_test import frictionless
from orderbook.verbs.barrels import Barrel
from orderbook.verbs.bench_tests import RodTest
from orderbook.verbs.modelling import Model

MEDIAN_NEED, NEED_SPREAD = 100 / 1.3, 0.20  # the maker left a margin of 30 %; common practice, no source
MARGIN = 1.3  # what a movement needs, to what just drives its train; common practice, no source
ETA = 0.85  # coil friction on the way down; common practice, no source
ABSOLUTE_SHARE = 0.15  # of a torque that is not compared with another's: ± 30 %
RATIO_SHARE = 0.05  # of the model's own torque at one turn against another


def needed_drive(barrel: Barrel, model: Model) -> tuple[Measured, tuple[Finding, ...]]:
    """Return the drive index the movement needs, in per cent, with its ±; rod tests sharpen the usual guess.

    ln(need) is the mean of ln 77 ± 0.20 and of the rod tests, each weighted by 1/u².
    """
    usual = Measured(MEDIAN_NEED, NEED_SPREAD * MEDIAN_NEED, "the maker left a margin")
    tested = _by_rods(barrel, model)
    if tested is None:
        return usual, ()
    logs = [(math.log(m.value), (m.value / m.u) ** 2) for m in (usual, tested)]
    whole = sum(weight for _, weight in logs)
    value, share = math.exp(sum(log * weight for log, weight in logs) / whole), whole**-0.5
    saw = f"{tested.value:.0f} ± {2 * tested.u:.0f} % of the strongest useful spring's drive, by {tested.source}"
    found = [finding("rod_test_says", where="--rod", saw=saw)]
    if tested.value - 2 * tested.u > 100:
        found.append(finding("need_above_strongest", where="--rod", saw=saw))
    return Measured(value, share * value, f"rod tests and the usual margin ({tested.source})"), tuple(found)


def _by_rods(barrel: Barrel, model: Model) -> Measured | None:
    drives = _torque([rod for rod in barrel.rods if rod.kind == "just drives"])
    if drives is None or model.width is None:
        return None
    reference = model.reference.drive_nmm
    gives = [rod for rod in barrel.rods if rod.kind == "gives"]
    here = _fitted_torque(barrel, model, gives[0].turns_from_wound) if gives else None
    if (given := _torque(gives)) is not None and here:
        need = 100 * MARGIN * drives.value / given.value * here / reference
        share = math.hypot(drives.u / drives.value, given.u / given.value, RATIO_SHARE)
        return Measured(need, share * need, "two rod tests, in which steel and friction cancel")
    need = 100 * MARGIN * drives.value / (ETA * reference)
    share = math.hypot(drives.u / drives.value, ABSOLUTE_SHARE)
    return Measured(need, share * need, "one rod test against the model's torque")


def _torque(rods: list[RodTest]) -> Measured | None:
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
    return Measured(up.value * ETA**2, up.u, "rising only, friction by the usual factor")


def _mean(readings: list[Measured]) -> Measured:
    value = sum(m.value for m in readings) / len(readings)
    return Measured(value, readings[0].u / len(readings) ** 0.5, readings[0].source)


def _fitted_torque(barrel: Barrel, model: Model, turns: float) -> float | None:
    """Torque the model gives the spring that is in the barrel, at the state of the rod test."""
    assert barrel.bore
    assert barrel.arbor
    assert model.width
    if barrel.strength:
        seen = (model.width.value, barrel.strength.value, barrel.length.value if barrel.length else None)
    elif barrel.tried:
        last = barrel.tried[-1]
        seen = (last.width_mm or model.width.value, last.strength_mm, last.length_mm)
    elif barrel.originals:
        first = barrel.originals[0]
        seen = (first.width_mm or model.width.value, first.strength_mm, first.length_mm)
    else:
        return None
    width, strength, length = seen
    sizes = (barrel.bore.value, barrel.arbor.value)
    length = length or spring_length(*sizes, strength, barrel.fill)
    steel = {"flow_stress_mpa": model.material.flow_stress_mpa, "modulus_mpa": model.material.modulus_mpa}
    torque = torque_after(*sizes, width, strength, float(length), model.run, turns, **steel)
    return torque if torque > 0 else None
