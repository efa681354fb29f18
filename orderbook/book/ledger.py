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


def ledger(
    book: Path,
    restoration: str = "",
    *,
    on: date,
    since: date | None = None,
    until: date | None = None,
    export: Path | None = None,
) -> Account | Totals:
    """Return the account of a restoration; or the totals over all pieces, for a span of days where one is given.

    Parameters: since and until, the first and the last day, with all pieces only; export, a file for the rows, as CSV
    or as a double-entry file.
    Raises: OrderbookError(not_in_the_book | span_backwards | span_of_one_piece | export_kind_not_known | file_exists).
    """
    if since and until and until < since:
        raise error("span_backwards", where="⟨until⟩", saw=f"{until} is before {since}")
    if restoration and (since or until):
        raise error("span_of_one_piece", where="⟨since⟩" if since else "⟨until⟩", saw=f"days, and {restoration}")
    books, span = opened(book).books, Span(since, until)
    found = account(books, restoration, on=on) if restoration else totals(books, span)
    if export is not None:
        _write(books, restoration, span, export, on)
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
