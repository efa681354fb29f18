"""Spreadsheets: later headings, several sheets, hidden ones, old formats, locked files."""

from __future__ import annotations

import shutil
import subprocess
from pathlib import Path
from typing import Any

import pytest
import xlsxwriter

from orderbook.catalogue import read_catalogue
from tests.catalogue.invented import CLOCK, INCH, WATCH, Spring, assert_reads, codes, listed, refusal

Rows = list[list[Any]]
HEADINGS = ["Item", "Width mm", "Strength mm", "Length mm"]


def rows_of(springs: tuple[Spring, ...], factor: float = 1) -> Rows:
    return [[s.item, s.width / factor, s.strength / factor, s.length / factor] for s in springs]


def workbook(path: Path, sheets: dict[str, Rows], hidden: tuple[str, ...] = ()) -> Path:
    with xlsxwriter.Workbook(path) as book:
        made = {name: book.add_worksheet(name) for name in sheets}
        for name, rows in sheets.items():
            for at, row in enumerate(rows):
                made[name].write_row(at, 0, row)
            if name in hidden:
                made[name].hide()
        next(sheet for name, sheet in made.items() if name not in hidden).activate()
    return path


def test_a_later_heading_is_obeyed_as_in_csv(tmp_path: Path) -> None:
    inch = ["Item", "Width in", "Strength in", "Length in"]
    rows = [HEADINGS, *rows_of(WATCH), ["Clock springs"], inch, *rows_of(CLOCK, INCH)]
    assert_reads(workbook(tmp_path / "list.xlsx", {"A": rows}), (*WATCH, *CLOCK))
    text = "\n".join(";".join(map(str, row)) for row in rows)
    assert_reads(listed(tmp_path, text), (*WATCH, *CLOCK))


def test_a_later_heading_in_another_order(tmp_path: Path) -> None:
    turned = [[row[3], row[0], row[2], row[1]] for row in rows_of(CLOCK)]
    rows = [HEADINGS, *rows_of(WATCH), [], ["Length mm", "Item", "Strength mm", "Width mm"], *turned]
    assert_reads(workbook(tmp_path / "list.xlsx", {"A": rows}), (*WATCH, *CLOCK))


def test_a_hidden_sheet_never_comes_before_a_visible_one(tmp_path: Path) -> None:
    old = [HEADINGS, *rows_of(CLOCK)]
    path = workbook(tmp_path / "list.xlsx", {"Old": old, "Springs": [HEADINGS, *rows_of(WATCH)]}, hidden=("Old",))
    reading = assert_reads(path)
    assert any("Old" in found.saw for found in reading.findings)
    assert_reads(path, CLOCK, sheet="Old")


def test_a_hidden_sheet_is_read_where_no_other_holds_a_list(tmp_path: Path) -> None:
    path = workbook(
        tmp_path / "list.xlsx", {"Data": [HEADINGS, *rows_of(WATCH)], "Cover": [["hello"]]}, hidden=("Data",)
    )
    reading = assert_reads(path)
    assert any("hidden" in found.saw for found in reading.findings)


def test_every_sheet_that_holds_a_list_is_read(tmp_path: Path) -> None:
    sheets = {"Watch": [HEADINGS, *rows_of(WATCH)], "Notes": [["thank you"]], "Clock": [HEADINGS, *rows_of(CLOCK)]}
    reading = assert_reads(workbook(tmp_path / "list.xlsx", sheets), (*WATCH, *CLOCK))
    assert reading.rows_in == 6
    assert set(reading.catalogue.file.tolist()) == {"list.xlsx: Watch", "list.xlsx: Clock"}


def test_a_sheet_of_other_things_is_named(tmp_path: Path) -> None:
    other = [["Item", "Width", "Price"], ["Glass", 30, 4.5]]
    path = workbook(tmp_path / "list.xlsx", {"Glasses": other, "Springs": [HEADINGS, *rows_of(WATCH)]})
    reading = assert_reads(path)
    assert any("Glasses" in str(found) for found in reading.findings)


def test_a_sheet_that_cannot_be_read_costs_its_own_rows_only_and_each_is_told(tmp_path: Path) -> None:
    doubtful = [["Item", "Width lines", "Strength mm", "Length mm"], *rows_of(CLOCK)]
    path = workbook(tmp_path / "list.xlsx", {"Watch": [HEADINGS, *rows_of(WATCH)], "Clock": doubtful})
    reading = assert_reads(path)
    assert reading.rows_rejected == 3
    assert reading.rows_in == 6
    assert all("lines" in reject.reason for reject in reading.rejects)


def test_a_sheet_name_says_the_unit(tmp_path: Path) -> None:
    bare = ["Item", "Width", "Strength", "Length"]
    sheets = {"mm": [bare, *rows_of(WATCH)], "Inch": [bare, *rows_of(CLOCK, INCH)]}
    assert_reads(workbook(tmp_path / "list.xlsx", sheets), (*WATCH, *CLOCK))


def test_sizes_and_prices_that_a_spreadsheet_worked_out(tmp_path: Path) -> None:
    rows = [[*HEADINGS, "Price GBP"], ["A-1", 2.5, 0.1 + 0.06, 340.0000000001, 6.800039999999999]]
    reading = read_catalogue(workbook(tmp_path / "list.xlsx", {"A": rows}))
    assert reading.catalogue.price_minor.tolist() == [680]
    assert "price_rounded" in codes(reading)


def converted(path: Path, kind: str) -> Path:
    if shutil.which("soffice") is None:
        pytest.skip("needs LibreOffice to write an old workbook")
    profile = f"-env:UserInstallation=file://{path.parent}/profile"
    command = ["soffice", profile, "--headless", "--convert-to", kind, "--outdir", str(path.parent), str(path)]
    subprocess.run(command, check=True, capture_output=True, timeout=120)
    return path.with_suffix("." + kind.partition(":")[0])


@pytest.mark.libreoffice
def test_an_old_workbook_is_read(tmp_path: Path) -> None:
    path = workbook(
        tmp_path / "list.xlsx", {"Old": [HEADINGS, *rows_of(CLOCK)], "New": [HEADINGS, *rows_of(WATCH)]}, ("Old",)
    )
    assert_reads(converted(path, "xls"))


def test_a_word_document_or_a_damaged_old_workbook_is_refused(tmp_path: Path) -> None:
    path = listed(tmp_path, b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + bytes(3000), "list.xls")
    assert refusal(path).code in ("list_not_readable", "list_damaged")


def test_a_locked_workbook_is_said_to_be_locked(tmp_path: Path) -> None:
    name = "EncryptedPackage".encode("utf-16-le")
    path = listed(tmp_path, b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + bytes(2000) + name + bytes(3000), "list.xlsx")
    problem = refusal(path)
    assert problem.code == "list_locked"
    assert "password" in str(problem)
