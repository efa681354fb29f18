"""Amounts: negative, too fine, without rate, of two currencies, and ledger rows that differ from their orders."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date
from decimal import Decimal

from orderbook.errors import Finding, finding
from orderbook.measures.money import minor_digits
from orderbook.records.accounts import account, ledger_value, of_no_piece, work_value
from orderbook.records.books import Books
from orderbook.records.conversion import dated_rates
from orderbook.records.costs import currency_of
from orderbook.records.credits import credit_due, credited
from orderbook.records.index import index
from orderbook.records.ledger_rows import booked_for
from orderbook.records.limits import asked
from orderbook.records.moves import SETTING, STAYS
from orderbook.records.packs import pieces_bought, pieces_returned
from orderbook.records.rows import Put
from orderbook.records.sheet_names import no_such_piece
from orderbook.records.states import PAID
from orderbook.records.steps import Step
from orderbook.records.tables import LedgerLine, OrderLine

_NOT_BELOW_ZERO = {
    "Orders": (
        "qty",
        "pack",
        "qty_bought",
        "goods",
        "qty_received",
        "qty_lost",
        "qty_wrong",
        "qty_returned",
        "price",
        "postage",
        "tax",
        "rate",
        "stage",
    ),
    "Ledger": ("amount", "rate"),
    "Work": ("hours", "rate"),
    "Barrels": ("set_up_clicks", "set_up_turns"),
    "Drawer": ("pieces", "keep_at_least", "price"),
    "Suppliers": ("free_above", "minimum_order", "lead_days", "return_days"),
    "Rates": ("rate",),
    "Restorations": ("estimate", "not_above", "estimate_hours"),
    "Trials": ("clicks", "stopped_turns", "stopped_hours", "ran_days", "amplitude"),
}
_ABOVE_ZERO = {
    "Barrels": ("ratchet_teeth", "turns_asked", "turns_used", "run_hours", "clearance_mm", "fill"),
    "Orders": ("width_mm", "strength_mm", "length_mm", "trim_to_mm"),
    "Drawer": ("width_mm", "strength_mm", "length_mm"),
    "Trials": ("length_fitted_mm",),
    "Units": ("mm",),
}
_MONEY = {"Orders": ("price", "goods", "postage", "tax"), "Ledger": ("amount",), "Drawer": ("price",)}


def negative(books: Books, on: date) -> Iterator[Finding]:
    """A number below zero where none belongs; a credit is written without a minus."""
    for table, keys in _NOT_BELOW_ZERO.items():
        for record in books.records(table):
            for key in keys:
                value = getattr(record, key)
                if value is not None and value < 0:
                    yield finding("amount_negative", where=record.row.place.of(key), saw=f"{value}")


def not_above_zero(books: Books, on: date) -> Iterator[Finding]:
    """A size, a count of turns or teeth that cannot be nothing or less."""
    for table, keys in _ABOVE_ZERO.items():
        for record in books.records(table):
            for key in keys:
                value = getattr(record, key)
                if value is not None and value <= 0:
                    yield finding("amount_not_above_zero", where=record.row.place.of(key), saw=f"{value}")


def too_fine(books: Books, on: date) -> Iterator[Finding]:
    """An amount with more decimals than its currency has."""
    for table, keys in _MONEY.items():
        for record in books.records(table):
            digits = minor_digits(record.currency or books.currency)
            for key in keys:
                value = getattr(record, key)
                if value is not None and value != round(value, digits):
                    saw = f"{value} {record.currency or books.currency} has more than {digits} decimals"
                    yield finding("amount_too_fine", where=record.row.place.of(key), saw=saw)


def not_added(books: Books, on: date) -> Iterator[Finding]:
    """Rows that no total can take in."""
    rates = dated_rates(books)
    yield from of_no_piece(books)
    for line in books.ledger:
        value = ledger_value(line, books.currency, rates)
        if line.restoration and not no_such_piece(books, line) and isinstance(value, Finding):
            yield value
    for work in books.work:
        value = work_value(work, books.currency)
        if work.need and not no_such_piece(books, work) and isinstance(value, Finding):
            yield value


def missing_rates(books: Books) -> Iterator[Step]:
    """Put the dated rate into a ledger row that has none."""
    rates = dated_rates(books)
    for line in books.ledger:
        if line.rate is None and line.currency not in ("", books.currency) and line.amount is not None:
            known = rates.on(line.currency, line.date)
            value = ledger_value(line, books.currency, rates)
            if known is not None and isinstance(value, Finding) and not line.row.get("rate"):
                yield Step(Put("Ledger", line.row.place.row, {"rate": known}), value)


def own_rate(books: Books, on: date) -> Iterator[Finding]:
    """A rate other than one for the book's own currency."""
    rated: tuple[LedgerLine | OrderLine, ...] = (*books.ledger, *books.orders)
    for record in rated:
        if record.currency == books.currency and record.rate not in (None, Decimal(1)):
            saw = f"{record.rate} for {books.currency}, the book's own currency"
            yield finding("rate_of_own_currency", where=record.row.place.of("rate"), saw=saw)


def mixed_currencies(books: Books, on: date) -> Iterator[Finding]:
    """An order line in another currency than its supplier's, or a ledger row in another than its order's."""
    found = index(books)
    for line in books.orders:
        supplier = found.suppliers.get(line.supplier.casefold())
        if supplier and supplier.currency and line.currency and line.currency != supplier.currency:
            saw = f"{line.order} is in {line.currency}, but {supplier.supplier} charges {supplier.currency}"
            yield finding("currencies_mixed", where=line.row.place.of("currency"), saw=saw)
    for row in books.ledger:
        order = None if row.drawer else found.orders.get(row.order)
        if order and row.currency and row.kind != "estimate" and row.category not in ("duty", "tax"):
            currency = currency_of(books, order)
            if row.currency != currency:
                saw = f"{row.amount} {row.currency} for {row.order}, which is in {currency}"
                yield finding("currencies_mixed", where=row.row.place.of("currency"), saw=saw)


def tax_without_base(books: Books, on: date) -> Iterator[Finding]:
    """Tax or postage on a line that has no price."""
    for line in books.orders:
        if line.price is None and line.tax:
            saw = f"{line.order} has tax {line.tax}, but no price"
            yield finding("tax_without_base", where=line.row.place.of("price"), saw=saw)


def ledger_against_orders(books: Books, on: date) -> Iterator[Finding]:
    """Ledger rows of an order line that add up to something else than the line, or that are there twice."""
    found = index(books)
    for name, rows in found.ledger_for.items():
        line = found.orders.get(name)
        if line is None or line.state in ("planned", "lost", "cancelled"):
            yield from _stray(name, line.state if line else "", rows)
            continue
        currency = currency_of(books, line)
        wanted = booked_for(books, line)
        mine = [r for r in rows if r.kind in ("committed", "paid") and r.amount is not None and r.category != "duty"]
        have = sum((r.amount or Decimal(0) for r in mine), Decimal(0))
        if mine and have != wanted and all(r.currency == currency for r in mine):
            saw = f"{name}: {have} {currency} in Ledger, {wanted} {currency} in Orders"
            yield finding("ledger_differs", where=mine[-1].row.place.of("amount"), saw=saw)
    for row in books.ledger:
        if (
            row.kind == "credit"
            and not row.drawer
            and row.order in found.orders
            and found.orders[row.order].state in ("planned", "ordered")
        ):
            saw = f"a credit for {row.order}, which is {found.orders[row.order].state}"
            yield finding("credit_too_early", where=row.row.place.of("kind"), saw=saw)


def credits_of_another_sum(books: Books, on: date) -> Iterator[Finding]:
    """Credits of an order line that are more than was paid, or another share of it than went back."""
    found = index(books)
    for name, rows in found.ledger_for.items():
        line, have = found.orders.get(name), credited(rows)
        if line is None or line.state not in PAID or not have:
            continue
        paid = [(r.amount, r.currency) for r in rows
                if r.kind == "paid" and r.amount is not None and r.category not in ("postage", "duty")]  # fmt: skip
        wanted = sum((credit_due(line, amount, currency) for amount, currency in paid), Decimal(0))
        if have != wanted and len({currency for _, currency in paid}) == 1:
            back = f"{pieces_returned(line)} of {pieces_bought(line)} pieces went back"
            saw = f"{name}: {have} {paid[0][1]} credited; {wanted} was paid for what went back ({back})"
            last = [row for row in rows if row.kind == "credit"][-1]
            yield finding("credit_differs", where=last.row.place.of("amount"), saw=saw)


def _stray(name: str, state: str, rows: list[LedgerLine]) -> Iterator[Finding]:
    for row in rows:
        if state == "planned" and row.kind in ("committed", "paid"):
            saw = f"{row.kind} for {name}, which is only planned"
            yield finding("committed_too_early", where=row.row.place.of("kind"), saw=saw)
        if state in ("lost", "cancelled") and row.kind == "paid" and not credited(rows):
            saw = f"{row.amount} {row.currency} paid for {name}, which is {state}"
            yield finding("paid_but_cancelled", where=row.row.place.of("kind"), saw=saw)


def above_estimate(books: Books, on: date) -> Iterator[Finding]:
    """A restoration that costs more than was agreed, or comes near the sum that needs a new word."""
    for r in books.restorations:
        limit, name = (r.not_above, "not above") if r.not_above is not None else (r.estimate, "the estimate agreed")
        if limit is None or not r.restoration:
            continue
        found = account(books, r.restoration, on=on)
        if asked(found) > limit.scaleb(minor_digits(books.currency)):
            said = found.money(asked(found)).text
            key = "not_above" if r.not_above is not None else "estimate"
            saw = f"{r.restoration}: {said} {books.currency} paid, committed and worked; {name}: {limit}"
            yield finding("above_estimate", where=r.row.place.of(key), saw=saw)


def estimates_differ(books: Books, on: date) -> Iterator[Finding]:
    """An estimate agreed in one sum that is not the sum of the ledger's estimate rows."""
    for r in books.restorations:
        if r.restoration and r.estimate is not None:
            found = account(books, r.restoration, on=on)
            if found.agreed is not None and found.total.estimate != found.agreed:
                agreed, rows = found.money(found.agreed), found.money(found.total.estimate)
                saw = f"{r.restoration}: {agreed} agreed, {rows} by category in Ledger"
                yield finding("estimates_differ", where=r.row.place.of("estimate"), saw=saw)


def paid_for_nothing(books: Books, on: date) -> Iterator[Finding]:
    """More paid for a line of which part will never come than falls on what came."""
    found = index(books)
    for line in books.orders:
        if line.state not in PAID or not line.qty_lost:
            continue
        rows = [r for r in found.ledger_for[line.order] if r.kind == "paid" and r.category not in ("duty",)]
        paid = sum((r.amount or Decimal(0) for r in rows), Decimal(0)) - credited(found.ledger_for[line.order])
        due = booked_for(books, line)
        if paid > due and all(r.currency == currency_of(books, line) for r in rows):
            saw = f"{line.order}: {paid} paid, {due} for what came; {line.qty_lost} will not come"
            yield finding("charged_for_what_never_came", where=line.row.place.of("qty_lost"), saw=saw)


def settings(books: Books, on: date) -> Iterator[Finding]:
    """A setting with a word that says nothing."""
    for one in books.settings:
        if one.setting.casefold() == SETTING and one.value.strip().casefold() not in ("", "follows", STAYS):
            expected = f"Expected follows or {STAYS}."
            yield finding("setting_not_known", where=one.row.place.of("value"), saw=f"“{one.value}”", expected=expected)
