"""Every table of a book as CSV: nothing is locked in."""

from __future__ import annotations

from pathlib import Path

from orderbook.book.csv_folder import text_of
from orderbook.book.opened import opened
from orderbook.book.own_folder import fill


def export(book: Path, folder: Path) -> tuple[Path, dict[str, int]]:
    """Write each table as a CSV file into a folder; the folder can be opened as a book again.

    Returns: the folder, and the number of rows by table.
    Raises: OrderbookError(folder_not_ours).
    """
    tables = opened(book).books.tables
    files = {f"{table}.csv": text_of(table, rows).encode("utf-8-sig") for table, rows in tables.items()}
    return fill(folder, files), {table: len(rows) for table, rows in tables.items()}
