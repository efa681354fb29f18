"""What comes back for what went back: goods and tax in proportion to the pieces, postage never."""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction

from orderbook.measures.money import minor_digits, rounded
from orderbook.records.packs import pieces_bought, pieces_returned
from orderbook.records.tables import LedgerLine, OrderLine


def credit_due(line: OrderLine, amount: Decimal, currency: str, pieces: int | None = None) -> Decimal:
    """Return the credit for the pieces that went back, out of an amount paid for all of them.

    amount × pieces / pieces bought, rounded half away from zero at the minor unit; so that piece by piece the credits
    add up to the amount to the last penny.

    >>> line = OrderLine(qty=3, state="received")
    >>> [str(credit_due(line, Decimal("10.00"), "GBP", pieces)) for pieces in (1, 2, 3)]
    ['3.33', '6.67', '10.00']
    """
    back = pieces_returned(line) if pieces is None else pieces
    share = Fraction(back, max(pieces_bought(line), 1))
    digits = minor_digits(currency)
    return Decimal(rounded(min(share, Fraction(1)) * Fraction(amount) * 10**digits)).scaleb(-digits)


def credited(rows: list[LedgerLine]) -> Decimal:
    """Return the sum of credits among ledger rows."""
    return sum((row.amount or Decimal(0) for row in rows if row.kind == "credit"), Decimal(0))


def pieces_credited(line: OrderLine, paid: list[tuple[Decimal, str]], have: Decimal) -> int | None:
    """Return for how many pieces the credits so far stand; nothing where they are another sum.

    Parameters: paid, amounts and currencies of the rows that were paid for one part of the line.
    """
    for pieces in range(pieces_returned(line) + 1):
        if sum((credit_due(line, amount, currency, pieces) for amount, currency in paid), Decimal(0)) == have:
            return pieces
    return None
