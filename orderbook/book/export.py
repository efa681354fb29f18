"""Every table of a book as CSV: nothing is locked in."""

from __future__ import annotations

from pathlib import Path

from orderbook.book.csv_folder import text_of
from orderbook.book.opened import opened
from orderbook.book.own_folder import fill
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


def by_hand(row: Row) -> Row:
    """Return a row without what the sheet works out by itself: it does it again where the row is brought in."""
    table = book_definition().tables.get(row.place.table)
    worked = {c.key for c in table.columns if c.kind == "worked"} if table else set()
    return Row({key: value for key, value in row.values.items() if key not in worked}, row.place)
