"""A table of a book as Python sees it: its rows, and a data frame of them."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from orderbook.book.csv_folder import as_text
from orderbook.book.tables import typed
from orderbook.records.definition import Table
from orderbook.records.rows import Row
from orderbook.shown import Shown

if TYPE_CHECKING:
    from pandas import DataFrame


@dataclass(frozen=True, slots=True, repr=False)
class TableRows(Shown):
    """The rows of a table that count, each read as `row["key"]` by the keys of the reference of columns."""

    table: Table
    all_rows: tuple[Row, ...]

    def __iter__(self) -> Iterator[Row]:
        """Go through the rows."""
        return iter(self.all_rows)

    def __len__(self) -> int:
        """Return how many rows there are."""
        return len(self.all_rows)

    def __getitem__(self, number: int) -> Row:
        """Return a row by its place, from 0."""
        return self.all_rows[number]

    def as_dict(self) -> dict[str, Any]:
        """Return the table's name and its rows; days as text."""
        rows = [{key: _plain(value) for key, value in row.items()} for row in self.shown_rows()]
        return {"table": self.table.name, "rows": rows}

    def shown_rows(self) -> list[dict[str, Any]]:
        """Return the rows by column key."""
        keys = self._keys
        return [{key: row.get(key) for key in keys} for row in self.all_rows]

    def first_rows(self, most: int) -> list[dict[str, Any]]:
        """Return the first rows, without columns that are empty."""
        filled = [key for key in self._keys if any(row.get(key) not in (None, "") for row in self.all_rows)]
        return [{key: row.get(key) for key in filled} for row in self.all_rows[:most]]

    @property
    def _keys(self) -> list[str]:
        """The columns a person sees; those that only serve formulas are hidden in the sheet too."""
        return [column.key for column in self.table.columns if not column.hidden]

    def to_frame(self) -> DataFrame:
        """Return the rows as a pandas data frame with every column a person sees; days are timestamps."""
        import pandas as pd

        from orderbook.reports.frames import frame_of

        frame = frame_of(self.shown_rows(), self._keys)
        for column in self.table.columns:
            if (
                column.key in frame
                and column.format == "date"
                and not any(isinstance(cell, str) for cell in frame[column.key])
            ):
                frame[column.key] = pd.to_datetime(frame[column.key])
        return frame

    def text(self, **_: Any) -> str:
        """Show the rows as pandas does, without columns that are empty."""
        from orderbook.reports.catalogue_text import counted

        frame = self.to_frame().dropna(axis="columns", how="all")
        return f"{self.table.name}: {counted(len(self), 'row')}" + (f"\n{frame}" if len(self) else "")


def of_folder(table: Table, rows: tuple[Row, ...]) -> tuple[Row, ...]:
    """Return rows of a CSV file that count, numbers and days as such."""
    columns = {column.key: column for column in table.columns}
    counting = (row for row in rows if row.get(table.counts_when) not in (None, ""))
    return tuple(
        Row({key: typed(value, columns[key]) for key, value in row.values.items() if key in columns}, row.place)
        for row in counting
    )


def _plain(value: Any) -> Any:
    return value if value is None or isinstance(value, (str, int, float)) else as_text(value)
