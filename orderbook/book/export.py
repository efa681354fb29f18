"""Every table of a book as CSV: nothing is locked in."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any, ClassVar

from orderbook.book.csv_folder import text_of
from orderbook.book.opened import opened
from orderbook.book.own_folder import fill
from orderbook.records.definition import book_definition
from orderbook.records.rows import Row
from orderbook.shown import Shown


@dataclass(frozen=True, slots=True, repr=False)
class Exported(Shown):
    """The folder that was filled, and the number of rows by table."""

    folder: Path
    counts: Mapping[str, int]

    shown_columns: ClassVar[tuple[str, ...]] = ("table", "rows")

    def as_dict(self) -> dict[str, Any]:
        """Return the JSON keys of the command."""
        return {"folder": str(self.folder), "rows": dict(self.counts), "findings": []}

    def shown_rows(self) -> list[dict[str, Any]]:
        """Return the tables, a row each."""
        return [{"table": table, "rows": count} for table, count in self.counts.items()]

    def text(self, **_: Any) -> str:
        """Say what was written, as the command prints it."""
        return "\n".join([*(f"{table}: {count} rows" for table, count in self.counts.items()),
                          f"Written into {self.folder}."])  # fmt: skip


def export(book: Path, folder: Path) -> Exported:
    """Write each table as a CSV file into a folder; the folder can be opened as a book again.

    Raises: OrderbookError(folder_not_ours).
    """
    tables = opened(book).books.tables
    files = {f"{table}.csv": text_of(table, map(by_hand, rows)).encode("utf-8-sig") for table, rows in tables.items()}
    return Exported(fill(folder, files), {table: len(rows) for table, rows in tables.items()})


def by_hand(row: Row) -> Row:
    """Return a row without what the sheet works out by itself: it does it again where the row is brought in."""
    table = book_definition().tables.get(row.place.table)
    worked = {c.key for c in table.columns if c.kind == "worked"} if table else set()
    return Row({key: value for key, value in row.values.items() if key not in worked}, row.place)
