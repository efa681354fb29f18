"""What follows for an order line once it is sent: its parcel, postage, rate, the day it is expected and may go back."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping
from datetime import date, timedelta
from decimal import Decimal

from orderbook.errors import Finding, finding
from orderbook.measures.exchange import Rates
from orderbook.measures.money import Money
from orderbook.records.books import Books
from orderbook.records.conversion import in_minor
from orderbook.records.costs import currency_of, goods_cost, supplier_named
from orderbook.records.identifiers import next_identifiers
from orderbook.records.index import index
from orderbook.records.packs import in_words, pieces_wanted
from orderbook.records.parcels import parcels_of, postage_shares, shared_by_value, with_shared_packs
from orderbook.records.rows import Put, Value
from orderbook.records.states import IN_HAND, PAID
from orderbook.records.steps import Step
from orderbook.records.tables import LedgerLine, OrderLine

SENT = PAID | {"ordered"}


def rate_of(books: Books, line: OrderLine, rates: Rates, on: date | None) -> Decimal | None:
    """Return the rate of a line: its own, else the dated one; none is needed in the book's currency."""
    currency = currency_of(books, line)
    return line.rate if line.rate is not None or currency == books.currency else rates.on(currency, on)


def parcel_steps(books: Books, lines: Iterable[OrderLine]) -> Iterator[Step]:
    """Give lines that were sent without one a parcel, its packs shared and its postage on its lines.

    Lines sent to one supplier in one currency on one day are one parcel, unless *Parcel* says otherwise; a line that
    goes alone needs no number. A line on which postage is typed stays as it was typed.
    """
    taken = [line.parcel for line in books.orders]
    for day, group in _without(books, lines):
        for parcel in parcels_of(books, group):
            name = parcel.lines[0].parcel
            if not name and len(parcel.lines) > 1:
                (name,) = next_identifiers("P", taken)
                taken.append(name)
            before = {line.order: line for line in group}
            shares = postage_shares(books, parcel)
            for line in parcel.lines:
                values = _of_parcel(line, before[line.order], name, shares)
                if values:
                    saw = f"{line.order} went out on {day} and has no {_keys(values)}; {_said(values)} follows"
                    where = line.row.place.of(next(iter(values)))
                    yield Step(Put("Orders", line.row.place.row, values), _missing(where, saw))


def _missing(where: str, saw: str) -> Finding:
    return finding("order_term_missing", where=where, saw=saw)


def _keys(values: Mapping[str, Value]) -> str:
    return " and no ".join(key.replace("_", " ") for key in values)


def _said(values: Mapping[str, Value]) -> str:
    return ", ".join(str(value) for value in values.values())


def _without(books: Books, lines: Iterable[OrderLine]) -> list[tuple[date, list[OrderLine]]]:
    """Return the lines whose parcel was not settled yet, by day and by the parcel typed on them."""
    groups: dict[tuple[date, str], list[OrderLine]] = defaultdict(list)
    for line in lines:
        settled = line.parcel and any(other.postage is not None for other in index(books).parcels[line.parcel])
        known = line.parcel and postage_shares(books, parcels_of(books, [line])[0]) == {}
        if line.state in SENT and line.ordered_on and line.postage is None and not settled and not known:
            groups[line.ordered_on, line.parcel].append(line)
    return [(day, group) for (day, _), group in groups.items()]


def _of_parcel(line: OrderLine, typed: OrderLine, name: str, shares: Mapping[str, Money]) -> dict[str, Value]:
    values: dict[str, Value] = {"parcel": name} if name and not typed.parcel else {}
    if line.qty_bought is not None and typed.qty_bought is None and typed.qty_received is None:
        values |= {"qty_bought": line.qty_bought, "goods": line.goods}
    if line.order in shares:
        values["postage"] = Decimal(shares[line.order].text)
    return values


def term_steps(books: Books, line: OrderLine, rates: Rates) -> Iterator[Step]:
    """Fill in what suppliers and rates tell of a line: the rate, the day it should come, the last day to go back."""
    supplier = supplier_named(books, line.supplier)
    missing: dict[str, Value] = {}
    if line.state in SENT and line.ordered_on and line.rate is None:
        missing["rate"] = rate_of(books, line, rates, line.ordered_on)
    if line.state == "ordered" and line.ordered_on and line.expected is None and supplier:
        missing["expected"] = _days_after(line.ordered_on, supplier.lead_days)
    # pieces that came later than the last day for the first ones have a last day of their own
    open_day = line.return_by is None or (line.received_on is not None and line.return_by < line.received_on)
    if line.state in IN_HAND and line.received_on and open_day and supplier:
        missing["return_by"] = _days_after(line.received_on, supplier.return_days)
    for key, value in missing.items():
        if value is not None:
            saw = f"{line.order} has no {key.replace('_', ' ')}; {value} follows from Suppliers and Rates"
            yield Step(Put("Orders", line.row.place.row, {key: value}), _missing(line.row.place.of(key), saw))


def _days_after(day: date, days: int | None) -> date | None:
    return None if days is None or days < 0 else day + timedelta(days=days)


def lighter_parcel_steps(books: Books, lines: Iterable[OrderLine]) -> Iterator[Step]:
    """Share a parcel anew over the lines that still come with it, where one was cancelled or lost.

    Its postage was charged once and stays what it was; packs that were shared are bought for the lines that are left.
    """
    found = index(books)
    for name in dict.fromkeys(line.parcel for line in lines if line.parcel):
        parcel = found.parcels[name]
        left = [line for line in parcel if line.state in SENT]
        gone = [line for line in parcel if line.state in ("cancelled", "lost") and _carries(line, left)]
        if left and gone:
            yield from _shared_anew(books, parcel, left, gone)


def _carries(line: OrderLine, left: list[OrderLine]) -> bool:
    return bool(line.postage) or (line.goods is not None and any(_share_a_pack(line, other) for other in left))


def _share_a_pack(line: OrderLine, other: OrderLine) -> bool:
    alike = (line.item.casefold(), line.pack, line.price) == (other.item.casefold(), other.pack, other.price)
    return alike and other.goods is not None and other.state == "ordered" and line.state == "cancelled"


def _shared_anew(books: Books, parcel: list[OrderLine], left: list[OrderLine], gone: list[OrderLine]) -> Iterator[Step]:
    currency = currency_of(books, left[0])
    if any(currency_of(books, line) != currency for line in parcel):
        return
    after = {line.order: line for line in _packs_anew(books, left, gone)}
    total = sum((in_minor(line.postage or Decimal(0), currency).minor for line in parcel), 0)
    shares = shared_by_value(Money(total, currency), list(after.values())) if any(line.postage for line in gone) else {}
    names = " and ".join(line.order for line in gone)
    for line in left:
        now = after[line.order]
        values: dict[str, Value] = {}
        if line.order in shares and shares[line.order].minor != in_minor(line.postage or Decimal(0), currency).minor:
            values["postage"] = Decimal(shares[line.order].text)
        if (now.qty_bought, now.goods) != (line.qty_bought, line.goods):
            values |= {"qty_bought": now.qty_bought, "goods": now.goods}
        if values:
            saw = f"{names} does not come with {line.parcel}: of what it bore, {line.order} bears {_said(values)} now"
            where = line.row.place.of(next(iter(values)))
            yield Step(Put("Orders", line.row.place.row, values), finding("parcel_is_lighter", where=where, saw=saw))
            yield from _ledger_follows(books, line, now, shares, currency)
    for line in gone:
        nothing: dict[str, Value] = {"postage": Decimal(0)} if line.postage else {}
        if line.goods is not None and line.state == "cancelled":
            nothing |= {"qty_bought": None, "goods": None}
        if nothing:
            saw = f"{line.order} is {line.state} and bears nothing of {line.parcel} any more"
            where = line.row.place.of(next(iter(nothing)))
            yield Step(Put("Orders", line.row.place.row, nothing), finding("parcel_is_lighter", where=where, saw=saw))


def _packs_anew(books: Books, left: list[OrderLine], gone: list[OrderLine]) -> tuple[OrderLine, ...]:
    from dataclasses import replace

    def freed(line: OrderLine) -> OrderLine:
        shared = line.goods is not None and any(_share_a_pack(other, line) for other in gone)
        return replace(line, qty_bought=None, goods=None) if shared else line

    return with_shared_packs(books, [freed(line) for line in left])


def _ledger_follows(
    books: Books, line: OrderLine, now: OrderLine, shares: Mapping[str, Money], currency: str
) -> Iterator[Step]:
    """Let the ledger rows of a line follow, where they said what the line said."""
    was = {"postage": in_minor(line.postage or Decimal(0), currency), "goods": goods_cost(line, currency)}
    becomes = {"postage": shares.get(line.order, was["postage"]), "goods": goods_cost(now, currency)}
    for part, before in was.items():
        rows = [row for row in index(books).ledger_for[line.order] if _of(row, part)]
        difference = becomes[part].minor - before.minor
        if difference and len(rows) == 1 and rows[0].amount == Decimal(before.text):
            amount = Decimal(becomes[part].text)
            saw = f"{rows[0].amount} for {line.order}, which bears {amount} of its parcel now"
            where = rows[0].row.place.of("amount")
            change = Put("Ledger", rows[0].row.place.row, {"amount": amount})
            yield Step(change, finding("parcel_is_lighter", where=where, saw=saw))


def _of(row: LedgerLine, part: str) -> bool:
    mine = row.category == "postage" if part == "postage" else row.category not in ("postage", "tax", "duty")
    return mine and row.kind in ("committed", "paid")


def shared_pack_in_words(line: OrderLine) -> str:
    """Say how a line stands to packs that lines share.

    >>> shared_pack_in_words(OrderLine(qty=1, pack=12, qty_bought=3))
    '3 pieces of shared packs of 12'
    """
    if line.qty_bought is None:
        return in_words(pieces_wanted(line), max(line.pack or 1, 1))
    return f"{line.qty_bought} pieces of shared packs of {line.pack}"
