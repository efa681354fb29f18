"""What the books must say once an order line has a state and a spring a verdict.

Commands and the check that mends both come through here, so that marking a line and typing its state end the same.
One cost is one ledger row: committed when ordered, paid when received, a credit beside it when returned.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from datetime import date, timedelta
from decimal import Decimal

from orderbook.errors import Finding, finding
from orderbook.measures.exchange import Rates
from orderbook.records.books import Books
from orderbook.records.conversion import dated_rates
from orderbook.records.costs import Cost, costs_of, currency_of, price_of_one, supplier_named
from orderbook.records.credits import credit_due, credited, pieces_credited
from orderbook.records.identifiers import next_identifiers
from orderbook.records.index import index
from orderbook.records.packs import fitted_from, pieces_in_drawer, pieces_in_hand, pieces_returned
from orderbook.records.rows import Append, Change, Clear, Put, Value
from orderbook.records.stages import standing
from orderbook.records.states import IN_HAND, PAID
from orderbook.records.tables import LedgerLine, OrderLine
from orderbook.records.verdicts import last_trial, side_of

CHARGES = ("postage", "tax", "duty")
_BECAME = {"in drawer": "fitted", "fitted": "fitted", "returned": "gone"}  # of a row of which no piece is left


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
                *_all_went_back(line),
                *_not_needed(books, line),
            )
            steps.extend(line_steps)
    return tuple(steps)


def expected_on(books: Books, line: OrderLine, ordered_on: date) -> date | None:
    """Return the day a line should come, by its supplier's lead time."""
    supplier = supplier_named(books, line.supplier)
    return ordered_on + timedelta(days=supplier.lead_days) if supplier and supplier.lead_days is not None else None


def rate_of(books: Books, line: OrderLine, rates: Rates, on: date | None) -> Decimal | None:
    """Return the rate of a line: its own, else the dated one; none is needed in the book's currency."""
    currency = currency_of(books, line)
    return line.rate if line.rate is not None or currency == books.currency else rates.on(currency, on)


def _terms(books: Books, line: OrderLine, rates: Rates) -> Iterator[Step]:
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


def _ledger(books: Books, line: OrderLine, rates: Rates, on: date) -> Iterator[Step]:
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
            if pieces_returned(line):
                yield from _credits(books, line, rows, missing, rates, on)


def _missing(books: Books, line: OrderLine, rows: list[LedgerLine]) -> list[Cost]:
    have = {_part(row.category) for row in rows if row.kind in ("committed", "paid")}
    return [cost for cost in costs_of(books, line) if _part(cost.category) not in have]


def _part(category: str) -> str:
    return category if category in CHARGES else "goods"


def _new_row(books: Books, line: OrderLine, cost: Cost, kind: str, rate: Decimal | None, on: date) -> Step:
    values: dict[str, Value] = {
        "date": line.ordered_on or line.received_on or on,
        "restoration": line.restoration,
        "category": cost.category,
        "kind": kind,
        "amount": Decimal(cost.money.text),
        "currency": cost.money.currency,
        "rate": rate,
        "order": line.order,
        "note": f"{line.supplier} {line.item}".strip(),
    }
    saw = f"{line.order} is {line.state}, but Ledger has no {kind} row of {cost.money} for its {cost.category}"
    return Step(Append("Ledger", values), finding("ledger_row_missing", where=line.row.place.of("state"), saw=saw))


def _now_paid(line: OrderLine, rows: list[LedgerLine]) -> Iterator[Step]:
    for row in rows:
        if row.kind == "committed":
            saw = f"still committed, but {line.order} is {line.state}"
            change = Put("Ledger", row.row.place.row, {"kind": "paid"})
            yield Step(change, finding("ledger_kind_behind", where=row.row.place.of("kind"), saw=saw))


def _credits(
    books: Books, line: OrderLine, rows: list[LedgerLine], missing: list[Cost], rates: Rates, on: date
) -> Iterator[Step]:
    """Credit what was paid for goods and tax of the pieces that went back; postage is not given back.

    Credits of another sum than any number of pieces gives are the supplier's own (a fee kept): nothing is added.
    """
    for part in ("goods", "tax"):
        mine = [row for row in rows if _part(row.category) == part]
        paid = [_Paid(r.category, r.amount, r.currency, r.rate)
                for r in mine if r.kind in ("committed", "paid") and r.amount is not None]  # fmt: skip
        rate = rate_of(books, line, rates, line.ordered_on)
        paid += [_Paid(c.category, Decimal(c.money.text), c.money.currency, rate)
                 for c in missing if _part(c.category) == part]  # fmt: skip
        before = pieces_credited(line, [(p.amount, p.currency) for p in paid], credited(mine))
        for p in paid if before is not None else ():
            more = credit_due(line, p.amount, p.currency) - credit_due(line, p.amount, p.currency, before)
            if more > 0:
                yield _credit_of(line, replace(p, amount=more), on)


@dataclass(frozen=True, slots=True)
class _Paid:
    category: str
    amount: Decimal
    currency: str
    rate: Decimal | None


def _credit_of(line: OrderLine, paid: _Paid, on: date) -> Step:
    values: dict[str, Value] = {
        "date": on, "restoration": line.restoration, "category": paid.category, "kind": "credit",
        "amount": paid.amount, "currency": paid.currency, "rate": paid.rate, "order": line.order,
        "note": f"{line.supplier} {line.item}".strip() + " returned",
    }  # fmt: skip
    back, key = (
        ("is returned", "state")
        if line.qty_returned is None
        else (f"had {line.qty_returned} sent back", "qty_returned")
    )
    saw = f"{line.order} {back}, but Ledger has no credit of {paid.amount} {paid.currency} for its {paid.category}"
    return Step(Append("Ledger", values), finding("credit_missing", where=line.row.place.of(key), saw=saw))


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
    """Keep the rows of Drawer that came with a line in step: those marked drawer, and what is over of a pack."""
    owned, pieces = index(books).drawer_from[line.order], pieces_in_drawer(books, line)
    if pieces and not owned and line.strength_mm is not None:
        yield _into_drawer(books, line, pieces, next(labels))
    wanted = "in drawer" if pieces else _BECAME.get(line.state)
    for spring in owned:
        if wanted and spring.state != wanted:
            saw = f"“{spring.state}”, but {_in_drawer_words(line, pieces)}"
            change = Put("Drawer", spring.row.place.row, {"state": wanted})
            yield Step(change, finding("drawer_state_behind", where=spring.row.place.of("state"), saw=saw))
    if pieces and len(owned) == 1 and (owned[0].pieces or 1) != pieces:
        saw = f"{owned[0].pieces or 1} in Drawer, but {_in_drawer_words(line, pieces)}"
        change = Put("Drawer", owned[0].row.place.row, {"pieces": pieces})
        yield Step(change, finding("drawer_state_behind", where=owned[0].row.place.of("pieces"), saw=saw))


def _in_drawer_words(line: OrderLine, pieces: int) -> str:
    if line.state == "in drawer" and pieces == 1:
        return f"{line.order} is in drawer"
    return f"{line.order} is {line.state}" + (f" and leaves {pieces} over" if pieces else "")


def _into_drawer(books: Books, line: OrderLine, pieces: int, label: str) -> Step:
    currency, is_over = currency_of(books, line), line.state != "in drawer"
    values: dict[str, Value] = {
        "drawer": label,
        "label": f"{line.supplier} {line.item}".strip(),
        "width_mm": line.width_mm,
        "strength_mm": line.strength_mm,
        "length_mm": line.length_mm,
        "pieces": pieces if pieces > 1 else None,
        "whose": "ours",
        "origin": "used" if last_trial(books, line.order) and not is_over else "new",
        "order": line.order,
        "price": None if (one := price_of_one(books, line)) is None else Decimal(one.text),
        "currency": currency,
        "state": "in drawer",
    }
    many = f"{pieces} pieces of it are" if pieces > 1 else "a piece of it is" if is_over else "it is"
    saw = f"{line.order} is {line.state}; {many} in the drawer, but Drawer has no row for it"
    return Step(Append("Drawer", values), finding("drawer_row_missing", where=line.row.place.of("state"), saw=saw))


def _fitted(books: Books, line: OrderLine) -> Iterator[Step]:
    trial = last_trial(books, line.order)
    if line.state == "received" and trial and side_of(trial.verdict) == "kept":
        yield _now_fitted(line, f"{line.order} {trial.verdict}, but is still received")
    elif line.state == "in drawer" and not pieces_in_drawer(books, line):
        for spring in index(books).drawer_from[line.order]:
            if fitted_from(books, spring):
                yield _now_fitted(line, f"{spring.drawer} ran well, but {line.order} is still in drawer")


def _now_fitted(line: OrderLine, saw: str) -> Step:
    change = Put("Orders", line.row.place.row, {"state": "fitted"})
    return Step(change, finding("state_behind_trial", where=line.row.place.of("state"), saw=saw))


def _all_went_back(line: OrderLine) -> Iterator[Step]:
    if line.state in IN_HAND and line.qty_returned and not pieces_in_hand(line):
        saw = f"all {line.qty_returned} of {line.order} went back, but it is {line.state}"
        change = Put("Orders", line.row.place.row, {"state": "returned"})
        yield Step(change, finding("state_behind_return", where=line.row.place.of("state"), saw=saw))


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
    mine = {o.order for name in names for o in found.orders_of[name]}
    came_with = (
        found.drawer[spring].order if spring in found.drawer else ""
    )  # it may have been bought for another piece
    return tuple(o.order for o in books.orders if o.order in mine or o.order == came_with)
