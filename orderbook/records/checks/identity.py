"""Identifiers: missing, misshapen, twice, or naming what is not there."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from datetime import date
from typing import Any

from orderbook.errors import Finding, finding
from orderbook.records import tables as t
from orderbook.records.books import STORED, Books
from orderbook.records.identifiers import EXAMPLES, IDENTIFIED, is_shaped, restoration_of
from orderbook.records.index import index

# where a cell names a row of another table: table, column, the table named
NAMED = (
    ("Barrels", "restoration", "Restorations"),
    ("Readings", "barrel", "Barrels"),
    ("Needs", "restoration", "Restorations"),
    ("Needs", "barrel", "Barrels"),
    ("Needs", "depends_on", "Needs"),
    ("Drawer", "order", "Orders"),
    ("Orders", "restoration", "Restorations"),
    ("Orders", "barrel", "Barrels"),
    ("Orders", "need", "Needs"),
    ("Orders", "supplier", "Suppliers"),
    ("Trials", "order", "Orders"),
    ("Trials", "barrel", "Barrels"),
    ("Work", "need", "Needs"),
    ("Ledger", "restoration", "Restorations"),
    ("Ledger", "order", "Orders"),
    ("Ledger", "barrel", "Barrels"),
)


def without_identifier(books: Books, on: date) -> Iterator[Finding]:
    """A row counts only when its key is filled: one that is not blank and has none is left out of everything."""
    for table, key in t.KEYS.items():
        if table in STORED:
            continue
        for record in books.records(table):
            if not getattr(record, key) and _typed(record):
                saw = f"the row has no {key} and is left out everywhere"
                yield finding("row_without_identifier", where=record.row.place.of(key), saw=saw)


def _typed(record: Any) -> bool:
    return any(getattr(record, key) not in (None, "", ()) for key in t.READERS[record.__class__])


def misshapen(books: Books, on: date) -> Iterator[Finding]:
    """An identifier that is not of its table's shape."""
    for table, kind in IDENTIFIED.items():
        for record in books.records(table):
            name = getattr(record, kind)
            if name and not is_shaped(kind, name):
                expected = f"Expected one like {EXAMPLES[kind]}."
                yield finding("identifier_shape", where=record.row.place.of(kind), saw=f"“{name}”", expected=expected)


def twice(books: Books, on: date) -> Iterator[Finding]:
    """The same identifier in two rows."""
    for table, key in (*IDENTIFIED.items(), ("Suppliers", "supplier")):
        records = books.records(table)
        counts = Counter(getattr(r, key).casefold() for r in records)
        if len(counts) == len(records):
            continue
        first: dict[str, Any] = {}
        for record in records:
            name = getattr(record, key)
            if name and counts[name.casefold()] > 1:
                if seen := first.get(name.casefold()):
                    saw = f"{name} is in {seen.row.place.of()} already"
                    yield finding("identifier_twice", where=record.row.place.of(key), saw=saw)
                first.setdefault(name.casefold(), record)


def orphans(books: Books, on: date) -> Iterator[Finding]:
    """A name that no row of the other table has."""
    found = index(books)
    known: dict[str, Any] = {
        "Restorations": found.restorations,
        "Barrels": found.barrels,
        "Needs": found.needs,
        "Orders": found.orders,
        "Suppliers": found.suppliers,
    }
    for table, key, other in NAMED:
        names = known[other]
        for record in books.records(table):
            said = getattr(record, key)
            if not said:
                continue
            for name in (said,) if isinstance(said, str) else said:
                if name in names or (other == "Suppliers" and name.casefold() in names):
                    continue
                if table == "Trials" and key == "order" and name in found.drawer:
                    continue
                yield finding("not_in_the_book", where=record.row.place.of(key), saw=f"{name} is not in {other}")


def of_another_piece(books: Books, on: date) -> Iterator[Finding]:
    """A barrel or need that belongs to another restoration than the row says."""
    found = index(books)
    for b in books.barrels:
        if is_shaped("barrel", b.barrel) and b.restoration and restoration_of(b.barrel) != b.restoration:
            saw = f"{b.barrel} is given to {b.restoration}"
            yield finding("of_another_piece", where=b.row.place.of("restoration"), saw=saw)
    placed: tuple[t.Need | t.OrderLine | t.LedgerLine, ...] = (*books.needs, *books.orders, *books.ledger)
    for record in placed:
        barrel = found.barrels.get(record.barrel)
        if barrel and barrel.restoration and record.restoration and barrel.restoration != record.restoration:
            saw = f"{record.barrel} belongs to {barrel.restoration}, not to {record.restoration}"
            yield finding("of_another_piece", where=record.row.place.of("barrel"), saw=saw)
    for line in books.orders:
        need = found.needs.get(line.need)
        if need and need.restoration and line.restoration and need.restoration != line.restoration:
            saw = f"{line.need} belongs to {need.restoration}, not to {line.restoration}"
            yield finding("of_another_piece", where=line.row.place.of("need"), saw=saw)
    for row in books.ledger:
        order = found.orders.get(row.order)
        if order and row.restoration and order.restoration != row.restoration:
            saw = f"{row.order} belongs to {order.restoration}, not to {row.restoration}"
            yield finding("of_another_piece", where=row.row.place.of("order"), saw=saw)
