"""Ledger rows that follow from an order line: committed when ordered, paid when it came, a credit when it went back.

One cost is one row whose kind goes from committed to paid, on the day it was paid. Where part of a line came, what
came is paid and the rest stays committed, a row each; what will never come is not paid. Rows whose sums are not those
of the line (an invoice said something else) keep them.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from orderbook.errors import finding
from orderbook.measures.exchange import Rates
from orderbook.records.books import Books
from orderbook.records.costs import Cost, costs_of, currency_of
from orderbook.records.credits import credit_due, credited, pieces_charged, pieces_credited, share_of
from orderbook.records.index import index
from orderbook.records.order_terms import rate_of
from orderbook.records.packs import pieces_bought, pieces_came, pieces_due, pieces_lost, pieces_returned
from orderbook.records.rows import Append, Clear, Put, Value
from orderbook.records.states import PAID
from orderbook.records.steps import Step
from orderbook.records.tables import LedgerLine, OrderLine

CHARGES = ("postage", "tax", "duty")


def ledger_steps(books: Books, line: OrderLine, rates: Rates, on: date) -> Iterator[Step]:
    """Return the steps that bring the ledger in line with the state of an order line."""
    rows = index(books).ledger_for[line.order]
    if line.state in ("cancelled", "lost"):
        yield from _uncommitted(line, rows)
    elif line.state == "ordered" or line.state in PAID:
        rate = rate_of(books, line, rates, line.ordered_on)
        costs = {part_of(cost.category): cost for cost in costs_of(books, line)}
        for part, cost in costs.items():
            mine = [row for row in rows if part_of(row.category) == part and row.kind in ("committed", "paid")]
            yield from _booked(line, part, cost, mine, rate, on)
        for row in rows:
            if part_of(row.category) not in costs and row.kind == "committed" and line.state in PAID:
                yield _paid(line, row, on)
        if line.state in PAID and pieces_returned(line):
            yield from _credits(books, line, rows, rate, on)


def part_of(category: str) -> str:
    """Return the part of a line that a category stands for: its goods, whatever they are, or a charge."""
    return category if category in CHARGES else "goods"


@dataclass(frozen=True, slots=True)
class _Due:
    """What should be paid and what committed for one part of a line."""

    paid: Decimal
    committed: Decimal


def due_for(line: OrderLine, part: str, total: Decimal, currency: str) -> _Due:
    """Return what of a cost is paid and what is still committed: by pieces that came, and those that will."""
    nothing = Decimal(0)
    if part not in ("goods", "tax"):
        return _Due(total, nothing) if line.state in PAID else _Due(nothing, total)
    bought = pieces_bought(line)
    came = min(pieces_came(line), bought) if line.state in PAID else 0
    paid = share_of(total, came, bought, currency)
    return _Due(paid, share_of(total, came + pieces_due(line), bought, currency) - paid)


def _booked(
    line: OrderLine, part: str, cost: Cost, rows: list[LedgerLine], rate: Decimal | None, on: date
) -> Iterator[Step]:
    total, currency = Decimal(cost.money.text), cost.money.currency
    due = due_for(line, part, total, currency)
    if not rows:
        for kind, amount in (("paid", due.paid), ("committed", due.committed)):
            if amount:
                yield _new_row(line, cost.category, kind, amount, currency, rate, on)
        return
    committed = [row for row in rows if row.kind == "committed"]
    if not committed:
        return
    whole = not pieces_due(line) and not pieces_lost(line)
    if line.state in PAID and (whole or part not in ("goods", "tax")):
        for row in committed:
            yield _paid(line, row, on)
        return
    if len(committed) == 1 and committed[0].amount is not None and committed[0].currency == currency:
        yield from _parted(line, rows, committed[0], due, total, rate, on)


def _parted(
    line: OrderLine, rows: list[LedgerLine], row: LedgerLine, due: _Due, total: Decimal, rate: Decimal | None, on: date
) -> Iterator[Step]:
    """Part a committed row into what has come, which is paid, and the rest; a sum of the user's own in proportion."""
    open_sum = row.amount or Decimal(0)
    paid = sum((r.amount or Decimal(0) for r in rows if r.kind == "paid"), Decimal(0))
    if paid + open_sum in (due.paid + due.committed, total):
        now, rest = due.paid - paid, due.committed
    elif not paid and due.paid + due.committed:
        came = min(pieces_came(line), pieces_charged(line)) if line.state in PAID else 0
        now = share_of(open_sum, came, pieces_charged(line), row.currency)
        rest = open_sum - now
    else:
        return
    if now < 0:
        return
    where = row.row.place
    if now > 0:
        values: dict[str, Value] = {"kind": "paid", "date": _day_paid(line, on)}
        saw = f"still committed, but {line.order} is {line.state}"
        if now != open_sum:
            values["amount"] = now
            saw = f"{open_sum} still committed, but {now} of it came with {line.order}"
        yield Step(Put("Ledger", where.row, values), finding("ledger_kind_behind", where=where.of("kind"), saw=saw))
        if rest:
            yield _new_row(line, row.category, "committed", rest, row.currency, row.rate or rate, on)
    elif not rest:
        saw = f"{open_sum} {row.currency} committed to {line.order}, of which no more will come"
        yield Step(Clear("Ledger", where.row), finding("committed_after_cancel", where=where.of("kind"), saw=saw))
    elif rest != open_sum:
        saw = f"{open_sum} committed to {line.order}, of which {rest} will come"
        change = Put("Ledger", where.row, {"amount": rest})
        yield Step(change, finding("ledger_kind_behind", where=where.of("amount"), saw=saw))


def _paid(line: OrderLine, row: LedgerLine, on: date) -> Step:
    saw = f"still committed, but {line.order} is {line.state}"
    change = Put("Ledger", row.row.place.row, {"kind": "paid", "date": _day_paid(line, on)})
    return Step(change, finding("ledger_kind_behind", where=row.row.place.of("kind"), saw=saw))


def _day_paid(line: OrderLine, on: date) -> date:
    """Return the day a line was paid: the day it came, for then its bill is due (common practice, no source)."""
    return line.received_on or on


def _new_row(
    line: OrderLine, category: str, kind: str, amount: Decimal, currency: str, rate: Decimal | None, on: date
) -> Step:
    values: dict[str, Value] = {
        "date": _day_paid(line, on) if kind == "paid" else line.ordered_on or on,
        "restoration": line.restoration,
        "category": category,
        "kind": kind,
        "amount": amount,
        "currency": currency,
        "rate": rate,
        "order": line.order,
        "note": f"{line.supplier} {line.item}".strip(),
    }
    saw = f"{line.order} is {line.state}, but Ledger has no {kind} row of {amount} {currency} for its {category}"
    return Step(Append("Ledger", values), finding("ledger_row_missing", where=line.row.place.of("state"), saw=saw))


def _uncommitted(line: OrderLine, rows: list[LedgerLine]) -> Iterator[Step]:
    for row in rows:
        if row.kind == "committed":
            saw = f"{row.amount} {row.currency} for {row.category} committed to {row.order}, which is {line.state}"
            change = Clear("Ledger", row.row.place.row)
            yield Step(change, finding("committed_after_cancel", where=row.row.place.of("kind"), saw=saw))


def _credits(books: Books, line: OrderLine, rows: list[LedgerLine], rate: Decimal | None, on: date) -> Iterator[Step]:
    """Credit what was paid for goods and tax of the pieces that went back; postage is not given back.

    Credits of another sum than any number of pieces gives are the supplier's own (a fee kept): nothing is added.
    """
    costs = {part_of(cost.category): cost for cost in costs_of(books, line)}
    for part in ("goods", "tax"):
        mine = [row for row in rows if part_of(row.category) == part]
        sums: dict[tuple[str, str, Decimal | None], Decimal] = {}
        for row in mine:
            if row.kind in ("committed", "paid") and row.amount is not None:
                key = row.category, row.currency, row.rate
                sums[key] = sums.get(key, Decimal(0)) + row.amount
        if not sums and part in costs:
            cost = costs[part].money
            due = due_for(line, part, Decimal(cost.text), cost.currency)
            sums[costs[part].category, cost.currency, rate] = due.paid + due.committed
        before = pieces_credited(line, [(amount, key[1]) for key, amount in sums.items()], credited(mine))
        for (category, currency, its_rate), amount in sums.items() if before is not None else ():
            more = credit_due(line, amount, currency) - credit_due(line, amount, currency, before)
            if more > 0:
                yield _credit(line, category, more, currency, its_rate, on)


def _credit(line: OrderLine, category: str, amount: Decimal, currency: str, rate: Decimal | None, on: date) -> Step:
    values: dict[str, Value] = {
        "date": on, "restoration": line.restoration, "category": category, "kind": "credit", "amount": amount,
        "currency": currency, "rate": rate, "order": line.order,
        "note": f"{line.supplier} {line.item}".strip() + " returned",
    }  # fmt: skip
    back, key = (
        ("is returned", "state")
        if line.qty_returned is None
        else (f"had {line.qty_returned} sent back", "qty_returned")
    )
    saw = f"{line.order} {back}, but Ledger has no credit of {amount} {currency} for its {category}"
    return Step(Append("Ledger", values), finding("credit_missing", where=line.row.place.of(key), saw=saw))


def booked_for(books: Books, line: OrderLine) -> Decimal:
    """Return what the ledger should hold for a line, paid and committed, in its own currency."""
    currency = currency_of(books, line)
    total = Decimal(0)
    for cost in costs_of(books, line):
        due = due_for(line, part_of(cost.category), Decimal(cost.money.text), currency)
        total += due.paid + due.committed
    return total
