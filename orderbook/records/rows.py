"""A row as it was typed, where it stands, and the three changes that can be made to one."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from datetime import date, timedelta
from decimal import Decimal
from typing import Any, cast

Value = str | int | float | Decimal | date | timedelta | bool | None


@dataclass(frozen=True, slots=True)
class Place:
    """Where a row stands: table, sheet and row of a workbook, or line of a file; columns by key where known.

    >>> Place("Orders", 12, "Orders", {"price": "K"}).of("price")
    'Orders!K12 (price)'
    >>> Place("Orders", 12).of("price")
    'Orders row 12 (price)'
    >>> Place("Orders", 12).of()
    'Orders row 12'
    """

    table: str
    row: int
    sheet: str = ""
    columns: Mapping[str, str] = field(default_factory=dict, compare=False, hash=False, repr=False)
    below: bool = False  # typed under the last row of the table, where its totals do not reach

    def of(self, key: str = "") -> str:
        """Name the cell of a column, or the row where no column is given or known."""
        said = key.replace("_", " ")
        if key and (letters := self.columns.get(key)):
            return f"{self.sheet or self.table}!{letters}{self.row} ({said})"
        return f"{self.sheet or self.table} row {self.row}" + (f" ({said})" if key else "")


@dataclass(frozen=True, slots=True)
class Row:
    """One row as it was typed: values by column key, and its place."""

    values: Mapping[str, Value]
    place: Place

    def get(self, key: str) -> Value:
        """Return what stands in a column; nothing where the column or the value is missing."""
        return self.values.get(key)

    def __getitem__(self, key: str) -> Any:
        """Return what stands in a column, as `get`."""
        return self.values.get(key)

    @property
    def number(self) -> int:
        """The row of the sheet, counted from 0."""
        return self.place.row - 1


NOWHERE = Row({}, Place("", 0))


@dataclass(frozen=True, slots=True)
class Append:
    """Add a row to a table."""

    table: str
    values: Mapping[str, Value]


@dataclass(frozen=True, slots=True)
class Put:
    """Put values into cells of a row."""

    table: str
    row: int
    values: Mapping[str, Value]


@dataclass(frozen=True, slots=True)
class Clear:
    """Empty every cell of a row; the row stays as a blank one."""

    table: str
    row: int


Change = Append | Put | Clear
Tables = Mapping[str, tuple[Row, ...]]


def rows_from(
    table: str, dicts: Iterable[Mapping[str, Any]], *, sheet: str = "", first_row: int = 2
) -> tuple[Row, ...]:
    """Make rows of plain dictionaries, numbered from `first_row` as under a header line.

    >>> rows_from("Orders", [{"order": "O-0001"}])[0].place.of()
    'Orders row 2'
    """
    return tuple(Row(dict(values), Place(table, number, sheet)) for number, values in enumerate(dicts, first_row))


def is_blank(values: Mapping[str, Value]) -> bool:
    """Return whether no cell of a row holds anything."""
    return not any(value is not None and value != "" for value in values.values())


def changed(tables: Tables, changes: Iterable[Change]) -> dict[str, tuple[Row, ...]]:
    """Return the tables with the changes made, in their order; the given tables stay as they are.

    >>> tables = {"Orders": rows_from("Orders", [{"order": "O-0001", "state": "planned"}])}
    >>> after = changed(tables, [Put("Orders", 2, {"state": "ordered"}), Append("Orders", {"order": "O-0002"})])
    >>> [(row.get("order"), row.get("state"), row.place.row) for row in after["Orders"]]
    [('O-0001', 'ordered', 2), ('O-0002', None, 3)]
    """
    lists: dict[str, dict[int, Row]] = {}
    for change in changes:
        if change.table not in lists:
            lists[change.table] = {row.place.row: row for row in tables.get(change.table, ())}
        rows = lists[change.table]
        match change:
            case Append(table, values):
                number = max(rows, default=1) + 1
                like = next(iter(rows.values())).place if rows else Place(table, 0)
                rows[number] = Row(dict(values), Place(table, number, like.sheet, like.columns))
            case Put(_, number, values):
                rows[number] = Row({**rows[number].values, **values}, rows[number].place)
            case Clear(_, number):
                del rows[number]
    return {**tables, **{table: tuple(rows.values()) for table, rows in lists.items()}}


def gathered(tables: Tables, changes: Iterable[Change]) -> tuple[Change, ...]:
    """Return the same changes in which none touches a row that another one adds: a row has its place when it is saved.

    >>> gathered({}, [Append("Ledger", {"kind": "paid"}), Put("Ledger", 2, {"rate": 1})])
    (Append(table='Ledger', values={'kind': 'paid', 'rate': 1}),)
    """
    last = {table: max((row.place.row for row in rows), default=1) for table, rows in tables.items()}
    kept: dict[int, Change] = {}
    added: dict[tuple[str, int], int] = {}
    for number, change in enumerate(changes):
        if isinstance(change, Append):
            last[change.table] = last.get(change.table, 1) + 1
            added[change.table, last[change.table]] = number
            kept[number] = change
        elif (at := added.get((change.table, change.row))) is None:
            kept[number] = change
        elif isinstance(change, Put):
            kept[at] = Append(change.table, {**cast("Append", kept[at]).values, **change.values})
        else:
            del kept[at]
            del added[change.table, change.row]
    return tuple(kept.values())
