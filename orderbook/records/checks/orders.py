"""Orders and trials: states that cannot be, orders for closed restorations, triggers, what came and what did not."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date

from orderbook.errors import Finding, finding
from orderbook.records.books import Books
from orderbook.records.costs import currency_of
from orderbook.records.index import barrel_of, index
from orderbook.records.packs import pieces_bought, pieces_came, pieces_due, pieces_lost, pieces_over, pieces_returned
from orderbook.records.stages import standing
from orderbook.records.states import PAID
from orderbook.records.tables import ORDER_STATE, OrderLine


def impossible_states(books: Books, on: date) -> Iterator[Finding]:
    """A state that the dates of the line speak against."""
    for line in books.orders:
        if not line.order:
            continue
        for key, saw in _against(line):
            yield finding("state_impossible", where=line.row.place.of(key), saw=f"{line.order} is {saw}")


def _against(line: OrderLine) -> Iterator[tuple[str, str]]:
    if line.state == "":
        yield "state", "without a state"
    elif line.state not in ORDER_STATE:
        return
    elif line.state == "planned" and (line.ordered_on or line.received_on):
        yield "state", "planned, but has a day it was ordered or received on"
    elif line.state == "ordered":
        if not line.ordered_on:
            yield "ordered_on", "ordered, but on no day"
        if line.received_on and not line.qty_received:
            yield "received_on", "ordered, but was received"
    elif line.state in PAID and not line.received_on:
        yield "received_on", f"{line.state}, but was never received"
    elif line.state in PAID and not line.ordered_on:
        yield "ordered_on", f"{line.state}, but was never ordered"
    elif line.state == "cancelled" and line.received_on:
        yield "state", "cancelled, but was received: it can only be returned"


def closed_restorations(books: Books, on: date) -> Iterator[Finding]:
    """An order still open for a restoration that is closed, and dates that speak against its state."""
    found = index(books)
    for line in books.orders:
        restoration = found.restorations.get(line.restoration)
        if restoration and restoration.state == "closed" and line.state in ("planned", "ordered"):
            saw = f"{line.order} is {line.state} for {line.restoration}, which is closed"
            yield finding("restoration_closed", where=line.row.place.of("state"), saw=saw)
    for r in books.restorations:
        if r.state == "closed" and not r.closed:
            yield finding(
                "state_impossible", where=r.row.place.of("closed"), saw=f"{r.restoration} is closed on no day"
            )
        if r.state in ("open", "waiting") and r.closed:
            saw = f"{r.restoration} is {r.state}, but has a day it was closed"
            yield finding("state_impossible", where=r.row.place.of("state"), saw=saw)


def triggers(books: Books, on: date) -> Iterator[Finding]:
    """A trigger that cannot be read: the line will never become due by itself."""
    for line in books.orders:
        if line.state == "planned" and (how := standing(books, line)).due == "not read":
            yield finding("trigger_not_read", where=line.row.place.of("trigger"), saw=f"{line.order}: {how.why}")


def receipts(books: Books, on: date) -> Iterator[Finding]:
    """More received than ordered, less than will come, and lines that came wrong or damaged and are still kept."""
    for line in books.orders:
        bought = pieces_bought(line)
        if line.state in PAID and pieces_over(line) > pieces_returned(line):
            saw = f"{line.order}: {line.qty_received} received of {bought} ordered"
            yield finding("quantity_differs", where=line.row.place.of("qty_received"), saw=saw)
        if line.state == "returned" and bought - pieces_came(line) - pieces_lost(line) > 0:
            saw = f"{line.order} is returned, but {bought - pieces_came(line)} of {bought} never came"
            yield finding("quantity_differs", where=line.row.place.of("qty_received"), saw=saw)
        if pieces_lost(line) > max(bought - (line.qty_received or 0), 0):
            saw = f"{line.order}: {line.qty_received or 0} came and {line.qty_lost} will not, of {bought}"
            yield finding("quantity_differs", where=line.row.place.of("qty_lost"), saw=saw)
        if line.wrong and line.state == "received":
            saw = f"{line.order}: {line.wrong}"
            yield finding("came_wrong", where=line.row.place.of("wrong"), saw=saw)


def returns(books: Books, on: date) -> Iterator[Finding]:
    """More sent back than came, or sent back before it came; returned whole, but only some of it."""
    for line in books.orders:
        back = line.qty_returned
        came = pieces_bought(line) if line.qty_received is None else line.qty_received
        if not back:
            continue
        where = line.row.place.of("qty_returned")
        if line.state not in PAID:
            saw = f"{line.order} had {back} sent back, but is {line.state or 'without a state'}"
            yield finding("state_impossible", where=where, saw=saw)
        elif back > came:
            yield finding("more_returned_than_came", where=where, saw=f"{line.order}: {back} sent back of {came}")
        elif line.state == "returned" and back < came and not pieces_due(line):
            saw = f"{line.order} is returned, but only {back} of {came} went back"
            yield finding("state_impossible", where=where, saw=saw)


def parcels(books: Books, on: date) -> Iterator[Finding]:
    """Lines of one parcel that went to two suppliers, in two currencies or on two days."""
    for name, lines in index(books).parcels.items():
        ways = {(o.supplier.casefold(), currency_of(books, o), o.ordered_on) for o in lines if o.ordered_on}
        if len(ways) > 1:
            said = " and ".join(f"{o.order} ({o.supplier}, {o.ordered_on})" for o in lines)
            yield finding("parcel_mixed", where=lines[-1].row.place.of("parcel"), saw=f"{name} holds {said}")


def trials_of_what_never_came(books: Books, on: date) -> Iterator[Finding]:
    """A verdict on a spring that was never in hand, or in a barrel it was not ordered for."""
    found = index(books)
    for trial in books.trials:
        line = found.orders.get(trial.order)
        if line and line.state in ("planned", "ordered", "lost", "cancelled"):
            saw = f"{trial.order} has a verdict, but is {line.state}"
            yield finding("state_impossible", where=trial.row.place.of("order"), saw=saw)
        if line and trial.barrel and (barrel := barrel_of(books, line)) and barrel != trial.barrel:
            saw = f"{trial.order} is for {barrel}, tried in {trial.barrel}"
            yield finding("tried_elsewhere", where=trial.row.place.of("barrel"), saw=saw)
        if trial.order and not trial.verdict:
            yield finding("verdict_missing", where=trial.row.place.of("verdict"), saw=f"{trial.order} has no verdict")
