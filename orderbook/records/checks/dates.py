"""Dates: in the wrong order, late deliveries, returns that are near."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date

from orderbook.errors import Finding, finding
from orderbook.records.books import Books
from orderbook.records.nextsteps import RETURN_SOON
from orderbook.records.tables import OrderLine

_IN_TURN = (("ordered_on", "expected"), ("ordered_on", "received_on"), ("received_on", "return_by"))


def backwards(books: Books, on: date) -> Iterator[Finding]:
    """A day that lies before the day it must follow."""
    for line in books.orders:
        for first, second in _IN_TURN:
            before, after = getattr(line, first), getattr(line, second)
            if before and after and after < before:
                words = f"{second.replace('_', ' ')} {after} is before {first.replace('_', ' ')} {before}"
                yield finding("dates_backwards", where=line.row.place.of(second), saw=f"{line.order}: {words}")
    for r in books.restorations:
        if r.opened and r.closed and r.closed < r.opened:
            saw = f"{r.restoration}: closed {r.closed} is before opened {r.opened}"
            yield finding("dates_backwards", where=r.row.place.of("closed"), saw=saw)


def late(books: Books, on: date) -> Iterator[Finding]:
    """Deliveries that should have come."""
    for line in books.orders:
        if line.state == "ordered" and line.expected and line.expected < on:
            saw = (
                f"{line.order} from {line.supplier} was expected {line.expected}, {(on - line.expected).days} days ago"
            )
            yield finding("delivery_late", where=line.row.place.of("expected"), saw=saw)


def returns(books: Books, on: date) -> Iterator[Finding]:
    """Springs and parts in hand whose last day to go back is near or just past."""
    for line in books.orders:
        if line.state in ("received", "in drawer") and line.return_by and _near(line, on):
            saw = f"{line.order} ({line.supplier} {line.item}) may go back until {line.return_by}"
            yield finding("return_day_near", where=line.row.place.of("return_by"), saw=saw)


def _near(line: OrderLine, on: date) -> bool:
    return line.return_by is not None and on <= line.return_by <= on + RETURN_SOON
