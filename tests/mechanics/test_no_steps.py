"""Nothing jumps: a reading that moves by a hundredth of a millimetre moves torque, drive and reference by no more."""

import numpy as np
import pytest

from orderbook.barrel.barrel import barrel_from_texts
from orderbook.barrel.modelling import model_of
from orderbook.mechanics import Run, drive_and_load, reference_spring, spring_length, spring_torque, spring_turns
from orderbook.mechanics.fusee import Cone

WATCH = {"bore": 15.6, "arbor": 5.2, "depth": 3.1, "used": 3.5}
CLOCK = {"bore": 45.0, "arbor": 9.0, "depth": 18.5, "used": 4.97}
SLIM = {"bore": 40.0, "arbor": 12.0, "depth": 22.0, "used": 7.9}
BRACKET = {"bore": 56.04, "arbor": 18.9, "depth": 38.0, "drive": "fusee", "fusee": "8 x 20 x 15",
           "barrel-outside": 60.2, "chain-height": 2.0}  # fmt: skip


def modelled(readings: dict[str, object], spring: tuple[float, float, float]) -> np.ndarray:
    """Strength, drive and load of the reference, and drive and load of one spring, as the verbs reckon them."""
    barrel, _ = barrel_from_texts({name: [str(value)] for name, value in readings.items()})
    model = model_of(barrel)
    best, steel = model.reference, model.material
    here = drive_and_load(
        readings["bore"], readings["arbor"], *spring, model.run,
        flow_stress_mpa=steel.flow_stress_mpa, modulus_mpa=steel.modulus_mpa,
    )  # fmt: skip
    return np.array([best.strength_mm, best.drive_nmm, best.load_nmm, here.drive_nmm[0], here.load_nmm[0]])


SWEEPS = {
    "depth of a watch": (WATCH, (2.5, 0.15, 560.0), "depth", np.arange(3.1, 3.7, 0.01)),
    "depth of a clock": (CLOCK, (17.0, 0.4, 1650.0), "depth", np.arange(4.7, 5.4, 0.01)),
    "depth of a shallow clock": (CLOCK, (5.0, 0.4, 1650.0), "depth", np.arange(6.8, 7.3, 0.01)),
    "bore of a watch": (WATCH, (2.5, 0.15, 560.0), "bore", np.arange(15.4, 15.8, 0.01)),
    "arbor of a watch": (WATCH, (2.5, 0.15, 560.0), "arbor", np.arange(5.0, 5.4, 0.01)),
    "bore of a slim spring": (SLIM, (21.0, 0.3, 1900.0), "bore", np.arange(40.1, 40.5, 0.01)),
    "bore of a fusee": (BRACKET, (37.0, 0.36, 2900.0), "bore", np.arange(55.9, 56.2, 0.01)),
    "depth of a fusee": (BRACKET, (12.0, 0.36, 2900.0), "depth", np.arange(12.5, 13.0, 0.01)),
}


@pytest.mark.parametrize("case", SWEEPS.values(), ids=SWEEPS.keys())
def test_a_hundredth_of_a_millimetre_is_no_step(
    case: tuple[dict[str, object], tuple[float, float, float], str, object],
) -> None:
    readings, spring, name, values = case
    found = np.array([modelled(readings | {name: round(float(value), 3)}, spring) for value in values])
    steps = np.diff(np.log(found), axis=0)
    # each step is like its neighbours: what the whole sweep does, spread over it, and the last digits of a search
    smooth = np.median(np.abs(steps), axis=0)
    assert np.all(np.abs(steps) <= 3 * smooth + 2e-3), np.abs(steps).max(axis=0)


@pytest.mark.parametrize("part", [0.6, 0.98, 1.0])
def test_torque_has_no_step_along_strength(part: float) -> None:
    # strips from R/e 50 to 70, one micrometre apart: each step of the torque is like the one before it
    strength = np.arange(7.8 / 70, 7.8 / 50, 0.001)
    length = spring_length(15.6, 5.2, strength)
    up = part * spring_turns(15.6, 5.2, strength, length)
    steps = np.diff(np.log(spring_torque(15.6, 5.2, 2.9, strength, length, up)))
    assert np.all(np.abs(np.diff(steps)) < 0.1 * steps.mean())


def some_fusee(rng: np.random.Generator) -> tuple[float, float, Run]:
    """A barrel of any size with a cone of any usual shape and ratio, and any usual number of turns used."""
    bore = float(np.exp(rng.uniform(np.log(10), np.log(70))))
    arbor = bore * rng.uniform(0.25, 0.42)
    ratio, turns, hollow, used = rng.uniform(1.2, 2.6), rng.uniform(3, 17), rng.uniform(0, 1), rng.uniform(2.5, 9)
    at = np.linspace(0, turns, 9)
    straight = 1 + (ratio - 1) * at / turns
    even = 1 / np.sqrt(1 + (1 / ratio**2 - 1) * at / turns)
    radius = (1 - hollow) * straight + hollow * even
    whole = Cone(tuple(at), tuple(radius), 1.0).barrel_turns
    return bore, arbor, Run(used, drive="fusee", fusee=Cone(tuple(at), tuple(radius), whole / used))


def test_with_a_fusee_a_stronger_spring_drives_more_up_to_the_strongest_useful_one() -> None:
    # each spring at its own best set-up; searched up to the reserve, 0.33 mm came out stronger than 0.36
    rng = np.random.default_rng(0)
    falls = []
    for _ in range(200):
        bore, arbor, run = some_fusee(rng)
        best = reference_spring(bore, arbor, 1.0, run)
        strength = best.strength_mm * np.linspace(0.3, 1.0, 43)
        drive = drive_and_load(bore, arbor, 1.0, strength, spring_length(bore, arbor, strength), run).drive_nmm
        falls.append(1 - np.min(drive / np.maximum.accumulate(drive)))
    assert max(falls) < 1e-4


@pytest.mark.parametrize("seed", range(12))
def test_with_a_fusee_drive_has_no_step_along_strength(seed: int) -> None:
    bore, arbor, run = some_fusee(np.random.default_rng(100 + seed))
    best = reference_spring(bore, arbor, 1.0, run)
    strength = best.strength_mm * np.linspace(0.4, 0.99, 1200)
    drive = drive_and_load(bore, arbor, 1.0, strength, spring_length(bore, arbor, strength), run).drive_nmm
    assert np.abs(np.diff(np.log(drive))).max() < 0.006  # strength itself rises by 0.05 to 0.12 % a step
