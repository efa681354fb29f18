"""Lengths against exact definitions, printed tables and pint."""

from fractions import Fraction

import pint
import pytest
from hypothesis import given
from hypothesis import strategies as st

from orderbook.errors import OrderbookError
from orderbook.measures import length_mm, lengths_mm, number, unit_mm


@pytest.mark.parametrize(
    ("text", "mm"),
    [
        ("34,02 mm", 34.02),
        ("34.02", 34.02),
        ("17 ligne", 17 * 1000 / 443.296),  # metre = 443.296 lignes
        ("6¾‴", 6.75 * 1000 / 443.296),
        ("6 3/4'''", 6.75 * 1000 / 443.296),
        ('0.0125"', 0.3175),  # inch 25.4 mm exactly
        ("12 thou", 0.3048),
        ("5 douzième", 5 * 1000 / 443.296 / 12),
        ("1 1/2 in", 38.1),
        ("2 1/2 in", 63.5),  # pint alone reads this as 1 inch
        ("1-1/2 in", 38.1),
        ("⅝ in", 15.875),
        (".0125 in", 0.3175),
        ("1.234,5 mm", 1234.5),
        ("1\u202f234 mm", 1234.0),
        ("2.35cm", 23.5),
        ("16 hundredths", 0.16),
        ("34 µm", 0.034),
    ],
)
def test_trade_spellings(text: str, mm: float) -> None:
    assert length_mm(text) == pytest.approx(mm, rel=1e-14)


def test_ligne_as_printed() -> None:
    # Goodrich, The Modern Clock, 1905, p. 18: 1 ligne 2.25583, 4 9.02332, 10 22.55829, 12 27.06995 mm
    for lignes, printed in [(1, 2.25583), (4, 9.02332), (10, 22.55829), (12, 27.06995)]:
        assert length_mm(f"{lignes} ligne") == pytest.approx(printed, abs=5e-6)


def test_pint_agrees_on_every_unit_both_know() -> None:
    registry = pint.UnitRegistry()
    seen = 0
    for word in ("mm", "cm", "m", "in", "inch", "thou", "µm", "micron", "micrometre"):
        ours = unit_mm(word)
        assert ours is not None
        assert float(ours) == pytest.approx(registry.Quantity(1, word).to("mm").magnitude, rel=1e-14)
        seen += 1
    assert seen == 9


def test_rarer_units_come_from_pint() -> None:
    assert length_mm("1 yard") == 914.4
    assert length_mm("0.5 foot") == pytest.approx(152.4)


@pytest.mark.parametrize(
    "text",
    ["", "abc", "12 kg", "5 pt", "nan", "inf", "-3 mm", "0", "0 mm", "1/0 in", "3 in * 2", "1e3", "34.02 mm 3", "12 s",
     "5 1/100 mm", "17 lines", "__class__", "2 in**2", "1 2 3 4", "٣ mm"],
)  # fmt: skip
def test_what_is_not_one_length_is_an_error_that_names_the_place(text: str) -> None:
    with pytest.raises(OrderbookError) as caught:
        length_mm(text, where="--bore")
    assert caught.value.where == "--bore"
    assert caught.value.code in {"length_not_read", "length_not_sensible"}


@pytest.mark.parametrize("value", [float("nan"), float("inf"), 0.0, -1.0, True, None])
def test_numbers_that_are_not_lengths(value: object) -> None:
    with pytest.raises(OrderbookError):
        length_mm(value)  # type: ignore[arg-type]


def test_a_single_comma_is_a_decimal_mark_and_more_are_shown_both_ways() -> None:
    assert length_mm("1,234") == 1.234
    with pytest.raises(OrderbookError, match=r"34\.02 and 34\.00, or 34, 02, 34, 00"):
        length_mm("34,02,34,00", where="--bore")


@pytest.mark.parametrize(
    ("texts", "mm"),
    [
        ("34.02 34.00 34.03", (34.02, 34.0, 34.03)),
        ("34,02; 34,00", (34.02, 34.0)),
        (["34.02", "1 1/2 in"], (34.02, 38.1)),
        ("1 1/2 in", (38.1,)),
        ("12 in; 300", (304.8, 300.0)),
        (2.5, (2.5,)),
    ],
)
def test_repeats(texts: object, mm: tuple[float, ...]) -> None:
    assert lengths_mm(texts) == pytest.approx(mm)  # type: ignore[arg-type]


@given(st.integers(0, 40), st.integers(1, 63), st.sampled_from([2, 4, 8, 16, 32, 64]))
def test_inch_fractions_are_exact(whole: int, over: int, under: int) -> None:
    text = f"{whole} {over}/{under} in" if whole else f"{over}/{under} in"
    assert length_mm(text) == float((whole + Fraction(over, under)) * Fraction(254, 10))


@given(st.text(max_size=12))
def test_any_text_is_a_length_or_a_clear_error(text: str) -> None:
    try:
        value = length_mm(text)
    except OrderbookError as problem:
        value = float(bool(problem.where and problem.try_this))
    assert value > 0


def test_plain_numbers() -> None:
    assert number("-5,5", where="x") == -5.5
    for text in ("5 mm", "", "1,2,3", "five"):
        with pytest.raises(OrderbookError, match="x: "):
            number(text, where="x")
