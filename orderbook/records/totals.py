"""The year's end: what all pieces cost over a span of days, by piece, by supplier and by category.

Every row that is added stands once in each of the three. What a spring of the drawer cost is moved between pieces, not
paid again: so the sum over the pieces is what was paid, less what lies in the drawer, and both are shown.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import Any, ClassVar

from orderbook.errors import Finding, finding
from orderbook.measures.money import Money
from orderbook.records.accounts import (
    AGREED,
    AMOUNTS,
    Sums,
    amounts_in,
    ledger_value,
    minor_of,
    of_no_piece,
    work_value,
)
from orderbook.records.books import Books
from orderbook.records.conversion import dated_rates
from orderbook.records.index import index
from orderbook.records.moves import is_move, line_of
from orderbook.records.sheet_names import no_such_piece
from orderbook.records.tables import CATEGORY, LedgerLine, Work
from orderbook.shown import Shown

OWN, DRAWER = "own work", "the drawer"
UNNAMED, ESTIMATES = "no supplier named", "estimates"


@dataclass(frozen=True, slots=True)
class Span:
    """Days from and to, both of them in; open where one is missing.

    >>> Span(date(2026, 1, 1), date(2026, 12, 31)).holds(date(2026, 12, 31)), Span().holds(None)
    (True, True)
    """

    first: date | None = None
    last: date | None = None

    def holds(self, day: date | None) -> bool:
        """Return whether a day lies in the span; a row without a day lies only in the span of all days."""
        if day is None:
            return not (self.first or self.last)
        return (self.first is None or self.first <= day) and (self.last is None or day <= self.last)

    def __str__(self) -> str:
        """Read as words."""
        if self.first and self.last:
            return f"{self.first} to {self.last}"
        return f"from {self.first}" if self.first else f"until {self.last}" if self.last else "all days"


@dataclass(frozen=True, slots=True, repr=False)
class Totals(Shown):
    """Sums over the pieces of a book, in whole minor units of its currency."""

    shown_words: ClassVar[str] = "orderbook.reports.account_text:totals_text"
    shown_columns: ClassVar[tuple[str, ...]] = ("by", "name", *AMOUNTS)

    currency: str
    span: Span
    by_piece: Mapping[str, Sums]
    by_supplier: Mapping[str, Sums]
    by_category: Mapping[str, Sums]
    total: Sums
    labour_hours: Decimal
    into_drawer: int
    out_of_drawer: int
    from_own_stock: int
    drawer_then: int
    rows_added: int
    not_added: tuple[Finding, ...]

    @property
    def paid_to_suppliers(self) -> int:
        """What was paid, but for what only moved between the drawer and the pieces."""
        return self.total.paid - self.out_of_drawer - self.from_own_stock

    def money(self, minor: int) -> Money:
        """Return an amount as money of the book."""
        return Money(minor, self.currency)

    @property
    def findings(self) -> tuple[Finding, ...]:
        """What stands in the way of the rows that were not added."""
        return self.not_added

    def as_dict(self) -> dict[str, Any]:
        """Return the JSON keys of `ledger` over all pieces; money is text."""
        groups = {"pieces": self.by_piece, "suppliers": self.by_supplier, "categories": self.by_category}
        first, last = self.span.first, self.span.last
        return {
            "currency": self.currency,
            "from": first.isoformat() if first else None,
            "to": last.isoformat() if last else None,
            **{key: {n: amounts_in(self.currency, sums) for n, sums in group.items()} for key, group in groups.items()},
            "total": amounts_in(self.currency, self.total),
            "labour_hours": f"{self.labour_hours.normalize():f}",
            "paid_to_suppliers": self.money(self.paid_to_suppliers).text,
            "into_drawer": self.money(self.into_drawer).text,
            "out_of_drawer": self.money(self.out_of_drawer).text,
            "from_own_stock": self.money(self.from_own_stock).text,
            "in_drawer": self.money(self.drawer_then).text,
            "rows_added": self.rows_added,
            "rows_not_added": len(self.not_added),
            "findings": [f.as_dict() for f in self.not_added],
        }

    def shown_rows(self) -> list[dict[str, Any]]:
        """Return a row for each piece, supplier and category, and all of them together."""
        groups = (("piece", self.by_piece), ("supplier", self.by_supplier), ("category", self.by_category),
                  ("all", {"all": self.total}))  # fmt: skip
        return [
            {"by": by, "name": name, **amounts_in(self.currency, sums)}
            for by, group in groups
            for name, sums in group.items()
        ]


@dataclass(frozen=True, slots=True)
class _Added:
    """A row that is added: whose it is, and what it is worth."""

    piece: str
    supplier: str
    category: str
    sums: Sums
    row: LedgerLine | Work


def totals(books: Books, span: Span) -> Totals:
    """Return what the pieces of a book cost over a span of days.

    Estimates count on the day they were made, labour on the day it was done, the rest on the day of its ledger row.
    """
    rows, not_added = _rows(books, span)
    by_piece: dict[str, Sums] = defaultdict(Sums)
    by_supplier: dict[str, Sums] = defaultdict(Sums)
    by_category: dict[str, Sums] = defaultdict(Sums)
    for row in rows:
        by_piece[row.piece] += row.sums
        by_supplier[row.supplier] += row.sums
        by_category[row.category] += row.sums
    for piece in books.restorations:  # an estimate agreed in one sum, where the ledger has none
        agreed = minor_of(piece.estimate, books.currency)
        if agreed and span.holds(piece.opened) and not _has_estimate(books, piece.restoration):
            for group, name in ((by_piece, piece.restoration), (by_supplier, ESTIMATES), (by_category, AGREED)):
                group[name] += Sums(estimate=agreed)
    moves = [row for row in rows if isinstance(row.row, LedgerLine) and is_move(row.row)]
    own = [m for m in moves if isinstance(m.row, LedgerLine) and line_of(books, m.row) is None]
    return Totals(
        currency=books.currency,
        span=span,
        by_piece=dict(sorted(by_piece.items())),
        by_supplier=dict(sorted(by_supplier.items())),
        by_category={name: by_category[name] for name in (*CATEGORY, AGREED) if name in by_category},
        total=sum(by_category.values(), Sums()),
        labour_hours=sum((r.row.hours or Decimal(0) for r in rows if isinstance(r.row, Work)), Decimal(0)),
        into_drawer=sum(m.sums.credit for m in moves if m not in own),
        out_of_drawer=sum(m.sums.paid for m in moves if m not in own),
        from_own_stock=sum(m.sums.paid - m.sums.credit for m in own),
        drawer_then=drawer_at(books, span.last),
        rows_added=len(rows),
        not_added=not_added,
    )


def drawer_at(books: Books, day: date | None = None) -> int:
    """Return what lay in the drawer by the end of a day: what left the accounts and was not used or sent back."""
    until, rates, worth = Span(last=day), dated_rates(books), 0
    for row in books.ledger:
        if is_move(row) and line_of(books, row) is not None and until.holds(row.date):
            value = ledger_value(row, books.currency, rates)
            if isinstance(value, int):
                worth += value if row.kind == "credit" else -value if row.kind == "paid" else 0
    return worth


def _rows(books: Books, span: Span) -> tuple[list[_Added], tuple[Finding, ...]]:
    rows: list[_Added] = []
    told: list[Finding] = []
    for added in (*_of_ledger(books), *_of_work(books)):
        if isinstance(added, Finding):
            told.append(added)
        elif span.holds(added.row.date):
            rows.append(added)
        elif added.row.date is None:
            told.append(_undated(added))
    told += [said for said in of_no_piece(books) if said not in told]
    return rows, tuple(told)


def _undated(added: _Added) -> Finding:
    where = added.row.row.place.of("date")
    saw = f"a row of {added.piece} has no day"
    return finding("row_not_added", where=where, saw=saw, try_this="Type its day; it is in no span of days.")


def _of_ledger(books: Books) -> Iterator[_Added | Finding]:
    rates = dated_rates(books)
    for line in books.ledger:
        if no_such_piece(books, line):
            continue  # named among the rows of no piece
        value = ledger_value(line, books.currency, rates)
        if isinstance(value, Finding):
            yield value
        else:
            yield _Added(line.restoration, _supplier(books, line), line.category, Sums(**{line.kind: value}), line)


def _supplier(books: Books, line: LedgerLine) -> str:
    if is_move(line):
        return DRAWER
    order = line_of(books, line)
    name = line.supplier or (order.supplier if order else "")
    known = index(books).suppliers.get(name.casefold())
    return (known.supplier if known else name) or (UNNAMED if line.kind != "estimate" else ESTIMATES)


def _has_estimate(books: Books, restoration: str) -> bool:
    rates = dated_rates(books)
    mine = (line for line in index(books).ledger_of[restoration] if line.kind == "estimate")
    return any(isinstance(value := ledger_value(line, books.currency, rates), int) and value for line in mine)


def _of_work(books: Books) -> Iterator[_Added | Finding]:
    needs = index(books).needs
    for work in books.work:
        if no_such_piece(books, work):
            continue
        value = work_value(work, books.currency)
        need = needs.get(work.need)
        if isinstance(value, Finding):
            yield value
        else:
            yield _Added(need.restoration if need else work.need, OWN, "labour", Sums(labour=value), work)
