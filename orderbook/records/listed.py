"""A spring of a graded order as its supplier lists it: the price of a pack, in the supplier's currency."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from decimal import Decimal
from functools import lru_cache

from orderbook.records.books import Books
from orderbook.records.planned_spring import PlannedSpring
from orderbook.records.tables import ListedSpring


def as_listed(books: Books, stage: PlannedSpring) -> PlannedSpring:
    """Return a stage with pack, price and currency of the book's Catalogue; as it was, where it is not listed there.

    A graded order compares prices in the book's currency; an order is placed in the supplier's.
    """
    rows = [row for row in _by_item(books).get(_name(stage.supplier, stage.item), ()) if _same_size(row, stage)]
    row = next((row for row in rows if (row.pack or 1) == stage.pack), rows[0] if rows else None)
    if row is None:
        return stage
    return replace(stage, pack=row.pack or 1, price=row.price, currency=row.currency or stage.currency)


@lru_cache(maxsize=2)
def _by_item(books: Books) -> Mapping[tuple[str, str], list[ListedSpring]]:
    found: dict[tuple[str, str], list[ListedSpring]] = {}
    for row in books.catalogue:
        found.setdefault(_name(row.supplier, row.item), []).append(row)
    return found


def _name(supplier: str, item: str) -> tuple[str, str]:
    return supplier.casefold(), item.casefold()


def _same_size(row: ListedSpring, stage: PlannedSpring) -> bool:
    sizes = ((getattr(row, key), getattr(stage, key)) for key in ("width_mm", "strength_mm", "length_mm"))
    return all(a is None or b is None or _near(a, b) for a, b in sizes)


def _near(a: Decimal, b: Decimal) -> bool:
    return abs(a - b) <= Decimal("0.0005") * max(abs(a), abs(b))
