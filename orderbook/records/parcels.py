"""A parcel: order lines that one supplier sends together, over pieces and barrels.

    P-0007 = lines of one supplier in one currency that went out together
    packs  = ⌈wanted by all lines of one item / in a pack⌉; each line takes its part of the pieces and of the price
    postage of the parcel = the supplier's rule for all its goods, once; shared over the lines by what their goods cost

Every sharing is by the largest remainder, so the shares of a parcel add up to the last penny.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal

from orderbook.measures.money import Money, share
from orderbook.records.books import Books
from orderbook.records.conversion import in_minor
from orderbook.records.costs import currency_of, goods_cost, postage_rule, supplier_named
from orderbook.records.packs import in_a_pack, packs_bought, packs_for, pieces_wanted
from orderbook.records.tables import OrderLine


@dataclass(frozen=True, slots=True)
class Parcel:
    """Lines that go to one supplier in one currency, as they stand when they go together."""

    supplier: str
    currency: str
    lines: tuple[OrderLine, ...]


def parcels_of(books: Books, lines: Iterable[OrderLine]) -> tuple[Parcel, ...]:
    """Put lines together by supplier and currency, packs shared; in the order in which the suppliers first appear."""
    groups: dict[tuple[str, str], list[OrderLine]] = defaultdict(list)
    for line in lines:
        groups[line.supplier.casefold(), currency_of(books, line)].append(line)
    return tuple(
        Parcel(group[0].supplier, currency, with_shared_packs(books, group)) for (_, currency), group in groups.items()
    )


def with_shared_packs(books: Books, lines: Sequence[OrderLine]) -> tuple[OrderLine, ...]:
    """Return the lines of one parcel with their part of the packs that several of them share."""
    parts = pack_shares(books, lines)
    return tuple(
        replace(line, qty_bought=parts[line.order][0], goods=Decimal(parts[line.order][1].text))
        if line.order in parts
        else line
        for line in lines
    )


def pack_shares(books: Books, lines: Iterable[OrderLine]) -> dict[str, tuple[int, Money]]:
    """Return pieces and cost of each line that shares packs with others of its parcel.

    Only lines that would buy more packs apart than together share them. Pieces go in proportion to those wanted,
    the price in proportion to the pieces.
    """
    alike: dict[tuple[object, ...], list[OrderLine]] = defaultdict(list)
    for line in lines:
        if in_a_pack(line) > 1 and line.item and line.price is not None and line.goods is None:
            alike[same_item(line)].append(line)
    found: dict[str, tuple[int, Money]] = {}
    for group in alike.values():
        pack, wanted = in_a_pack(group[0]), [pieces_wanted(line) for line in group]
        packs = packs_for(sum(wanted), pack)
        if min(wanted) < 1 or packs >= sum(map(packs_bought, group)):
            continue
        pieces = share(packs * pack, wanted)
        cost = in_minor((group[0].price or Decimal(0)) * packs, currency_of(books, group[0]))
        sums = share(cost.minor, pieces)
        for line, many, minor in zip(group, pieces, sums, strict=True):
            found[line.order] = many, Money(minor, cost.currency)
    return found


def same_item(line: OrderLine) -> tuple[object, ...]:
    """Return what lines of one item have alike: some suppliers call every strength of a width by one name."""
    sizes = (line.width_mm, line.strength_mm, line.length_mm)
    return line.item.casefold(), in_a_pack(line), *sizes, line.price


def postage_of(books: Books, parcel: Parcel) -> Money | None:
    """Return what a supplier charges for sending a parcel; nothing where its terms, or the goods' prices, do not tell.

    Raises: OrderbookError(postage_not_read).
    """
    supplier = supplier_named(books, parcel.supplier)
    if supplier is None or (supplier.currency or books.currency) != parcel.currency:
        return None
    goods = sum(goods_cost(line, parcel.currency).minor for line in parcel.lines)
    return postage_rule(supplier, parcel.currency).charge(Money(goods, parcel.currency))


def shared_by_value(total: Money, lines: Sequence[OrderLine]) -> dict[str, Money]:
    """Share a sum over lines by what their goods cost, to the last minor unit."""
    goods = [max(goods_cost(line, total.currency).minor, 0) for line in lines]
    parts = share(total.minor, goods)
    return {line.order: Money(part, total.currency) for line, part in zip(lines, parts, strict=True)}


def postage_shares(books: Books, parcel: Parcel) -> Mapping[str, Money]:
    """Return each line's share of the postage; none where it is not known, or is typed on a line already."""
    if any(line.postage is not None for line in parcel.lines):
        return {}
    total = postage_of(books, parcel)
    return {} if total is None else shared_by_value(total, parcel.lines)
