"""Numbers as a country prints them, against the published locale data; what only looks like a number stays."""

from decimal import Decimal

import pytest
from babel.numbers import format_decimal, get_decimal_symbol, get_group_symbol, parse_decimal
from hypothesis import given
from hypothesis import strategies as st

from orderbook.errors import OrderbookError
from orderbook.reports.printed_numbers import in_locale

LOCALES = ("en", "de", "fr", "it", "es", "nl", "de_CH", "pt-BR")


@given(st.decimals(-10_000_000, 10_000_000, places=3), st.sampled_from(LOCALES))
def test_a_number_reads_back_in_its_locale(number: Decimal, locale: str) -> None:
    printed = in_locale(f"about {number:,} mm", locale).removeprefix("about ").removesuffix(" mm")
    assert parse_decimal(printed, locale=locale.replace("-", "_"), numbering_system="latn") == number


@pytest.mark.parametrize("locale", LOCALES)
def test_thousands_are_apart_as_babel_sets_them(locale: str) -> None:
    named = locale.replace("-", "_")  # one mark: Babel 2.19 takes two that are apostrophes for quotes and drops them
    assert in_locale("1,234.891", locale) == format_decimal(Decimal("1234.891"), locale=named, format="#,##0.###")
    group, decimal = get_group_symbol(named), get_decimal_symbol(named)
    assert in_locale("1,234,567.891", locale) == f"1{group}234{group}567{decimal}891"


@pytest.mark.parametrize(
    "own", ["NW-1.5", "torque-1.5.png", "lists/2.5.csv", "25.11.2026", "2026-11-25", "v7.4.2", "1.5a", "34,02,34,00"]
)
def test_what_only_looks_like_a_number_stays(own: str) -> None:
    assert in_locale(f"see {own} there", "de") == f"see {own} there"


def test_an_item_that_is_all_number_stays_and_the_numbers_beside_it_do_not() -> None:
    said = "Order 12.50, 12.501 and 112.50: 12.5 GBP"
    assert in_locale(said, "de", keep=["12.50", "12.501", "plain"]) == "Order 12.50, 12.501 and 112,50: 12,5 GBP"


@pytest.mark.parametrize("locale", ["", "xx", "klingon", "de_de_de_de", "1"])
def test_a_locale_nobody_knows_is_told(locale: str) -> None:
    with pytest.raises(OrderbookError) as told:
        in_locale("1.5", locale)
    assert told.value.finding.code == "locale_not_known"
