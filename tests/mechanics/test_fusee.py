"""The fusee: an exact case, the work identity, and the best set-up."""

from itertools import pairwise

import numpy as np
import pytest
from scipy.integrate import quad

from orderbook.errors import OrderbookError
from orderbook.mechanics import (
    cone,
    fusee_evenness,
    fusee_set_up,
    spring_slack,
    spring_torque,
    spring_turns,
    stored_energy,
)
from orderbook.mechanics.fusee import Cone, best_set_up, evenness_at
from orderbook.mechanics.table import TorqueTable

SPRING = (15.6, 5.2, 2.9, 0.165, 514.8)
CONE = (4.0, 7.0, 20.0, 0.8)


def even_cone(points: int = 2001) -> Cone:
    """Derived: R_c 10, M = 2.5 N·mm a turn, set-up 4, 3.5 turns used, 5 of the fusee: 1/r² straight in the angle."""
    at = np.linspace(0, 5, points)
    thin, thick = 5.366667, 10.0625
    radius = 1 / np.sqrt(1 / thin**2 + (1 / thick**2 - 1 / thin**2) * at / 5)
    return Cone(tuple(at), tuple(radius), 10.0)


def test_an_even_fusee_for_a_straight_spring() -> None:
    fusee = even_cone()
    # the table of the derivation: radius at whole turns from the thick end, barrel turns so far
    assert [fusee.radius_at(5 - n) for n in range(6)] == pytest.approx(
        [10.0625, 8.207452, 7.104170, 6.352185, 5.797521, 5.366667], abs=2e-6
    )
    left = [fusee.barrel_turns - fusee.run_off_at(5 - n) for n in range(6)]
    assert left == pytest.approx([0, 0.904080, 1.665686, 2.336403, 2.942622, 3.5], abs=2e-6)
    assert fusee.barrel_turns * 2 * np.pi * 10 == pytest.approx(219.911486, abs=1e-4)
    straight = TorqueTable(np.array([[0.0, 20.0]]), np.array([[0.0, 50.0]]))
    assert evenness_at(straight, fusee.profile(), [3.5], [4.0])[0] == pytest.approx(1, abs=1e-5)
    found = best_set_up(straight, fusee.profile(), np.array([3.5]), [8.0], usual=(0.0, 8.0))
    assert found[0] == pytest.approx(4.0, abs=0.02)


def test_the_work_goes_over_to_the_fusee_whole() -> None:
    # ∫ M dθ over the barrel's turns equals ∫ T_f dα over the fusee's; that by the energy in closed form
    fusee = cone([0, 5], CONE[:2], *CONE[2:])
    slack, turns = spring_slack(*SPRING[:2], *SPRING[3:]), spring_turns(*SPRING[:2], *SPRING[3:])
    wound = min(turns - 0.75, slack + 1.5 + fusee.barrel_turns)

    def torque(alpha: float) -> float:
        up = wound - float(fusee.run_off_at(alpha))
        return spring_torque(*SPRING, up) * float(fusee.radius_at(alpha)) / fusee.barrel_radius_mm

    pieces = np.linspace(0, 5, 11)
    at_fusee = sum(quad(torque, a, b, epsabs=1e-12, epsrel=1e-12, limit=200)[0] for a, b in pairwise(pieces))
    at_barrel = stored_energy(*SPRING, wound, wound - fusee.barrel_turns) / (2 * np.pi)
    assert at_fusee == pytest.approx(at_barrel, rel=1e-9)


@pytest.mark.parametrize("strength", [0.13, 0.15, 0.165, 0.18])
def test_the_best_set_up_is_no_worse_than_any_other_usual_one_that_leaves_the_reserve(strength: float) -> None:
    spring = (*SPRING[:3], strength, SPRING[3] * SPRING[4] / strength)
    best = fusee_set_up(*spring, 3.5, *CONE)
    least = fusee_evenness(*spring, 3.5, *CONE, best)
    left = spring_turns(*spring[:2], *spring[3:]) - spring_slack(*spring[:2], *spring[3:]) - 3.5 - 0.75
    most = min(left, 1.75)
    assert 0.5 <= best <= most + 1e-9
    for set_up in np.linspace(0.5, most, 40):
        assert fusee_evenness(*spring, 3.5, *CONE, float(set_up)) >= least * (1 - 1e-3)


def test_clicks_are_whole() -> None:
    for teeth in (8, 15, 20, 33):
        clicks = fusee_set_up(*SPRING, 3.5, *CONE, ratchet_teeth=teeth) * teeth
        assert clicks == pytest.approx(round(clicks))
        assert abs(clicks / teeth - fusee_set_up(*SPRING, 3.5, *CONE)) <= 1 / teeth


def test_columns_answer_as_the_rows_do() -> None:
    lengths = np.array([500.0, 514.8, 530.0])
    found = fusee_set_up(15.6, 5.2, 2.9, 0.165, lengths, 3.5, *CONE)
    alone = [fusee_set_up(15.6, 5.2, 2.9, 0.165, float(length), 3.5, *CONE) for length in lengths]
    assert found == pytest.approx(alone, abs=1e-9)
    cones = fusee_set_up(*SPRING, 3.5, np.array([4.0, 4.4]), *CONE[1:])
    assert cones == pytest.approx([fusee_set_up(*SPRING, 3.5, small, *CONE[1:]) for small in (4.0, 4.4)], abs=1e-9)


@pytest.mark.parametrize(
    ("call", "code"),
    [
        (lambda: cone([0, 5], [7.0, 4.0], 20.0, 0.8), "cone_does_not_grow"),
        (lambda: cone([0, 5, 5], [4.0, 6.0, 7.0], 20.0, 0.8), "cone_does_not_grow"),
        (lambda: cone([0], [4.0], 20.0, 0.8), "cone_does_not_grow"),
        (lambda: cone([0, 5], [4.0, 7.0], 20.0, -1.0), "length_not_sensible"),
        (lambda: fusee_set_up(*SPRING, 7.0, *CONE), "no_reserve_left"),
        (lambda: fusee_evenness(*SPRING, 3.5, *CONE, 6.0), "no_reserve_left"),
    ],
)
def test_what_makes_no_sense_is_said(call: object, code: str) -> None:
    with pytest.raises(OrderbookError) as problem:
        call()  # type: ignore[operator]
    assert problem.value.code == code
