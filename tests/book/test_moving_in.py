"""Bringing lists kept elsewhere into a book."""

import json
from collections.abc import Callable
from datetime import date
from decimal import Decimal
from pathlib import Path

import pytest

from orderbook.book.opened import opened

Say = Callable[..., tuple[int, str, str]]

MAP = """
dates = "day first"
[columns]
"Datum" = "date"
"Was" = "note"
"Betrag" = "amount"
"Art" = "category"
[fixed]
restoration = "R-007"
kind = "paid"
currency = "EUR"
rate = 0.865
[words.category]
"Feder" = "spring"
"Porto" = "postage"
"""
LIST = """Datum;Was;Betrag;Art;Beleg
04/03/2026;Zugfeder;18,50;Feder;a1
05/03/2026;Paket;1.204,90;Porto;a2
06.03.2026;?;8,5O;Feder;a3
"""


@pytest.fixture
def moved(tmp_path: Path) -> tuple[Path, Path]:
    (tmp_path / "map.toml").write_text(MAP, encoding="utf-8")
    (tmp_path / "alt.csv").write_bytes(LIST.encode("cp1252"))
    return tmp_path / "alt.csv", tmp_path / "map.toml"


def test_a_foreign_ledger_comes_in_by_a_column_map(folder: Path, moved: tuple[Path, Path], orderbook: Say) -> None:
    file, columns = moved
    before = len(opened(folder).books.ledger)
    status, out, _ = orderbook("import", folder, file, "--table", "ledger", "--map", columns)
    assert status == 1  # one row stayed out
    assert "Stayed out: alt.csv row 4 (amount): “8,5O”" in out
    assert "Not used: Beleg" in out
    assert "3 rows read, 2 added, 0 there already, 1 stayed out." in out
    new = opened(folder).books.ledger[before:]
    assert [(n.date, n.category, n.amount, n.currency) for n in new] == [
        (date(2026, 3, 4), "spring", Decimal("18.50"), "EUR"),
        (date(2026, 3, 5), "postage", Decimal("1204.90"), "EUR"),
    ]


def test_the_same_list_twice_adds_nothing(folder: Path, moved: tuple[Path, Path], orderbook: Say) -> None:
    file, columns = moved
    orderbook("import", folder, file, "--table", "Ledger", "--map", columns)
    once = (folder / "Ledger.csv").read_bytes()
    _, out, _ = orderbook("import", folder, file, "--table", "Ledger", "--map", columns)
    assert "0 added, 2 there already" in out
    assert (folder / "Ledger.csv").read_bytes() == once


def test_rows_without_a_number_get_the_next_one(folder: Path, tmp_path: Path, orderbook: Say) -> None:
    (tmp_path / "parts.csv").write_text(
        "Restoration,Part or material,Decision\nR-007,bell hammer spring,make\nR-007,door lock,repair\n",
        encoding="utf-8",
    )
    for expected in ("2 added", "0 added, 2 there already"):
        _, out, _ = orderbook("import", folder, tmp_path / "parts.csv", "--table", "Needs")
        assert expected in out
    assert [n.need for n in opened(folder).books.needs][-2:] == ["N-0005", "N-0006"]


def test_what_a_book_exports_another_takes_in_whole(tmp_path: Path, orderbook: Say) -> None:
    from orderbook.book.demo_book import write_demo_book

    write_demo_book(tmp_path / "old.xlsx")
    orderbook("export", tmp_path / "old.xlsx", tmp_path / "out")
    orderbook("new", tmp_path / "new.xlsx")
    tables = ("Restorations", "Barrels", "Readings", "Drawer", "Needs", "Orders", "Trials", "Work", "Catalogue")
    for table in tables:
        status, out, _ = orderbook("import", tmp_path / "new.xlsx", tmp_path / "out" / f"{table}.csv", "--table", table)
        assert (status, "Not used" in out) == (0, False), out
    orderbook("export", tmp_path / "new.xlsx", tmp_path / "again")
    for table in tables:
        kept = (tmp_path / "out" / f"{table}.csv").read_text().replace(",22 in,in,", ",22,in,")  # typed with its unit
        assert (tmp_path / "again" / f"{table}.csv").read_text() == kept


def test_a_spreadsheet_comes_in_with_its_dates(folder: Path, tmp_path: Path, orderbook: Say) -> None:
    import openpyxl

    book = openpyxl.Workbook()
    sheet = book.active
    assert sheet is not None
    sheet.append(["Date", "Need", "Hours h", "Rate an hour", "What was done"])
    sheet.append([date(2026, 3, 7), "N-0002", 0.75, 38, "polished"])
    book.save(tmp_path / "work.xlsx")
    status, _, err = orderbook("import", folder, tmp_path / "work.xlsx", "--table", "Work")
    assert (status, err) == (0, "")
    last = opened(folder).books.work[-1]
    assert (last.date, last.hours, last.rate) == (date(2026, 3, 7), Decimal("0.75"), Decimal(38))


READINGS = """barrel,what,value,unit,instrument,date
R-007-B1,bore,"56,04",mm,caliper,2026-02-03
R-007-B1,bore,56.08 mm,,,3 Feb 2026
r-007-b1,Arbor,18.9,MM,caliper,03.02.2026
R-007-B1,depth,~34,mm,,
R-007-B1,depth,"1,234",mm,,
R-007-B1,depth,3/8,,,
R-007-B1,depth,-4,mm,,
"""


def test_readings_come_in_as_numbers_and_nothing_that_check_rejects(
    tmp_path: Path, demo_bytes: bytes, orderbook: Say
) -> None:
    book, file = tmp_path / "book.xlsx", tmp_path / "readings.csv"
    book.write_bytes(demo_bytes)
    file.write_text(READINGS, encoding="utf-8")
    said = json.loads(orderbook("check", book, "--json")[1])["findings"]
    before = {(f["code"], f["where"]) for f in said}
    there = len(opened(book).books.readings)
    _, out, _ = orderbook("import", book, file, "--table", "Readings")
    assert "7 rows read, 3 added" in out, out
    for line in (5, 6, 7, 8):
        assert f"readings.csv row {line}" in out, (line, out)
    new = [r.row.values for r in opened(book).books.readings[there:]]
    assert [(r["barrel"], r["what"], r["value"], r["unit"]) for r in new] == [
        ("R-007-B1", "bore", 56.04, "mm"),
        ("R-007-B1", "bore", 56.08, "mm"),
        ("R-007-B1", "arbor", 18.9, "mm"),
    ]
    assert {r["date"] for r in new} == {date(2026, 2, 3)}
    after = json.loads(orderbook("check", book, "--json")[1])["findings"]
    worse = [f for f in after if f["severity"] == "error" and (f["code"], f["where"]) not in before]
    assert worse == []


def test_money_with_two_readings_does_not_come_in(tmp_path: Path, demo_bytes: bytes, orderbook: Say) -> None:
    book, file = tmp_path / "book.xlsx", tmp_path / "costs.csv"
    book.write_bytes(demo_bytes)
    file.write_text(
        "restoration,category,kind,amount,currency,date\n"
        'R-007,part,paid,"1.250,00",gbp,2026-02-03\nR-007,part,paid,"1,234",GBP,2026-02-03\n',
        encoding="utf-8",
    )
    there = len(opened(book).books.ledger)
    _, out, _ = orderbook("import", book, file, "--table", "Ledger")
    assert "2 rows read, 1 added" in out, out
    (new,) = opened(book).books.ledger[there:]
    assert (new.row.values["amount"], new.row.values["currency"]) == (1250, "GBP")
    assert new.row.values["date"] == date(2026, 2, 3)


def test_an_identifier_that_is_a_number_comes_in_and_is_said(tmp_path: Path, demo_bytes: bytes, orderbook: Say) -> None:
    book, file = tmp_path / "book.xlsx", tmp_path / "pieces.csv"
    book.write_bytes(demo_bytes)
    file.write_text("restoration,piece,movement\n7,alarm clock,clock\nR-031,timepiece,clock\n", encoding="utf-8")
    _, out, _ = orderbook("import", book, file, "--table", "Restorations")
    assert "2 rows read, 2 added" in out, out
    (said,) = (line for line in out.splitlines() if line.startswith("Came in, look at"))
    assert "pieces.csv row 2 (restoration)" in said
    assert [r.restoration for r in opened(book).books.restorations][-2:] == ["7", "R-031"]
