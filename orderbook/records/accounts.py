"""What a restoration costs: by category and by barrel, each row that could not be added named beside the total."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from functools import lru_cache
from typing import Any, ClassVar

from orderbook.errors import Finding, finding
from orderbook.measures.exchange import Rates
from orderbook.measures.money import Money, minor_digits, rounded
from orderbook.records.books import Books
from orderbook.records.conversion import dated_rates
from orderbook.records.costs import currency_of, goods_cost
from orderbook.records.index import barrel_of, index
from orderbook.records.packs import packs_bought, pieces_bought, pieces_due
from orderbook.records.sheet_names import no_such_piece, spelled_otherwise
from orderbook.records.tables import CATEGORY, KIND, LedgerLine, OrderLine, Work
from orderbook.shown import Drawn

AMOUNTS = ("estimate", "committed", "paid", "credit", "labour", "balance")

AGREED = "not by category"  # the estimate agreed, where the ledger has none by category


@dataclass(frozen=True, slots=True)
class Sums:
    """Whole minor units of the book's currency; labour is hours × rate from Work, the rest is from Ledger."""

    estimate: int = 0
    committed: int = 0
    paid: int = 0
    credit: int = 0
    labour: int = 0

    @property
    def balance(self) -> int:
        """What is left of the estimate: estimate − committed − paid + credit − labour done."""
        return self.estimate - self.committed - self.paid + self.credit - self.labour

    @property
    def spent(self) -> int:
        """What was paid, less credits, with labour done."""
        return self.paid - self.credit + self.labour

    def __add__(self, other: Sums) -> Sums:
        """Add two sets of sums."""
        return Sums(*(getattr(self, name) + getattr(other, name) for name in ("estimate", *KIND[1:], "labour")))


def amounts_in(currency: str, sums: Sums) -> dict[str, str]:
    """Return sums as JSON keys; money is text."""
    return {name: Money(getattr(sums, name), currency).text for name in AMOUNTS}


@dataclass(frozen=True, slots=True)
class ToCome:
    """An order line for which something is still expected, what it will cost in the book's currency, and how many."""

    line: OrderLine
    cost: int | None
    late_days: int
    pieces: int = 0


@dataclass(frozen=True, slots=True, repr=False)
class Account(Drawn):
    """The account of one restoration."""

    shown_words: ClassVar[str] = "orderbook.reports.account_text:account_text"
    shown_picture: ClassVar[str] = "orderbook.reports.account_figure:draw"
    shown_columns: ClassVar[tuple[str, ...]] = ("category", *AMOUNTS)

    restoration: str
    piece: str
    currency: str
    by_category: Mapping[str, Sums]
    by_barrel: Mapping[str, Sums]
    total: Sums
    labour_hours: Decimal
    to_come: tuple[ToCome, ...]
    agreed: int | None
    not_above: int | None
    rows_added: int
    not_added: tuple[Finding, ...]

    def money(self, minor: int) -> Money:
        """Return an amount of the account as money."""
        return Money(minor, self.currency)

    @property
    def findings(self) -> tuple[Finding, ...]:
        """What stands in the way of the rows that were not added."""
        return self.not_added

    def as_dict(self) -> dict[str, Any]:
        """Return the JSON keys of `ledger`; money is text."""
        return {
            "restoration": self.restoration,
            "piece": self.piece,
            "currency": self.currency,
            "categories": {name: amounts_in(self.currency, sums) for name, sums in self.by_category.items()},
            "barrels": {
                name or "not of one barrel": amounts_in(self.currency, sums) for name, sums in self.by_barrel.items()
            },
            "total": amounts_in(self.currency, self.total),
            "labour_hours": f"{self.labour_hours.normalize():f}",
            "estimate_agreed": None if self.agreed is None else self.money(self.agreed).text,
            "not_above": None if self.not_above is None else self.money(self.not_above).text,
            "to_come": [self._to_come(line) for line in self.to_come],
            "rows_added": self.rows_added,
            "rows_not_added": len(self.not_added),
            "findings": [f.as_dict() for f in self.not_added],
        }

    def shown_rows(self) -> list[dict[str, Any]]:
        """Return the categories, a row each, and all of them together."""
        named = {**self.by_category, "all": self.total}
        return [{"category": name, **amounts_in(self.currency, sums)} for name, sums in named.items()]

    def _to_come(self, expected: ToCome) -> dict[str, Any]:
        line = expected.line
        return {
            "order": line.order,
            "supplier": line.supplier,
            "item": line.item,
            "state": line.state,
            "expected": line.expected.isoformat() if line.expected else None,
            "days_late": expected.late_days,
            "pieces_due": expected.pieces,
            "cost": None if expected.cost is None else self.money(expected.cost).text,
        }


def account(books: Books, restoration: str, *, on: date) -> Account:
    """Return the account of a restoration.

    Parameters: restoration, its identifier; on, the day by which a delivery counts as late.
    Raises: OrderbookError(not_in_the_book).
    """
    piece, found = books.restoration(restoration), index(books)
    not_added: list[Finding] = []
    rates = dated_rates(books)
    by_category: dict[str, Sums] = defaultdict(Sums)
    by_barrel: dict[str, Sums] = defaultdict(Sums)
    added = 0
    for line in found.ledger_of[restoration]:
        value = no_such_piece(books, line) or ledger_value(line, books.currency, rates)
        if isinstance(value, Finding):
            not_added.append(value)
            continue
        sums = Sums(**{line.kind: value})
        by_category[line.category] += sums
        by_barrel[barrel_of(books, line)] += sums
        added += 1
    hours = Decimal(0)
    for work in found.work_of[restoration]:
        value = no_such_piece(books, work) or work_value(work, books.currency)
        if isinstance(value, Finding):
            not_added.append(value)
            continue
        hours += work.hours or 0
        by_category["labour"] += Sums(labour=value)
        need = found.needs.get(work.need)
        by_barrel[need.barrel if need else ""] += Sums(labour=value)
        added += 1
    agreed = minor_of(piece.estimate, books.currency)
    if agreed and not sum(sums.estimate for sums in by_category.values()):
        by_category[AGREED] += Sums(estimate=agreed)
        by_barrel[""] += Sums(estimate=agreed)
    not_added += [said for said in of_no_piece(books) if said not in not_added]
    return Account(
        restoration=restoration,
        piece=piece.piece,
        currency=books.currency,
        by_category={name: by_category[name] for name in (*CATEGORY, AGREED) if name in by_category},
        by_barrel=dict(sorted(by_barrel.items())),
        total=sum(by_category.values(), Sums()),
        labour_hours=hours,
        to_come=_to_come(books, restoration, rates, on),
        agreed=agreed,
        not_above=minor_of(piece.not_above, books.currency),
        rows_added=added,
        not_added=tuple(not_added),
    )


@lru_cache(maxsize=4)
def of_no_piece(books: Books) -> tuple[Finding, ...]:
    """Name the rows of Ledger and Work that no account takes in, for nobody can tell whose they are."""
    told: list[Finding] = []
    for line in books.ledger:
        if line.restoration or line.row.get("amount") not in (None, ""):
            told += filter(None, [no_such_piece(books, line)])
    for work in books.work:
        if work.need or work.row.get("hours") not in (None, ""):
            told += filter(None, [no_such_piece(books, work)])
    return tuple(told)


def ledger_value(line: LedgerLine, book_currency: str, rates: Rates | None = None) -> int | Finding:
    """Return a ledger row in minor units of the book's currency, or why it cannot be added.

    amount × rate, rounded half away from zero once, per row: as the book's own formula does.
    """
    where = line.row.place.of
    for key, seen, words in (("category", line.category, CATEGORY), ("kind", line.kind, KIND)):
        if seen not in words:
            saw = f"{key} “{seen}”" if seen else f"no {key}"
            return finding("row_not_added", where=where(key), saw=saw, try_this=f"Choose a {key} from the list.")
        if trouble := spelled_otherwise(line, key):
            return trouble
    if line.category == "labour" and line.kind != "estimate":
        saw = f"labour that is {line.kind}"
        return finding("row_not_added", where=where("category"), saw=saw, try_this="Enter labour done in Work.")
    if trouble := not_a_number(line, "amount"):
        return trouble
    assert line.amount is not None
    if line.amount < 0:
        try_this = "Take the minus away; a credit is a kind of row, not a negative amount."
        return finding("row_not_added", where=where("amount"), saw=f"{line.amount} is below zero", try_this=try_this)
    if trouble := spelled_otherwise(line, "currency"):
        return trouble
    if not line.currency:
        typed = line.row.get("currency")
        saw = "no currency" if typed in (None, "") else f"currency “{typed}”"
        return finding("row_not_added", where=where("currency"), saw=saw, try_this="Type its three letters, as GBP.")
    if line.row.get("rate") not in (None, "") and (trouble := not_a_number(line, "rate")):
        return trouble
    rate = line.rate
    if rate is None and line.currency == book_currency:
        rate = Decimal(1)
    if rate is None or rate <= 0:
        return _no_rate(line, rates)
    return rounded((line.amount * rate).scaleb(minor_digits(book_currency)))


def not_a_number(record: LedgerLine | Work, key: str) -> Finding | None:
    """Say why a cell cannot be added: nothing, no number, or (in a workbook) a number typed as text."""
    seen, where = record.row.get(key), record.row.place.of(key)
    if getattr(record, key) is None:
        saw = f"no {key}" if seen in (None, "") else f"{key} “{seen}” is not a number"
        return finding("row_not_added", where=where, saw=saw, try_this=f"Type the {key} as a number.")
    if isinstance(seen, str) and record.row.place.sheet:  # a sheet's own sums do not see it either
        try_this = f"Type {getattr(record, key)} there again; ⟨!check fix⟩ does it."
        return finding("row_not_added", where=where, saw=f"{key} “{seen}” is text", try_this=try_this)
    return None


def _no_rate(line: LedgerLine, rates: Rates | None) -> Finding:
    where = line.row.place.of("rate")
    if line.rate is not None:
        return finding("row_not_added", where=where, saw=f"rate {line.rate}", try_this="Type a rate above zero.")
    known = rates.on(line.currency, line.date) if rates else None
    try_this = (
        f"Type {known} there, the rate in Rates; ⟨!check fix⟩ does it."
        if known
        else f"Add a rate of {line.currency} to Rates, on the sheet Lists."
    )
    saw = f"{line.amount} {line.currency} has no rate" + (f" on {line.date}" if line.date else "")
    return finding("row_not_added", where=where, saw=saw, try_this=try_this)


def work_value(work: Work, book_currency: str) -> int | Finding:
    """Return hours × rate in minor units of the book's currency, or why they cannot be added."""
    for key in ("hours", "rate"):
        if trouble := not_a_number(work, key):
            return trouble
        if (value := getattr(work, key)) < 0:
            where, try_this = work.row.place.of(key), "Type the hours worked and what an hour costs."
            return finding("row_not_added", where=where, saw=f"{key} {value} is below zero", try_this=try_this)
    return rounded(((work.hours or 0) * (work.rate or Decimal(0))).scaleb(minor_digits(book_currency)))


def minor_of(amount: Decimal | None, currency: str) -> int | None:
    """Return an amount in whole minor units; nothing where there is none."""
    return None if amount is None else rounded(amount.scaleb(minor_digits(currency)))


def _to_come(books: Books, restoration: str, rates: Rates, on: date) -> tuple[ToCome, ...]:
    lines = [o for o in index(books).orders_of[restoration] if o.state == "planned" or pieces_due(o)]
    return tuple(ToCome(line, to_come_cost(books, line, rates), _late(line, on), pieces_due(line)) for line in lines)


def to_come_cost(books: Books, line: OrderLine, rates: Rates) -> int | None:
    """Return what is still to be paid in the book's currency; nothing where price or rate is not known.

    Goods and tax of the pieces still due, and the postage where nothing came yet.
    """
    currency = currency_of(books, line)
    rate = line.rate or (Decimal(1) if currency == books.currency else rates.on(currency, line.ordered_on))
    if line.price is None or rate is None:
        return None
    bought = pieces_bought(line)
    rest = bought if line.state == "planned" else pieces_due(line)
    goods = Decimal(goods_cost(line, currency).text) if line.goods is not None else line.price * packs_bought(line)
    part = (goods + (line.tax or 0)) * rest / bought if bought else Decimal(0)
    whole = part + ((line.postage or 0) if line.state in ("planned", "ordered") else 0)
    return rounded((whole * rate).scaleb(minor_digits(books.currency)))


def _late(line: OrderLine, on: date) -> int:
    late = pieces_due(line) > 0 and line.expected is not None and line.expected < on
    return (on - line.expected).days if late and line.expected else 0
