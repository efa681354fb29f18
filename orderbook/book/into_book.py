"""Bring the springs of suppliers' lists into the table Catalogue of a book."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from orderbook.book.tables import catalogue_rows
from orderbook.catalogue import Catalogue
from orderbook.records.rows import Row
from orderbook.xlsx.changes import Changes, commit, replace_rows
from orderbook.xlsx.reading import open_book

OWN = ("leave_out", "note")


def bring_in(catalogue: Catalogue, path: Path) -> tuple[int, int]:
    """Replace what the book holds of these suppliers; other suppliers' rows and your own notes stay.

    Returns: rows brought in, rows of other suppliers kept.
    Raises: OrderbookError if the book is open elsewhere or cannot be written; it is then as it was.
    """
    book = open_book(path)
    there = book.rows("Catalogue")
    notes = {_which(row): {key: row[key] for key in OWN if row[key]} for row in there}
    fresh = [{**row, **notes.get(_which(row), {})} for row in catalogue_rows(catalogue)]
    suppliers = {str(row["supplier"]).casefold() for row in fresh}
    kept = [dict(row.values) for row in there if str(row["supplier"]).casefold() not in suppliers]
    changes = Changes()
    replace_rows(changes, book, "Catalogue", kept + fresh)
    commit(book, changes)
    return len(fresh), len(kept)


def _which(row: Row | dict[str, Any]) -> tuple[str, str]:
    return str(row["supplier"]).casefold(), str(row["item"]).casefold()
