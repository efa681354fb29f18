"""Amounts as they were typed, in whole minor units and in the book's currency; or the reason why not."""

from __future__ import annotations

from bisect import bisect_right
from collections import defaultdict
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from fractions import Fraction

from orderbook.measures.money import Money, minor_digits, rounded
from orderbook.records.books import Books


@dataclass(frozen=True, slots=True)
class DatedRates:
    """The rates of a book by currency and day, looked up by halving."""

    book_currency: str
    days: dict[str, list[date]]
    rates: dict[str, list[Decimal]]

    def on(self, currency: str, when: date | None) -> Decimal | None:
        """Return the latest rate not after a day; the latest of all where no day is given."""
        days = self.days.get(currency, [])
        place = bisect_right(days, when) if when else len(days)
        return self.rates[currency][place - 1] if place else None


def dated_rates(books: Books) -> DatedRates:
    """Return the rates of a book, made ready for looking up."""
    by_currency: dict[str, list[tuple[date, Decimal]]] = defaultdict(list)
    for r in books.rates:
        if r.currency and r.date and r.rate and r.rate > 0:
            by_currency[r.currency].append((r.date, r.rate))
    ordered = {currency: sorted(pairs, key=lambda pair: pair[0]) for currency, pairs in by_currency.items()}
    days = {currency: [day for day, _ in pairs] for currency, pairs in ordered.items()}
    rates = {currency: [rate for _, rate in pairs] for currency, pairs in ordered.items()}
    return DatedRates(books.currency, days, rates)


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
