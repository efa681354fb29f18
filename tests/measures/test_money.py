"""Money against ISO 4217, published apportionments and exact arithmetic."""

from datetime import date
from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from orderbook.errors import OrderbookError
from orderbook.measures.exchange import Rate, Rates, one_rate_a_day
from orderbook.measures.money import Money, minor_digits, rounded, share
from orderbook.measures.postage import PostageRule


def test_minor_units() -> None:
    # ISO 4217 table A.1 (KWD: MEMORY, print not re-seen)
    digits = {"USD": 2, "CHF": 2, "EUR": 2, "GBP": 2, "JPY": 0, "BHD": 3, "KWD": 3}
    assert {code: minor_digits(code) for code in digits} == digits


@pytest.mark.parametrize(
    ("text", "currency", "minor"),
    [
        ("18.50", "GBP", 1850), ("18,50", "EUR", 1850), ("1.234,50", "EUR", 123450), ("1,234.50", "GBP", 123450),
        ("1'234.50", "CHF", 123450), ("1 234,50", "EUR", 123450), ("1,234,567.00", "USD", 123456700), ("7", "GBP", 700),
        ("500", "JPY", 500), ("1.2340", "KWD", 1234), ("-3.20", "GBP", -320), (".5", "GBP", 50), ("7.5000", "GBP", 750),
    ],
)  # fmt: skip
def test_amounts_as_printed(text: str, currency: str, minor: int) -> None:
    assert Money.parse(text, currency) == Money(minor, currency)


@pytest.mark.parametrize(
    "text", ["", "abc", "1.2.3", "1,23,456.00", "nan", "1e3", "12.345", "£5", "1..2", "--1", "5.", "1.000", "7,500"]
)
def test_what_is_not_an_amount(text: str) -> None:
    with pytest.raises(OrderbookError) as caught:
        Money.parse(text, "GBP", where="line 4")
    assert caught.value.code == "money_not_read"
    assert caught.value.where == "line 4"


def test_unknown_currency_and_floats() -> None:
    with pytest.raises(OrderbookError, match="XYZ"):
        Money.parse("1", "XYZ")
    with pytest.raises(TypeError):
        Money(1.5, "GBP")  # type: ignore[arg-type]
    with pytest.raises(ValueError, match="convert first"):
        Money(1, "GBP") + Money(1, "EUR")


@given(st.integers(-(10**12), 10**12), st.sampled_from(["GBP", "JPY", "BHD"]))
def test_text_reads_back(minor: int, currency: str) -> None:
    money = Money(minor, currency)
    assert Money.parse(money.text, currency) == money


@given(st.integers(-(10**9), 10**9), st.integers(1, 1000))
def test_rounding_is_half_away_from_zero(over: int, under: int) -> None:
    value = Fraction(over, under)
    whole = rounded(value)
    assert abs(whole - value) <= Fraction(1, 2)
    if abs(whole - value) == Fraction(1, 2):
        assert abs(whole) > abs(value)


@pytest.mark.parametrize(
    ("total", "weights", "shares"),
    [  # published examples of Hamilton's method: votes and seats
        (44, [21878, 9713, 4167, 3252, 1065], (24, 11, 5, 3, 1)),
        (43, [21878, 9713, 4167, 3252, 1065], (24, 10, 4, 4, 1)),
        (10, [47000, 16000, 15800, 12000, 6100, 3100], (5, 2, 1, 1, 1, 0)),
    ],
)
def test_largest_remainder(total: int, weights: list[int], shares: tuple[int, ...]) -> None:
    assert share(total, weights) == shares


@given(st.integers(-(10**7), 10**7), st.lists(st.integers(0, 10**6), min_size=1, max_size=12))
def test_shares_add_up_and_stay_within_one(total: int, weights: list[int]) -> None:
    shares = share(total, weights)
    assert sum(shares) == total
    if any(weights):
        fair = [Fraction(total * w, sum(weights)) for w in weights]
        assert all(abs(s - f) < 1 for s, f in zip(shares, fair, strict=True))


def test_rates_by_date() -> None:
    rates = Rates(
        "GBP",
        (
            Rate(date(2026, 1, 1), "EUR", Decimal("0.80"), "invented"),
            Rate(date(2026, 6, 1), "EUR", Decimal("0.90"), "invented"),
            Rate(date(2026, 6, 1), "JPY", Decimal("0.005"), "invented"),
        ),
    )
    assert rates.convert(Money(1000, "EUR")) == Money(900, "GBP")
    assert rates.convert(Money(1000, "EUR"), on=date(2026, 5, 31)) == Money(800, "GBP")
    assert rates.convert(Money(1000, "JPY")) == Money(500, "GBP")
    with pytest.raises(OrderbookError, match="on or before 2025-12-31"):
        rates.convert(Money(1, "EUR"), on=date(2025, 12, 31))
    with pytest.raises(OrderbookError, match="no rate from CHF to GBP"):
        rates.convert(Money(1, "CHF"))


def test_postage() -> None:
    pounds = [Money(m, "GBP") for m in (300, 200, 100, 2000, 3000, 5000)]
    rule = PostageRule(pounds[0], ((pounds[3], pounds[1]), (pounds[4], pounds[2])), pounds[5], Money(1000, "GBP"))
    charged = [rule.charge(Money(m, "GBP")).minor for m in (1999, 2000, 3000, 4999, 5000)]
    assert charged == [300, 200, 100, 100, 0]
    assert rule.below_minimum(Money(999, "GBP"))
    assert not rule.below_minimum(Money(1000, "GBP"))


@pytest.mark.parametrize("text", ["18 50", "1 8", "18 5", "1'23", "12 34.50", "1 2345", "18.5 0", " 1 850 0"])
def test_a_space_that_groups_no_thousands_is_not_guessed(text):
    with pytest.raises(OrderbookError) as refused:
        Money.parse(text, "GBP")
    assert refused.value.code == "money_not_read"


@pytest.mark.parametrize(
    ("text", "minor"),
    [
        ("1 850", 185000),
        ("1 234 567,50", 123456750),
        ("1\u202f234,50", 123450),
        ("1'234.50", 123450),
        (" -1 000.00 ", -100000),
    ],
)
def test_a_space_or_apostrophe_before_three_figures_groups_thousands(text, minor):
    assert Money.parse(text, "GBP").minor == minor


def test_two_rates_of_one_day_name_both_places():
    one, same, other = (Rate(date(2026, 11, 2), "EUR", Decimal(rate)) for rate in ("0.87", "0.87", "0.86"))
    assert one_rate_a_day([("row 1", one), ("row 2", same)]) == (one, same)
    with pytest.raises(OrderbookError) as refused:
        one_rate_a_day([("row 1", one), ("row 2", other)])
    assert refused.value.code == "rate_twice"
    assert "row 1" in str(refused.value)
    assert "row 2" in str(refused.value)
