"""Rod tests mean the same to the sizing and to the choice."""

import math

import pytest

from orderbook.barrel.barrel import Barrel, barrel_from_texts
from orderbook.barrel.modelling import model_of
from orderbook.barrel.rods import rod_need
from orderbook.choosing.bench import bench_of
from orderbook.choosing.fitting import scale_of
from orderbook.choosing.seen import evidence_of
from orderbook.mechanics import spring_slack, spring_torque, spring_turns

TRIAL = {"bore": ["15.6"], "arbor": ["5.2"], "depth": ["3.1"], "used": ["3.5"]}
FITTED = {"strength": ["0.165"], "length": ["515"]}
WIDTH = 3.1 - 0.12


def barrel(*rods: str, **more: list[str]) -> Barrel:
    return barrel_from_texts(TRIAL | more | {"rod": list(rods)})[0]


def both(read: Barrel) -> tuple[float, float, float, float]:
    """Index and relative u by the sizing, then by the choice."""
    model = model_of(read)
    told = rod_need(read, model)
    bench, _ = bench_of(read)
    (evidence,) = evidence_of(bench, scale_of(bench), ())[0]
    assert told
    return told.need_nmm / model.reference.drive_nmm, told.u, math.exp(evidence.at), evidence.spread


def nmm(grams: float, arm: float) -> float:
    return grams * 9.80665 * arm / 1000


def from_wound(turns: float, strength: float = 0.165, length: float = 515.0) -> float:
    """The model's torque of the spring so many turns from wound; its window ends fully wound."""
    most, acts = spring_turns(15.6, 5.2, strength, length), model_of(barrel()).material
    steel = (acts.flow_stress_mpa, acts.modulus_mpa)
    assert most - spring_slack(15.6, 5.2, strength, length, *steel) > turns
    return float(spring_torque(15.6, 5.2, WIDTH, strength, length, most - turns, *steel))


def test_one_test_is_read_with_the_friction_of_the_coils() -> None:
    read = barrel("15 g x 100 mm: just drives")
    need = 1.3 * nmm(15, 100) / 0.85 / model_of(read).reference.drive_nmm
    by_size, u, by_choice, choice_u = both(read)
    assert (by_size, by_choice) == pytest.approx((need, need), rel=1e-3)
    assert u == pytest.approx(choice_u)


@pytest.mark.parametrize(
    "rods",
    [
        ["30 g x 100 mm: gives, falling", "15 g x 100 mm: just drives"],
        ["30 g x 100 mm: gives, falling, at 2 turns", "15 g x 100 mm: just drives, falling"],
    ],
)
def test_the_fitted_spring_makes_two_tests_a_ratio(rods: list[str]) -> None:
    read = barrel(*rods, **FITTED)
    here = from_wound(2.0 if "at 2 turns" in rods[0] else 0.0)
    need = 1.3 * nmm(15, 100) / nmm(30, 100) * here / model_of(read).reference.drive_nmm
    by_size, u, by_choice, choice_u = both(read)
    assert (by_size, by_choice) == pytest.approx((need, need), rel=2e-3)
    assert u == pytest.approx(choice_u)
    assert u < 0.12


def test_of_what_just_drives_the_falling_test_counts() -> None:
    gives = "30 g x 100 mm: gives, falling"
    falling = both(barrel(gives, "15 g x 100 mm: just drives, falling", **FITTED))
    two = both(barrel(gives, "20 g x 100 mm: just drives, rising", "15 g x 100 mm: just drives, falling", **FITTED))
    assert (two[0], two[2]) == pytest.approx((falling[0], falling[2]))


def test_tests_at_different_turns_are_ratios_of_their_own_in_any_order() -> None:
    drives = "15 g x 100 mm: just drives"
    gives = ["34 g x 100 mm: gives, falling", "24 g x 100 mm: gives, falling, at 3 turns"]
    ratios = [nmm(34, 100) / from_wound(0.0), nmm(24, 100) / from_wound(3.0)]
    for order in (gives, gives[::-1]):
        read = barrel(*order, drives, **FITTED)
        need = 1.3 * nmm(15, 100) / math.sqrt(ratios[0] * ratios[1]) / model_of(read).reference.drive_nmm
        by_size, _, by_choice, _ = both(read)
        assert (by_size, by_choice) == pytest.approx((need, need), rel=2e-3)


def test_the_strength_given_is_the_spring_in_the_barrel() -> None:
    rods = ["30 g x 100 mm: gives, falling", "15 g x 100 mm: just drives"]
    with_tried = barrel(*rods, **FITTED, tried=["2.9 x 0.15 x 560: too weak"])
    assert rod_need(with_tried, model_of(with_tried)) == rod_need(barrel(*rods, **FITTED), model_of(with_tried))
