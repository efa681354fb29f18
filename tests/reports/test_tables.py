"""How numbers and tables are shown to a person."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from orderbook.reports.tables import TextColumn, plus_minus, table, with_plus_minus


@given(st.floats(1e-3, 1e4), st.floats(1e-4, 1e2))
def test_value_and_spread_share_their_decimals(value: float, u: float) -> None:
    number, spread = plus_minus(value, u)
    decimals = len(number.partition(".")[2])
    assert len(spread.partition(".")[2]) == decimals
    assert abs(float(number) - value) <= 0.5 * 10**-decimals * (1 + 1e-9)
    if u > 0.05:
        assert math.isclose(float(spread), 2 * u, rel_tol=0.18)


def test_a_value_known_exactly_has_no_spread() -> None:
    assert with_plus_minus(5.0, 0.0, "turns") == "5 turns"
    assert with_plus_minus(100.0, 0.0, at_most=0) == "100"
    assert with_plus_minus(2.5, 0.0, at_least=2) == "2.50"
    assert plus_minus(float("nan"), 1.0) == ("–", "")


@pytest.mark.parametrize("width", [60, 100])
def test_long_text_wraps_and_nothing_is_cut(width: int) -> None:
    why = "a long reason that has to go over more than one line because the window is narrow indeed"
    text = table(["stage", TextColumn("why", wraps=True)], [["1", why]], width=width)
    assert max(map(len, text.splitlines())) <= width
    assert " ".join(text.split()).endswith("narrow indeed")


def test_brackets_of_a_user_stay_text() -> None:
    assert "[bold]" in table(["item"], [["[bold]N 37"]])
