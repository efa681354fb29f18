"""What the books must say once an order line has a state and a spring a verdict.

Commands and `check --fix` both come through here, so that marking a line and typing its state end the same.
One cost is one ledger row: committed when ordered, paid when received, a credit beside it when returned.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal

from orderbook.errors import Finding, finding
from orderbook.records.books import Books
from orderbook.records.conversion import DatedRates, dated_rates
from orderbook.records.costs import Cost, costs_of, currency_of, supplier_named
from orderbook.records.identifiers import next_identifiers
from orderbook.records.index import index
from orderbook.records.rows import Append, Change, Clear, Put, Value
from orderbook.records.stages import standing
from orderbook.records.states import PAID
from orderbook.records.tables import LedgerLine, OrderLine
from orderbook.records.verdicts import last_trial, side_of

CHARGES = ("postage", "tax", "duty")
_DRAWER_STATE = {"in drawer": "in drawer", "fitted": "fitted", "returned": "gone"}


@dataclass(frozen=True, slots=True)
class Step:
    """One thing the books lack: the change that puts it right, and the finding that says so."""

    change: Change
    finding: Finding


def settled(books: Books, *, on: date, lines: Iterable[str] | None = None) -> tuple[Step, ...]:
    """Return the steps that bring ledger, drawer and later stages in line with the states of order lines.

    Parameters: on, the day credits are dated; lines, order lines to look at (all, if not given).
    """
    rates = dated_rates(books)
    wanted = None if lines is None else set(lines)
    steps: list[Step] = []
    labels = _free_labels(books)
    names = Counter(line.order for line in books.orders)
    for line in books.orders:
        if not line.order or names[line.order] > 1:  # of two lines with one number nobody knows whose the rows are
            continue
        if wanted is None or line.order in wanted:
            line_steps = (
                *_terms(books, line, rates),
                *_ledger(books, line, rates, on),
                *_drawer(books, line, labels),
                *_fitted(books, line),
                *_not_needed(books, line),
            )
            steps.extend(line_steps)
    return tuple(steps)


def expected_on(books: Books, line: OrderLine, ordered_on: date) -> date | None:
    """Return the day a line should come, by its supplier's lead time."""
    supplier = supplier_named(books, line.supplier)
    return ordered_on + timedelta(days=supplier.lead_days) if supplier and supplier.lead_days is not None else None


def rate_of(books: Books, line: OrderLine, rates: DatedRates, on: date | None) -> Decimal | None:
    """Return the rate of a line: its own, else the dated one; none is needed in the book's currency."""
    currency = currency_of(books, line)
    return line.rate if line.rate is not None or currency == books.currency else rates.on(currency, on)


def _terms(books: Books, line: OrderLine, rates: DatedRates) -> Iterator[Step]:
    if line.state == "ordered" and line.ordered_on:
        missing: dict[str, date | Decimal] = {}
        if line.expected is None and (day := expected_on(books, line, line.ordered_on)):
            missing["expected"] = day
        if line.rate is None and (rate := rate_of(books, line, rates, line.ordered_on)) is not None:
            missing["rate"] = rate
        for key, value in missing.items():
            saw = f"{line.order} has no {key.replace('_', ' ')}; {value} follows from Suppliers and Rates"
            change = Put("Orders", line.row.place.row, {key: value})
            yield Step(change, finding("order_term_missing", where=line.row.place.of(key), saw=saw))


def _ledger(books: Books, line: OrderLine, rates: DatedRates, on: date) -> Iterator[Step]:
    rows = index(books).ledger_for[line.order]
    if line.state == "cancelled":
        yield from _uncommitted(rows)
    elif line.state == "ordered" or line.state in PAID:
        kind = "committed" if line.state == "ordered" else "paid"
        missing = _missing(books, line, rows)
        for cost in missing:
            yield _new_row(books, line, cost, kind, rate_of(books, line, rates, line.ordered_on), on)
        if kind == "paid":
            yield from _now_paid(line, rows)
        if line.state == "returned":
            yield from _credits(books, line, rows, missing, rates, on)


def _missing(books: Books, line: OrderLine, rows: list[LedgerLine]) -> list[Cost]:
    have = {_part(row.category) for row in rows if row.kind in ("committed", "paid")}
    return [cost for cost in costs_of(books, line) if _part(cost.category) not in have]


def _part(category: str) -> str:
    return category if category in CHARGES else "goods"


def _new_row(books: Books, line: OrderLine, cost: Cost, kind: str, rate: Decimal | None, on: date) -> Step:
    day = on if kind == "credit" else line.ordered_on or line.received_on or on
    values: dict[str, Value] = {
        "date": day,
        "restoration": line.restoration,
        "category": cost.category,
        "kind": kind,
        "amount": Decimal(cost.money.text),
        "currency": cost.money.currency,
        "rate": rate,
        "order": line.order,
        "note": f"{line.supplier} {line.item}".strip() + (" returned" if kind == "credit" else ""),
    }
    code = "credit_missing" if kind == "credit" else "ledger_row_missing"
    saw = f"{line.order} is {line.state}, but Ledger has no {kind} row of {cost.money} for its {cost.category}"
    return Step(Append("Ledger", values), finding(code, where=line.row.place.of("state"), saw=saw))


def _now_paid(line: OrderLine, rows: list[LedgerLine]) -> Iterator[Step]:
    for row in rows:
        if row.kind == "committed":
            saw = f"still committed, but {line.order} is {line.state}"
            change = Put("Ledger", row.row.place.row, {"kind": "paid"})
            yield Step(change, finding("ledger_kind_behind", where=row.row.place.of("kind"), saw=saw))


def _credits(
    books: Books, line: OrderLine, rows: list[LedgerLine], missing: list[Cost], rates: DatedRates, on: date
) -> Iterator[Step]:
    """Credit what was paid for goods and tax; postage is not given back."""
    credited = {_part(row.category) for row in rows if row.kind == "credit"}
    paid = [row for row in rows if row.kind in ("committed", "paid") and _part(row.category) in ("goods", "tax")]
    for row in paid:
        if _part(row.category) not in credited and row.amount is not None:
            yield _credit_of(line, row, on)
    for cost in missing:
        if _part(cost.category) in {"goods", "tax"} - credited:
            yield _new_row(books, line, cost, "credit", rate_of(books, line, rates, line.ordered_on), on)


def _credit_of(line: OrderLine, row: LedgerLine, on: date) -> Step:
    values: dict[str, Value] = {
        "date": on, "restoration": row.restoration, "category": row.category, "kind": "credit", "amount": row.amount,
        "currency": row.currency, "rate": row.rate, "order": line.order,
        "note": f"{line.supplier} {line.item}".strip() + " returned",
    }  # fmt: skip
    saw = f"{line.order} is returned, but Ledger has no credit for its {row.category} ({row.amount} {row.currency})"
    return Step(Append("Ledger", values), finding("credit_missing", where=line.row.place.of("state"), saw=saw))


def _uncommitted(rows: list[LedgerLine]) -> Iterator[Step]:
    for row in rows:
        if row.kind == "committed":
            saw = f"{row.amount} {row.currency} for {row.category} committed to {row.order}, which is cancelled"
            change = Clear("Ledger", row.row.place.row)
            yield Step(change, finding("committed_after_cancel", where=row.row.place.of("kind"), saw=saw))


def _free_labels(books: Books) -> Iterator[str]:
    taken = [d.drawer for d in books.drawer]
    while True:
        taken.extend(next_identifiers("D", taken))
        yield taken[-1]


def _drawer(books: Books, line: OrderLine, labels: Iterator[str]) -> Iterator[Step]:
    wanted = _DRAWER_STATE.get(line.state)
    owned = index(books).drawer_from[line.order]
    if line.state == "in drawer" and not owned and line.strength_mm is not None:
        yield _into_drawer(books, line, next(labels))
    for spring in owned:
        if wanted and spring.state != wanted:
            saw = f"“{spring.state}”, but {line.order} is {line.state}"
            change = Put("Drawer", spring.row.place.row, {"state": wanted})
            yield Step(change, finding("drawer_state_behind", where=spring.row.place.of("state"), saw=saw))


def _into_drawer(books: Books, line: OrderLine, label: str) -> Step:
    values: dict[str, Value] = {
        "drawer": label,
        "label": f"{line.supplier} {line.item}".strip(),
        "width_mm": line.width_mm,
        "strength_mm": line.strength_mm,
        "length_mm": line.length_mm,
        "whose": "ours",
        "origin": "used" if last_trial(books, line.order) else "new",
        "order": line.order,
        "price": line.price,
        "currency": currency_of(books, line),
        "state": "in drawer",
    }
    saw = f"{line.order} is in drawer, but Drawer has no row for it"
    return Step(Append("Drawer", values), finding("drawer_row_missing", where=line.row.place.of("state"), saw=saw))


def _fitted(books: Books, line: OrderLine) -> Iterator[Step]:
    trial = last_trial(books, line.order)
    if line.state == "received" and trial and side_of(trial.verdict) == "kept":
        saw = f"{line.order} {trial.verdict}, but is still received"
        change = Put("Orders", line.row.place.row, {"state": "fitted"})
        yield Step(change, finding("state_behind_trial", where=line.row.place.of("state"), saw=saw))


def _not_needed(books: Books, line: OrderLine) -> Iterator[Step]:
    if line.state == "planned" and (how := standing(books, line)).due == "off":
        saw = f"{line.order} is planned, but will not be needed ({how.why})"
        change = Put("Orders", line.row.place.row, {"state": "cancelled"})
        yield Step(change, finding("stage_not_needed", where=line.row.place.of("state"), saw=saw))


def choice_of(books: Books, spring: str) -> tuple[str, ...]:
    """Return the order lines whose standing a verdict on a spring may change: those of its restoration."""
    found = index(books)
    line = found.orders.get(spring)
    trials = found.trials_with[spring]
    names = {line.restoration} if line else set()
    names |= {found.barrels[t.barrel].restoration for t in trials if t.barrel in found.barrels}
    return tuple(o.order for name in names for o in found.orders_of[name])
