"""The torque: laws that hold exactly, order, and bad input."""

import math
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import quad

from orderbook.errors import OrderbookError
from orderbook.mechanics import rod_test_torque, spring_length, spring_slack, spring_torque, spring_turns, stored_energy
from orderbook.mechanics.arithmetic import COLUMNS, FLOATS
from orderbook.mechanics.energy import strain
from orderbook.mechanics.rod_test import frictionless
from orderbook.mechanics.torque import rate_per_turn
from orderbook.mechanics.winding import moment_at, turns_at, winding

springs = st.tuples(
    st.floats(6, 60), st.floats(0.2, 0.5), st.floats(0.008, 0.05), st.floats(0.3, 0.7), st.floats(900, 2500)
).map(lambda t: (t[0], t[0] * t[1], 2.0, t[0] * t[2] / 2, t[3], t[4]))


def made(spring: tuple[float, ...]) -> tuple[float, float, float, float, float, float]:
    bore, arbor, width, strength, fill, flow_stress = spring
    return bore, arbor, width, strength, float(spring_length(bore, arbor, strength, fill)), flow_stress


@settings(max_examples=25, deadline=None)
@given(springs)
def test_torque_rises_strictly_and_ends_at_the_turns(spring: tuple[float, ...]) -> None:
    bore, arbor, width, strength, length, flow_stress = made(spring)
    turns = spring_turns(bore, arbor, strength, length)
    slack = spring_slack(bore, arbor, strength, length, flow_stress)
    assert 0 <= slack < turns
    up = np.linspace(slack + 1e-3 * (turns - slack), turns, 80)
    torque = spring_torque(bore, arbor, width, strength, length, up, flow_stress)
    assert np.all(np.diff(torque) > 0)
    assert np.all(torque > 0)
    strip = winding(FLOATS, bore / 2, arbor / 2, width, strength, length, flow_stress, 206000.0)
    assert turns_at(strip, strip.most, FLOATS)[0] == pytest.approx(turns, rel=1e-9)


@settings(max_examples=20, deadline=None)
@given(springs, st.floats(0.02, 0.98))
def test_floats_and_columns_answer_alike(spring: tuple[float, ...], part: float) -> None:
    bore, arbor, width, strength, length, flow_stress = made(spring)
    given_ = (bore / 2, arbor / 2, width, strength, length, flow_stress, 206000.0)
    one, many = winding(FLOATS, *given_), winding(COLUMNS, *(np.full(3, v) for v in given_))
    at = moment_at(one, part * one.turns, FLOATS)
    assert moment_at(many, part * many.turns, COLUMNS) == pytest.approx(at, rel=1e-9, abs=1e-12)
    assert turns_at(one, at, FLOATS)[0] == pytest.approx(part * one.turns, rel=1e-9)
    assert strain(many, np.full(3, at), COLUMNS) == pytest.approx(strain(one, at, FLOATS), rel=1e-9, abs=1e-9)


def test_the_free_stretch_has_the_textbook_slope() -> None:
    # flat spiral, both ends clamped: k = E·b·t³/(12·L) a radian (spring-industry design note; results derived)
    assert rate_per_turn(10.0, 1.0, 1200.0) == pytest.approx(898.8446, rel=1e-6)
    assert rate_per_turn(1.0, 0.105, 464.50691) == pytest.approx(0.26880761, rel=1e-6)
    # a thick strip in a large barrel is free of wall and arbor for some turns; there the curve is exactly that
    bore, arbor, width, strength = 15.6, 5.2, 2.9, 0.21
    length = float(spring_length(bore, arbor, strength))
    strip = winding(FLOATS, bore / 2, arbor / 2, width, strength, length, 1700.0, 206000.0)
    top, arbor_gap = strip.wall_top, 3 * strip.set_curvature - 4 * strip.set_curvature**3 * (6.76 + strip.room)
    assert top < arbor_gap  # max(κb − κ0) < min(κa − κ0)
    # and where no coil touches the next
    low, high = (turns_at(strip, mu, FLOATS)[0] for mu in (top, min(arbor_gap, strip.touching_from)))
    up = np.linspace(low, high, 7)
    torque = spring_torque(bore, arbor, width, strength, length, up)
    assert np.diff(torque) / np.diff(up) == pytest.approx(rate_per_turn(width, strength, length), rel=1e-7)


def test_torque_is_in_proportion_to_width() -> None:
    one, two = (spring_torque(15.6, 5.2, width, 0.2, 424.6, 4.0) for width in (1.0, 2.0))
    assert two == pytest.approx(2 * one, rel=1e-12)


def test_the_rate_follows_the_cube_and_at_equal_fill_the_fourth_power() -> None:
    assert rate_per_turn(1.0, 0.105, 500.0) / rate_per_turn(1.0, 0.1, 500.0) == pytest.approx(1.157625, rel=1e-12)
    at_fill = [rate_per_turn(1.0, e, spring_length(20.0, 7.0, e)) for e in (0.10, 0.11)]
    assert at_fill[1] / at_fill[0] == pytest.approx(1.4641, rel=1e-12)


def test_the_fully_wound_exponent() -> None:
    # a strip that has set all along is held by 3c − 4c³·r·w per E·I with c = σ/(E·e) and w its wound radius, so that at
    # the same fill the exponent is 2 + (8/3)x²/(1 − 4x²/3), x = √(r·w)·σ/(E·e): derived
    e, h = 0.21, 1e-6
    top = [
        winding(FLOATS, 7.8, 2.6, 2.9, s, float(spring_length(15.6, 5.2, s)), 1700.0, 206000.0)
        for s in (e * (1 - h), e * (1 + h))
    ]
    exponent = math.log(top[1].most * top[1].stiffness / (top[0].most * top[0].stiffness)) / (2 * h)
    x = math.sqrt(2.6 * math.sqrt((7.8**2 + 2.6**2) / 2)) * 1700 / (206000 * e)
    assert exponent == pytest.approx(2 + 8 / 3 * x**2 / (1 - 4 * x**2 / 3), rel=1e-7)


@pytest.mark.parametrize("strength", [0.1, 0.15, 0.21, 0.3])
def test_stored_energy_is_the_area_under_the_curve(strength: float) -> None:
    length = float(spring_length(15.6, 5.2, strength))
    slack, turns = spring_slack(15.6, 5.2, strength, length), spring_turns(15.6, 5.2, strength, length)
    places = np.linspace(slack, turns, 15)
    area = sum(
        quad(lambda t: spring_torque(15.6, 5.2, 2.9, strength, length, t), a, b, epsrel=1e-11, limit=100)[0]
        for a, b in pairwise(places)
    )
    assert stored_energy(15.6, 5.2, 2.9, strength, length) == pytest.approx(2 * math.pi * area, rel=1e-8)


@pytest.mark.parametrize(("strength", "length"), [(0.16, 661.0), (0.17, 620.0)])
def test_the_shape_of_the_curve_is_near_that_of_a_watch_whose_amplitude_was_taken(
    strength: float, length: float
) -> None:
    # ASSUMPTION: torque goes with the square of the amplitude. An owner's vertical amplitudes of an American pocket
    # watch (16 size, 1901) with a 0.16 spring: 240, 260, 300, 310 degrees at 8, 12, 20, 24 of 24 turns of the crown
    # (NAWCC message board, thread 165139; second-hand). Bore 17.4 and arbor 5.8 are inferred from 0.17 x 620 mm at half
    # fill with an arbor of bore/3; 0.57, 0.67 and 0.86 were worked out for it with coils that pass through each other
    slack, turns = spring_slack(17.4, 5.8, strength, length), spring_turns(17.4, 5.8, strength, length)
    up = slack + np.array([8, 12, 20, 24]) / 24 * (turns - slack)
    torque = spring_torque(17.4, 5.8, 2.7, strength, length, up)
    share = torque[:3] / torque[3]
    assert share == pytest.approx(np.array([240, 260, 300]) ** 2 / 310**2, abs=0.06)
    assert share == pytest.approx([0.57, 0.67, 0.86], abs=0.035)


def test_a_rod_test() -> None:
    # 50 g at 120 mm: 0.05·9.80665·120 N·mm (g standard, exact by definition)
    assert rod_test_torque(50, 120) == pytest.approx(58.8399, abs=1e-4)
    torque, eta = frictionless(50 / 0.85, 50 * 0.85)
    assert (torque, eta) == (pytest.approx(50), pytest.approx(0.85))


@pytest.mark.parametrize(
    ("call", "code"),
    [
        (lambda: spring_torque(15.6, 5.2, 2.9, 0.21, 404.4, 9.0), "turns_not_in_barrel"),
        (lambda: spring_torque(15.6, 5.2, 2.9, 0.21, 404.4, -0.1), "turns_not_in_barrel"),
        (lambda: spring_torque(15.6, 5.2, 2.9, 0.21, 404.4, math.nan), "turns_not_in_barrel"),
        (lambda: spring_torque(15.6, 5.2, 0.0, 0.21, 404.4, 3.0), "length_not_sensible"),
        (lambda: spring_torque(15.6, 5.2, 2.9, 0.21, 9000.0, 3.0), "spring_too_big"),
        (lambda: spring_torque(15.6, 5.2, 2.9, 0.21, 404.4, 3.0, flow_stress_mpa=0.0), "number_not_sensible"),
        (lambda: spring_torque(15.6, 5.2, 2.9, 0.21, 404.4, [3.0, 99.0]), "turns_not_in_barrel"),
        (lambda: rod_test_torque(0, 120), "number_not_sensible"),
    ],
)
def test_what_makes_no_sense_is_said(call: object, code: str) -> None:
    with pytest.raises(OrderbookError) as problem:
        call()  # type: ignore[operator]
    assert problem.value.code == code


def test_the_slack_gives_nothing() -> None:
    slack = spring_slack(15.6, 5.2, 0.21, 404.4)
    assert spring_torque(15.6, 5.2, 2.9, 0.21, 404.4, 0.5 * slack) == 0
    assert spring_torque(15.6, 5.2, 2.9, 0.21, 404.4, 0.0) == 0
