"""The sheet's own sums, checked against Python's, and typing in the book checked against commands."""

import re
import zipfile
from collections.abc import Callable
from pathlib import Path

from orderbook.desk.opened import opened
from orderbook.records.rows import Append
from orderbook.workbook.definition import book_definition
from orderbook.workbook.page import letters
from orderbook.workbook.reading import columns_of, open_book

Say = Callable[..., tuple[int, str, str]]


def test_a_book_whose_formulas_agree_has_no_finding(workbook: Path, orderbook: Say) -> None:
    opened(workbook).save(
        [
            Append("Ledger", {"restoration": "R-007", "category": "part", "kind": "paid", "amount": amount,
                              "currency": currency, "rate": rate})
            for amount, currency, rate in ((1.005, "GBP", None), (38.4, "EUR", 0.8425), (2.675, "GBP", None),
                                           (10, "JPY", 0.0055), (0.5, "EUR", 0.85))
        ]
    )  # fmt: skip
    _, out, _ = orderbook("check", workbook, "--on", "2026-02-21")
    assert "the sheet says" not in out


def tampered(workbook: Path, change: Callable[[str], str]) -> None:
    """Change the Ledger's sheet in the file itself, as a careless program would."""
    part = open_book(workbook).anatomy.sheets["Ledger"]
    with zipfile.ZipFile(workbook) as book:
        parts = {name: book.read(name) for name in book.namelist()}
    parts[part] = change(parts[part].decode()).encode()
    with zipfile.ZipFile(workbook, "w", zipfile.ZIP_DEFLATED) as book:
        for name, data in parts.items():
            book.writestr(name, data)


def sum_cell(workbook: Path) -> str:
    book = open_book(workbook)
    place = columns_of(book.anatomy.tables["Ledger"], book_definition().tables["Ledger"])["in_book"]
    return f"{letters(place)}{book.tables['Ledger'][0].number + 1}"


def test_a_stored_sum_that_is_wrong_is_found_at_its_cell(workbook: Path, orderbook: Say) -> None:
    cell = sum_cell(workbook)
    tampered(workbook, lambda xml: re.sub(rf'(<c r="{cell}".*?<v>)120(</v>)', r"\g<1>121\2", xml, count=1))
    status, out, _ = orderbook("check", workbook, "--on", "2026-02-21")
    assert status == 1
    assert f"Ledger!{cell} (in book): the sheet says 121, the rows say 120.00" in out


def test_a_formula_that_was_typed_over_is_found(workbook: Path, orderbook: Say) -> None:
    cell = sum_cell(workbook)
    tampered(workbook, lambda xml: re.sub(rf'(<c r="{cell}"[^>]*>)<f>.*?</f>', r"\1", xml, count=1))
    status, out, _ = orderbook("check", workbook, "--on", "2026-02-21")
    assert status == 1
    assert f"Ledger!{cell} (in book): “120" in out
