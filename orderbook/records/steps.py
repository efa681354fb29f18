"""One thing the books lack: the change that puts it right, and the finding that says so."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from orderbook.errors import Finding
from orderbook.records.rows import Append, Change, Clear, Put


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
    kept: dict[object, Change] = {}
    for number, change in enumerate(changes):
        if isinstance(change, Append):
            kept[number] = change
            continue
        key = change.table, change.row
        before = kept.get(key)
        if isinstance(change, Put) and isinstance(before, Put):
            kept[key] = Put(change.table, change.row, {**before.values, **change.values})
        elif not isinstance(before, Clear):
            kept[key] = change
    return tuple(kept.values())
