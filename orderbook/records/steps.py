"""One thing the books lack: the change that puts it right, and the finding that says so."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from orderbook.errors import Finding
from orderbook.records.rows import Append, Change, Clear, Put, Value


@dataclass(frozen=True, slots=True)
class Step:
    """A change that follows from what the books say already, and why."""

    change: Change
    finding: Finding


def gathered(changes: Iterable[Change]) -> tuple[Change, ...]:
    """Return the changes with those to one row made into one; a row that is emptied needs no other.

    >>> gathered([Put("Orders", 4, {"state": "ordered"}), Put("Orders", 4, {"parcel": "P-0001"})])
    (Put(table='Orders', row=4, values={'state': 'ordered', 'parcel': 'P-0001'}),)
    """
    rows: dict[tuple[str, int], dict[str, Value] | None] = {}
    added: list[Change] = []
    for change in changes:
        match change:
            case Append():
                added.append(change)
            case Clear(table, row):
                rows[table, row] = None
            case Put(table, row, values):
                before = rows.setdefault((table, row), {})
                if before is not None:
                    before.update(values)
    put = [Clear(table, row) if values is None else Put(table, row, values) for (table, row), values in rows.items()]
    return (*put, *added)
