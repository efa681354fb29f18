"""Across the strip: the closed share of the curl against a numerical solution of the edge problem, and its limits."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.polynomial.legendre import leggauss
from scipy.integrate import solve_bvp

from orderbook.mechanics import Run, curl, in_strip, material, reference_in_steel, reference_spring, width_number
from orderbook.mechanics.across import wound_radius

NU, E = 0.3, 206000.0

# width, mean radius of the wound spring, strength: watches, an alarm, a carriage clock, going and fusee clocks
STRIPS = [
    (1.0, 3.1, 0.10),
    (1.5, 3.4, 0.11),
    (2.98, 4.2, 0.21),
    (7.0, 6.0, 0.25),
    (10.0, 8.0, 0.30),
    (18.0, 13.0, 0.40),
    (37.5, 24.0, 0.42),
]


def edge_problem(b: float, rho: float, e: float) -> tuple[float, float, float]:
    """Solve D·w⁗ + (E·e/ρ²)·w = 0 numerically for a strip bent to ρ.

    Returns moment and energy over those of a beam, and the mean square of w″ over that of its value at the edges.

    Free edges at y = ±b/2: no moment across, w″ = −ν/ρ, and no force, w‴ = 0. In y = (b/2)·η the outward deflection is
    w = (b²/4ρ)·v(η), so v⁗ + k·v = 0 with k = (E·e/ρ²)(b/2)⁴/D; by symmetry it is solved from the middle to the edge.
    """
    plate = E * e**3 / 12 / (1 - NU**2)
    k = E * e / rho**2 * (b / 2) ** 4 / plate
    half = np.unique(np.concatenate([np.linspace(0, 1, 201), 1 - np.geomspace(1e-3, 1, 400)]))
    found = solve_bvp(
        lambda _, v: np.vstack([v[1], v[2], v[3], -k * v[0]]),
        lambda middle, edge: np.array([middle[1], middle[3], edge[2] + NU, edge[3]]),
        half,
        np.zeros((4, len(half))),
        tol=1e-9,
        max_nodes=200_000,
    )
    assert found.success
    points, weights = leggauss(12)
    ends = np.linspace(0, 1, 401)
    at = ((ends[1:] + ends[:-1]) / 2)[:, None] + np.diff(ends)[:, None] / 2 * points
    v, _, bend, _ = (row.reshape(at.shape) for row in found.sol(at.ravel()))

    def across(values: np.ndarray) -> float:
        return float(b * np.sum(values * weights * np.diff(ends)[:, None] / 2))

    w, by_y = b**2 / (4 * rho) * v, bend / rho
    # along the strip: bending of the plate, and the hoop stress E·w/ρ of a fibre that lies w further out, at its arm w
    moment = across(plate * (1 / rho + NU * by_y)) + across(E * e * w / rho * w)
    energy = across(plate / 2 * (1 / rho**2 + 2 * NU * by_y / rho + by_y**2) + E * e / 2 * (w / rho) ** 2)
    beam = E * b * e**3 / 12 / rho
    return moment / beam, energy / (beam / (2 * rho)), across((bend / NU) ** 2) / b


@pytest.mark.parametrize("strip", STRIPS, ids=[f"{b}x{e} to {rho}" for b, rho, e in STRIPS])
def test_the_moment_is_that_of_the_edge_problem(strip: tuple[float, float, float]) -> None:
    moment, energy, mean_square = edge_problem(*strip)
    left = curl(width_number(*strip))
    assert left == pytest.approx(mean_square, rel=1e-6)
    assert (1 - NU**2 * left) / (1 - NU**2) == pytest.approx(moment, rel=1e-6)
    # often quoted for the moment: 1 − ν²·F with F = (2/B)(cosh B − cos B)/(sinh B + sin B), the mean of w″. It is the
    # energy; B changes with the bend, so the moment, its slope, is not twice the energy over the bend
    b = float(width_number(*strip))
    mean = 2 / b * (math.cosh(b) - math.cos(b)) / (math.sinh(b) + math.sin(b))
    assert (1 - NU**2 * mean) / (1 - NU**2) == pytest.approx(energy, rel=1e-6)
    assert left <= mean
    assert b < 12 or left == pytest.approx(0.75 * mean, rel=1e-3)


@given(st.floats(0.02, 40.0))
def test_the_moment_is_the_slope_of_the_energy(b: float) -> None:
    # derived: M = dU/d(1/ρ) and B ∝ √(1/ρ), so G = F + B·F′/4
    def mean(x: float) -> float:
        return 2 / x * (math.cosh(x) - math.cos(x)) / (math.sinh(x) + math.sin(x))

    h = 1e-4 * b
    assert curl(b) == pytest.approx(mean(b) + b / 4 * (mean(b + h) - mean(b - h)) / (2 * h), rel=1e-6, abs=1e-7)


def test_narrow_and_wide_are_the_two_limits() -> None:
    assert curl(0.0) == pytest.approx(1, abs=1e-12)
    assert curl([1e-9, 1e-5, 0.01]) == pytest.approx([1, 1, 1], abs=1e-8)
    # far from each other the edges act alone: 3/(2B); no overflow however wide
    for b in (30.0, 400.0, 1e4, 1e9):
        assert curl(b) == pytest.approx(1.5 / b, rel=1e-9)
    fine = curl(np.geomspace(1e-3, 200, 20_000))
    assert np.all(np.diff(fine) <= 1e-15)
    assert np.all((fine > 0) & (fine <= 1))
    plain = np.linspace(0.2, 30, 50)  # the formula as it is written
    s, c = np.sinh(plain) + np.sin(plain), np.cosh(plain) - np.cos(plain)
    assert curl(plain) == pytest.approx(1.5 / plain * c / s + np.sinh(plain) * np.sin(plain) / s**2, rel=1e-10)


def test_a_steel_goes_from_bar_to_plate() -> None:
    carbon = material("carbon")
    assert in_strip(carbon, 1.0) == carbon
    plate = in_strip(carbon, 0.0)
    # plane strain: E/(1 − ν²), and von Mises' 2σ/√3
    assert plate.modulus_mpa == pytest.approx(carbon.modulus_mpa / 0.91)
    assert plate.flow_stress_mpa == pytest.approx(2 / math.sqrt(3) * carbon.flow_stress_mpa)
    assert plate.flow_stress_u / plate.flow_stress_mpa == pytest.approx(carbon.flow_stress_u / carbon.flow_stress_mpa)


@pytest.mark.parametrize("drive", ["going", "fusee"])
@pytest.mark.parametrize("width", [0.8, 2.98, 12.0, 38.0])
def test_the_reference_and_its_steel_agree(width: float, drive: str) -> None:
    run, carbon = Run(3.5, drive=drive), material("carbon")  # type: ignore[arg-type]
    best, steel = reference_in_steel(15.6, 5.2, width, run, carbon)
    acts = {"flow_stress_mpa": steel.flow_stress_mpa, "modulus_mpa": steel.modulus_mpa}
    again = reference_spring(15.6, 5.2, width, run, **acts)
    assert best.strength_mm == pytest.approx(again.strength_mm, rel=5e-3)
    assert best.drive_nmm == pytest.approx(again.drive_nmm, rel=3e-4)
    there = curl(width_number(width, wound_radius(15.6, 5.2), best.strength_mm))
    assert steel.curl == pytest.approx(there, rel=5e-3)
