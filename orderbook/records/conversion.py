"""Amounts as they were typed, in whole minor units and in the book's currency; or the reason why not."""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction

from orderbook.measures.exchange import Rate, Rates
from orderbook.measures.money import Money, minor_digits, rounded
from orderbook.records.books import Books


def dated_rates(books: Books) -> Rates:
    """Return the rates of a book; a row that lacks its day, its currency or a rate above zero is left out."""
    whole = (r for r in books.rates if r.currency and r.date and r.rate and r.rate > 0)
    return Rates(books.currency, tuple(Rate(r.date, r.currency, r.rate, r.source) for r in whole if r.date and r.rate))


def in_minor(amount: Decimal, currency: str) -> Money:
    """Return an amount as money, rounded half away from zero at its minor unit.

    >>> in_minor(Decimal("18.505"), "GBP").text, in_minor(Decimal("-0.5"), "JPY").text
    ('18.51', '-1')
    """
    return Money(rounded(amount.scaleb(minor_digits(currency))), currency)


def converted(money: Money, rate: Decimal, book_currency: str) -> Money:
    """Convert one line at a rate, rounded half away from zero at the minor unit of the book's currency.

    >>> converted(Money(3840, "EUR"), Decimal("0.8425"), "GBP").text
    '32.35'
    >>> converted(Money(1000, "JPY"), Decimal("0.0052"), "GBP").text
    '5.20'
    """
    digits = minor_digits(book_currency) - minor_digits(money.currency)
    return Money(rounded(money.minor * Fraction(rate) * Fraction(10) ** digits), book_currency)
