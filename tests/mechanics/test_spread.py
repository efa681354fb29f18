"""The spread of the indices against random draws of everything they depend on (JCGM 101)."""

import numpy as np
import pytest

from orderbook.mechanics import Run, drive_and_load, index_spread, reference_spring, spring_length, yardstick
from orderbook.mechanics.fusee import cone
from orderbook.mechanics.spread import FREE_SHAPE_SHARE

BORE, ARBOR, WIDTH = 15.6, 5.2, 2.9
BRACKET = Run(7.717, drive="fusee", fusee=cone([0, 15], [9.0, 21.0], 60.2, 2.0))
CASES = {
    "going watch": (BORE, ARBOR, WIDTH, Run(3.5), 3000),
    "going clock": (45.0, 9.0, 18.0, Run(4.97), 3000),
    "watch with fusee": (BORE, ARBOR, WIDTH, Run(3.5, drive="fusee"), 800),
    "clock with fusee": (56.04, 18.9, 37.0, BRACKET, 800),
}
SHARES = np.array([0.6, 0.75, 0.9, 1.0])  # of the strongest useful strength: the last is the reference itself
TOLERANCE, OWN, COMMON = 0.005, 0.03, 0.06


@pytest.mark.parametrize("case", CASES.values(), ids=CASES.keys())
def test_both_parts_agree_with_random_draws(case: tuple[float, float, float, Run, int]) -> None:
    bore, arbor, width, run, draws = case
    best = reference_spring(bore, arbor, width, run)
    strength = best.strength_mm * SHARES
    length = spring_length(bore, arbor, strength)
    of = yardstick(bore, arbor, best, run, common_flow_stress_u=COMMON)
    told = index_spread(
        bore, arbor, width, strength, length, run, of, strength_u_mm=TOLERANCE / 3**0.5, own_flow_stress_u=OWN
    )
    rng = np.random.default_rng(5)
    common = rng.normal(0, COMMON, (draws, 1))
    e = strength + rng.uniform(-TOLERANCE, TOLERANCE, (draws, len(SHARES)))
    flow = 1700 * np.exp(common + rng.normal(0, OWN, e.shape))
    shape = rng.normal(0, FREE_SHAPE_SHARE, e.shape)
    drawn = drive_and_load(bore, arbor, width, e, length, run, flow_stress_mpa=flow)
    # the reference is found again in every steel; between 25 of them its logarithms run smoothly
    steels = np.linspace(common.min(), common.max(), 25)
    found = reference_spring(bore, arbor, width, run, flow_stress_mpa=1700 * np.exp(steels))
    sampling = 3 / np.sqrt(2 * draws)  # three times that of a standard deviation
    for which, index, own, shared in (
        ("drive_nmm", told.drive_index, told.drive_own_u, told.drive_common_u),
        ("load_nmm", told.load_index, told.load_own_u, told.load_common_u),
    ):
        reference = np.interp(common, steels, np.log(getattr(found, which)))
        logs = np.log(getattr(drawn, which)) + shape - reference
        # a ridge, where two slopes of a fusee's drive meet, is told as rounder than it is: up to a fifth too large
        ridge = 0.2 if run.drive == "fusee" and which == "drive_nmm" else 0.0
        expected = np.hypot(own, shared)
        assert np.all(logs.std(axis=0) < expected * (1 + sampling + 0.03))
        assert np.all(logs.std(axis=0) > expected * (1 - sampling - 0.03 - ridge * (SHARES == 1)))
        # the shared part with its sign: what the draws of the common flow stress do to each spring
        moved = np.array([np.cov(common[:, 0], logs[:, i])[0, 1] for i in range(len(SHARES))]) / COMMON
        assert shared == pytest.approx(moved, abs=3 * expected.max() / np.sqrt(draws) + 0.003)
        assert index[-1] == pytest.approx(100, abs=0.1)


@pytest.mark.parametrize("case", CASES.values(), ids=CASES.keys())
def test_the_reference_itself_is_not_known_without_doubt(case: tuple[float, float, float, Run, int]) -> None:
    # to first order its drive hangs on nothing; 100.00 ± 0.04 was printed, random draws of the strength and of the
    # common flow stress alone give 1 to 5 %
    bore, arbor, width, run, _ = case
    best = reference_spring(bore, arbor, width, run)
    of = yardstick(bore, arbor, best, run, common_flow_stress_u=COMMON)
    strip = (best.width_mm, best.strength_mm, best.length_mm)
    told = index_spread(bore, arbor, *strip, run, of, own_flow_stress_u=0.0)
    rng = np.random.default_rng(11)
    common = rng.normal(0, COMMON, 600)
    e = best.strength_mm + rng.uniform(-TOLERANCE, TOLERANCE, 600)
    steels = np.linspace(common.min(), common.max(), 25)
    found = reference_spring(bore, arbor, width, run, flow_stress_mpa=1700 * np.exp(steels))
    drawn = drive_and_load(bore, arbor, width, e, strip[2], run, flow_stress_mpa=1700 * np.exp(common))
    logs = np.log(drawn.drive_nmm) - np.interp(common, steels, np.log(found.drive_nmm))
    known = np.hypot(told.drive_own_u[0], told.drive_common_u[0])
    alone = float(np.sqrt(known**2 - FREE_SHAPE_SHARE**2))
    # told too large by up to a half where the peak is a ridge, as with a fusee, and not round
    assert (0.65 if run.drive == "fusee" else 0.9) * alone < logs.std() < 1.15 * alone
    assert 0.005 < logs.std() < 0.06


def test_one_draw_of_the_common_flow_stress_moves_springs_apart_and_together() -> None:
    # finite differences of the whole index, with a strongest useful spring of its own in each steel
    run, step = Run(3.5), 0.06
    strength = np.array([0.13, 0.17, 0.235])
    length = spring_length(BORE, ARBOR, strength)
    best = reference_spring(BORE, ARBOR, WIDTH, run)
    of = yardstick(BORE, ARBOR, best, run, common_flow_stress_u=step)
    told = index_spread(BORE, ARBOR, WIDTH, strength, length, run, of)
    ends = []
    for part in (-step, step):
        steel = {"flow_stress_mpa": 1700 * np.exp(part)}
        there = reference_spring(BORE, ARBOR, WIDTH, run, **steel)
        found = drive_and_load(BORE, ARBOR, WIDTH, strength, length, run, **steel)
        ends.append([np.log(found.drive_nmm / there.drive_nmm), np.log(found.load_nmm / there.load_nmm)])
    drive, load = (np.array(ends[1]) - np.array(ends[0])) / 2
    assert told.drive_common_u == pytest.approx(drive, rel=0.05, abs=1e-3)
    assert told.load_common_u == pytest.approx(load, rel=0.05, abs=1e-3)
    # harder steel: a spring weaker than the peak loses against the stronger reference, one beyond it gains
    assert np.sign(told.drive_common_u).tolist() == [-1, -1, 1]


def test_the_shared_part_of_the_first_trial() -> None:
    # this project's own trial: flow stress 1300 … 2200 MPa put 0.15 mm at 85 … 58 % of the peak
    best = reference_spring(BORE, ARBOR, WIDTH, Run(3.5))
    of = yardstick(BORE, ARBOR, best, Run(3.5), common_flow_stress_u=0.06)
    told = index_spread(BORE, ARBOR, WIDTH, [0.15], [566.3], Run(3.5), of)
    assert told.drive_common_u[0] / 0.06 == pytest.approx(np.log(58 / 85) / np.log(2200 / 1300), rel=0.05)
    # 4 to 7 % at 0.20 and 9 to 14 % at 0.10 were found for the own thickness tolerance of 0.005 mm
    assert 0.02 < told.drive_own_u[0] < 0.14


def test_a_spring_whose_tolerance_loses_the_run_is_hardly_known() -> None:
    # it delivers just the turns used: a little thicker, or softer, and there is no torque at the end of the run
    best = reference_spring(BORE, ARBOR, WIDTH, Run(3.5))
    of = yardstick(BORE, ARBOR, best, Run(3.5))
    tried = np.linspace(0.2, 0.4, 2001)
    drive = drive_and_load(BORE, ARBOR, WIDTH, tried, spring_length(BORE, ARBOR, tried), Run(3.5)).drive_nmm
    strength = np.array([tried[drive > 0].max(), 0.4])
    told = index_spread(BORE, ARBOR, WIDTH, strength, spring_length(BORE, ARBOR, strength), Run(3.5), of)
    assert 0.5 < told.drive_own_u[0] < 3
    assert np.isnan(told.drive_own_u[1])


def test_a_steel_known_exactly_leaves_no_common_part() -> None:
    best = reference_spring(BORE, ARBOR, WIDTH, Run(3.5))
    of = yardstick(BORE, ARBOR, best, Run(3.5), common_flow_stress_u=0.0)
    told = index_spread(BORE, ARBOR, WIDTH, [0.15], [566.3], Run(3.5), of)
    assert told.drive_common_u[0] == 0
    assert 0.02 < told.drive_own_u[0] < 0.1
