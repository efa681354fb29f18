"""Exchange rates with their dates, and conversion to the book's currency."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal
from fractions import Fraction

from orderbook.errors import error
from orderbook.measures.money import Money, minor_digits, rounded


@dataclass(frozen=True, slots=True)
class Rate:
    """What one unit of `currency` costs in the book's currency on a day.

    >>> Rate(date(2026, 11, 2), "EUR", Decimal("0.87"), "invented").rate
    Decimal('0.87')
    """

    day: date
    currency: str
    rate: Decimal
    source: str = ""


@dataclass(frozen=True, slots=True)
class Rates:
    """The book's currency and the rates into it, looked up by currency and day.

    >>> rates = Rates("GBP", (Rate(date(2026, 11, 2), "EUR", Decimal("0.87"), "invented"),))
    >>> rates.convert(Money(1000, "EUR")).text
    '8.70'
    """

    book_currency: str
    rates: tuple[Rate, ...] = ()
    _by_currency: dict[str, list[Rate]] = field(init=False, repr=False, compare=False)

    def __post_init__(self) -> None:
        """Sort the rates of each currency by day."""
        found: dict[str, list[Rate]] = {}
        for one in self.rates:
            found.setdefault(one.currency, []).append(one)
        for days in found.values():
            days.sort(key=lambda one: one.day)
        object.__setattr__(self, "_by_currency", found)

    def on(self, currency: str, day: date | None = None) -> Decimal | None:
        """Return the latest rate not after a day, the latest of all where no day is given; None where there is none.

        >>> rates = Rates("GBP", (Rate(date(2026, 11, 2), "EUR", Decimal("0.87")),))
        >>> rates.on("EUR"), rates.on("EUR", date(2026, 1, 1)), rates.on("GBP")
        (Decimal('0.87'), None, Decimal('1'))
        """
        if currency == self.book_currency:
            return Decimal(1)
        known = self._by_currency.get(currency, [])
        place = bisect_right(known, day, key=lambda one: one.day) if day else len(known)
        return known[place - 1].rate if place else None

    def of(self, currency: str, *, on: date | None = None, where: str = "price") -> Fraction:
        """Return what one unit of a currency costs, as `on`.

        Raises: OrderbookError(rate_missing).
        """
        rate = self.on(currency, on)
        if rate is None:
            when = f" on or before {on.isoformat()}" if on else ""
            raise error("rate_missing", where=where, saw=f"no rate from {currency} to {self.book_currency}{when}")
        return Fraction(rate)

    def convert(self, money: Money, *, on: date | None = None, where: str = "price") -> Money:
        """Convert to the book's currency, rounded half away from zero at its minor unit.

        >>> rates = Rates("GBP", (Rate(date(2026, 11, 2), "EUR", Decimal("0.87"), "invented"),))
        >>> rates.convert(Money(1000, "EUR")).text
        '8.70'
        """
        digits = minor_digits(self.book_currency) - minor_digits(money.currency)
        exact = money.minor * self.of(money.currency, on=on, where=where) * Fraction(10) ** digits
        return Money(rounded(exact), self.book_currency)

    def convert_to(self, money: Money, currency: str, *, where: str = "price") -> Money:
        """Convert to any currency that has a rate, by way of the book's, rounded once.

        Raises: OrderbookError(rate_missing).

        >>> rates = Rates("GBP", (Rate(date(2026, 11, 2), "EUR", Decimal("0.80"), "invented"),))
        >>> rates.convert_to(Money(1000, "GBP"), "EUR").text
        '12.50'
        """
        if money.currency == currency:
            return money
        digits = minor_digits(currency) - minor_digits(money.currency)
        ratio = self.of(money.currency, where=where) / self.of(currency, where=where)
        return Money(rounded(money.minor * ratio * Fraction(10) ** digits), currency)


def one_rate_a_day(rates: Iterable[tuple[str, Rate]]) -> tuple[Rate, ...]:
    """Return rates, each given with its place; two different ones of one currency and day are an error.

    Raises: OrderbookError(rate_twice) naming both places.
    """
    first: dict[tuple[str, date], tuple[str, Rate]] = {}
    kept = []
    for where, one in rates:
        there, other = first.setdefault((one.currency, one.day), (where, one))
        if other.rate != one.rate:
            saw = f"{one.currency} on {one.day} is {other.rate} in {there} and {one.rate} in {where}"
            raise error("rate_twice", where=where, saw=saw)
        kept.append(one)
    return tuple(kept)
