"""The template is what its definition says, part by part."""

import io
import zipfile
from pathlib import Path

import pytest

from orderbook.errors import OrderbookError
from orderbook.locate import data_folder
from orderbook.records.definition import book_definition
from orderbook.sheets import account_page, bench_page
from orderbook.sheets.blank_book import TEMPLATE, copy_template
from orderbook.sheets.look import look_definition
from orderbook.sheets.new_book import new_book_bytes, write_new_book
from orderbook.sheets.reference_page import reference_page
from orderbook.sheets.template import template_bytes


def parts(data: bytes) -> dict[str, bytes]:
    with zipfile.ZipFile(io.BytesIO(data)) as package:
        return {name: package.read(name) for name in package.namelist()}


def test_a_rebuild_equals_the_template_part_by_part() -> None:
    built, kept = parts(template_bytes()), parts((data_folder("workbook_template") / TEMPLATE).read_bytes())
    assert list(built) == list(kept)
    assert [name for name in built if built[name] != kept[name]] == []


def test_rows_land_in_their_tables() -> None:
    import openpyxl

    data = new_book_bytes({"Suppliers": [{"supplier": "Supplier North", "lead_days": 5}]})
    sheet = openpyxl.load_workbook(io.BytesIO(data), read_only=False)["Suppliers"]
    rows = list(sheet.iter_rows(min_row=3, max_row=5, values_only=True))
    assert rows[1][rows[0].index("Supplier")] == "Supplier North"
    assert rows[1][rows[0].index("Lead time days")] == 5
    assert rows[2][rows[0].index("Supplier")] is None


def test_an_unknown_column_is_a_mistake_of_the_caller(tmp_path: Path) -> None:
    with pytest.raises(KeyError, match="colour"):
        write_new_book(tmp_path / "b.xlsx", {"Suppliers": [{"colour": "red"}]})


@pytest.mark.parametrize(
    ("name", "code"), [("there.xlsx", "book_exists"), ("book.xls", "book_name"), ("book", "book_name")]
)
def test_a_book_is_never_overwritten(tmp_path: Path, name: str, code: str) -> None:
    (tmp_path / "there.xlsx").write_bytes(b"years of work")
    with pytest.raises(OrderbookError) as caught:
        copy_template(tmp_path / name)
    assert caught.value.code == code
    assert (tmp_path / "there.xlsx").read_bytes() == b"years of work"


def test_headers_of_a_table_differ_even_when_case_is_ignored() -> None:
    for table in book_definition().tables.values():
        headers = [c.header.lower() for c in table.columns]
        assert len(set(headers)) == len(headers), table.name


def test_every_header_carries_its_unit_and_every_column_says_what_it_is() -> None:
    said_otherwise = {
        "pieces",
        "coils",
        "turns",
        "its currency",
        "book currency",
        "index",
        "mm, turns or clicks",
        "mm²",
    }
    for table in book_definition().tables.values():
        for column in table.columns:
            assert len(column.help) > 3, (table.name, column.key)
            if column.unit and column.unit not in said_otherwise:
                assert column.header.split()[-1].startswith(column.unit.split()[0]) or column.unit in column.header, (
                    column
                )


# what a window of 1366 × 768 shows of the cells at 100 %, under a title bar, ribbon or tool bars, formula bar and the
# bar of sheets: about this (seen in LibreOffice 7.4; from memory for Excel)
WINDOW = (1300, 560)


def test_bench_and_account_fit_the_window_of_a_small_laptop() -> None:
    """The last row that must be seen without scrolling: five springs that also fit; the first row not added."""
    for sheet, last in ((bench_page, bench_page.ALSO + 5), (account_page, account_page.LEFT_OUT + 1)):
        assert sum(sheet.WIDTHS) <= WINDOW[0]
        assert sum(sheet.HEIGHTS[: last + 1]) <= WINDOW[1]


def test_type_has_room_in_every_row_of_bench_and_account() -> None:
    """15 px hold 9 pt, 17 px 10 pt, 20 px 12 pt, 30 px two lines of 9 pt; what is lower is a gap."""
    for page in (bench_page.bench_page(book_definition(), ""), account_page.account_page(book_definition(), "")):
        for row, height in enumerate(page.heights):
            styles = [page.cells[place].look.style for place in page.cells if place[0] == row]
            sizes = [look_definition()["styles"][style].get("size", "body") for style in styles]
            points = max((look_definition()["type"][size] for size in sizes), default=0)
            assert height >= {0: 0, 9: 15, 10: 16, 12: 18, 16: 24}[points], (page.name, row + 1)


def test_the_reference_page_is_in_step_with_the_definition() -> None:
    page = Path(__file__).parents[2] / "docs/reference/sheets-and-columns.md"
    assert page.read_text(encoding="utf-8") == reference_page(book_definition())
