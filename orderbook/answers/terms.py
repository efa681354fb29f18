"""What a book says of suppliers, rates, weights and springs at hand, as the choice takes it.

Side files of the command line and ranges of a worksheet are tables of a book too, and read the same way.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any

from orderbook.barrel.practice import NeedStart
from orderbook.choosing.options import Options, SpringAtHand, Supplier
from orderbook.choosing.weights import weights_from_table
from orderbook.errors import Finding, OrderbookError, error, finding
from orderbook.measures.exchange import Rate, Rates, one_rate_a_day
from orderbook.records.books import Books
from orderbook.records.conversion import in_minor
from orderbook.records.costs import postage_rule, price_of_one
from orderbook.records.identifiers import tidy
from orderbook.records.index import barrel_of, index
from orderbook.records.packs import pieces_good
from orderbook.records.tables import ORIGIN, DrawerSpring, SupplierRow
from orderbook.records.verdicts import last_trial


def options_of(books: Books, barrel: str = "", **more: Any) -> Options:
    """Return the terms, rates, weights and springs at hand of a book, for one of its barrels if it is named.

    Springs that have come for the barrel and were not tried count as at hand. `more` are fields of `Options` that
    outweigh the book's own.
    Raises: OrderbookError for terms, rates or weights that cannot be right.
    """
    weights, weighed_in = weights_of(books)
    known: dict[str, Any] = {
        "weights": weights,
        "weights_currency": weighed_in,
        "currency": books.currency,
        "rates": rates_of(books),
        "suppliers": suppliers_of(books),
        "drawer": (*drawer_of(books), *(received_for(books, barrel) if barrel else ())),
    }
    if barrel and (learned := learned_start(books, barrel)):
        known["learned"] = learned
    return Options(**(known | {name: value for name, value in more.items() if value is not None}))


def learned_start(books: Books, barrel: str) -> NeedStart | None:
    """Return where the need of a barrel is to be expected, as `learn` stored it; None where practice alone speaks."""
    row = index(books).barrels.get(tidy(barrel))
    if row is None or row.learned_need is None or row.learned_spread is None:
        return None
    return NeedStart(float(row.learned_need), float(row.learned_spread) / 100, row.learned_from or "learned pieces")


def suppliers_of(books: Books) -> dict[str, Supplier]:
    """Return the terms of each supplier that has a currency, by name without capitals.

    Raises: OrderbookError(supplier_twice | lead_days_negative | postage_not_read).
    """
    found: dict[str, Supplier] = {}
    rows: dict[str, SupplierRow] = {}
    for row in books.suppliers:
        if not row.supplier or not row.currency:
            continue
        name = row.supplier.casefold()
        if name in rows:
            saw = f"{row.supplier} stands in {rows[name].row.place.of()} and in {row.row.place.of()}"
            raise error("supplier_twice", where=row.row.place.of("supplier"), saw=saw)
        if row.lead_days is not None and row.lead_days < 0:
            raise error("lead_days_negative", where=row.row.place.of("lead_days"), saw=f"{row.lead_days}")
        rows[name] = row
        found[name] = Supplier(row.supplier, row.currency, postage_rule(row, row.currency), row.lead_days)
    return found


def rates_of(books: Books) -> Rates | None:
    """Return the rates of a book; None where it has none.

    Raises: OrderbookError(rate_twice).
    """
    whole = [
        (r.row.place.of("rate"), Rate(r.date, r.currency, r.rate, r.source))
        for r in books.rates
        if r.date and r.currency and r.rate and r.rate > 0
    ]
    return Rates(books.currency, one_rate_a_day(whole)) if whole else None


def weights_of(books: Books) -> tuple[dict[str, float], str]:
    """Return the weights by name and the currency they are in; the usual units are multiples of the median price.

    Raises: OrderbookError(weight_not_known | weight_not_sensible).
    """
    table: dict[str, Any] = {
        w.weight.casefold(): float(w.value) for w in books.weights if w.weight and w.value is not None
    }
    units = {w.unit.upper() for w in books.weights if len(w.unit) == 3}
    if len(units) > 1:
        raise error("weight_not_sensible", where="Weights, unit", saw=" and ".join(sorted(units)))
    return weights_from_table(table | ({"currency": units.pop()} if units else {}), where="Weights")


def drawer_of(books: Books) -> tuple[SpringAtHand, ...]:
    """Return the springs of the drawer that are there and have all three sizes."""
    lying = (d for d in books.drawer if d.drawer and d.state in ("", "in drawer"))
    return tuple(_owned(books, d) for d in lying if d.width_mm and d.strength_mm and d.length_mm)


def about_drawer(books: Books) -> tuple[Finding, ...]:
    """Say which springs of the drawer have a price in no currency: it counts as not known."""
    return tuple(
        finding("drawer_price_without_currency", where=d.row.place.of("price"), saw=f"{d.drawer} cost {d.price}")
        for d in books.drawer
        if d.price is not None and not d.currency and d.state in ("", "in drawer")
    )


def _owned(books: Books, one: DrawerSpring) -> SpringAtHand:
    width, strength, length = (float(size or 0) for size in (one.width_mm, one.strength_mm, one.length_mm))
    price = None if one.price is None or not one.currency else in_minor(one.price, one.currency)
    return SpringAtHand(
        one.drawer, width, strength, length, price, is_new=one.origin == "new", called=one.label, end=one.end,
        order=one.order,
    )  # fmt: skip


def received_for(books: Books, barrel: str) -> tuple[SpringAtHand, ...]:
    """Return springs that have come for a barrel and were not tried, by the numbers of their lines, at their price."""
    found = []
    for line in books.orders:
        sizes = (line.width_mm, line.strength_mm, line.length_mm)
        waits = line.state == "received" and barrel_of(books, line) == barrel and last_trial(books, line.order) is None
        if waits and all(sizes) and pieces_good(line):
            width, strength, length = (float(size or 0) for size in sizes)
            called = f"{line.supplier} {line.item}".strip()
            price = price_of_one(books, line)
            found.append(SpringAtHand(line.order, width, strength, length, price, True, "received", called))
    return tuple(found)


def readable(books: Books) -> Books:
    """Return a book of side files, of which every cell must be readable.

    Raises: OrderbookError of the first cell that cannot be read, and for a rate that is not whole.
    """
    for found in books.unread:
        raise OrderbookError(found)
    for row in books.rates:
        if not (row.date and row.currency and row.rate and row.rate > 0):
            saw = f"date {row.row.get('date')!r}, rate {row.row.get('rate')!r}"
            raise error("rate_not_read", where=row.row.place.of("rate"), saw=saw)
    for supplier in books.suppliers:
        if not supplier.supplier:
            raise error("supplier_without_name", where=supplier.row.place.of(), saw="no name")
        if not supplier.currency:
            saw = f"{supplier.supplier} has no currency"
            raise error("supplier_without_currency", where=supplier.row.place.of(), saw=saw)
    for said in about_drawer(books):
        raise OrderbookError(said)
    return books


def labelled(rows: Iterable[Mapping[str, Any]]) -> list[dict[str, Any]]:
    """Return rows of a side file as rows of Drawer: its `label` is the number, its `state` may say how new it is."""
    found = []
    for row in rows:
        said = str(row.get("state") or "").strip().casefold()
        told = {"origin": said, "state": ""} if said in ORIGIN else {}
        found.append({**row, "drawer": row.get("drawer") or row.get("label"), **told})
    return found


__all__ = [
    "about_drawer", "drawer_of", "labelled", "options_of", "rates_of", "readable", "received_for", "suppliers_of",
    "weights_of",
]  # fmt: skip
