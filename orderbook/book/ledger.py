"""What a restoration costs, or all of them, and the rows for other programs."""

from __future__ import annotations

import csv
from datetime import date
from io import StringIO
from pathlib import Path

from orderbook.book.csv_folder import put_whole
from orderbook.book.opened import opened
from orderbook.errors import error
from orderbook.records.account_rows import ROW_HEADERS, Account, account, account_rows
from orderbook.records.books import Books
from orderbook.records.csv_cells import harmless
from orderbook.records.totals import Span, Totals, totals
from orderbook.reports.double_entry import double_entry


def ledger(book: Path, restoration: str, *, on: date, export: Path | None = None) -> Account:
    """Return the account of a restoration; with `export`, write its rows as CSV or as a double-entry file.

    Raises: OrderbookError(not_in_the_book | export_kind_not_known | file_exists).
    """
    books = opened(book).books
    found = account(books, restoration, on=on)
    if export is not None:
        _write(books, restoration, Span(), export, on)
    return found


def all_pieces(
    book: Path, *, on: date, first: date | None = None, last: date | None = None, export: Path | None = None
) -> Totals:
    """Return the totals over all pieces, by piece, supplier and category, for a span of days.

    With `export`, write the rows of those days as CSV or as one double-entry file for the book.
    Raises: OrderbookError(span_backwards | export_kind_not_known | file_exists).
    """
    if first and last and last < first:
        raise error("span_backwards", where="⟨to⟩", saw=f"{last} is before {first}")
    books, span = opened(book).books, Span(first, last)
    found = totals(books, span)
    if export is not None:
        _write(books, "", span, export, on)
    return found


def _write(books: Books, restoration: str, span: Span, export: Path, on: date) -> None:
    if export.suffix not in (".csv", ".beancount"):
        raise error("export_kind_not_known", where=str(export), saw=f"“{export.suffix}”")
    if export.exists() or export.is_symlink():
        raise error("file_exists", where=str(export), saw="there is such a file already")
    if export.suffix == ".beancount":
        export.write_text(double_entry(books, restoration, on=on, span=span), encoding="utf-8")
        return
    page = StringIO()
    out = csv.writer(page, lineterminator="\r\n")
    out.writerow(ROW_HEADERS)
    rows = account_rows(books, restoration, on=on, span=span)
    out.writerows([harmless(row[header]) for header in ROW_HEADERS] for row in rows)
    put_whole(export, page.getvalue())
