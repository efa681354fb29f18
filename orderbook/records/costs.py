"""What an order line costs, and postage shared over the lines it carried."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal

from orderbook.measures.money import Money, share
from orderbook.measures.postage import PostageRule
from orderbook.records.books import Books
from orderbook.records.conversion import in_minor
from orderbook.records.index import index
from orderbook.records.packs import in_a_pack, packs_bought
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
    """Return price × packs of a line, exactly in minor units; nothing where no price is known."""
    return in_minor((line.price or Decimal(0)) * packs_bought(line), currency)


def price_of_one(books: Books, line: OrderLine) -> Money | None:
    """Return what one piece of a line cost: the price of a pack shared over its pieces, to the nearest minor unit."""
    return None if line.price is None else in_minor(line.price / in_a_pack(line), currency_of(books, line))


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
    """Return the category of the goods of a line: a spring if it has a strength or is called one, else a part."""
    need = index(books).needs.get(line.need)
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


def postage_shares(books: Books, lines: Sequence[OrderLine]) -> dict[str, Money]:
    """Share each supplier's postage over the lines ordered from it together, by what they cost.

    The shares of one parcel add up to its postage to the minor unit (largest remainder).
    Lines of unknown suppliers, and lines whose postage share is filled in already, get none.
    """
    parcels: dict[tuple[str, str], list[OrderLine]] = defaultdict(list)
    for line in lines:
        parcels[line.supplier.casefold(), currency_of(books, line)].append(line)
    shares: dict[str, Money] = {}
    for (name, currency), parcel in parcels.items():
        supplier = supplier_named(books, name)
        if supplier is None or any(line.postage is not None for line in parcel):
            continue
        goods = [goods_cost(line, currency) for line in parcel]
        postage = postage_rule(supplier, currency).charge(Money(sum(g.minor for g in goods), currency))
        parts = share(postage.minor, [max(g.minor, 0) for g in goods])
        shares |= {line.order: Money(part, currency) for line, part in zip(parcel, parts, strict=True)}
    return shares
