"""A book opened for a command: its records, and how changes are put back where they came from."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import partial
from pathlib import Path

from orderbook.errors import Finding, error
from orderbook.records.books import Books, books_from
from orderbook.records.rows import Change


@dataclass(frozen=True, slots=True)
class Opened:
    """A book and the way back into its file or folder."""

    path: Path
    books: Books
    save: Callable[[Sequence[Change]], None]
    findings: tuple[Finding, ...] = ()  # what only the file itself can show: formulas that were typed over


def opened(path: Path) -> Opened:
    """Open a book: a workbook, or a folder of CSV files as `export` writes it.

    Raises: OrderbookError(book_not_found | book_not_read | book_currency_missing).
    """
    if not path.exists():
        raise error("book_not_found", where=str(path), saw="no such file or folder")
    if path.is_dir():
        from orderbook.desk import csv_folder

        tables = csv_folder.tables_in(path)
        return Opened(path, books_from(tables), partial(csv_folder.save, path, tables))
    raise error("book_not_read", where=str(path), saw="not a folder of CSV files")
