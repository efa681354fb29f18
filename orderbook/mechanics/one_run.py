"""Drive and load of one spring in plain floats: for sheets that ask for thousands of single springs, cell by cell."""

from __future__ import annotations

import math

from orderbook.mechanics.arithmetic import FLOATS
from orderbook.mechanics.barrel import floor_area
from orderbook.mechanics.drive import Run, drive_and_load
from orderbook.mechanics.strip import Winding
from orderbook.mechanics.torque import FLOW_STRESS_MPA, MODULUS_MPA
from orderbook.mechanics.winding import moment_at, winding

NOTHING = (math.nan, math.nan)


def ends_of_run(
    bore_mm: float, arbor_mm: float, width_mm: float, strength_mm: float, length_mm: float, run: Run
) -> tuple[float, float]:
    """Least and greatest torque of one spring over the run of a going barrel, frictionless.

    M over N − used … N, or with set-up over θ0 + set-up … θ0 + set-up + used.

    Parameters: as `drive_and_load`, which tells what is wrong with a barrel or a run; here they are taken to be right.
    Returns: N·mm; nan where the spring does not go in, or leaves too few turns.
    Source: as `drive_and_load`.

    >>> tuple(round(torque, 1) for torque in ends_of_run(15.6, 5.2, 2.9, 0.15, 566.3, Run(3.5)))
    (18.9, 26.0)
    """
    fill = length_mm * strength_mm / floor_area(bore_mm, arbor_mm)
    if not (0 < fill < 1 and width_mm > 0 and strength_mm > 0):
        return NOTHING
    given = (width_mm, strength_mm, length_mm)
    try:
        strip = winding(FLOATS, bore_mm / 2, arbor_mm / 2, *given, FLOW_STRESS_MPA, MODULUS_MPA)
        return _ends(strip, run)
    except (ArithmeticError, ValueError):  # out of all bounds: columns go on where floats stop
        found = drive_and_load(bore_mm, arbor_mm, *given, run)
        right = bool(found.eligible.flat[0])
        return (float(found.drive_nmm.flat[0]), float(found.load_nmm.flat[0])) if right else NOTHING


def _ends(strip: Winding, run: Run) -> tuple[float, float]:
    delivered, used = strip.turns - strip.slack, float(run.used_turns)
    if run.least_set_up + used + run.reserve > delivered:
        return NOTHING
    if not run.from_run_down:
        return _torque(strip, strip.turns - used), float(strip.most * strip.stiffness)
    low = strip.slack + run.least_set_up
    return _torque(strip, low), _torque(strip, low + used)


def _torque(strip: Winding, turns: float) -> float:
    turns = min(max(turns, 0.0), float(strip.turns))
    return max(float(strip.stiffness * moment_at(strip, turns, FLOATS)), 0.0) if turns > strip.slack else 0.0
