"""What a restoration costs, and its rows for other programs."""

from __future__ import annotations

import csv
from datetime import date
from io import StringIO
from pathlib import Path

from orderbook.book.csv_folder import put_whole
from orderbook.book.opened import opened
from orderbook.errors import error
from orderbook.records.account_rows import ROW_HEADERS, Account, account, account_rows
from orderbook.reports.double_entry import double_entry


def ledger(book: Path, restoration: str, *, on: date, export: Path | None = None) -> Account:
    """Return the account of a restoration; with `export`, write its rows as CSV or as a double-entry file.

    Raises: OrderbookError(not_in_the_book | export_kind_not_known | file_exists).
    """
    books = opened(book).books
    found = account(books, restoration, on=on)
    if export is not None:
        if export.suffix not in (".csv", ".beancount"):
            raise error("export_kind_not_known", where=str(export), saw=f"“{export.suffix}”")
        if export.exists():
            raise error("file_exists", where=str(export), saw="there is such a file already")
        if export.suffix == ".beancount":
            export.write_text(double_entry(books, restoration, on=on), encoding="utf-8")
        else:
            page = StringIO()
            out = csv.DictWriter(page, ROW_HEADERS, lineterminator="\r\n")
            out.writeheader()
            out.writerows(account_rows(books, restoration, on=on))
            put_whole(export, page.getvalue())
    return found
