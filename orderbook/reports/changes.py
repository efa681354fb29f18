"""What a command changed in a book, said a row a line."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from orderbook.records.rows import Append, Change, Clear, Put, Value


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
    return ", ".join(f"{key.replace('_', ' ')} {value}" for key, value in values.items() if value not in (None, ""))
