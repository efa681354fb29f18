"""Every table of a book as CSV: nothing is locked in; and its days as a calendar."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path
from typing import Any, ClassVar

from orderbook.book.csv_folder import text_of
from orderbook.book.opened import opened
from orderbook.book.own_folder import fill
from orderbook.errors import error
from orderbook.records.books import Books
from orderbook.records.definition import book_definition
from orderbook.records.rows import Row
from orderbook.shown import Shown


@dataclass(frozen=True, slots=True, repr=False)
class Exported(Shown):
    """The folder that was filled, and the number of rows by table; the calendar that was written, and its days."""

    folder: Path | None = None
    counts: Mapping[str, int] | None = None
    calendar: Path | None = None
    days: int = 0

    shown_columns: ClassVar[tuple[str, ...]] = ("table", "rows")

    def as_dict(self) -> dict[str, Any]:
        """Return the JSON keys of the command."""
        tables = {"folder": str(self.folder), "rows": dict(self.counts or {})} if self.folder else {}
        calendar = {"calendar": str(self.calendar), "days": self.days} if self.calendar else {}
        return {**tables, **calendar, "findings": []}

    def shown_rows(self) -> list[dict[str, Any]]:
        """Return the tables, a row each."""
        return [{"table": table, "rows": count} for table, count in (self.counts or {}).items()]

    def text(self, **_: Any) -> str:
        """Say what was written, as the command prints it."""
        lines = [f"{table}: {count} rows" for table, count in (self.counts or {}).items()]
        lines += [f"Written into {self.folder}."] if self.folder else []
        lines += [f"{self.days} days written to {self.calendar}."] if self.calendar else []
        return "\n".join(lines)


def export(book: Path, folder: Path | None = None, *, on: date, calendar: Path | None = None) -> Exported:
    """Write each table as a CSV file into a folder, which can be opened as a book again; or the book's days, or both.

    Parameters: calendar, a file for return-by, expected and review days. One that was written from a book is written
    again; no other file is.
    Raises: OrderbookError(folder_not_ours | calendar_not_ours | export_of_what).
    """
    if folder is None and calendar is None:
        raise error("export_of_what", where="⟨folder⟩", saw="no folder and no calendar")
    books, done = opened(book).books, Exported()
    if folder is not None:
        files = {
            f"{table}.csv": text_of(table, map(by_hand, rows)).encode("utf-8-sig")
            for table, rows in books.tables.items()
        }
        done = Exported(fill(folder, files), {table: len(rows) for table, rows in books.tables.items()})
    if calendar is not None:
        done = replace(done, calendar=calendar, days=_put_calendar(books, book.name, calendar, on))
    return done


def _put_calendar(books: Books, name: str, file: Path, on: date) -> int:
    from orderbook.reports.calendar import PRODUCT, calendar, days_of

    if file.is_symlink() or (file.exists() and PRODUCT.encode() not in file.read_bytes()[:400]):
        raise error("calendar_not_ours", where=str(file), saw="another file is there")
    beside = file.with_name(f".{file.name}.new")
    beside.write_bytes(calendar(books, name, on=on))
    beside.replace(file)
    return len(list(days_of(books)))


def by_hand(row: Row) -> Row:
    """Return a row without what the sheet works out by itself: it does it again where the row is brought in."""
    table = book_definition().tables.get(row.place.table)
    worked = {c.key for c in table.columns if c.kind == "worked"} if table else set()
    return Row({key: value for key, value in row.values.items() if key not in worked}, row.place)
