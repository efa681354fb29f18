"""The cost of a spring follows it: out of its piece's account into the drawer, and to the piece that uses it.

A spring that goes to the drawer leaves the account of its piece at its price: a *credit* that names it under *Drawer*.
The piece in which it is kept later is charged the same: a *paid* row that names it too. Nobody is paid twice, so

    Σ accounts of all pieces + worth of the drawer = Σ paid to suppliers

Both rows are in the book's currency, at the rate the spring was bought at, so that they cancel to the last penny. The
setting *cost of drawer springs* = stays leaves the cost where it is; what has left its piece already goes on following.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Collection, Iterator, Mapping
from datetime import date
from decimal import Decimal

from orderbook.errors import finding
from orderbook.measures.exchange import Rates
from orderbook.measures.money import Money
from orderbook.records.books import Books
from orderbook.records.conversion import converted, in_minor
from orderbook.records.costs import currency_of
from orderbook.records.identifiers import restoration_of
from orderbook.records.index import barrel_of, index
from orderbook.records.order_terms import rate_of
from orderbook.records.packs import barrels_with, pieces_in_drawer, pieces_in_hand
from orderbook.records.rows import Append, Value
from orderbook.records.steps import Step
from orderbook.records.tables import DrawerSpring, LedgerLine, OrderLine

SETTING, STAYS = "cost of drawer springs", "stays"
Account = tuple[str, str]
"""Whose account: a restoration and one of its barrels."""


def follows(books: Books) -> bool:
    """Return whether the cost of a spring goes with it; it does, unless the book says that it stays."""
    return books.setting(SETTING).strip().casefold() != STAYS


def move_steps(books: Books, rates: Rates, on: date, springs: Collection[str] | None = None) -> Iterator[Step]:
    """Return the ledger rows by which the cost of each spring of the drawer is where the spring is.

    Parameters: on, the day a row is dated; springs, numbers of the drawer to look at (all, if not given).
    """
    twice = Counter(d.drawer for d in books.drawer)
    for spring in books.drawer:
        if spring.drawer and twice[spring.drawer] == 1 and (springs is None or spring.drawer in springs):
            yield from _of(books, spring, rates, on)


def _of(books: Books, spring: DrawerSpring, rates: Rates, on: date) -> Iterator[Step]:
    rows = index(books).moves_of[spring.drawer]
    one = worth_of_one(books, spring, rates)
    if one is None or not (rows or follows(books)):
        return
    wanted = _wanted(books, spring)
    have = _have(books, spring, rows, one.currency)
    for account in dict.fromkeys((*wanted, *have)):
        difference = wanted.get(account, 0) * one.minor - have.get(account, 0)
        if difference:
            yield _row(books, spring, account, Money(difference, one.currency), on)


def worth_of_one(books: Books, spring: DrawerSpring, rates: Rates) -> Money | None:
    """Return the price of one piece of a spring of ours in the book's currency; nothing where it is not known."""
    if spring.price is None or spring.price < 0 or spring.whose == "owner's":
        return None
    line = index(books).orders.get(spring.order)
    if line is None and (charged := _charged_before(books, spring)):
        return charged
    currency = spring.currency or (currency_of(books, line) if line else books.currency)
    if currency == books.currency:
        return in_minor(spring.price, currency)
    same = line is not None and currency_of(books, line) == currency
    rate = rate_of(books, line, rates, line.ordered_on) if same and line else rates.on(currency, None)
    return None if rate is None or rate <= 0 else converted(in_minor(spring.price, currency), rate, books.currency)


def _charged_before(books: Books, spring: DrawerSpring) -> Money | None:
    """Return what a piece of a spring of our own stock was charged at first: rates of later days do not change it."""
    rows = [row for row in index(books).moves_of[spring.drawer] if row.kind == "paid" and row.amount is not None]
    own = [row for row in rows if row.currency == books.currency]
    return in_minor(own[0].amount or Decimal(0), books.currency) if own else None


def _wanted(books: Books, spring: DrawerSpring) -> dict[Account, int]:
    """Return how many pieces each account bears: one for each barrel that has it, less those that left it."""
    pieces: dict[Account, int] = defaultdict(int)
    line = index(books).orders.get(spring.order)
    if line is not None and not pieces_in_hand(line):
        return {}  # it went back
    fitted = barrels_with(books, spring)
    for barrel in sorted(fitted):
        pieces[_piece_of(books, barrel), barrel] += 1
    if line is not None:
        first = index(books).drawer_from[line.order][0].drawer == spring.drawer
        lying = pieces_in_drawer(books, line) if first else 0
        pieces[line.restoration, barrel_of(books, line)] -= len(fitted) + lying
    return pieces


def _piece_of(books: Books, barrel: str) -> str:
    known = index(books).barrels.get(barrel)
    return (known.restoration if known else "") or restoration_of(barrel)


def _have(books: Books, spring: DrawerSpring, rows: list[LedgerLine], currency: str) -> dict[Account, int]:
    """Return what the ledger says already, in minor units: paid less credited, by account."""
    sums: dict[Account, int] = defaultdict(int)
    for row in rows:
        if row.amount is not None and row.currency == currency and row.kind in ("paid", "credit"):
            minor = in_minor(row.amount, currency).minor
            barrel = row.barrel or _likely_barrel(books, spring, row)
            sums[row.restoration, barrel] += minor if row.kind == "paid" else -minor
    return sums


def _likely_barrel(books: Books, spring: DrawerSpring, row: LedgerLine) -> str:
    """Return the barrel of a row typed without one: where the spring came from, or where it is now."""
    line = index(books).orders.get(spring.order)
    if row.kind == "credit" and line is not None and line.restoration == row.restoration:
        return barrel_of(books, line)
    mine = [b for b in sorted(barrels_with(books, spring)) if _piece_of(books, b) == row.restoration]
    return mine[0] if mine else ""


def _row(books: Books, spring: DrawerSpring, account: Account, money: Money, on: date) -> Step:
    restoration, barrel = account
    out = money.minor < 0
    way = f"to the drawer, {spring.drawer}" if out else f"from the drawer, {spring.drawer}"
    values: Mapping[str, Value] = {
        "date": on, "restoration": restoration, "category": "spring", "kind": "credit" if out else "paid",
        "amount": Decimal(Money(abs(money.minor), money.currency).text), "currency": money.currency,
        "drawer": spring.drawer, "barrel": barrel or None, "note": f"{spring.label or 'spring'} {way}",
    }  # fmt: skip
    said = f"{'credited' if out else 'charged'} {Money(abs(money.minor), money.currency)}"
    saw = f"{spring.drawer} went {way.partition(',')[0]}, but {restoration} is not {said} for it"
    return Step(Append("Ledger", values), finding("cost_behind_spring", where=spring.row.place.of("state"), saw=saw))


def is_move(row: LedgerLine) -> bool:
    """Return whether a row only moves the cost of a spring between a piece and the drawer."""
    return bool(row.drawer)


def line_of(books: Books, row: LedgerLine) -> OrderLine | None:
    """Return the order line a ledger row belongs to; of a spring of the drawer, the line it came with."""
    found = index(books)
    spring = found.drawer.get(row.drawer)
    return found.orders.get(row.order or (spring.order if spring else ""))
