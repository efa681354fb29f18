"""Touching coils against a brute-force constrained minimiser."""

import numpy as np
import pytest
from scipy.optimize import brentq, minimize

from orderbook.mechanics import spring_length, spring_torque, spring_turns, stored_energy
from orderbook.mechanics.arithmetic import COLUMNS, FLOATS
from orderbook.mechanics.contact import pack, turns_touching
from orderbook.mechanics.strip import Winding, part_of
from orderbook.mechanics.winding import moment_at, turns_alone, turns_at, winding

R, r, E, SIGMA = 7.8, 2.6, 206000.0, 1700.0


def strip(radius_over_strength: float) -> Winding:
    e = R / radius_over_strength
    return winding(FLOATS, R, r, 2.9, e, float(spring_length(2 * R, 2 * r, e)), SIGMA, E)


def moment_alone(w: Winding, turns: float) -> float:
    """μ at these turns, were the coils to pass through each other."""
    top = 3 * w.set_curvature - 4 * w.set_curvature**3 * r**2 if w.elastic_from > 0 else 1 / r
    return brentq(lambda mu: turns_alone(w, mu, FLOATS)[0] - turns, w.least, top, xtol=1e-14)


def minimised(w: Winding, mu: float) -> float:
    """Turns of the coils of least ∫ (κ − κ*)² ds whose p = 1/κ² − u does not fall, by scipy's constrained minimiser.

    It knows nothing of packs: it moves every coil, with arbor and wall as bounds and order as constraints. With 40
    nodes the midpoint rule is right to about 2e-4 of the turns.
    """
    nodes = 40
    scale = 10.0  # the minimiser likes numbers near one
    u = (np.arange(nodes) + 0.5) / nodes * w.room
    a = np.sqrt(r**2 + u)
    x = np.minimum(SIGMA * a / (E * w.strength), 0.5)
    wanted = scale * ((4 * x**3 - 3 * x + 1) / a + mu)
    tight, slack = scale / a, scale / np.sqrt(R**2 - w.room + u)
    row = np.arange(nodes - 1)

    def steps(k: np.ndarray) -> np.ndarray:
        return (np.diff(scale**2 / k**2) - np.diff(u)) / 10

    def by_curvature(k: np.ndarray) -> np.ndarray:
        matrix = np.zeros((nodes - 1, nodes))
        matrix[row, row], matrix[row, row + 1] = scale**2 / 5 / k[:-1] ** 3, -(scale**2) / 5 / k[1:] ** 3
        return matrix

    found = minimize(
        lambda k: 100 * np.sum((k - wanted) ** 2),
        np.clip(wanted, slack, tight),
        jac=lambda k: 200 * (k - wanted),
        bounds=list(zip(slack, tight, strict=True)),
        constraints=[{"type": "ineq", "fun": steps, "jac": by_curvature}],
        method="SLSQP",
        options={"maxiter": 500, "ftol": 1e-12},
    )
    assert steps(found.x).min() > -1e-6
    return float(np.sum(found.x - slack) / scale * w.room / nodes / (2 * w.strength))


@pytest.mark.parametrize("thinness", [35, 50, 60, 75, 90])
@pytest.mark.parametrize("part", [0.4, 0.8, 0.97])
def test_packed_coils_are_those_of_a_constrained_minimiser(thinness: float, part: float) -> None:
    w = strip(thinness)
    turns = turns_at(w, part * w.most, FLOATS)[0]
    assert turns == pytest.approx(minimised(w, part * w.most), abs=2.5e-4 * w.turns)


def test_the_check_can_tell_packed_from_loose() -> None:
    w = strip(90)
    loose = turns_alone(w, 0.97 * w.most, FLOATS)[0]
    assert loose != pytest.approx(minimised(w, 0.97 * w.most), abs=2e-3 * w.turns)


@pytest.mark.parametrize("thinness", [30, 62, 80, 120])
def test_turns_rise_strictly_with_the_moment(thinness: float) -> None:
    w = strip(thinness)
    mu = np.linspace(1e-3, 1, 400) * w.most
    length = np.pi * w.room / w.strength
    columns = winding(COLUMNS, *np.broadcast_arrays(R, r, 2.9, w.strength, length, SIGMA, E, mu)[:7])
    turns, slope = turns_at(columns, mu, COLUMNS)
    moving = turns > 0
    assert np.all(np.diff(turns[moving]) > 0)
    assert turns[-1] == pytest.approx(w.turns, rel=1e-12)
    rises = np.gradient(turns, mu)
    # all but where the whole pack leaves the wall at once, and the slope jumps
    assert np.mean(np.abs(slope[moving] / rises[moving] - 1)[5:-5] < 0.05) > 0.98
    assert turns_at(columns, moment_at(columns, turns, COLUMNS), COLUMNS)[0] == pytest.approx(turns, abs=1e-9)


def test_coils_kept_apart_matter_little_for_thick_strips() -> None:
    # a statement of this project's own trial: within 0.2 % up to R/e 55 below 0.98 of the turns; at 55 it is 0.4 %
    for thinness, within in ((40, 0.002), (55, 0.005)):
        w = strip(thinness)
        for part in (0.5, 0.8, 0.95, 0.98):
            turns = part * w.turns
            assert moment_at(w, turns, FLOATS) == pytest.approx(moment_alone(w, turns), rel=within)


@pytest.mark.parametrize("arbor_radius", [1.8, 2.6, 3.5])
@pytest.mark.parametrize("thinness", [16, 25, 40, 55, 60, 65, 80, 110])
def test_up_to_where_coils_touch_a_pack_changes_nothing(thinness: float, arbor_radius: float) -> None:
    # so the two ways meet without a step: the pack of the whole theory against coils reckoned alone
    e = R / thinness
    w = winding(FLOATS, R, arbor_radius, 2.9, e, float(spring_length(2 * R, 2 * arbor_radius, e)), SIGMA, E)
    begins = max(w.least, 0.0)
    if w.touching_from > begins:
        for part in (0.3, 0.7, 0.95, 0.999):
            mu = begins + part * (w.touching_from - begins)
            assert turns_touching(w, mu, FLOATS)[0] == pytest.approx(turns_alone(w, mu, FLOATS)[0], abs=1e-9 * w.turns)
    low, high = (turns_at(w, w.touching_from * (1 + d), FLOATS)[0] for d in (-1e-9, 1e-9))
    assert high == pytest.approx(low, abs=1e-6 * w.turns)
    assert turns_alone(w, w.most, FLOATS)[0] < w.turns


@pytest.mark.parametrize("place", ["below the slope of the torque", "near the top", "fully wound"])
def test_there_is_no_step_in_the_torque_along_strength(place: str) -> None:
    # strips from R/e 50 to 70, one micrometre apart: each step of the torque is like the one before it
    e = np.arange(R / 70, R / 50, 0.001)
    length = spring_length(2 * R, 2 * r, e)
    wound = spring_turns(2 * R, 2 * r, e, length)
    up = {"below the slope of the torque": 0.6 * wound, "near the top": 0.98 * wound, "fully wound": wound}[place]
    steps = np.diff(np.log(spring_torque(2 * R, 2 * r, 2.9, e, length, up)))
    assert np.all(np.abs(np.diff(steps)) < 0.1 * steps.mean())


def test_a_pack_is_no_larger_than_it_must_be() -> None:
    w = strip(80)
    places = [pack(w, part * w.most, FLOATS)[0] for part in (0.3, 0.6, 0.8, 0.9, 0.99)]
    assert places == sorted(places, reverse=True)
    assert places[0] <= w.room
    assert places[-1] == 0.0


def test_thin_strips_keep_their_coils_apart_by_themselves() -> None:
    e = R / 80
    length = float(spring_length(2 * R, 2 * r, e))
    w = strip(80)
    turns = 0.97 * w.turns
    alone = spring_torque(2 * R, 2 * r, 2.9, e, length, turns)
    assert alone == pytest.approx(w.stiffness * moment_at(w, turns, FLOATS), rel=1e-12)
    column = spring_torque(2 * R, 2 * r, 2.9, np.array([e, 0.21]), np.array([length, 404.4]), np.array([turns, 2.0]))
    assert column[0] == pytest.approx(alone, rel=1e-9)


def test_the_work_of_packed_coils_is_the_area_under_their_curve() -> None:
    from scipy.integrate import quad

    e = R / 80
    length = float(spring_length(2 * R, 2 * r, e))
    w = strip(80)
    area = quad(lambda t: spring_torque(2 * R, 2 * r, 2.9, e, length, t), w.slack, w.turns, epsrel=1e-10, limit=200)[0]
    assert stored_energy(2 * R, 2 * r, 2.9, e, length) == pytest.approx(2 * np.pi * area, rel=1e-7)


def test_the_moment_is_found_on_both_sides_of_where_the_whole_pack_leaves_the_wall() -> None:
    # a slim strip at two thirds of the room: there the turns grow eight times as fast from one moment to the next
    length = float(spring_length(6.0, 1.9921875, 0.03, 0.6875))
    w = winding(FLOATS, 3.0, 1.9921875 / 2, 2.0, 0.03, length, 1676.0, E)
    for turns in np.linspace(0.01, 0.99, 150) * w.turns:
        assert turns_at(w, moment_at(w, float(turns), FLOATS), FLOATS)[0] == pytest.approx(turns, rel=1e-6)


def test_turns_and_moment_are_inverse_for_strips_of_every_kind() -> None:
    rng = np.random.default_rng(8)
    n = 3000
    bore_radius = rng.uniform(3, 30, n)
    arbor_radius, e = bore_radius * rng.uniform(0.15, 0.55, n), bore_radius / rng.uniform(12, 160, n)
    length = rng.uniform(0.25, 0.75, n) * np.pi * (bore_radius**2 - arbor_radius**2) / e
    strips = (bore_radius, arbor_radius, np.ones(n), e, length, rng.uniform(800, 2600, n), np.full(n, E))
    w = winding(COLUMNS, *strips)
    for part in (0.02, 0.1, 0.3, 0.5, 0.7, 0.85, 0.95, 0.99, 0.999):
        found = moment_at(w, part * w.turns, COLUMNS)
        assert turns_at(w, found, COLUMNS)[0] == pytest.approx(part * w.turns, rel=1e-6)
    rising = turns_at(part_of(w, (slice(0, 400), None)), np.linspace(1e-3, 1, 300) * w.most[:400, None], COLUMNS)[0]
    assert np.all(np.diff(rising, axis=1) >= -1e-9)
