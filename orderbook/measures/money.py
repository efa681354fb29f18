"""Money: whole minor units of one currency, never a float; and shares of it that add up."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Decimal
from fractions import Fraction
from functools import cache

from orderbook.errors import error

# A space or apostrophe groups thousands, so three figures follow it and one stands before; or it follows the sign.
GROUP_MARK = re.compile(r"(?<=[0-9])[\s\u00a0\u202f'’](?=[0-9]{3}(?![0-9]))|(?<=^[-−])\s")


@dataclass(frozen=True, slots=True)
class Money:
    """An amount in the minor unit of its currency (pence, cents; none for yen).

    >>> Money.parse("18.50", "GBP") + Money(150, "GBP")
    Money(minor=2000, currency='GBP')
    >>> Money.parse("1.234,5", "EUR").text, Money(500, "JPY").text, Money(-5, "GBP").text
    ('1234.50', '500', '-0.05')
    """

    minor: int
    currency: str

    def __post_init__(self) -> None:
        """Refuse what is not a whole number: a float here is a mistake of the calling program."""
        if type(self.minor) is not int:
            raise TypeError(f"money is whole minor units, not {self.minor!r}")

    @classmethod
    def parse(cls, text: str | int | Decimal, currency: str, *, where: str = "amount") -> Money:
        """Read an amount as printed; one mark is decimal, two kinds are thousands and decimal.

        Raises: OrderbookError(money_not_read | currency_not_known).
        """
        digits = minor_digits(currency, where=where)
        amount = text if isinstance(text, Decimal) else _decimal(str(text), where)
        if digits < 3 and re.search(r"^\D*[0-9]{1,3}[.,][0-9]{3}\D*$", str(text)) and not isinstance(text, Decimal):
            seen = f"{text!r}: a thousand, or three decimals of a currency that has {digits}?"
            raise error("money_not_read", where=where, saw=seen)
        scaled = amount.scaleb(digits) if amount.is_finite() else amount
        if not scaled.is_finite() or scaled != scaled.to_integral_value():
            raise error("money_not_read", where=where, saw=f"{text} {currency}")
        return cls(int(scaled), currency.upper())

    @property
    def text(self) -> str:
        """The amount with the decimals of its currency, without the currency: `18.50`."""
        return str(Decimal(self.minor).scaleb(-minor_digits(self.currency)))

    def __str__(self) -> str:
        """Read as amount and currency: `18.50 GBP`."""
        return f"{self.text} {self.currency}"

    def __add__(self, other: Money) -> Money:
        """Add an amount of the same currency."""
        return Money(self.minor + self._same(other), self.currency)

    def __sub__(self, other: Money) -> Money:
        """Take off an amount of the same currency."""
        return Money(self.minor - self._same(other), self.currency)

    def __neg__(self) -> Money:
        """Turn a cost into a credit."""
        return Money(-self.minor, self.currency)

    def __lt__(self, other: Money) -> bool:
        """Compare with an amount of the same currency."""
        return self.minor < self._same(other)

    def __le__(self, other: Money) -> bool:
        """Compare with an amount of the same currency."""
        return self.minor <= self._same(other)

    def times(self, factor: int | Fraction | Decimal) -> Money:
        """Multiply exactly, then round half away from zero at the minor unit, as a sheet's ROUND does.

        >>> Money(125, "GBP").times(Fraction(1, 10)).minor, Money(-125, "GBP").times(Fraction(1, 10)).minor
        (13, -13)
        """
        return Money(rounded(self.minor * Fraction(factor)), self.currency)

    def _same(self, other: Money) -> int:
        if other.currency != self.currency:
            raise ValueError(f"cannot reckon {self.currency} with {other.currency}: convert first")
        return other.minor


@cache
def minor_digits(currency: str, *, where: str = "currency") -> int:
    """Return how many decimals a currency has (ISO 4217 minor unit).

    Raises: OrderbookError(currency_not_known).

    >>> minor_digits("GBP"), minor_digits("JPY"), minor_digits("BHD")
    (2, 0, 3)
    """
    import iso4217

    try:
        return int(iso4217.Currency(currency.upper()).exponent or 0)
    except ValueError:
        raise error("currency_not_known", where=where, saw=repr(currency)) from None


def rounded(value: Fraction | Decimal) -> int:
    """Round half away from zero to a whole number.

    >>> rounded(Fraction(5, 2)), rounded(Fraction(-5, 2)), rounded(Fraction(12, 5))
    (3, -3, 2)
    """
    if isinstance(value, Decimal):
        return int(value.to_integral_value(ROUND_HALF_UP))
    doubled = abs(value) * 2
    whole = (doubled.numerator // doubled.denominator + 1) // 2
    return whole if value >= 0 else -whole


def share(total: int, weights: Sequence[int | Fraction]) -> tuple[int, ...]:
    """Share whole minor units in proportion to weights by the largest remainder.

    Each share is ⌊total·wᵢ/Σw⌋; what is left goes one by one to the largest remainders, the earlier line first.
    A negative total is shared as its opposite. All weights zero count as equal.
    Source: Hamilton's method of apportionment.

    >>> share(44, [21878, 9713, 4167, 3252, 1065])
    (24, 11, 5, 3, 1)
    >>> share(-100, [1, 1, 1])
    (-34, -33, -33)
    """
    if not weights:
        raise ValueError("nothing to share over")
    if any(weight < 0 for weight in weights):
        raise ValueError("a weight is negative")
    if total < 0:
        return tuple(-part for part in share(-total, weights))
    fair = [Fraction(weight) for weight in weights] if any(weights) else [Fraction(1)] * len(weights)
    quotas = [total * weight / sum(fair) for weight in fair]
    floors = [quota.numerator // quota.denominator for quota in quotas]
    by_remainder = sorted(range(len(fair)), key=lambda i: (floors[i] - quotas[i], i))
    lucky = set(by_remainder[: total - sum(floors)])
    return tuple(floor + (i in lucky) for i, floor in enumerate(floors))


def _decimal(text: str, where: str) -> Decimal:
    bare = re.sub(GROUP_MARK, "", text.strip())
    match = re.fullmatch(r"([-−]?)([0-9]*)((?:[.,][0-9]+)*)", bare)
    if match is None or not re.search("[0-9]", bare):
        raise error("money_not_read", where=where, saw=repr(text))
    sign, whole, rest = match.groups()
    marks = re.findall("[.,]", rest)
    pieces = re.split("[.,]", rest)[1:]
    decimals = pieces.pop() if marks and (len(marks) == 1 or marks[-1] != marks[0]) else ""
    if any(len(piece) != 3 for piece in pieces) or len(set(marks[: len(pieces)])) > 1:
        raise error("money_not_read", where=where, saw=repr(text))
    return Decimal(f"{'-' if sign else ''}{whole or 0}{''.join(pieces)}.{decimals or 0}")
