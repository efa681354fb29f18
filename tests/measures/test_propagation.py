"""Propagation against the worked examples of JCGM 100:2008 annex H and JCGM 101:2008 clause 9."""

import math

import numpy as np
import pytest

from orderbook.measures import Measured, monte_carlo, propagate, propagate_many


def _known(value: float, u: float) -> Measured:
    return Measured(value, u, "")


def test_h1_end_gauge() -> None:
    # JCGM 100:2008 H.1: l = 50.000838 mm, u 32 nm; lengths here in nm
    inputs = {
        "standard": _known(50_000_623.0, 25.0),
        "difference": _known(215.0, math.sqrt(5.8**2 + 3.9**2 + 6.7**2)),
        "alpha_difference": _known(0.0, 1e-6 / math.sqrt(3)),
        "theta": _known(-0.1, 0.41),
        "alpha": _known(11.5e-6, 1.2e-6),
        "theta_difference": _known(0.0, 0.05 / math.sqrt(3)),
    }

    def length(standard, difference, alpha_difference, theta, alpha, theta_difference):  # type: ignore[no-untyped-def]
        return standard + difference - standard * (alpha_difference * theta + alpha * theta_difference)

    result = propagate(length, inputs)
    assert result.value == pytest.approx(50_000_838, abs=0.5)
    assert result.u == pytest.approx(31.664, abs=0.5)
    assert result.dominated_by == "standard"
    assert abs(result.parts["theta_difference"]) == pytest.approx(16.599, abs=0.01)


def test_h2_resistance_and_reactance_with_correlations() -> None:
    # JCGM 100:2008 H.2: R 127.732(71), X 219.847(295), Z 254.260(236) Ω
    inputs = {"V": _known(4.9990, 0.0032), "I": _known(19.6610e-3, 0.0095e-3), "phi": _known(1.04446, 0.00075)}
    r = {("V", "I"): -0.36, ("V", "phi"): 0.86, ("I", "phi"): -0.65}
    results = propagate_many(
        lambda V, I, phi: {"R": V / I * np.cos(phi), "X": V / I * np.sin(phi), "Z": V / I},  # noqa: E741
        inputs,
        r,
    )
    for name, value, u in [("R", 127.732, 0.071), ("X", 219.847, 0.295), ("Z", 254.260, 0.236)]:
        assert results[name].value == pytest.approx(value, abs=0.0006)
        assert results[name].u == pytest.approx(u, abs=0.002)


def test_h3_thermometer_line() -> None:
    # JCGM 100:2008 H.3: y1 −0.1712(29), y2 0.00218(67), b(30 °C) −0.1494(41)
    t = np.array([21.521, 22.012, 22.512, 23.003, 23.507, 23.999, 24.513, 25.002, 25.503, 26.010, 26.511]) - 20
    b = -np.array([0.171, 0.169, 0.166, 0.159, 0.164, 0.165, 0.156, 0.157, 0.159, 0.161, 0.160])
    slope, start = np.polyfit(t, b, 1)
    s = math.sqrt(float(((b - start - slope * t) ** 2).sum()) / (len(t) - 2))
    inputs = {f"b{i}": _known(float(v), s) for i, v in enumerate(b)}

    def line(**readings):  # type: ignore[no-untyped-def]
        rows = np.stack([readings[f"b{i}"] for i in range(len(t))])
        slopes = ((t - t.mean())[:, None] * rows).sum(axis=0) / ((t - t.mean()) ** 2).sum()
        starts = rows.mean(axis=0) - slopes * t.mean()
        return {"y1": starts, "y2": slopes, "b30": starts + 10 * slopes}

    results = propagate_many(line, inputs)
    for name, value, u in [("y1", -0.1712, 0.0029), ("y2", 0.00218, 0.00067), ("b30", -0.1494, 0.0041)]:
        assert results[name].value == pytest.approx(value, abs=6e-5)
        assert results[name].u == pytest.approx(u, abs=6e-5)


def test_four_rectangular_inputs() -> None:
    # JCGM 101:2008 9.2.3: shortest 95 % interval ±3.88; closed form 2√3·(2 − (3/5)^¼)
    inputs = {name: _known(0.0, 1.0) for name in "abcd"}
    draws = monte_carlo(
        lambda a, b, c, d: a + b + c + d, inputs, draws=1_000_000, seed=7, rectangular=frozenset("abcd")
    )
    low, high = draws.interval(0.95)
    closed = 2 * math.sqrt(3) * (2 - (3 / 5) ** 0.25)
    assert closed == pytest.approx(3.88, abs=0.005)
    assert (high - low) / 2 == pytest.approx(closed, abs=0.02)
    assert draws.u == pytest.approx(2.0, abs=0.01)


def test_linear_and_random_agree_on_a_smooth_function() -> None:
    inputs = {"a": _known(5.0, 0.05), "b": _known(2.0, 0.02)}
    linear = propagate(lambda a, b: a**2 / b, inputs)
    drawn = monte_carlo(lambda a, b: a**2 / b, inputs, draws=400_000)
    assert drawn.u == pytest.approx(linear.u, rel=0.01)


def test_an_exact_input_has_no_part() -> None:
    result = propagate(lambda a: 2 * a, {"a": _known(1.0, 0.0)})
    assert result.u == 0
    assert result.dominated_by is None
