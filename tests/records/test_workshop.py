"""What a workshop does: parcels, springs that wander, limits, what comes in part, wrong, or never. Sums by hand."""

from datetime import date
from decimal import Decimal
from typing import Any

import pytest

from orderbook.errors import OrderbookError
from orderbook.records.accounts import account
from orderbook.records.books import Books, books_from
from orderbook.records.checks import checked
from orderbook.records.marking import again, marked, tried
from orderbook.records.nextsteps import next_steps
from orderbook.records.planned_spring import PlannedSpring
from orderbook.records.planning import planned
from orderbook.records.rows import Append, Put
from orderbook.records.stages import standing
from orderbook.records.totals import Span, totals
from orderbook.reports.orders import due_at, order_sheets

ON = date(2026, 3, 3)
SPRING = {"width_mm": "2.0", "strength_mm": "0.13", "length_mm": 400, "barrel": "R-001-B1", "stage": 1}


def book(*orders: dict[str, Any], **tables: list[dict[str, Any]]) -> Books:
    line = {
        "supplier": "Supplier North",
        "item": "hands",
        "qty": 1,
        "trigger": "now",
        "currency": "GBP",
        "price": "5.00",
        "restoration": "R-001",
        "state": "planned",
    }
    return books_from(
        {
            "Settings": [{"setting": "book currency", "value": "GBP"}],
            "Restorations": [{"restoration": f"R-00{n}", "piece": f"piece {n}", "state": "open"} for n in range(1, 5)],
            "Barrels": [{"barrel": f"R-00{n}-B{b}", "restoration": f"R-00{n}", "train": "going"}
                        for n in range(1, 5) for b in (1, 2)],
            "Needs": [{"need": f"N-000{n}", "restoration": f"R-00{n}", "part": "hands", "decision": "buy",
                       "state": "decided"} for n in range(1, 5)],
            "Suppliers": [
                {"supplier": "Supplier North", "currency": "GBP", "postage": "4.50", "lead_days": 4, "return_days": 14},
                {"supplier": "Supplier East", "currency": "EUR", "postage": "9.90", "lead_days": 12},
            ],
            "Rates": [{"date": date(2026, 1, 2), "currency": "EUR", "rate": "0.865"}],
            "Orders": [line | {"order": f"O-000{n}"} | given for n, given in enumerate(orders, 1)],
            **tables,
        }
    )  # fmt: skip


def rows(books: Books, restoration: str = "") -> list[tuple[Any, ...]]:
    return [
        (r.restoration, r.category, r.kind, str(r.amount), r.date.day if r.date else None)
        for r in books.ledger
        if restoration in ("", r.restoration)
    ]


def steps(books: Books, on: date = ON) -> set[tuple[str, str]]:
    return {(step.kind, step.about) for step in next_steps(books, on=on)}


def in_order(books: Books, on: date = ON) -> None:
    assert checked(books, on=on).fixes == ()


# ---- parcels --------------------------------------------------------------------------------------------------------


def test_a_parcel_over_pieces_bears_its_postage_once() -> None:
    """4.50 over goods of 5.00, 10.00 and 5.01: 1.124…, 2.248…, 1.126…; the penny left goes to the largest remainder."""
    b = book({}, {"restoration": "R-002", "price": "10.00"}, {"restoration": "R-003", "price": "5.01"})
    (sheet,) = order_sheets(b, due_at(b, "supplier north"))
    assert (sheet.goods.text, sheet.postage.text, sheet.total.text) == ("20.01", "4.50", "24.51")
    assert sheet.restorations == ("R-001", "R-002", "R-003")
    b = marked(b, "ordered", [o.order for o in b.orders], on=ON).books
    assert [str(o.postage) for o in b.orders] == ["1.12", "2.25", "1.13"]
    assert {o.parcel for o in b.orders} == {"P-0001"}
    assert sum(account(b, f"R-00{n}", on=ON).total.committed for n in (1, 2, 3)) == 2451
    in_order(b)


def test_typing_a_parcel_comes_to_the_same() -> None:
    b = book({}, {"restoration": "R-002", "price": "10.00"})
    commands = marked(b, "ordered", ["O-0001", "O-0002"], on=ON).books
    typed = b.after(Put("Orders", o.row.place.row, {"state": "ordered", "ordered_on": ON}) for o in b.orders)
    fixed = typed.after(step.change for step in checked(typed, on=ON).fixes)
    assert [(o.parcel, o.postage, o.expected) for o in fixed.orders] == [
        (o.parcel, o.postage, o.expected) for o in commands.orders
    ]
    assert rows(fixed) == rows(commands)


def test_a_pack_for_four_pieces_is_bought_once() -> None:
    """12 at 18.50 for four: 3 pieces each; 18.50 / 4 is 4.625: 4.63, 4.63, 4.62, 4.62. 2 each are over: 8 at 1.54."""
    pack = SPRING | {"pack": 12, "price": "18.50", "item": "NW-1", "stage": None}
    b = book(*(pack | {"restoration": f"R-00{n}", "barrel": f"R-00{n}-B1"} for n in range(1, 5)))
    (sheet,) = order_sheets(b, due_at(b, "Supplier North"))
    assert (sheet.goods.text, sheet.total.text) == ("18.50", "23.00")
    names = [o.order for o in b.orders]
    b = marked(b, "ordered", names, on=ON).books
    assert [(o.qty_bought, str(o.goods)) for o in b.orders] == [(3, "4.63"), (3, "4.63"), (3, "4.62"), (3, "4.62")]
    b = marked(b, "received", names, on=ON).books
    assert sum(d.pieces or 1 for d in b.drawer) == 8
    sums = totals(b, Span())
    assert (sums.paid_to_suppliers, sums.drawer_then) == (2300, 8 * 154)
    assert sums.total.paid - sums.total.credit == 2300 - 8 * 154
    in_order(b)


def test_a_line_that_does_not_come_leaves_its_postage_to_the_others() -> None:
    b = book({}, {"restoration": "R-002"}, {"restoration": "R-003"})
    names = [o.order for o in b.orders]
    for mark in ("cancelled", "lost"):
        done = marked(marked(b, "ordered", names, on=ON).books, mark, ["O-0001"], on=ON).books
        assert [str(o.postage) for o in done.orders] == ["0", "2.25", "2.25"]
        assert account(done, "R-001", on=ON).total.committed == 0
        assert account(done, "R-002", on=ON).total.committed == 725
        in_order(done)


# ---- the cost follows the spring ------------------------------------------------------------------------------------


def drawer_walk(**setting: str) -> Books:
    settings = [{"setting": "book currency", "value": "GBP"}, *({"setting": k, "value": v} for k, v in setting.items())]
    b = book(SPRING, Settings=settings)
    for mark in ("ordered", "received", "drawer"):
        b = marked(b, mark, ["O-0001"], on=ON).books
    return b


def test_a_spring_in_the_drawer_leaves_its_piece_and_charges_the_one_that_keeps_it() -> None:
    b = drawer_walk()
    assert account(b, "R-001", on=ON).total.spent == 450  # the postage stays
    assert totals(b, Span()).drawer_then == 500
    b = tried(b, "D-0001", "ran well", on=ON, barrel="R-002-B1").books
    assert [r[:4] for r in rows(b) if r[1] == "spring"] == [
        ("R-001", "spring", "paid", "5.00"), ("R-001", "spring", "credit", "5.00"), ("R-002", "spring", "paid", "5.00"),
    ]  # fmt: skip
    sums = totals(b, Span())
    assert (sums.paid_to_suppliers, sums.drawer_then, sums.by_piece["R-002"].paid) == (950, 0, 500)
    in_order(b)
    b = tried(b, "D-0001", "too weak", on=date(2026, 3, 9), barrel="R-002-B1").books  # taken out again
    assert (account(b, "R-002", on=ON).total.spent, totals(b, Span()).drawer_then) == (0, 500)


def test_the_cost_stays_where_the_user_says_so() -> None:
    b = book(SPRING)
    b = b.after([Append("Settings", {"setting": "Cost of drawer springs", "value": "stays"})])
    for mark in ("ordered", "received", "drawer"):
        b = marked(b, mark, ["O-0001"], on=ON).books
    b = tried(b, "D-0001", "ran well", on=ON, barrel="R-002-B1").books
    assert (account(b, "R-001", on=ON).total.spent, account(b, "R-002", on=ON).total.spent) == (950, 0)
    in_order(b)


def test_a_spring_of_the_drawer_that_goes_back_is_credited_once() -> None:
    b = marked(drawer_walk(), "returned", ["O-0001"], on=ON).books
    assert account(b, "R-001", on=ON).total.spent == 450
    assert totals(b, Span()).drawer_then == 0
    in_order(b)


# ---- limits ---------------------------------------------------------------------------------------------------------


def limited() -> Books:
    b = book({"price": "30.00"})
    return b.after([Put("Restorations", 2, {"estimate": 40, "not_above": 34})])


def test_an_order_above_the_limit_stops_and_needs_a_word() -> None:
    b = limited()
    with pytest.raises(OrderbookError) as stopped:
        marked(b, "ordered", ["O-0001"], on=ON)
    assert stopped.value.code == "above_limit"
    assert "34.50 GBP" in stopped.value.saw
    done = marked(b, "ordered", ["O-0001"], on=ON, agreed="by phone").books
    assert done.order("O-0001").state == "ordered"
    (note,) = done.notes
    assert (note.restoration, note.heading, note.date) == ("R-001", "change agreed", ON)
    assert "by phone" in note.said


def test_the_estimate_agreed_is_the_estimate() -> None:
    b = limited()
    sums = account(b, "R-001", on=ON)
    assert (sums.total.estimate, sums.total.balance) == (4000, 4000)
    row = {"date": ON, "restoration": "R-001", "category": "part", "kind": "estimate", "currency": "GBP"}
    same = b.after([Append("Ledger", row | {"amount": 40})])
    assert account(same, "R-001", on=ON).total.estimate == 4000
    assert "estimates_differ" not in {f.code for f in checked(same, on=ON).findings}
    other = b.after([Append("Ledger", row | {"amount": 45})])
    (said,) = [f for f in checked(other, on=ON).findings if f.code == "estimates_differ"]
    assert "40.00 GBP" in said.saw
    assert "45.00 GBP" in said.saw


# ---- what comes, and what does not ----------------------------------------------------------------------------------


def ordered(**line: Any) -> Books:
    return marked(book({"need": "N-0001", "qty": 3, "tax": "1.00"} | line), "ordered", ["O-0001"], on=ON).books


def test_a_part_comes_and_the_rest_is_due() -> None:
    """15.00 + 1.00 tax over 3: two are 10.00 and 0.67 paid, one is 5.00 and 0.33 to come; postage is paid whole."""
    b = marked(ordered(), "received", ["O-0001"], on=date(2026, 3, 9), pieces=2).books
    line = b.order("O-0001")
    assert (line.state, line.qty_received) == ("received", 2)
    assert sorted(r[1:] for r in rows(b)) == [
        ("part", "committed", "5.00", 3), ("part", "paid", "10.00", 9), ("postage", "paid", "4.50", 9),
        ("tax", "committed", "0.33", 3), ("tax", "paid", "0.67", 9),
    ]  # fmt: skip
    (rest,) = account(b, "R-001", on=ON).to_come
    assert (rest.pieces, rest.cost) == (1, 533)
    assert ("waits for a delivery", "O-0001") in steps(b)
    in_order(b)
    b = marked(b, "received", ["O-0001"], on=date(2026, 3, 12)).books
    assert b.order("O-0001").qty_received == 3
    assert [r for r in rows(b) if r[2] == "committed"] == []
    assert ("R-001", "part", "paid", "5.00", 12) in rows(b)
    in_order(b)


def test_what_never_comes_is_not_paid() -> None:
    b = marked(ordered(), "received", ["O-0001"], on=ON, pieces=2).books
    b = marked(b, "lost", ["O-0001"], on=ON).books
    assert b.order("O-0001").qty_lost == 1
    assert account(b, "R-001", on=ON).total.paid == 1000 + 67 + 450
    assert account(b, "R-001", on=ON).total.committed == 0
    assert ("ask", "O-0001") in steps(b)
    in_order(b)


def test_more_than_was_ordered_costs_nothing_and_brings_nothing_back() -> None:
    b = marked(ordered(), "received", ["O-0001"], on=ON, pieces=4).books
    assert account(b, "R-001", on=ON).total.paid == 1500 + 100 + 450
    assert ("send back", "O-0001") in steps(b)
    b = marked(b, "returned", ["O-0001"], on=ON, pieces=1).books
    assert account(b, "R-001", on=ON).total.credit == 0
    in_order(b)
    b = marked(b, "returned", ["O-0001"], on=ON, pieces=1).books
    assert account(b, "R-001", on=ON).total.credit == 500 + 33


def test_wrong_pieces_are_named_and_the_need_is_ordered_again() -> None:
    b = marked(ordered(qty=1), "received", ["O-0001"], on=ON, wrong="one hand is bent").books
    assert b.order("O-0001").wrong == "one hand is bent"
    assert {("send back", "O-0001"), ("order", "N-0001")} <= steps(b)
    (need,) = [s for s in next_steps(b, on=ON) if s.about == "N-0001"]
    assert "order again" in need.why
    b = marked(b, "returned", ["O-0001"], on=ON).books
    b = again(b, "O-0001").books
    assert (b.order("O-0002").item, b.order("O-0002").state, b.order("O-0002").need) == ("hands", "planned", "N-0001")
    assert ("order", "O-0002") in steps(b)


@pytest.mark.parametrize("mark", ["lost", "cancelled"])
def test_a_line_that_never_comes_sends_its_need_back(mark: str) -> None:
    b = marked(ordered(), mark, ["O-0001"], on=ON).books
    (need,) = [s for s in next_steps(b, on=ON) if s.about == "N-0001"]
    assert (need.kind, "order again" in need.why) == ("order", True)
    assert account(b, "R-001", on=ON).total.committed == 0
    in_order(b)


def stages() -> Books:
    second = SPRING | {"stage": 2, "strength_mm": "0.15", "trigger": "if stage 1 is too weak", "item": "S 15"}
    return book(SPRING | {"item": "S 13"}, second)


def test_a_stage_does_not_wait_for_ever() -> None:
    b = stages()
    gone = marked(b, "cancelled", ["O-0001"], on=ON).books
    assert standing(gone, gone.order("O-0002")).due == "due"
    sent = marked(marked(b, "ordered", ["O-0001"], on=ON).books, "received", ["O-0001"], on=ON, wrong="hook torn").books
    assert ("try", "O-0001") not in steps(sent)
    assert "send it back" in standing(sent, sent.order("O-0002")).why
    back = marked(sent, "returned", ["O-0001"], on=ON).books
    assert standing(back, back.order("O-0002")).due == "due"
    assert ("order", "O-0001") in steps(back)  # the weaker one again, before a stronger one
    lost = marked(marked(b, "ordered", ["O-0001"], on=ON).books, "lost", ["O-0001"], on=ON).books
    assert "is lost: order it again, or cancel it" in standing(lost, lost.order("O-0002")).why


def test_a_stage_planned_again_comes_before_the_stronger_one() -> None:
    b = marked(stages(), "cancelled", ["O-0001"], on=ON).books
    sizes = {"width_mm": Decimal("2.0"), "length_mm": Decimal(400)}
    wanted = [
        PlannedSpring(
            1, "Supplier North", "S 13", strength_mm=Decimal("0.13"), price=Decimal(5), currency="GBP", **sizes
        ),
        PlannedSpring(
            2, "Supplier North", "S 15", strength_mm=Decimal("0.15"), price=Decimal(5), currency="GBP", **sizes
        ),
    ]
    changes, _ = planned(b, "R-001", "R-001-B1", wanted)
    b = b.after(changes)
    first, second = b.order("O-0003"), b.order("O-0002")
    assert (first.trigger, second.trigger) == ("now", "if O-0003 is too weak")
    assert (first.stage or 0) < (second.stage or 0)
    assert standing(b, second).due == "waits"


def test_return_by_is_filled_and_warned_of_in_time() -> None:
    b = marked(marked(stages(), "ordered", ["O-0001"], on=ON).books, "received", ["O-0001"], on=date(2026, 3, 9)).books
    assert b.order("O-0001").return_by == date(2026, 3, 23)
    (step,) = [s for s in next_steps(b, on=date(2026, 3, 18)) if s.about == "O-0001"]
    assert "until 2026-03-23, soon" in step.why


# ---- unreadable cells -----------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("line", "cell"),
    [
        ({"currency": "€"}, "currency"),
        ({"qty": "one"}, "qty"),
        ({"need": "N-0099"}, "need"),
        ({"price": "5,O0"}, "price"),
        ({"barrel": "R-001-B9"}, "barrel"),
        ({"qty": -1}, "qty"),
        ({"qty": 0}, "qty"),
    ],
)
def test_an_unreadable_cell_never_orders(line: dict[str, Any], cell: str) -> None:
    b = book(line)
    with pytest.raises(OrderbookError) as stopped:
        marked(b, "ordered", ["O-0001"], on=ON)
    assert f"Orders row 2 ({cell})" in stopped.value.where
    typed = b.after([Put("Orders", 2, {"state": "ordered", "ordered_on": ON})])
    if cell in ("currency", "qty", "price") and "one" in str(line) + "one€5,O0":
        unread = cell != "qty" or line["qty"] == "one"
        assert not unread or not [s for s in checked(typed, on=ON).fixes if s.change.table == "Ledger"]


def test_an_unreadable_supplier_or_limit_never_orders() -> None:
    b = book({}).after([Put("Restorations", 2, {"not_above": "about 40"})])
    with pytest.raises(OrderbookError) as stopped:
        marked(b, "ordered", ["O-0001"], on=ON)
    assert "Restorations row 2 (not above)" in stopped.value.where


def test_every_row_left_out_is_counted() -> None:
    work = [
        {"date": ON, "need": "N-0001", "hours": -2, "rate": 38},
        {"date": ON, "need": "N-0077", "hours": 1, "rate": 38},
        {"date": ON, "hours": 1, "rate": 38},
        {"date": ON, "need": "R-001", "hours": 2, "rate": 38},
    ]
    ledger = [{"date": ON, "restoration": "R-077", "category": "part", "kind": "paid", "amount": 5, "currency": "GBP"}]
    found = account(book(Work=work, Ledger=ledger), "R-001", on=ON)
    assert (found.total.labour, found.labour_hours, found.rows_added) == (7600, 2, 1)  # labour of the piece itself
    assert [f.where for f in found.not_added] == [
        "Work row 2 (hours)", "Ledger row 2 (restoration)", "Work row 3 (need)", "Work row 4 (need)",
    ]  # fmt: skip


# ---- days, who, stock -----------------------------------------------------------------------------------------------


def test_a_row_that_becomes_paid_has_the_day_it_was_paid() -> None:
    b = marked(ordered(), "received", ["O-0001"], on=date(2026, 4, 2)).books
    assert {r[4] for r in rows(b)} == {2}
    assert {r.date for r in b.ledger} == {date(2026, 4, 2)}
    march, april = (totals(b, Span(date(2026, m, 1), date(2026, m, 30))) for m in (3, 4))
    assert (march.total.paid, april.total.paid, april.by_supplier["Supplier North"].paid) == (0, 2050, 2050)


def test_outside_work_is_a_decision_and_a_category() -> None:
    needs = [
        {"need": "N-0001", "restoration": "R-001", "part": "chain", "decision": "outside work", "state": "decided"}
    ]
    b = book({"need": "N-0001", "item": "one link"}, Needs=needs)
    assert ("order", "O-0001") in steps(b)
    b = marked(b, "ordered", ["O-0001"], on=ON).books
    assert [r[1] for r in rows(b)] == ["outside work", "postage"]


def test_a_spring_kept_in_the_drawer_is_ordered_again_in_time() -> None:
    spring = {
        "drawer": "D-0001",
        "label": "usual one",
        "width_mm": 2,
        "strength_mm": "0.13",
        "length_mm": 400,
        "pieces": 2,
        "keep_at_least": 2,
        "whose": "ours",
        "state": "in drawer",
    }
    assert ("order", "D-0001") not in steps(book(Drawer=[spring]))
    assert ("order", "D-0001") in steps(book(Drawer=[spring | {"pieces": 1}]))
    assert ("order", "D-0001") not in steps(
        book(Drawer=[spring | {"pieces": 1}, spring | {"drawer": "D-0002", "pieces": 1}])
    )
