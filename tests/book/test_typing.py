"""Typing in the book, in the real program, ends with the same tables as the commands; its sums are ours."""

import shutil
from collections.abc import Callable
from datetime import date
from pathlib import Path
from typing import Any

import pytest

from orderbook.book.opened import opened
from orderbook.records.accounts import account
from orderbook.records.books import plain
from orderbook.records.definition import book_definition
from orderbook.records.tables import CATEGORY, KIND
from orderbook.xlsx.page import letters
from orderbook.xlsx.reading import columns_of, open_book
from tests.office import Office

Say = Callable[..., tuple[int, str, str]]
pytestmark = [pytest.mark.libreoffice, pytest.mark.slow]
DAY_0 = date(1899, 12, 30)

# what a person types: table, row counted from the first row of the table, values by column key
TYPED: tuple[tuple[str, int, dict[str, Any]], ...] = (
    ("Orders", 0, {"state": "returned", "ordered_on": date(2026, 3, 3), "expected": date(2026, 3, 7), "postage": 4.5,
                   "received_on": date(2026, 3, 9), "qty_received": 1}),
    ("Orders", 1, {"state": "fitted", "ordered_on": date(2026, 3, 13), "expected": date(2026, 3, 17), "postage": 4.5,
                   "received_on": date(2026, 3, 17), "qty_received": 1}),
    ("Orders", 2, {"state": "cancelled"}),
    ("Trials", 0, {"order": "O-0001", "barrel": "R-007-B1", "date": date(2026, 3, 12), "verdict": "too weak",
                   "clicks": 7, "seen": "slowed after 5 days"}),
    ("Trials", 1, {"order": "O-0002", "barrel": "R-007-B1", "date": date(2026, 3, 25), "verdict": "ran well",
                   "clicks": 7}),
    *(
        ("Ledger", number, {"date": when, "restoration": "R-007", "category": category, "kind": kind, "amount": amount,
                            "currency": "GBP", "order": order, "note": note})
        for number, (when, category, kind, amount, order, note) in enumerate(
            (
                (date(2026, 3, 9), "spring", "paid", 6.4, "O-0001", "Supplier North N 37/43"),
                (date(2026, 3, 9), "postage", "paid", 4.5, "O-0001", "Supplier North N 37/43"),
                (date(2026, 3, 17), "spring", "paid", 6.6, "O-0002", "Supplier North N 37/45"),
                (date(2026, 3, 17), "postage", "paid", 4.5, "O-0002", "Supplier North N 37/45"),
                (date(2026, 3, 26), "spring", "credit", 6.4, "O-0001", "Supplier North N 37/43 returned"),
            ),
            start=2,
        )
    ),
)  # fmt: skip


def test_typing_and_commands_end_with_the_same_tables(
    workbook: Path, tmp_path: Path, orderbook: Say, office: Office
) -> None:
    by_hand = shutil.copy(workbook, tmp_path / "typed.xlsx")
    walk(workbook, orderbook)
    book = open_book(Path(by_hand))
    with office.open(Path(by_hand)) as document:
        for name, row, values in TYPED:
            table = book.anatomy.tables[name]
            columns = columns_of(table, book_definition().tables[name])
            for key, value in values.items():
                cell = (value - DAY_0).days if isinstance(value, date) else value
                document.put(table.sheet, f"{letters(columns[key])}{table.top + 2 + row}", [[cell]])
        sums = [
            [f'=SUMIFS(Ledger[In book currency];Ledger[Restoration];"R-007";Ledger[Category];"{c}";Ledger[Kind];"{k}")'
             for k in KIND]
            for c in CATEGORY
        ]  # fmt: skip
        document.put("Work", f"AA200:AD{199 + len(CATEGORY)}", sums)
        document.recalculate()
        native = document.data("Work", f"AA200:AD{199 + len(CATEGORY)}")
        document.save(tmp_path / "saved.xlsx")
    saved = opened(tmp_path / "saved.xlsx")
    assert plain(saved.books) == plain(opened(workbook).books)
    assert saved.look() == ()
    ours = account(saved.books, "R-007", on=date(2026, 3, 26))
    for category, row in zip(CATEGORY, native, strict=True):
        sums_of = ours.by_category.get(category)
        expected = [getattr(sums_of, kind) if sums_of else 0 for kind in KIND]
        assert [round(float(cell) * 100) for cell in row] == expected


def walk(book: Path, orderbook: Say) -> None:
    for step in (
        ("order", book, "R-007", "--mark", "ordered", "--on", "2026-03-03"),
        ("order", book, "R-007", "O-0001", "--mark", "received", "--on", "2026-03-09"),
        ("trial", book, "O-0001", "too weak", "--clicks", 7, "--note", "slowed after 5 days", "--on", "2026-03-12"),
        ("order", book, "R-007", "--mark", "ordered", "--on", "2026-03-13"),
        ("order", book, "R-007", "O-0002", "--mark", "received", "--on", "2026-03-17"),
        ("trial", book, "O-0002", "ran well", "--clicks", 7, "--on", "2026-03-25"),
        ("order", book, "R-007", "O-0001", "--mark", "returned", "--on", "2026-03-26"),
    ):
        assert orderbook(*step)[0] == 0
