"""Free shapes: springback, ideal and as measured, against closed forms and independent quadrature."""

from itertools import pairwise

import numpy as np
import pytest
from scipy.integrate import quad
from scipy.optimize import brentq

from orderbook.errors import OrderbookError
from orderbook.mechanics import spring_length, spring_slack, spring_torque, spring_turns
from orderbook.mechanics.free_shape import ideal, measured, shape_curve, springback, springback_ratio
from tests.benchmarks.mechanics import peer_torque

BORE, ARBOR, WIDTH, E, SIGMA = 15.6, 5.2, 2.9, 206000.0, 1700.0


def plain_quadrature(strength: float, length: float, turns: float) -> float:
    """Torque by quadrature and bisection, written apart from the package's closed formulas."""
    R, r = BORE / 2, ARBOR / 2
    stiffness = E * WIDTH * strength**3 / 12

    def curvatures(s: float) -> tuple[float, float, float]:
        wound = 1 / np.sqrt(r * r + s * strength / np.pi)
        wall = 1 / np.sqrt(R * R - (length - s) * strength / np.pi)
        x = SIGMA / (wound * E * strength)
        return wound, wall, wound * (4 * x**3 - 3 * x + 1) if x < 0.5 else 0.0

    def wound_to(moment: float) -> float:
        def bent(s: float) -> float:
            wound, wall, free = curvatures(s)
            return min(max(free + moment / stiffness, wall), wound) - wall

        pieces = np.linspace(0, length, 41)
        return sum(quad(bent, a, b, epsabs=1e-11, limit=80)[0] for a, b in pairwise(pieces)) / (2 * np.pi)

    top = stiffness * (curvatures(0.0)[0] - curvatures(0.0)[2])
    return brentq(lambda m: wound_to(m) - turns, 0.0, top, xtol=1e-9)


@pytest.mark.parametrize(("strength", "part"), [(0.15, 0.3), (0.15, 0.7), (0.21, 0.5), (0.21, 0.9), (0.3, 0.7)])
def test_the_closed_torque_is_that_of_plain_quadrature(strength: float, part: float) -> None:
    length = float(spring_length(BORE, ARBOR, strength))
    turns = part * float(spring_turns(BORE, ARBOR, strength, length))
    ours = spring_torque(BORE, ARBOR, WIDTH, strength, length, turns)
    assert ours == pytest.approx(plain_quadrature(strength, length, turns), rel=1e-6)


@pytest.mark.parametrize(("strength", "part"), [(0.15, 0.8), (0.21, 0.97), (0.12, 0.9), (0.09, 0.6)])
def test_the_closed_torque_with_touching_coils_is_that_of_plain_quadrature(strength: float, part: float) -> None:
    # the peer of the benchmark: quadrature and root finding over the pack, in the same barrel and steel
    length = float(spring_length(BORE, ARBOR, strength))
    turns = part * float(spring_turns(BORE, ARBOR, strength, length))
    ours = spring_torque(BORE, ARBOR, WIDTH, strength, length, turns)
    assert ours == pytest.approx(peer_torque(strength, length, turns), rel=1e-6)
    assert ours != pytest.approx(plain_quadrature(strength, length, turns), rel=1e-5)


def test_springback_is_the_published_polynomial() -> None:
    # Kalpakjian & Schmid, Ri/Rf = 4x³ − 3x + 1 (second-hand); the polynomial is not used beyond x = ½
    assert springback_ratio([0, 0.05, 0.1, 0.25, 0.5]) == pytest.approx([1, 0.8505, 0.704, 0.3125, 0], abs=1e-12)
    assert springback_ratio(0.9) == 0


def test_nodes_and_closed_formulas_agree() -> None:
    length = float(spring_length(BORE, ARBOR, 0.21))
    curve = shape_curve(BORE, ARBOR, WIDTH, 0.21, length, lambda s: springback(s, ARBOR, 0.21, SIGMA, E))
    turns = np.linspace(1.0, 5.6, 20)  # above that coils touch, which the nodes leave out
    assert curve.torque(turns) == pytest.approx(spring_torque(BORE, ARBOR, WIDTH, 0.21, length, turns), rel=1e-3)
    assert curve.slack_turns == pytest.approx(spring_slack(BORE, ARBOR, 0.21, length), abs=2e-3)


def test_the_ideal_shape_is_wound_at_one_moment() -> None:
    # J. Japan Soc. Precision Eng. vol. 18 (1952): κ_max − κ_free = 2p/t everywhere, so M = E·b·t²·p/6
    length = float(spring_length(BORE, ARBOR, 0.15))
    curve = shape_curve(BORE, ARBOR, 1.5, 0.15, length, lambda s: ideal(s, ARBOR, 0.15, SIGMA, E))
    moment = E * 1.5 * 0.15**2 * (SIGMA / E) / 6
    assert curve.torque_nmm[-1] == pytest.approx(moment, rel=1e-9)
    # and the last turns come at hardly more moment: nearly level power
    assert curve.torque(0.5 * curve.turns[-1]) > 0.55 * moment


def test_a_set_spring_delivers_less() -> None:
    # lying free with more coils and smaller across = more set: more slack, less torque
    length = 560.0
    fresh = shape_curve(BORE, ARBOR, WIDTH, 0.15, length, lambda s: measured(s, 5.0, 60.0, length))
    set_ = shape_curve(BORE, ARBOR, WIDTH, 0.15, length, lambda s: measured(s, 14.0, 15.0, length))
    assert set_.slack_turns > fresh.slack_turns
    assert set_.torque(5.0) < fresh.torque(5.0)


def test_a_shape_that_cannot_be_is_said() -> None:
    with pytest.raises(OrderbookError) as problem:
        measured(0.0, 12.0, 60.0, 560.0)
    assert problem.value.code == "free_shape_not_possible"
