"""Readings against the Guide to the expression of uncertainty in measurement and scipy."""

import math
import statistics

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import t as student

from orderbook.errors import OrderbookError
from orderbook.measures import from_repeats, instrument_from, read
from orderbook.measures.readings import T_FACTOR


def test_t_factors_against_scipy() -> None:
    p = math.erf(1 / math.sqrt(2))
    for freedom, factor in T_FACTOR.items():
        assert factor == pytest.approx(student.ppf((1 + p) / 2, freedom), abs=1e-4)


def test_one_reading_carries_the_instrument_only() -> None:
    assert from_repeats([34.0], half_width=0.03, source="").u == pytest.approx(0.03 / math.sqrt(3))


@given(st.lists(st.floats(1, 100), min_size=4, max_size=20), st.floats(0, 0.1))
def test_mean_and_u_as_written(values: list[float], a: float) -> None:
    measured = from_repeats(values, half_width=a, source="")
    expected = statistics.variance(values) / len(values) + a * a / 3
    assert measured.value == pytest.approx(statistics.fmean(values))
    assert measured.u**2 == pytest.approx(expected, rel=1e-9, abs=1e-12)


def test_assumed_caliper_is_said() -> None:
    assert read("34.0", where="--bore").measured.source == "1 reading, caliper ±0.03 mm assumed"
    assert read("34.0", where="--bore", instrument="micrometer").measured.source == "1 reading, micrometer ±0.004 mm"


def test_repeats_that_disagree() -> None:
    assert not read("34.00; 34.06", where="--bore").findings
    (finding,) = read("34.00; 34.07", where="--bore").findings
    assert finding.code == "repeats_spread"
    assert "0.07 mm" in finding.saw
    with pytest.raises(OrderbookError, match=r"readings from 3\.402 to 34 mm"):
        read("34.00; 3.402", where="--bore")


def test_instruments() -> None:
    assert instrument_from("±0.01 mm").half_width_mm == 0.01
    assert instrument_from("0.01").half_width_mm == 0.01
    with pytest.raises(OrderbookError, match="Known names"):
        instrument_from("eye")
