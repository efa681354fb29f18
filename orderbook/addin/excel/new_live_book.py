"""Builds a live book: for Excel with its macro code, for Calc without."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

from orderbook.addin.excel.configuration import WRITTEN, own_settings
from orderbook.addin.excel.project import kept_project
from orderbook.addin.excel.ribbon import with_ribbon
from orderbook.errors import error
from orderbook.functions.call import sheet_functions
from orderbook.records.definition import book_definition
from orderbook.sheets.live_book import configuration_page, live_pages
from orderbook.sheets.new_book import book_pages
from orderbook.sheets.table_pages import Rows
from orderbook.sheets.writing import book_bytes, save_new
from orderbook.xlsx.evaluation import values_of

MACRO_BOOK, CALC_BOOK = ".xlsm", ".xlsx"


def write_live_book(
    path: Path, tables: Mapping[str, Rows], *, barrel: str = "", restoration: str = "", paper: str = "a4"
) -> None:
    """Make a new live book that holds `tables`: `.xlsm` for Excel, `.xlsx` for Calc with the add-in.

    Where Excel can run, a macro book names this machine's Python.
    Raises: OrderbookError if the file exists, or its name ends in something else.
    """
    if path.suffix.lower() not in (MACRO_BOOK, CALC_BOOK):
        raise error("book_name", where=str(path), saw=f"the name ends in {path.suffix or 'nothing'}")
    if path.exists():
        raise error("book_exists", where=str(path), saw="there is a file of that name already")
    macros = path.suffix.lower() == MACRO_BOOK
    own = own_settings()
    settings = own if any(key.startswith("INTERPRETER") for key in own) else {}
    made = live_book_bytes(
        tables, macros=macros, settings=settings, barrel=barrel, restoration=restoration, paper=paper
    )
    save_new(path, made)


def live_book_bytes(
    tables: Mapping[str, Rows],
    *,
    macros: bool,
    settings: Mapping[str, str] | None = None,
    barrel: str = "",
    restoration: str = "",
    paper: str = "a4",
) -> bytes:
    """Return the bytes of a live book; `settings` are further lines of the sheet that xlwings reads."""
    book = book_definition()
    pages = live_pages(book_pages(tables, book, barrel=barrel, restoration=restoration), book)
    if macros:
        pages.append(configuration_page({**WRITTEN, **(settings or {})}))
    values = values_of(pages, book, sheet_functions())
    if not macros:
        return book_bytes(pages, book, values, paper=paper)
    return with_ribbon(book_bytes(pages, book, values, paper=paper, macros=kept_project()))
