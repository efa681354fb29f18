"""Whole packs: hand-worked, and the laws that hold for every quantity, pack and price."""

from datetime import date
from decimal import Decimal
from typing import Any

from hypothesis import given
from hypothesis import strategies as st

from orderbook.records.accounts import account
from orderbook.records.books import Books, books_from
from orderbook.records.checks import checked
from orderbook.records.marking import marked, tried
from orderbook.records.packs import packs_bought, pieces_bought
from orderbook.records.parcels import pack_shares
from orderbook.records.planning import PlannedSpring, planned
from orderbook.reports.orders import as_csv, as_text, due_lines, order_sheets

ON = date(2026, 3, 3)


def book_with(*orders: dict[str, Any], **tables: list[dict[str, Any]]) -> Books:
    line = {"restoration": "R-001", "barrel": "R-001-B1", "supplier": "Supplier North", "item": "NW-1", "qty": 1,
            "width_mm": "1.5", "strength_mm": "0.10", "length_mm": 290, "trigger": "now", "currency": "GBP",
            "state": "planned"}  # fmt: skip
    return books_from(
        {
            "Settings": [{"setting": "book currency", "value": "GBP"}],
            "Restorations": [{"restoration": "R-001", "state": "open"}],
            "Barrels": [{"barrel": f"R-001-B{n}", "restoration": "R-001", "train": "going"} for n in (1, 2)],
            "Suppliers": [
                {"supplier": "Supplier North", "currency": "GBP", "postage": "4.50", "free_above": 75, "lead_days": 4},
                {"supplier": "Supplier East", "currency": "EUR", "postage": "9.90", "lead_days": 12},
            ],
            "Rates": [{"date": date(2026, 1, 2), "currency": "EUR", "rate": "0.865"}],
            "Orders": [line | given for given in orders],
            **tables,
        }
    )


def test_one_watch_spring_out_of_a_pack_of_twelve() -> None:
    """By hand: 1 wanted, sold by twelve at 18.50; 18.50 + 4.50 postage = 23.00; 11 are over, 18.50 / 12 = 1.54 each."""
    book = book_with({"order": "O-0001", "pack": 12, "price": "18.50"})
    (sheet,) = order_sheets(book, due_lines(book, "R-001"))
    assert (sheet.goods.text, sheet.postage.text, sheet.total.text) == ("18.50", "4.50", "23.00")
    assert "1 pack of 12" in as_text(sheet, on=ON)
    assert "NW-1,1,1,12,1.5,0.1,290,18.50,GBP,18.50,4.50" in as_csv(sheet)
    assert [f.code for f in sheet.findings] == ["pack_leaves_pieces"]
    book = marked(book, "ordered", ["O-0001"], on=ON).books
    assert [(r.category, r.kind, str(r.amount)) for r in book.ledger] == [
        ("spring", "committed", "18.50"),
        ("postage", "committed", "4.50"),
    ]
    assert account(book, "R-001", on=ON).to_come[0].cost == 2300
    book = marked(book, "received", ["O-0001"], on=ON).books
    (over,) = book.drawer
    assert (over.pieces, over.state, over.price, over.origin) == (11, "in drawer", Decimal("1.54"), "new")
    assert book.order("O-0001").qty_received == 12
    book = tried(book, "O-0001", "ran well", on=ON).books
    assert (book.order("O-0001").state, book.drawer[0].pieces) == ("fitted", 11)
    book = tried(book, over.drawer, "ran well", on=ON, barrel="R-001-B2").books
    assert (book.drawer[0].pieces, book.drawer[0].state) == (10, "in drawer")
    assert checked(book, on=ON).findings == ()


def test_thirteen_of_twelve_are_two_packs() -> None:
    """By hand: 2 × 18.50 = 37.00, 24 come, 11 are over."""
    book = book_with({"order": "O-0001", "pack": 12, "qty": 13, "price": "18.50"})
    (sheet,) = order_sheets(book, due_lines(book, "R-001"))
    assert (sheet.goods.text, sheet.total.text) == ("37.00", "41.50")
    assert "2 packs of 12" in as_text(sheet, on=ON)


def test_a_spare_fitted_elsewhere_leaves_its_order_line_fitted() -> None:
    book = book_with({"order": "O-0001", "price": "5.00"})
    for mark in ("ordered", "received", "drawer"):
        book = marked(book, mark, ["O-0001"], on=ON).books
    (spare,) = book.drawer
    book = tried(book, spare.drawer, "ran well", on=ON, barrel="R-001-B2").books
    assert (book.order("O-0001").state, book.drawer[0].state) == ("fitted", "fitted")
    assert [f.code for f in checked(book, on=ON).findings if f.severity != "note"] == []


def test_a_stage_is_planned_at_the_suppliers_price_of_a_pack() -> None:
    """The graded order compares in pounds: 12.62 is 14.59 EUR at 0.865; the supplier charges 14.59 EUR for six."""
    listed = {"supplier": "Supplier East", "item": "E-3", "width_mm": 2.0, "strength_mm": 0.13, "length_mm": 380.0,
              "price": 14.59, "currency": "EUR", "pack": 6}  # fmt: skip
    book = book_with(Catalogue=[listed])
    sizes = (Decimal("2.0"), Decimal("0.13"), Decimal(380))
    stage = PlannedSpring(1, "Supplier East", "E-3", *sizes, price=Decimal("12.62"), currency="GBP")
    changes, _ = planned(book, "R-001", "R-001-B1", [stage])
    line = book.after(changes).order("O-0001")
    assert (line.price, line.currency, line.pack, line.qty) == (Decimal("14.59"), "EUR", 6, 1)


def test_two_lines_of_one_pack_buy_it_once() -> None:
    """By hand: two of twelve at 18.50 are one pack; each takes 6 pieces at 9.25, wants 1, and leaves 5 over."""
    lines = ({"order": f"O-000{n}", "pack": 12, "price": "18.50", "barrel": f"R-001-B{n}"} for n in (1, 2))
    book = book_with(*lines)
    (sheet,) = order_sheets(book, due_lines(book, "R-001"))
    assert (sheet.goods.text, sheet.total.text) == ("18.50", "23.00")
    assert [x.packs for x in sheet.lines] == [1, 0]
    assert "1 pack of 12" in as_text(sheet, on=ON)
    book = marked(book, "ordered", ["O-0001", "O-0002"], on=ON).books
    assert [(o.qty_bought, str(o.goods), o.parcel) for o in book.orders] == [(6, "9.25", "P-0001")] * 2
    assert account(book, "R-001", on=ON).total.committed == 2300
    book = marked(book, "received", ["O-0001", "O-0002"], on=ON).books
    assert [d.pieces for d in book.drawer] == [5, 5]
    assert checked(book, on=ON).fixes == ()


def test_whole_packs_are_not_shared() -> None:
    full = book_with(*({"order": f"O-000{n}", "pack": 2, "qty": 2, "price": "3.00"} for n in (1, 2)))
    assert pack_shares(full, full.orders) == {}


ORDER = st.fixed_dictionaries(
    {
        "qty": st.integers(1, 40),
        "pack": st.none() | st.integers(1, 24),
        "price": st.decimals(Decimal("0.01"), Decimal(80), places=2),
        "tax": st.none() | st.decimals(Decimal("0.01"), Decimal(20), places=2),
    }
)


@given(st.lists(ORDER, min_size=1, max_size=6))
def test_lines_postage_and_tax_are_the_total_and_packs_are_the_fewest(orders: list[dict[str, Any]]) -> None:
    book = book_with(*({"order": f"O-{n:04d}", "item": f"NW-{n}", **given} for n, given in enumerate(orders, 1)))
    (sheet,) = order_sheets(book, due_lines(book, "R-001"))
    goods = sum((x.goods.minor for x in sheet.lines if x.goods), 0)
    assert goods + sum(x.postage.minor + x.tax.minor for x in sheet.lines) == sheet.total.minor
    assert sheet.postage.minor == (0 if goods >= 7500 else 450)
    for x in sheet.lines:
        pack, packs = x.line.pack or 1, packs_bought(x.line)
        assert pieces_bought(x.line) == packs * pack >= (x.line.qty or 0)
        assert (packs - 1) * pack < (x.line.qty or 0)
        assert x.goods
        assert x.goods.minor == int((x.line.price or 0) * 100) * packs
    ordered = marked(book, "ordered", [line.order for line in book.orders], on=ON).books
    assert account(ordered, "R-001", on=ON).total.committed == sheet.total.minor


def test_part_of_a_line_goes_back() -> None:
    """By hand: 3 at 10.01 are 30.03, tax 2.00; one back is 10.01 and 0.67, two 20.02 and 1.33, all 30.03 and 2.00."""
    book = book_with({"order": "O-0001", "qty": 3, "price": "10.01", "tax": "2.00", "postage": "4.50"})
    for mark in ("ordered", "received", "drawer"):
        book = marked(book, mark, ["O-0001"], on=ON).books
    seen = []
    for _ in range(3):
        book = marked(book, "returned", ["O-0001"], on=ON, pieces=1).books
        back = [r for r in book.ledger if r.kind == "credit" and not r.drawer]  # by the supplier
        spring, tax = (int(100 * sum(r.amount or 0 for r in back if r.category == c)) for c in ("spring", "tax"))
        line, (spare,) = book.order("O-0001"), book.drawer
        seen.append((line.state, line.qty_returned, spring, tax, spare.state, spare.pieces))
        assert checked(book, on=ON).findings == ()
    assert seen == [
        ("in drawer", 1, 1001, 67, "in drawer", 2),
        ("in drawer", 2, 2002, 133, "in drawer", 1),
        ("returned", 3, 3003, 200, "gone", 1),
    ]
    assert account(book, "R-001", on=ON).by_category["postage"].credit == 0


def test_a_fee_the_supplier_kept_is_left_as_typed_and_said() -> None:
    book = book_with({"order": "O-0001", "price": "20.00", "postage": "4.50"})
    for mark in ("ordered", "received", "returned"):
        book = marked(book, mark, ["O-0001"], on=ON).books
    rows = {**book.tables, "Ledger": [dict(row.values) for row in book.tables["Ledger"]]}
    rows["Ledger"][-1]["amount"] = Decimal("17.00")
    found = checked(books_from(rows), on=ON)
    assert found.fixes == ()
    assert [(f.code, f.severity) for f in found.findings] == [("credit_differs", "note")]


def test_a_planned_spring_the_graded_order_does_without_is_said() -> None:
    book = book_with({"order": "O-0001", "item": "NW-1", "stage": 1, "price": 5})
    stage = PlannedSpring(1, "Supplier North", "NW-2", Decimal("1.5"), Decimal("0.11"), Decimal(280), Decimal(5), "GBP")
    changes, found = planned(book, "R-001", "R-001-B1", [stage])
    assert [f.code for f in found] == ["planned_but_left_out"]
    after = book.after(changes)
    assert (after.order("O-0002").stage, after.order("O-0002").trigger) == (2, "now")
    assert planned(book, "R-001", "R-001-B1", [])[1] == ()
