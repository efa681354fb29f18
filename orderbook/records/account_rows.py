"""What a restoration costs: the account, its rows for other programs, and estimate against actual."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date
from typing import Any

from orderbook.errors import Finding
from orderbook.measures.money import Money
from orderbook.records.accounts import Account, account, ledger_value, work_value
from orderbook.records.books import Books
from orderbook.records.conversion import dated_rates
from orderbook.records.index import barrel_of, index
from orderbook.records.sheet_names import no_such_piece
from orderbook.records.totals import Span

__all__ = ["Account", "account", "account_rows"]

ROW_HEADERS = (
    "date", "restoration", "barrel", "category", "kind", "amount", "currency", "rate", "in_book_currency",
    "book_currency", "order", "note", "not_added", "supplier", "drawer",
)  # fmt: skip


def account_rows(
    books: Books, restoration: str = "", *, on: date, span: Span | None = None
) -> Iterator[dict[str, str]]:
    """Yield every ledger row, and every row of Work as labour, of one restoration or of all, as text by header.

    Parameters: span, the days a row must lie in.

    A row that cannot be added is there too, with the reason in its last column.
    """
    if restoration:
        books.restoration(restoration)
    found, rates = index(books), dated_rates(books)
    for line in books.ledger:
        if line.restoration and restoration in ("", line.restoration) and (span is None or span.holds(line.date)):
            value = no_such_piece(books, line) or ledger_value(line, books.currency, rates)
            yield _row(
                books.currency, value, date=line.date, restoration=line.restoration, barrel=barrel_of(books, line),
                category=line.category, kind=line.kind, amount=line.amount, currency=line.currency, rate=line.rate,
                order=line.order, note=line.note, supplier=line.supplier, drawer=line.drawer,
            )  # fmt: skip
    for work in books.work:
        need = found.needs.get(work.need)
        piece = need.restoration if need else work.need
        if work.need and restoration in ("", piece) and (span is None or span.holds(work.date)):
            part = f"{work.need} {need.part}" if need else work.need
            note = f"{part}: {work.hours or '?'} h × {work.rate or '?'}" + (f", {work.who}" if work.who else "")
            value = no_such_piece(books, work) or work_value(work, books.currency)
            amount = None if isinstance(value, Finding) else Money(value, books.currency).text
            yield _row(
                books.currency, value, date=work.date, restoration=piece, barrel=need.barrel if need else "",
                category="labour", kind="done", amount=amount, currency=books.currency, note=note,
            )  # fmt: skip


def _row(book_currency: str, value: int | Finding, **cells: Any) -> dict[str, str]:
    row = {key: "" if cell is None else str(cell) for key, cell in cells.items()}
    row["book_currency"] = book_currency
    if isinstance(value, Finding):
        row["not_added"] = value.saw
    else:
        row["in_book_currency"] = Money(value, book_currency).text
    return {header: row.get(header, "") for header in ROW_HEADERS}
