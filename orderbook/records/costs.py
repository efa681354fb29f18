"""What an order line costs: goods, postage and tax, in its own currency."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal

from orderbook.measures.money import Money
from orderbook.measures.postage import PostageRule
from orderbook.records.books import Books
from orderbook.records.conversion import in_minor
from orderbook.records.index import index
from orderbook.records.packs import in_a_pack, packs_bought, pieces_bought
from orderbook.records.tables import OrderLine, SupplierRow


@dataclass(frozen=True, slots=True)
class Cost:
    """One part of what an order line costs."""

    category: str
    money: Money


def currency_of(books: Books, line: OrderLine) -> str:
    """Return the currency of an order line: its own, its supplier's, or the book's."""
    if line.currency:
        return line.currency
    supplier = supplier_named(books, line.supplier)
    return (supplier.currency if supplier else "") or books.currency


def supplier_named(books: Books, name: str) -> SupplierRow | None:
    """Return a supplier by name; capitals do not matter."""
    return index(books).suppliers.get(name.casefold())


def goods_cost(line: OrderLine, currency: str) -> Money:
    """Return price × packs of a line, or its part of packs that lines share; nothing where no price is known."""
    if line.goods is not None and line.price is not None:
        return in_minor(line.goods, currency)
    return in_minor((line.price or Decimal(0)) * packs_bought(line), currency)


def price_of_one(books: Books, line: OrderLine) -> Money | None:
    """Return what one piece of a line cost: the price of a pack over its pieces, to the nearest minor unit.

    It is rounded down where all pieces but one would else be worth more than was paid for all of them.
    """
    if line.price is None:
        return None
    one = in_minor(line.price / in_a_pack(line), currency_of(books, line))
    paid = goods_cost(line, one.currency).minor
    return one if one.minor * (pieces_bought(line) - 1) <= paid else Money(one.minor - 1, one.currency)


def costs_of(books: Books, line: OrderLine) -> tuple[Cost, ...]:
    """Return the parts of what a line costs that are not zero: goods, postage share, tax."""
    currency = currency_of(books, line)
    parts = (
        Cost(category_of(books, line), goods_cost(line, currency)),
        Cost("postage", in_minor(line.postage or Decimal(0), currency)),
        Cost("tax", in_minor(line.tax or Decimal(0), currency)),
    )
    return tuple(part for part in parts if part.money.minor)


def category_of(books: Books, line: OrderLine) -> str:
    """Return the category of the goods of a line: a spring, outside work, or else a part.

    A spring has a strength or is called one; outside work is what the need decided.
    """
    need = index(books).needs.get(line.need)
    if need and need.decision == "outside work":
        return "outside work"
    called = f"{line.item} {need.part if need else ''}".casefold()
    return "spring" if line.strength_mm is not None or "spring" in called else "part"


def postage_rule(supplier: SupplierRow, currency: str) -> PostageRule:
    """Return the postage rule of a supplier in its currency; see `PostageRule.read`.

    Raises: OrderbookError(postage_not_read).
    """
    free, least = (
        None if amount is None else in_minor(amount, currency)
        for amount in (supplier.free_above, supplier.minimum_order)
    )
    where = supplier.row.place.of("postage")
    return PostageRule.read(supplier.postage, currency, free_above=free, minimum_order=least, where=where)
