"""No sequence of steps reaches an impossible book: order, receive, try, return in every order hypothesis can find."""

from collections import defaultdict
from datetime import date, timedelta
from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, initialize, invariant, precondition, rule

from orderbook.errors import OrderbookError
from orderbook.records.accounts import account
from orderbook.records.books import Books, books_from, plain
from orderbook.records.checks import checked
from orderbook.records.identifiers import next_identifiers
from orderbook.records.marking import marked, tried
from orderbook.records.nextsteps import next_steps
from orderbook.records.rows import Append
from orderbook.records.stages import standing
from orderbook.records.states import ORDER
from orderbook.records.tables import OrderLine

MARKS = ("ordered", "received", "fitted", "drawer", "returned", "cancelled")
# the steps as the books' rules state them, written out again by hand
STEPS = {
    ("planned", "ordered"), ("planned", "cancelled"), ("ordered", "received"), ("ordered", "cancelled"),
    ("received", "fitted"), ("received", "in drawer"), ("received", "returned"), ("fitted", "in drawer"),
    ("fitted", "returned"), ("in drawer", "fitted"), ("in drawer", "returned"), ("ordered", "lost"),
    ("lost", "received"), ("lost", "cancelled"),
}  # fmt: skip


def packs(line: OrderLine) -> int:
    """Count packs one by one until they hold the pieces wanted."""
    number = 0
    while number * (line.pack or 1) < (line.qty or 1):
        number += 1
    return number


def bought(line: OrderLine) -> int:
    return packs(line) * (line.pack or 1)


def half_up(amount: Fraction) -> Decimal:
    """Round to whole hundredths with the decimal module's own rounding."""
    exact = Decimal(amount.numerator) / Decimal(amount.denominator)
    return exact.quantize(Decimal("0.01"), "ROUND_HALF_UP")


def test_the_steps_are_those_of_the_rules() -> None:
    assert {(before, after) for before, afters in ORDER.items() for after in afters} == STEPS


def test_what_was_paid_for_goods_and_tax_comes_back_and_postage_does_not() -> None:
    row = {
        "order": "O-0001", "restoration": "R-001", "supplier": "Supplier East", "item": "hands", "qty": 2,
        "price": "8.13", "tax": "3.41", "postage": "5.00", "currency": "EUR", "rate": "0.865", "state": "planned",
    }  # fmt: skip
    books = books_from({"Restorations": [{"restoration": "R-001", "state": "open"}], "Orders": [row]}, currency="GBP")
    for mark in ("ordered", "received", "returned"):
        books = marked(books, mark, ["O-0001"], on=date(2026, 3, 1)).books
    rows = [(r.category, r.kind, r.amount) for r in books.ledger]
    assert rows == [
        ("part", "paid", Decimal("16.26")),
        ("postage", "paid", Decimal("5.00")),
        ("tax", "paid", Decimal("3.41")),
        ("part", "credit", Decimal("16.26")),
        ("tax", "credit", Decimal("3.41")),
    ]


class OneRestoration(RuleBasedStateMachine):
    """A restoration with two barrels, two suppliers in two currencies, and lines that come and go."""

    books: Books
    today: date

    @initialize()
    def begin(self) -> None:
        self.today = date(2026, 3, 1)
        self.books = books_from(
            {
                "Settings": [{"setting": "book currency", "value": "GBP"}],
                "Restorations": [{"restoration": "R-001", "state": "open"}],
                "Barrels": [{"barrel": f"R-001-B{i}", "restoration": "R-001", "train": "going"} for i in (1, 2)],
                "Needs": [{"need": "N-0001", "restoration": "R-001", "part": "hands", "decision": "buy",
                           "state": "decided"}],
                "Suppliers": [{"supplier": "Supplier North", "currency": "GBP", "postage": "4.50", "lead_days": 4},
                              {"supplier": "Supplier East", "currency": "EUR", "postage": "0: 9.90; 20: 5.00",
                               "lead_days": 12}],
                "Rates": [{"date": date(2026, 1, 1), "currency": "EUR", "rate": "0.865"}],
                "Orders": [{"order": "O-0001", "restoration": "R-001", "barrel": "R-001-B1", "stage": 1, "qty": 1,
                            "supplier": "Supplier East", "item": "E-1", "strength_mm": "0.43", "price": "8.13",
                            "tax": "1.71", "currency": "EUR", "trigger": "now", "state": "planned"}],
            }
        )  # fmt: skip

    def lines(self) -> list[str]:
        return [line.order for line in self.books.orders]

    @rule(
        supplier=st.sampled_from((("Supplier North", "GBP"), ("Supplier East", "EUR"))),
        barrel=st.sampled_from(("R-001-B1", "R-001-B2", "")),
        price=st.none() | st.decimals(Decimal("0.01"), Decimal(60), places=2),
        qty=st.integers(1, 3),
        pack=st.none() | st.integers(1, 4),
        tax=st.none() | st.decimals(Decimal("0.01"), Decimal(9), places=2),
        trigger=st.sampled_from(("now", "if stage 1 is too weak", "if stage 2 is too weak", "after the train runs")),
        stage=st.integers(1, 3),
    )
    def plan(
        self, supplier: tuple[str, str], barrel: str, price: Decimal | None, qty: int, pack: int | None,
        tax: Decimal | None, trigger: str, stage: int,
    ) -> None:  # fmt: skip
        (name,) = next_identifiers("O", self.lines())
        spring = {"barrel": barrel, "strength_mm": "0.43", "width_mm": "37.5", "length_mm": "2400", "stage": stage}
        row = {
            "order": name, "restoration": "R-001", "need": "" if barrel else "N-0001", "supplier": supplier[0],
            "currency": supplier[1], "item": f"item {name}", "price": price, "qty": qty, "pack": pack,
            "state": "planned", "tax": tax if price else None, "trigger": trigger if barrel else "now",
            **(spring if barrel else {}),
        }  # fmt: skip
        self.books = self.books.after([Append("Orders", row)])
        self.books = self.books.after([step.change for step in checked(self.books, on=self.today).fixes])

    @rule(days=st.integers(1, 20))
    def wait(self, days: int) -> None:
        self.today += timedelta(days=days)

    @precondition(lambda self: self.books.orders)
    @rule(mark=st.sampled_from(MARKS), data=st.data())
    def mark(self, mark: str, data: st.DataObject) -> None:
        names = data.draw(st.lists(st.sampled_from(self.lines()), min_size=1, max_size=3, unique=True))
        state = "in drawer" if mark == "drawer" else mark
        lines = [self.books.order(name) for name in names]
        if all((line.state, state) in STEPS for line in lines):
            self.books = marked(self.books, mark, names, on=self.today).books
            assert all(self.books.order(name).state == state for name in names)
            if mark == "ordered":
                self.postage_adds_up(names)
        else:
            before = plain(self.books)
            with pytest.raises(OrderbookError) as raised:
                marked(self.books, mark, names, on=self.today)
            assert raised.value.code == "step_not_possible"
            assert plain(self.books) == before

    @precondition(lambda self: self.books.orders)
    @rule(data=st.data())
    def go_on(self, data: st.DataObject) -> None:
        """Mark one line with a step that may follow, so that lines come far."""
        line = self.books.order(data.draw(st.sampled_from(self.lines())))
        if after := sorted(step[1] for step in STEPS if step[0] == line.state and step[1] != "cancelled"):
            self.books = marked(self.books, data.draw(st.sampled_from(after)), [line.order], on=self.today).books

    @precondition(lambda self: self.books.orders)
    @rule(data=st.data(), pieces=st.integers(1, 4))
    def send_some_back(self, data: st.DataObject, pieces: int) -> None:
        line = self.books.order(data.draw(st.sampled_from(self.lines())))
        left = bought(line) - (line.qty_returned or 0)
        if line.state in ("received", "fitted", "in drawer") and pieces <= left:
            self.books = marked(self.books, "returned", [line.order], on=self.today, pieces=pieces).books
            after = self.books.order(line.order)
            assert after.qty_returned == (line.qty_returned or 0) + pieces
            assert after.state == ("returned" if pieces == left else line.state)
        else:
            before = plain(self.books)
            with pytest.raises(OrderbookError) as raised:
                marked(self.books, "returned", [line.order], on=self.today, pieces=pieces)
            assert raised.value.code in ("step_not_possible", "pieces_not_possible")
            assert plain(self.books) == before

    def postage_adds_up(self, names: list[str]) -> None:
        parcels: dict[str, list[str]] = defaultdict(list)
        for name in names:
            parcels[self.books.order(name).supplier].append(name)
        for supplier, parcel in parcels.items():
            lines = [self.books.order(name) for name in parcel]
            goods = sum((line.price or 0) * packs(line) for line in lines)
            charge = "4.50" if supplier == "Supplier North" else "9.90" if goods < 20 else "5.00"
            assert sum(line.postage or 0 for line in lines) == Decimal(charge)

    @precondition(lambda self: any(o.barrel for o in self.books.orders))
    @rule(verdict=st.sampled_from(("too weak", "never ran", "stopped", "ran well", "too strong")), data=st.data())
    def fit(self, verdict: str, data: st.DataObject) -> None:
        line = self.books.order(data.draw(st.sampled_from([o.order for o in self.books.orders if o.barrel])))
        if line.state in ("received", "fitted", "in drawer"):
            self.books = tried(self.books, line.order, verdict, on=self.today).books
            if verdict == "ran well":
                assert self.books.order(line.order).state == "fitted"
        else:
            with pytest.raises(OrderbookError) as raised:
                tried(self.books, line.order, verdict, on=self.today)
            assert raised.value.code == "not_in_hand"

    @invariant()
    def nothing_is_left_to_put_right(self) -> None:
        found = checked(self.books, on=self.today)
        assert found.fixes == ()
        assert [f for f in found.findings if f.severity == "error"] == []

    @invariant()
    def each_cost_stands_once_in_the_ledger(self) -> None:
        for line in self.books.orders:
            goods = (line.price or Decimal(0)) * packs(line)
            cost = goods + (line.postage or 0) + (line.tax or 0)
            sums = {
                kind: sum(r.amount or 0 for r in self.books.ledger if r.order == line.order and r.kind == kind)
                for kind in ("committed", "paid", "credit")
            }
            share = Fraction(line.qty_returned or 0, bought(line))
            share = Fraction(1) if line.state == "returned" else share
            returned = sum(half_up(Fraction(part) * share) for part in (goods, line.tax or Decimal(0)))
            is_paid = line.state in ("received", "fitted", "in drawer", "returned")
            assert sums == {
                "committed": cost if line.state == "ordered" else 0,
                "paid": cost if is_paid else 0,
                "credit": returned,
            }
            if line.state == "returned":  # order, receive and return: nothing is left but the postage
                assert sums["paid"] - sums["credit"] == (line.postage or 0)

    @invariant()
    def the_account_is_the_sum_of_its_rows(self) -> None:
        found = account(self.books, "R-001", on=self.today)
        assert found.not_added == ()
        for kind in ("committed", "paid", "credit"):
            rows = [r for r in self.books.ledger if r.kind == kind]
            exact = sum(((r.amount or 0) * (r.rate or 1)).quantize(Decimal("0.01"), "ROUND_HALF_UP") for r in rows)
            assert getattr(found.total, kind) == exact * 100
        assert sum((s.balance for s in found.by_barrel.values()), 0) == found.total.balance

    @invariant()
    def the_drawer_and_the_orders_agree(self) -> None:
        rows = {d.order: d for d in self.books.drawer}
        assert len(rows) == len(self.books.drawer)
        for line in self.books.orders:
            here = bought(line) - (line.qty_returned or 0) if line.state in ("received", "fitted", "in drawer") else 0
            kept = max(here - (0 if line.state == "in drawer" else line.qty or 1), 0) if line.barrel else 0
            row = rows.get(line.order)
            if kept:
                assert row
                assert (row.state, row.pieces or 1) == ("in drawer", kept)
            elif row and line.state != "received":
                assert row.state == {"fitted": "fitted", "returned": "gone"}[line.state]

    @invariant()
    def no_stage_is_due_once_a_spring_runs_well(self) -> None:
        for line in self.books.orders:
            how = standing(self.books, line)
            if line.state == "planned" and line.trigger.startswith("if stage"):
                assert how.due in ("due", "waits")  # one that is off has been cancelled
        next_steps(self.books, on=self.today)


OneRestoration.TestCase.settings = settings(max_examples=60, stateful_step_count=30, deadline=None)
TestOneRestoration = OneRestoration.TestCase
