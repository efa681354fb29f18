"""Exchange rates with their dates, and conversion to the book's currency."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date
from decimal import Decimal, InvalidOperation
from fractions import Fraction

from orderbook.errors import error
from orderbook.measures.money import Money, minor_digits, rounded


@dataclass(frozen=True, slots=True)
class Rate:
    """What one unit of `currency` costs in the book's currency on a day."""

    day: date
    currency: str
    rate: Decimal
    source: str


@dataclass(frozen=True, slots=True)
class Rates:
    """The book's currency and the rates into it."""

    book_currency: str
    rates: tuple[Rate, ...] = ()

    @classmethod
    def from_rows(cls, book_currency: str, rows: Iterable[Mapping[str, str]], *, where: str = "rates") -> Rates:
        """Make rates from rows with date, currency, rate and source (all text).

        Raises: OrderbookError(rate_not_read | rate_twice | currency_not_known) naming the row.
        """
        rates = tuple(_rate(row, f"{where}, row {n}") for n, row in enumerate(rows, 1))
        _one_a_day(rates, where)
        return cls(book_currency, rates)

    def of(self, currency: str, *, on: date | None = None, where: str = "price") -> Fraction:
        """Return what one unit of a currency costs: the latest rate, or the latest not after `on`.

        Raises: OrderbookError(rate_missing).
        """
        if currency == self.book_currency:
            return Fraction(1)
        known = [r for r in self.rates if r.currency == currency and (on is None or r.day <= on)]
        if not known:
            when = f" on or before {on.isoformat()}" if on else ""
            raise error("rate_missing", where=where, saw=f"no rate from {currency} to {self.book_currency}{when}")
        return Fraction(max(known, key=lambda r: r.day).rate)

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


def _one_a_day(rates: tuple[Rate, ...], where: str) -> None:
    """Refuse two different rates of one currency and day: which of them holds cannot be known."""
    rows: dict[tuple[str, date], int] = {}
    for n, one in enumerate(rates, 1):
        first = rows.setdefault((one.currency, one.day), n)
        if rates[first - 1].rate != one.rate:
            saw = f"{one.currency} on {one.day} is {rates[first - 1].rate} in row {first} and {one.rate} in row {n}"
            raise error("rate_twice", where=f"{where}, row {n}", saw=saw)


def _rate(row: Mapping[str, str], where: str) -> Rate:
    currency = row.get("currency", "").strip().upper()
    minor_digits(currency, where=where)
    try:
        rate = Decimal(row.get("rate", "").strip().replace(",", "."))
        if not (rate.is_finite() and rate > 0):
            raise InvalidOperation
        return Rate(date.fromisoformat(row.get("date", "").strip()), currency, rate, row.get("source", "").strip())
    except (InvalidOperation, ValueError):
        saw = f"date {row.get('date', '')!r}, rate {row.get('rate', '')!r}"
        raise error("rate_not_read", where=where, saw=saw) from None
