"""Every table of a book as CSV: nothing is locked in; and its days as a calendar."""

from __future__ import annotations

from datetime import date
from pathlib import Path

from orderbook.book.csv_folder import text_of
from orderbook.book.opened import opened
from orderbook.book.own_folder import fill
from orderbook.errors import error
from orderbook.records.definition import book_definition
from orderbook.records.rows import Row


def export(book: Path, folder: Path) -> tuple[Path, dict[str, int]]:
    """Write each table as a CSV file into a folder; the folder can be opened as a book again.

    Returns: the folder, and the number of rows by table.
    Raises: OrderbookError(folder_not_ours).
    """
    tables = opened(book).books.tables
    files = {f"{table}.csv": text_of(table, map(by_hand, rows)).encode("utf-8-sig") for table, rows in tables.items()}
    return fill(folder, files), {table: len(rows) for table, rows in tables.items()}


def export_calendar(book: Path, file: Path, *, on: date) -> int:
    """Write return-by, expected and review days as a calendar file, and return how many there are.

    A calendar that was written from a book is written again; no other file is.
    Raises: OrderbookError(calendar_not_ours).
    """
    from orderbook.reports.calendar import PRODUCT, calendar, days_of

    if file.is_symlink() or (file.exists() and PRODUCT.encode() not in file.read_bytes()[:400]):
        raise error("calendar_not_ours", where=str(file), saw="another file is there")
    books = opened(book).books
    page = calendar(books, book.name, on=on)
    beside = file.with_name(f".{file.name}.new")
    beside.write_bytes(page)
    beside.replace(file)
    return len(list(days_of(books)))


def by_hand(row: Row) -> Row:
    """Return a row without what the sheet works out by itself: it does it again where the row is brought in."""
    table = book_definition().tables.get(row.place.table)
    worked = {c.key for c in table.columns if c.kind == "worked"} if table else set()
    return Row({key: value for key, value in row.values.items() if key not in worked}, row.place)
