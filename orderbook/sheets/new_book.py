"""Builds a new book from the definition, empty or with rows."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path
from pkgutil import resolve_name
from typing import Any

from orderbook.records.definition import BookDefinition, book_definition
from orderbook.sheets.blank_book import may_be_made
from orderbook.sheets.table_pages import Rows, table_page
from orderbook.sheets.writing import book_bytes, save_new
from orderbook.xlsx.evaluation import values_of
from orderbook.xlsx.page import Page


def write_new_book(
    path: Path, tables: Mapping[str, Rows], *, barrel: str = "", restoration: str = "", paper: str = "a4"
) -> None:
    """Make a new book that holds `tables`: table name → rows, each row keyed by column key.

    Parameters: `tables` may hold the answer tables too (Answers, Stages, AlsoFits, DoesNotGoIn, Findings, Torque,
    Belief); a table that is given replaces the rows it would start with. `barrel` and `restoration` are what Bench and
    Account show first.
    Raises: KeyError for a table or column that the definition lacks; OrderbookError if the file exists.
    """
    may_be_made(path)
    save_new(path, new_book_bytes(tables, barrel=barrel, restoration=restoration, paper=paper))


def new_book_bytes(tables: Mapping[str, Rows], *, barrel: str = "", restoration: str = "", paper: str = "a4") -> bytes:
    """Return the bytes of a new book that holds `tables`; the same rows give the same bytes."""
    book = book_definition()
    _known(tables, book)
    pages = book_pages(tables, book, barrel=barrel, restoration=restoration)
    return book_bytes(pages, book, values_of(pages, book), paper=paper)


def book_pages(
    tables: Mapping[str, Rows], book: BookDefinition, *, barrel: str = "", restoration: str = ""
) -> list[Page]:
    """Lay out every sheet of the book."""
    made = {name: table_page(name, book, tables) for name in book.sheets if book.on_sheet(name)}
    picked = {"Barrels": barrel, "Restorations": restoration}
    for name, maker in book.pages.items():
        laid_out = resolve_name(maker.made_by)
        shows = maker.shows
        made[name] = laid_out(book, picked.get(shows) or _first_of(shows, tables, book)) if shows else laid_out(book)
    return [made[name] for name in book.sheets]


def _first_of(name: str, tables: Mapping[str, Rows], book: BookDefinition) -> str:
    """Return the identifier of a table's first row, for a sheet that shows one at a time."""
    key = book.tables[name].columns[0].key
    return next((str(row[key]) for row in tables.get(name, ()) if row.get(key)), "")


def _known(tables: Mapping[str, Sequence[Mapping[str, Any]]], book: BookDefinition) -> None:
    for name, rows in tables.items():
        known = {column.key for column in book.tables[name].columns}
        if unknown := {key for row in rows for key in row} - known:
            raise KeyError(f"table {name} has no column {', '.join(sorted(unknown))}")
