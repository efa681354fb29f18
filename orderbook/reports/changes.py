"""What a command changed in a book, said a row a line."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from decimal import Decimal

from orderbook.measures.money import minor_digits
from orderbook.records.rows import Append, Change, Clear, Put, Value

MONEY = ("price", "amount", "goods", "postage", "tax")


def in_words(changes: Iterable[Change]) -> list[str]:
    """Say each change in a line.

    >>> in_words([Put("Orders", 4, {"state": "ordered"}), Clear("Ledger", 9)])
    ['Orders row 4: state ordered.', 'Ledger row 9: emptied.']
    """
    return [_said(change) for change in changes]


def _said(change: Change) -> str:
    match change:
        case Append(table, values):
            return f"{table}: new row, {_cells(values)}."
        case Put(table, row, values):
            return f"{table} row {row}: {_cells(values)}."
        case Clear(table, row):
            return f"{table} row {row}: emptied."


def _cells(values: Mapping[str, Value]) -> str:
    currency = str(values.get("currency") or "")
    filled = {key: value for key, value in values.items() if value not in (None, "")}
    return ", ".join(f"{key.replace('_', ' ')} {_shown(key, value, currency)}" for key, value in filled.items())


def _shown(key: str, value: Value, currency: str) -> str:
    """Show a number without a tail, money with all decimals of its currency.

    >>> _shown("price", Decimal("24.6"), "GBP"), _shown("width_mm", Decimal("34.0"), "GBP")
    ('24.60', '34')
    """
    if not isinstance(value, Decimal):
        return str(value)
    if key in MONEY and currency:
        return f"{value:.{max(minor_digits(currency), -int(value.normalize().as_tuple().exponent))}f}"
    return str(value) if key in MONEY else f"{value.normalize():f}"
