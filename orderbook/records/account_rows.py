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

__all__ = ["Account", "account", "account_as_dict", "account_rows"]

ROW_HEADERS = (
    "date", "restoration", "barrel", "category", "kind", "amount", "currency", "rate", "in_book_currency",
    "book_currency", "order", "note", "not_added",
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


def _sums(found: Account, sums: Sums) -> dict[str, str]:
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


def account_rows(books: Books, restoration: str = "", *, on: date) -> Iterator[dict[str, str]]:
    """Yield every ledger row, and every row of Work as labour, of one restoration or of all, as text by header.

    A row that cannot be added is there too, with the reason in its last column.
    """
    if restoration:
        books.restoration(restoration)
    found, rates = index(books), dated_rates(books)
    for line in books.ledger:
        if line.restoration and restoration in ("", line.restoration):
            value = ledger_value(line, books.currency, rates)
            yield _row(
                books.currency, value, date=line.date, restoration=line.restoration, barrel=barrel_of(books, line),
                category=line.category, kind=line.kind, amount=line.amount, currency=line.currency, rate=line.rate,
                order=line.order, note=line.note,
            )  # fmt: skip
    for work in books.work:
        need = found.needs.get(work.need)
        if need and restoration in ("", need.restoration):
            note = f"{work.need} {need.part}: {work.hours or '?'} h × {work.rate or '?'}"
            value = work_value(work, books.currency)
            amount = None if isinstance(value, Finding) else Money(value, books.currency).text
            yield _row(
                books.currency, value, date=work.date, restoration=need.restoration, barrel=need.barrel,
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
