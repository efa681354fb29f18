"""What a restoration costs: the account, its rows for other programs, and estimate against actual."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date
from typing import Any

from orderbook.errors import Finding
from orderbook.measures.money import Money
from orderbook.records.accounts import Account, Sums, ToCome, account, ledger_value, work_value
from orderbook.records.books import Books
from orderbook.records.conversion import dated_rates
from orderbook.records.index import barrel_of, index
from orderbook.records.sheet_names import no_such_piece
from orderbook.records.totals import Span, Totals

__all__ = ["Account", "account", "account_as_dict", "account_rows", "totals_as_dict"]

ROW_HEADERS = (
    "date", "restoration", "barrel", "category", "kind", "amount", "currency", "rate", "in_book_currency",
    "book_currency", "order", "note", "not_added", "supplier", "drawer",
)  # fmt: skip


def account_as_dict(found: Account) -> dict[str, Any]:
    """Return an account as the JSON keys of `ledger`; money is text."""
    return {
        "restoration": found.restoration,
        "piece": found.piece,
        "currency": found.currency,
        "categories": {name: _sums(found, sums) for name, sums in found.by_category.items()},
        "barrels": {name or "not of one barrel": _sums(found, sums) for name, sums in found.by_barrel.items()},
        "total": _sums(found, found.total),
        "labour_hours": f"{found.labour_hours.normalize():f}",
        "estimate_agreed": None if found.agreed is None else found.money(found.agreed).text,
        "not_above": None if found.not_above is None else found.money(found.not_above).text,
        "to_come": [_to_come(found, line) for line in found.to_come],
        "rows_added": found.rows_added,
        "rows_not_added": len(found.not_added),
        "findings": [f.as_dict() for f in found.not_added],
    }


def totals_as_dict(found: Totals) -> dict[str, Any]:
    """Return totals over the pieces as JSON keys; money is text."""
    groups = {"pieces": found.by_piece, "suppliers": found.by_supplier, "categories": found.by_category}
    named = {key: {name: _sums(found, sums) for name, sums in group.items()} for key, group in groups.items()}
    return {
        "currency": found.currency,
        "from": found.span.first.isoformat() if found.span.first else None,
        "to": found.span.last.isoformat() if found.span.last else None,
        **named,
        "total": _sums(found, found.total),
        "labour_hours": f"{found.labour_hours.normalize():f}",
        "paid_to_suppliers": found.money(found.paid_to_suppliers).text,
        "into_drawer": found.money(found.into_drawer).text,
        "out_of_drawer": found.money(found.out_of_drawer).text,
        "from_own_stock": found.money(found.from_own_stock).text,
        "in_drawer": found.money(found.drawer_then).text,
        "rows_added": found.rows_added,
        "rows_not_added": len(found.not_added),
        "findings": [f.as_dict() for f in found.not_added],
    }


def _sums(found: Account | Totals, sums: Sums) -> dict[str, str]:
    names = ("estimate", "committed", "paid", "credit", "labour", "balance")
    return {name: found.money(getattr(sums, name)).text for name in names}


def _to_come(found: Account, expected: ToCome) -> dict[str, Any]:
    line = expected.line
    return {
        "order": line.order,
        "supplier": line.supplier,
        "item": line.item,
        "state": line.state,
        "expected": line.expected.isoformat() if line.expected else None,
        "days_late": expected.late_days,
        "cost": None if expected.cost is None else found.money(expected.cost).text,
    }


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
