"""Every kept row of the messy lists against a file worked out by hand beside it; every other row has its reason."""

import csv
from pathlib import Path

import pytest

from orderbook.catalogue import CatalogueReading, canonical_rows, read_catalogue
from orderbook.locate import data_folder

LISTS = data_folder("demo_catalog")


def assert_rows_as_expected(reading: CatalogueReading, expected: Path) -> None:
    with expected.open(encoding="utf-8", newline="") as stream:
        rows = [[cell.lstrip("'") if cell[:2] == "'=" else cell for cell in row] for row in csv.reader(stream)][1:]
    got = list(canonical_rows(reading.catalogue))
    assert len(got) == len(rows)
    for read, row in zip(got, rows, strict=True):
        sizes, printed = [float(cell) for cell in read[2:5]], [float(cell) for cell in row[2:5]]
        assert sizes == pytest.approx(printed, rel=1e-7)
        assert read[:2] + read[5:] == row[:2] + row[5:]


def rejected(reading: CatalogueReading) -> dict[int, str]:
    return {reject.line: reject.reason for reject in reading.rejects}


def meanings(reading: CatalogueReading) -> dict[str, tuple[str, str]]:
    return {column.header: (column.meaning, column.unit) for column in reading.columns}


def test_german_list_with_semicolons_decimal_commas_and_gauge_numbers() -> None:
    reading = read_catalogue(LISTS / "messy_german.csv", supplier="Supplier East")
    assert_rows_as_expected(reading, LISTS / "messy_german.expected.csv")
    assert meanings(reading) == {
        "Art.-Nr.": ("item", ""),
        "Höhe mm": ("width", "mm"),
        "Stärke": ("strength", "mm"),
        "Länge": ("length", "mm"),
        "Ende": ("end", ""),
        "VPE": ("pack", ""),
        "Preis": ("price", "EUR"),
        "Bestand": ("stock", ""),
        "Bemerkung": ("note", ""),
    }
    reasons = rejected(reading)
    assert sorted(reasons) == [7, 8, 10, 15, 18, 19]
    assert "gauge number" in reasons[7]
    assert "4.5 mm" in reasons[15]
    assert reasons[18] == "no strength"
    assert "total" in reasons[19]
    assert reading.rows_duplicate == 1
    assert {"item_differs", "header_repeated", "letters_assumed"} <= {f.code for f in reading.findings}


def test_gauge_numbers_are_read_with_the_table_the_user_names() -> None:
    reading = read_catalogue(LISTS / "messy_german.csv", supplier="Supplier East", gauge=LISTS / "invented_gauge.csv")
    assert_rows_as_expected(reading, LISTS / "messy_german.with_gauge.expected.csv")


def test_inch_list_with_fractions_and_one_column_for_all_sizes() -> None:
    reading = read_catalogue(LISTS / "messy_inch.csv", supplier="Supplier West")
    assert_rows_as_expected(reading, LISTS / "messy_inch.expected.csv")
    assert meanings(reading)["Spring, width x thickness x length"] == ("sizes", "in")  # the title line says so
    reasons = rejected(reading)
    assert sorted(reasons) == [10, 11]
    assert "4.572 mm" in reasons[10]
    assert any("£2O.00" in found.saw for found in reading.findings)


def test_spreadsheet_export_with_title_lines_and_totals() -> None:
    reading = read_catalogue(LISTS / "messy_export.xlsx", supplier="Supplier North")
    assert_rows_as_expected(reading, LISTS / "messy_export.expected.csv")
    assert meanings(reading)["Thickness (1/100 mm)"] == ("strength", "1/100 mm")
    assert meanings(reading)["Length (cm)"] == ("length", "cm")
    reasons = rejected(reading)
    assert sorted(reasons) == [8, 10, 12, 14, 15]
    assert "date" in reasons[12]
    assert reasons[14] == "no item number"


@pytest.mark.parametrize("name", ["messy_german.csv", "messy_inch.csv", "messy_export.xlsx"])
def test_no_row_vanishes(name: str) -> None:
    reading = read_catalogue(LISTS / name)
    assert reading.rows_in == reading.rows_kept + reading.rows_rejected + reading.rows_duplicate
    assert reading.rows_kept == len(reading.catalogue)
    assert reading.rows_rejected == len(reading.rejects)
