"""Where a cell of a table stands in a book: by the keys of its columns, so that a column more moves no test."""

from __future__ import annotations

from pathlib import Path

from orderbook.records.definition import book_definition
from orderbook.xlsx.page import letters
from orderbook.xlsx.reading import OpenBook, columns_of, open_book


def cell_of(book: Path | OpenBook, table: str, row: int, key: str) -> str:
    """Return the address, on the table's sheet, of a cell of a row counted from the first."""
    opened = open_book(book) if isinstance(book, Path) else book
    found = opened.anatomy.tables[table]
    column = columns_of(found, book_definition().tables[table])[key]
    return f"{letters(column)}{found.top + 2 + row}"
