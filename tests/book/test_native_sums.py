"""The sheet's own sums, checked against Python's, and typing in the book checked against commands."""

import re
import zipfile
from collections.abc import Callable
from pathlib import Path

import pytest

from orderbook.book.opened import opened
from orderbook.records.definition import book_definition
from orderbook.records.rows import Append
from orderbook.xlsx.page import letters
from orderbook.xlsx.reading import columns_of, open_book

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


def changed_value(path: Path, sheet: str, cell: str, value: str) -> None:
    """Change what a formula's cell holds, in the file itself; the formula stays."""
    part = open_book(path).anatomy.sheets[sheet]
    with zipfile.ZipFile(path) as book:
        parts = {name: book.read(name) for name in book.namelist()}
    text, found = re.subn(rf'(<c r="{cell}".*?<v>)[^<]*(</v>)', rf"\g<1>{value}\2", parts[part].decode(), count=1)
    assert found == 1
    parts[part] = text.encode()
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as book:
        for name, data in parts.items():
            book.writestr(name, data)


@pytest.mark.parametrize(
    ("sheet", "table", "key", "row", "value", "words"),
    [
        ("Account", "", "E6", 0, "1", "R-007, all, paid"),
        ("Account", "", "G9", 0, "1", "R-007, material, balance"),
        ("Account", "", "I6", 0, "0", "rows not added"),
        ("Barrels", "Barrels", "strength_mm", 0, "0.5", "R-007-B1, strength mm"),
        ("Barrels", "Barrels", "length_mm", 1, "2000", "R-007-B2, length mm"),
        ("Barrels", "Barrels", "width_mm", 2, "2.99", "R-006-B1, width mm"),
        ("Barrels", "Barrels", "turns", 0, "9.9", "R-007-B1, turns"),
        ("Orders", "Orders", "sheet_state", 7, "due", "for the order sheet"),
    ],
)  # fmt: skip
def test_a_wrong_number_on_a_sheet_is_found(
    demo_bytes: bytes, tmp_path: Path, sheet: str, table: str, key: str, row: int, value: str, words: str
) -> None:
    book = tmp_path / "book.xlsx"
    book.write_bytes(demo_bytes)
    assert opened(book).look() == ()
    if table:
        read = open_book(book)
        column = columns_of(read.anatomy.tables[table], book_definition().tables[table])[key]
        key = f"{letters(column)}{read.tables[table][row].number + 1}"
    changed_value(book, sheet, key, value)
    (found,) = opened(book).look()
    assert found.code == "native_sum_differs"
    assert found.where.startswith(f"{sheet}!{key} (")
    assert words in found.where
