"""The load of the just-sufficient strip: against root finding over single springs, and its order."""

import numpy as np
import pytest
from scipy.optimize import brentq

from orderbook.mechanics import Run, drive_and_load, reference_spring, spring_length, sufficient_load
from orderbook.mechanics.fusee import cone

RUNS = {
    "going watch": (15.6, 5.2, 2.9, Run(3.5)),
    "going watch with stop-work": (15.6, 5.2, 2.9, Run(3.5, stop_work=True)),
    "going watch at a set-up": (15.6, 5.2, 2.9, Run(3.5, set_up_turns=1.0)),
    "going clock": (45.0, 9.0, 18.0, Run(4.97)),
    "slim going clock": (40.0, 12.0, 21.0, Run(10.0)),
    "watch with fusee": (15.6, 5.2, 2.9, Run(3.5, drive="fusee")),
    "watch with fusee at a set-up": (15.6, 5.2, 2.9, Run(3.5, drive="fusee", set_up_turns=0.7)),
    "clock with fusee": (56.04, 18.9, 37.0, Run(7.7, drive="fusee", fusee=cone([0, 15], [9, 21], 60.2, 2.0))),
}


@pytest.mark.parametrize("case", RUNS.values(), ids=RUNS.keys())
@pytest.mark.parametrize("fill", [0.5, 0.58])
def test_it_is_the_load_of_the_strip_found_by_root_finding(case: tuple[float, float, float, Run], fill: float) -> None:
    bore, arbor, width, run = case
    best = reference_spring(bore, arbor, width, run, fill)
    enough = sufficient_load(bore, arbor, best, run, fill)

    def alone(strength: float) -> tuple[float, float]:
        found = drive_and_load(bore, arbor, width, strength, spring_length(bore, arbor, strength, fill), run)
        return float(found.drive_nmm[0]), float(found.load_nmm[0])

    for wanted in (20.0, 40.0, 55.0, 70.0, 85.0, 95.0, 99.0):
        strength = brentq(
            lambda e, x=wanted: alone(e)[0] - x / 100 * best.drive_nmm, 0.2 * best.strength_mm, best.strength_mm
        )
        assert enough.at(wanted) == pytest.approx(alone(strength)[1], rel=1e-3)
    assert enough.at([100.0, 120.0, 330.0]) == pytest.approx([best.load_nmm] * 3, rel=1e-9)


@pytest.mark.parametrize("case", RUNS.values(), ids=RUNS.keys())
def test_it_rises_with_the_need(case: tuple[float, float, float, Run]) -> None:
    bore, arbor, width, run = case
    best = reference_spring(bore, arbor, width, run)
    enough = sufficient_load(bore, arbor, best, run)
    needs = np.geomspace(5, 100, 2400)  # finer than a belief is kept
    loads = enough.at(needs)
    assert np.all(np.diff(loads) >= 0)
    assert np.all(loads > 0)
    assert np.all(loads >= needs / 100 * best.drive_nmm * (1 - 1e-9))  # greatest is never below least
    assert isinstance(enough.at(50.0), float)
    assert enough.at(needs.reshape(40, 60)).shape == (40, 60)


def test_load_and_need_are_two_units() -> None:
    # a watch's going barrel: the load index of the strip that is just sufficient lies far below the need it meets
    best = reference_spring(15.6, 5.2, 2.9, Run(3.5))
    enough = sufficient_load(15.6, 5.2, best, Run(3.5))
    assert 100 * enough.at(65.0) / best.load_nmm < 48
