"""The Order sheet in a real LibreOffice: what it lists and adds up is what Python's order sheet says."""

from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest

from orderbook.records.books import Books
from orderbook.reports.orders import OrderSheet, due_lines, order_sheets
from orderbook.sheets.new_book import write_new_book
from orderbook.sheets.order_page import FIRST, GOODS, LINES
from orderbook.xlsx.reading import open_book
from tests.office import Office
from tests.places import cell_of

pytestmark = pytest.mark.libreoffice

SUPPLIERS: list[dict[str, Any]] = [
    {"supplier": "Supplier North", "currency": "GBP", "postage": Decimal("4.50"), "free_above": 75},
    {"supplier": "Supplier East", "currency": "EUR", "postage": "0: 3,20; 20: 4.50; 50: 6.50", "minimum_order": 15},
    {"supplier": "Supplier West", "currency": "GBP", "postage": "30: 2.75; 10: 1.5"},
    {"supplier": "Supplier South", "currency": "JPY", "postage": Decimal(800)},
    {"supplier": "Supplier Free", "currency": "GBP"},
]
WHEN = (
    "now", "", "Now", "if stage 1 is too weak", "if O-0001 is too weak", "if D-0001 was too weak", "after N-0001",
    "after N-0002 is done", "after the train runs", "after the striking train runs", "after the alarm train runs",
    "after the time train runs", "when the moon is full", "if stage 2 is too weak", "if O-0002 is too weak",
)  # fmt: skip


def rows() -> dict[str, list[dict[str, Any]]]:
    """A book with every kind of When at every supplier: two pieces, three barrels, verdicts weak, kept and none."""
    orders: list[dict[str, Any]] = [
        {"order": "O-0001", "barrel": "R-001-B1", "stage": 1, "supplier": "Supplier North", "item": "a", "qty": 1,
         "price": 5, "currency": "GBP", "state": "in drawer"},
        {"order": "O-0002", "barrel": "R-001-B2", "stage": 1, "supplier": "Supplier North", "item": "b", "qty": 1,
         "price": 5, "currency": "GBP", "state": "fitted"},
    ]  # fmt: skip
    for n, when in enumerate(WHEN):
        for m, supplier in enumerate(SUPPLIERS):
            barrel = ("R-001-B1", "R-001-B2", "R-002-B1")[(n + m) % 3]
            price = None if n == 1 and m == 0 else Decimal(150 + 37 * n + m) / 100
            tax = Decimal("0.55") if n % 4 == 0 else None
            if supplier["currency"] == "JPY":  # a currency without a smaller coin
                price, tax = Decimal(90 + n), tax and Decimal(9)
            orders.append(
                {"order": f"O-{len(orders) + 1:04d}", "barrel": barrel, "supplier": supplier["supplier"], "qty": 1 + n,
                 "item": f"i{n}", "pack": (None, 6, 4)[(n + m) % 3], "price": price, "currency": supplier["currency"],
                 "trigger": when, "stage": 3, "state": "planned", "tax": tax,
                 "width_mm": 2.5, "strength_mm": 0.16, "length_mm": 340}
            )  # fmt: skip
    return {
        "Restorations": [{"restoration": r, "state": "open"} for r in ("R-001", "R-002")],
        "Barrels": [
            {"barrel": "R-001-B1", "restoration": "R-001", "train": "going"},
            {"barrel": "R-001-B2", "restoration": "R-001", "train": "striking"},
            {"barrel": "R-002-B1", "restoration": "R-002", "train": "going"},
        ],
        "Needs": [
            {"need": "N-0001", "restoration": "R-001", "part": "hands", "state": "done"},
            {"need": "N-0002", "restoration": "R-001", "part": "dial", "state": "decided"},
        ],
        "Suppliers": SUPPLIERS,
        "Drawer": [{"drawer": "D-0001", "width_mm": 2.5, "strength_mm": 0.1, "length_mm": 300, "state": "in drawer"}],
        "Trials": [
            {"order": "O-0001", "barrel": "R-001-B1", "verdict": "never ran"},
            {"order": "O-0002", "barrel": "R-001-B2", "verdict": "ran well"},
            {"order": "D-0001", "barrel": "R-001-B1", "verdict": "stopped"},
        ],
        "Orders": [{**order, "restoration": order["barrel"][:5]} for order in orders],
    }


def sheets_of(books: Books) -> dict[str, OrderSheet]:
    due = {line.order for r in books.restorations for line in due_lines(books, r.restoration)}
    lines = [line for line in books.orders if line.order in due]
    return {sheet.supplier: sheet for sheet in order_sheets(books, lines)}


def test_every_suppliers_sheet_says_what_python_says(office: Office, tmp_path: Path) -> None:
    path = tmp_path / "book.xlsx"
    write_new_book(path, rows())
    ours = sheets_of(open_book(path).records())
    assert len(ours) == len(SUPPLIERS)
    with office.open(path, relink=False) as document:
        document.recalculate()
        for name, sheet in ours.items():
            document.put("Order sheet", "C1", [[name]])
            shown = document.data("Order sheet", f"B{FIRST + 1}:L{FIRST + LINES}")
            listed = [row for row in shown if row[0]]
            assert [row[0] for row in listed] == [x.line.order for x in sheet.lines], name
            assert [row[3] for row in listed] == [_how_many(x.line.qty or 1, x.line.pack) for x in sheet.lines]
            sums = [row[8] if isinstance(row[8], float) else None for row in listed]
            wanted = [None if x.goods is None else float(x.goods.text) for x in sheet.lines]
            assert sums == pytest.approx(wanted)
            totals = [row[0] for row in document.data("Order sheet", f"J{GOODS + 1}:J{GOODS + 4}")]
            money = [float(m.text) for m in (sheet.goods, sheet.postage, sheet.tax, sheet.total)]
            assert totals == pytest.approx(money), name
            assert document.errors("Order sheet") == {}


def _how_many(wanted: int, pack: int | None) -> str:
    """Count the packs by hand."""
    if not pack or pack == 1:
        return str(wanted)
    packs = next(n for n in range(1, 99) if n * pack >= wanted)
    return f"{packs} pack{'s' if packs > 1 else ''} of {pack}"


def test_postage_by_hand(office: Office, tmp_path: Path) -> None:
    """Tiers 0: 3.20, 20: 4.50, 50: 6.50 at goods of 19.99, 20.00 and 50.00; free above 75 at 74.99 and 75.00."""
    path = tmp_path / "book.xlsx"
    line = {"restoration": "R-001", "qty": 1, "state": "planned", "item": "x", "order": "O-0001"}
    tables = rows() | {"Orders": [line | {"supplier": "Supplier East", "currency": "EUR", "price": 1}], "Trials": []}
    write_new_book(path, tables)
    seen = []
    with office.open(path, relink=False) as document:
        supplier, price, currency = (cell_of(path, "Orders", 0, key) for key in ("supplier", "price", "currency"))
        document.put("Order sheet", "C1", [["Supplier East"]])
        for goods in (19.99, 20.00, 50.00):
            document.put("Orders", price, [[goods]])
            seen.append(document.cell("Order sheet", f"J{GOODS + 2}"))
        document.put("Orders", supplier, [["Supplier North"]])
        document.put("Orders", currency, [["GBP"]])
        document.put("Order sheet", "C1", [["Supplier North"]])
        for goods in (74.99, 75.00):
            document.put("Orders", price, [[goods]])
            seen.append(document.cell("Order sheet", f"J{GOODS + 2}"))
    assert seen == pytest.approx([3.20, 4.50, 6.50, 4.50, 0.0])
