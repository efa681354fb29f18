"""Builds a new book from the definition, empty or with rows."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

from orderbook.records.definition import BookDefinition, book_definition
from orderbook.sheets.account_page import account_page
from orderbook.sheets.bench_page import bench_page
from orderbook.sheets.blank_book import may_be_made
from orderbook.sheets.help_page import help_page
from orderbook.sheets.order_page import order_page
from orderbook.sheets.plots import plots_page
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
    made["Bench"] = bench_page(book, barrel or _first(tables, "Barrels", "barrel"))
    made["Account"] = account_page(book, restoration or _first(tables, "Restorations", "restoration"))
    made["Order sheet"] = order_page(book, _first(tables, "Suppliers", "supplier"))
    made["Plots"] = plots_page(book)
    made["Help"] = help_page(book)
    return [made[name] for name in book.sheets]


def _first(tables: Mapping[str, Rows], name: str, key: str) -> str:
    """Return the identifier of the first row, for a sheet that shows one at a time."""
    return next((str(row[key]) for row in tables.get(name, ()) if row.get(key)), "")


def _known(tables: Mapping[str, Sequence[Mapping[str, Any]]], book: BookDefinition) -> None:
    for name, rows in tables.items():
        known = {column.key for column in book.tables[name].columns}
        if unknown := {key for row in rows for key in row} - known:
            raise KeyError(f"table {name} has no column {', '.join(sorted(unknown))}")
