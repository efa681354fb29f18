"""The lives of twenty pieces, by commands and by typing: the same tables, and every total again from raw rows.

A seeded workshop of 20 pieces, 40 barrels and some 100 lines over three suppliers in three currencies goes through
orders of parcels, part deliveries, pieces too many, wrong, lost, sent back and put in the drawer, springs that wander
from piece to piece, and verdicts. Each event is done by a command in one book and typed in another, where the check
mends what typing leaves out.
"""

from __future__ import annotations

import random
from collections import defaultdict
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import ROUND_HALF_UP, Decimal
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from orderbook.errors import OrderbookError
from orderbook.records.accounts import account
from orderbook.records.books import Books, books_from, plain
from orderbook.records.checks import checked
from orderbook.records.marking import marked, tried
from orderbook.records.nextsteps import next_steps
from orderbook.records.rows import Append, Change, Put
from orderbook.records.tables import OrderLine
from orderbook.records.totals import Span, totals
from orderbook.reports.double_entry import double_entry

SUPPLIERS = {"Supplier North": "GBP", "Supplier East": "EUR", "Supplier South": "JPY"}
RATES = {"GBP": Decimal(1), "EUR": Decimal("0.865"), "JPY": Decimal("0.0052")}
DIGITS = {"GBP": 2, "EUR": 2, "JPY": 0}
KINDS = ("parcel", "parcel", "part", "come", "come", "lost", "cancel", "drawer", "back", "some back", "try", "try",
         "own", "own", "wrong", "over")  # fmt: skip


@dataclass
class Bench:
    """One book and the random events it goes through."""

    books: Books
    by_typing: bool

    def act(self, command: Callable[[Books], Books], typed: Callable[[Books], list[Change]], on: date) -> None:
        """Do one event, by the command or by the cells a person fills and a check."""
        if not self.by_typing:
            self.books = command(self.books)
            return
        self.books = self.books.after(typed(self.books))
        for _ in range(4):
            steps = checked(self.books, on=on).fixes
            if not steps:
                break
            self.books = self.books.after(step.change for step in steps)


def workshop(rng: random.Random, pieces: int, lines: int) -> dict[str, list[dict[str, Any]]]:
    orders = []
    for n in range(1, lines + 1):
        piece, barrel = rng.randrange(1, pieces + 1), rng.choice((1, 2))
        supplier = rng.choice(list(SUPPLIERS))
        currency = SUPPLIERS[supplier]
        price = Decimal(rng.randrange(200, 6000)).scaleb(-DIGITS[currency]) * (100 if currency == "JPY" else 1)
        spring = rng.random() < 0.8
        orders.append(
            {
                "order": f"O-{n:04d}",
                "restoration": f"R-{piece:03d}",
                "barrel": f"R-{piece:03d}-B{barrel}" if spring else None,
                "need": None if spring else f"N-{piece:04d}",
                "supplier": supplier,
                "item": f"item {rng.randrange(8)}",
                "qty": rng.choice((1, 1, 1, 2, 3)),
                "pack": rng.choice((None, None, 3, 12)),
                "price": price,
                "tax": price / 5
                if rng.random() < 0.3 and DIGITS[currency] == 2 and price % Decimal("0.05") == 0
                else None,
                "currency": currency,
                "trigger": "now",
                "state": "planned",
                **(
                    {
                        "width_mm": 2,
                        "strength_mm": Decimal("0.1") + rng.randrange(8) / Decimal(100),
                        "length_mm": 400,
                        "stage": 1,
                    }
                    if spring
                    else {}
                ),
            }
        )
    # one item is one thing: its pack and price are the same wherever it is ordered
    first: dict[tuple[Any, ...], dict[str, Any]] = {}
    for row in orders:
        same = first.setdefault((row["supplier"], row["item"], row.get("strength_mm")), row)
        row["pack"], row["price"] = same["pack"], same["price"]
    return {
        "Settings": [{"setting": "book currency", "value": "GBP"}],
        "Restorations": [{"restoration": f"R-{n:03d}", "state": "open"} for n in range(1, pieces + 1)],
        "Barrels": [{"barrel": f"R-{n:03d}-B{b}", "restoration": f"R-{n:03d}", "train": "going"}
                    for n in range(1, pieces + 1) for b in (1, 2)],
        "Needs": [{"need": f"N-{n:04d}", "restoration": f"R-{n:03d}", "part": "hands", "decision": "buy",
                   "state": "decided"} for n in range(1, pieces + 1)],
        "Suppliers": [
            {"supplier": "Supplier North", "currency": "GBP", "postage": "4.50", "free_above": 75, "lead_days": 4,
             "return_days": 14},
            {"supplier": "Supplier East", "currency": "EUR", "postage": "0: 9.90; 50: 12.40", "lead_days": 12},
            {"supplier": "Supplier South", "currency": "JPY", "postage": "1900", "lead_days": 20, "return_days": 30},
        ],
        "Rates": [{"date": date(2026, 1, 1), "currency": c, "rate": RATES[c]} for c in ("EUR", "JPY")],
        "Orders": orders,
    }  # fmt: skip


def bought(line: OrderLine) -> int:
    pack = line.pack or 1
    return line.qty_bought if line.qty_bought is not None else -(-(line.qty or 1) // pack) * pack


def here(line: OrderLine) -> int:
    """Count the pieces that are here, from the cells of the row alone."""
    if line.state not in ("received", "fitted", "in drawer"):
        return 0
    return (bought(line) if line.qty_received is None else line.qty_received) - (line.qty_returned or 0)


def due(line: OrderLine) -> int:
    if line.state not in ("ordered", "received", "fitted", "in drawer"):
        return 0
    return max(bought(line) - (line.qty_received or 0) - (line.qty_lost or 0), 0)


def put(line: OrderLine, **values: Any) -> list[Change]:
    return [Put("Orders", line.row.place.row, values)]


def events(rng: random.Random, bench: Bench, on: date) -> Iterator[tuple[Callable[[Books], Books], Any]]:
    """Choose what happens today: one event, as a command and as the cells of a hand."""
    b = bench.books
    kind = rng.choice(KINDS)
    lines = list(b.orders)
    planned = [o for o in lines if o.state == "planned"]
    under = [o for o in lines if o.state == "ordered"]
    rest = [o for o in lines if o.state in ("received", "fitted", "in drawer") and due(o)]
    hand = [o for o in lines if here(o) > 0]

    def mark(state: str, names: list[str], **more: Any) -> Callable[[Books], Books]:
        return lambda books: marked(books, state, names, on=on, **more).books

    if kind == "parcel" and planned:
        supplier = rng.choice(planned).supplier
        group = rng.sample(
            [o for o in planned if o.supplier == supplier], k=min(4, sum(o.supplier == supplier for o in planned))
        )
        group.sort(key=lambda o: o.row.place.row)
        yield (mark("ordered", [o.order for o in group]),
               [c for o in group for c in put(o, state="ordered", ordered_on=on)])  # fmt: skip
    elif kind == "part" and (some := [o for o in under if bought(o) > 1]):
        o = rng.choice(some)
        n = rng.randrange(1, bought(o))
        yield mark("received", [o.order], pieces=n), put(o, state="received", received_on=on, qty_received=n)
    elif kind == "come" and (rest or under):
        o = rng.choice(rest or under)
        came = (o.qty_received or 0) + due(o) if o in rest else bought(o)
        new = {} if o in rest else {"state": "received"}
        yield mark("received", [o.order]), put(o, received_on=on, qty_received=came, **new)
    elif kind == "over" and under:
        o = rng.choice(under)
        yield (mark("received", [o.order], pieces=bought(o) + 1),
               put(o, state="received", received_on=on, qty_received=bought(o) + 1))  # fmt: skip
    elif kind == "wrong" and under:
        o = rng.choice(under)
        yield (mark("received", [o.order], wrong="hook torn"),
               put(o, state="received", received_on=on, qty_received=bought(o), wrong="hook torn"))  # fmt: skip
    elif kind == "lost" and (rest or under):
        o = rng.choice(rest or under)
        cells = put(o, qty_lost=(o.qty_lost or 0) + due(o)) if o in rest else put(o, state="lost")
        yield mark("lost", [o.order]), cells
    elif kind == "cancel" and (some := [o for o in (*planned, *under) if o.goods is None]):
        o = rng.choice(some)
        yield mark("cancelled", [o.order]), put(o, state="cancelled")
    elif kind == "drawer" and (
        some := [o for o in hand if o.state in ("received", "fitted") and o.barrel and not due(o)]
    ):
        o = rng.choice(some)
        yield mark("drawer", [o.order]), put(o, state="in drawer")
    elif kind == "back" and hand:
        o = rng.choice(hand)
        back = {"qty_returned": (o.qty_returned or 0) + here(o)} if o.qty_returned or due(o) else {}
        yield mark("returned", [o.order]), put(o, **({} if due(o) else {"state": "returned"}), **back)
    elif kind == "some back" and (some := [o for o in hand if here(o) > 1]):
        o = rng.choice(some)
        yield mark("returned", [o.order], pieces=1), put(o, qty_returned=(o.qty_returned or 0) + 1)
    elif kind == "try" and (some := [o for o in hand if o.barrel and not o.wrong]):
        o = rng.choice(some)
        verdict = rng.choice(("too weak", "ran well", "too strong"))
        row = {"order": o.order, "barrel": o.barrel, "date": on, "verdict": verdict}
        fitted = put(o, state="fitted") if verdict == "ran well" and o.state == "in drawer" else []
        yield lambda books: tried(books, o.order, verdict, on=on).books, [Append("Trials", row), *fitted]
    elif kind == "own" and (some := [d for d in b.drawer if d.state == "in drawer"]):
        d = rng.choice(some)
        barrel = rng.choice(b.barrels).barrel
        verdict = rng.choice(("ran well", "ran well", "too weak"))
        row = {"order": d.drawer, "barrel": barrel, "date": on, "verdict": verdict}
        yield (lambda books: tried(books, d.drawer, verdict, on=on, barrel=barrel).books), [Append("Trials", row)]


def live(seed: int, pieces: int, lines: int, days: int) -> tuple[Books, Books, int]:
    """Let two benches live the same life, and return their books."""
    start = books_from(workshop(random.Random(seed), pieces, lines))
    commands, typing = Bench(start, by_typing=False), Bench(start, by_typing=True)
    done, on = 0, date(2026, 2, 1)
    for day in range(days):
        on += timedelta(days=random.Random(seed + day).randrange(0, 3))
        for bench in (commands, typing):
            rng = random.Random(f"{seed} {day}")
            for command, cells in events(rng, bench, on):
                try:
                    bench.act(command, lambda _, cells=cells: cells, on)
                except OrderbookError as problem:  # a step that cannot be is refused; typed, it is left out too
                    if problem.code not in ("step_not_possible", "not_in_hand"):
                        raise
                done += not bench.by_typing
        assert plain(commands.books) == plain(typing.books), f"day {day}"
    return commands.books, typing.books, done


# ---- every total again, from raw rows -------------------------------------------------------------------------------


def cents(amount: Any, rate: Any = 1, digits: int = 2) -> int:
    exact = Decimal(str(amount)) * Decimal(str(rate or 1))
    return int((exact.scaleb(digits)).quantize(Decimal(1), ROUND_HALF_UP))


def raw_sums(books: Books) -> dict[str, dict[str, int]]:
    """Add up the ledger by piece and kind from the rows as they were typed."""
    sums: dict[str, dict[str, int]] = defaultdict(lambda: defaultdict(int))
    for row in books.tables.get("Ledger", ()):
        if row.get("restoration"):
            sums[str(row.get("restoration"))][str(row.get("kind"))] += cents(row.get("amount"), row.get("rate"))
    return sums


def worth_of_the_drawer(books: Books) -> int:
    """Price × pieces of every row that lies in the drawer and came with an order line, in the book's currency."""
    rates = {row.get("order"): row.get("rate") for row in books.tables["Orders"]}
    worth = 0
    for row in books.tables.get("Drawer", ()):
        if row.get("state") == "in drawer" and row.get("price") is not None:
            worth += int(row.get("pieces") or 1) * cents(row.get("price"), rates[row.get("order")])
    return worth


def hold(books: Books, on: date) -> None:
    """Hold every total of the book against its raw rows."""
    assert checked(books, on=on).fixes == ()
    assert [f for f in checked(books, on=on).findings if f.severity == "error"] == []
    raw = raw_sums(books)
    for piece in books.restorations:
        found = account(books, piece.restoration, on=on)
        assert found.not_added == ()
        for kind in ("committed", "paid", "credit"):
            assert getattr(found.total, kind) == raw[piece.restoration][kind]
    spent = sum(sums["paid"] - sums["credit"] for sums in raw.values())
    paid = sum(
        cents(row.get("amount"), row.get("rate")) * (1 if row.get("kind") == "paid" else -1)
        for row in books.tables.get("Ledger", ())
        if row.get("kind") in ("paid", "credit") and not row.get("drawer")
    )
    assert spent + worth_of_the_drawer(books) == paid  # pieces and drawer together are what suppliers got
    sums = totals(books, Span())
    assert (sums.paid_to_suppliers - sum(s.credit for n, s in sums.by_supplier.items() if n != "the drawer")) == paid
    assert sums.drawer_then == worth_of_the_drawer(books)
    for group in (sums.by_piece, sums.by_supplier, sums.by_category):
        for kind in ("committed", "paid", "credit"):
            assert sum(getattr(s, kind) for s in group.values()) == getattr(sums.total, kind)
    _parcels(books)
    next_steps(books, on=on)


def _parcels(books: Books) -> None:
    """Postage of a parcel is what its supplier charges for the goods that were sent for, once."""
    groups: dict[str, list[OrderLine]] = defaultdict(list)
    for line in books.orders:
        if line.parcel:
            groups[line.parcel].append(line)
    for lines in groups.values():
        live_ones = [o for o in lines if o.state not in ("lost", "cancelled")]
        postage = sum(o.postage or 0 for o in lines)
        charges = {"Supplier North": {0, Decimal("4.50")}, "Supplier East": {Decimal("9.90"), Decimal("12.40")},
                   "Supplier South": {1900}}[lines[0].supplier]  # fmt: skip
        assert postage in charges
        if live_ones:
            assert sum(o.postage or 0 for o in live_ones) == postage
        for o in lines:
            if o.goods is not None:
                alike = [x for x in lines if (x.item, x.price, x.goods is None) == (o.item, o.price, False)]
                alike = [x for x in alike if x.strength_mm == o.strength_mm]
                pieces = sum(x.qty_bought or 0 for x in alike)
                assert pieces % (o.pack or 1) == 0
                assert sum(x.goods or 0 for x in alike) == (o.price or 0) * (pieces // (o.pack or 1))


@pytest.mark.slow
def test_twenty_pieces_forty_barrels_a_hundred_lines() -> None:
    commands, typing, done = live(seed=17, pieces=20, lines=100, days=320)
    assert done > 250
    states = {line.state for line in commands.orders}
    assert {"returned", "lost", "cancelled", "in drawer", "fitted"} <= states
    assert any(line.qty_lost for line in commands.orders)
    assert any(line.goods is not None for line in commands.orders)
    for books in (commands, typing):
        hold(books, date(2027, 6, 1))
    from beancount import loader

    _, errors, _ = loader.load_string(double_entry(commands, on=date(2027, 6, 1)))
    assert errors == []


@settings(max_examples=25)
@given(st.integers(0, 10**9))
def test_random_lives_keep_every_sum(seed: int) -> None:
    commands, _, _ = live(seed, pieces=3, lines=10, days=40)
    hold(commands, date(2027, 1, 1))
