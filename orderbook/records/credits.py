"""What comes back for what went back: goods and tax in proportion to the pieces, postage never."""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction

from orderbook.measures.money import minor_digits, rounded
from orderbook.records.packs import pieces_bought, pieces_lost, pieces_over, pieces_returned
from orderbook.records.tables import LedgerLine, OrderLine


def share_of(total: Decimal, pieces: int, of: int, currency: str) -> Decimal:
    """Return the part of a sum that falls on some of its pieces, rounded half away from zero at the minor unit.

    The parts of one piece after another, each the difference of two such shares, add up to the sum to the last penny.

    >>> [str(share_of(Decimal("10.00"), pieces, 3, "GBP")) for pieces in (1, 2, 3)]
    ['3.33', '6.67', '10.00']
    """
    share = min(Fraction(pieces, max(of, 1)), Fraction(1))
    digits = minor_digits(currency)
    return Decimal(rounded(share * Fraction(total) * 10**digits)).scaleb(-digits)


def pieces_charged(line: OrderLine) -> int:
    """Return for how many pieces what is paid and committed for a line stands: those that came or will."""
    return max(pieces_bought(line) - pieces_lost(line), 0)


def pieces_to_credit(line: OrderLine) -> int:
    """Return for how many pieces money is to come back: those that went back, but for those nobody paid for.

    >>> line = OrderLine(qty=2, state="received", qty_received=3, qty_returned=1)
    >>> pieces_to_credit(line)
    0
    """
    return max(pieces_returned(line) - pieces_over(line), 0)


def credit_due(line: OrderLine, amount: Decimal, currency: str, pieces: int | None = None) -> Decimal:
    """Return the credit for the pieces that went back, out of an amount that stands for all of them.

    >>> line = OrderLine(qty=3, state="received")
    >>> [str(credit_due(line, Decimal("10.00"), "GBP", pieces)) for pieces in (1, 2, 3)]
    ['3.33', '6.67', '10.00']
    """
    back = pieces_to_credit(line) if pieces is None else pieces
    return share_of(amount, back, pieces_charged(line), currency)


def credited(rows: list[LedgerLine]) -> Decimal:
    """Return the sum of credits among ledger rows."""
    return sum((row.amount or Decimal(0) for row in rows if row.kind == "credit"), Decimal(0))


def pieces_credited(line: OrderLine, paid: list[tuple[Decimal, str]], have: Decimal) -> int | None:
    """Return for how many pieces the credits so far stand; nothing where they are another sum.

    Parameters: paid, sums and currencies of what was paid for one part of the line.
    """
    for pieces in range(pieces_to_credit(line) + 1):
        if sum((credit_due(line, amount, currency, pieces) for amount, currency in paid), Decimal(0)) == have:
            return pieces
    return None
