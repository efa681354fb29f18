"""What a restorer meets in the book: sheets in the order of the work, no empty tooltips, an order fit to be sent."""

import re
import zipfile
from pathlib import Path

import openpyxl
import pytest
from lxml import etree

from orderbook.book.answer_rows import nearest
from orderbook.book.opened import opened
from orderbook.cautions import cautions_for
from orderbook.locate import data_folder
from orderbook.records.definition import book_definition
from orderbook.records.rows import Append, Put
from orderbook.sheets import bench_page
from orderbook.sheets.blank_book import TEMPLATE
from orderbook.sheets.charts import CURVES
from orderbook.sheets.new_book import book_pages, write_new_book
from orderbook.sheets.order_page import LAST, order_page
from orderbook.xlsx.page import Formula
from orderbook.xlsx.reading import open_book


def template(part: str) -> list[str]:
    with zipfile.ZipFile(data_folder("workbook_template") / TEMPLATE) as book:
        return [book.read(name).decode() for name in book.namelist() if re.fullmatch(part, name)]


def test_what_nobody_types_into_is_hidden_and_the_rest_stands_in_the_order_of_the_work() -> None:
    (workbook,) = template("xl/workbook.xml")
    names = re.findall(r'<sheet name="([^"]+)"', workbook)
    hidden = re.findall(r'<sheet name="([^"]+)"[^>]*state="hidden"', workbook)
    assert hidden == ["Answers", "Plots"]
    work = ["Bench", "Restorations", "Barrels", "Readings", "Catalogue", "Orders", "Order sheet", "Trials", "Ledger"]
    assert [name for name in names if name in work] == work


def test_a_hidden_sheet_prints_nothing() -> None:
    """A program that prints hidden sheets too finds one empty cell of each to print."""
    (workbook,) = template("xl/workbook.xml")
    areas = dict(re.findall(r'"_xlnm.Print_Area"[^>]*>([^!]+)!([^<]+)<', workbook))
    assert {name: areas[name] for name in ("Answers", "Plots")} == {"Answers": "$A$1", "Plots": "$A$1"}
    for name in ("Answers", "Plots"):
        page = {page.name: page for page in book_pages({}, book_definition())}[name]
        assert (0, 0) not in page.cells
    assert re.findall(r'"_xlnm.Print_Titles"[^>]*>(Answers|Plots)!', workbook) == []


def test_no_legend_names_a_stage_that_is_not_there() -> None:
    """The charts have no legend of the program's own, which names every curve; the keys beside them are cells."""
    of_stages = [chart for chart in template(r"xl/charts/chart\d+\.xml") if "Plots!$F$8" in chart]
    assert len(of_stages) == 2
    assert [chart for chart in of_stages if "<c:legend>" in chart] == []


def keys_of(path: Path) -> list[str]:
    cells = open_book(path).cells["Bench"]
    words = (str(cell.value) for (_, col), cell in cells.items() if col == bench_page.LAST and cell.value)
    return [name for word in words for name in CURVES if word.endswith(f"  {name}")]


def test_beside_the_charts_stand_the_stages_that_are_there(tmp_path: Path) -> None:
    curves = ("reference_nmm", "stage_1_nmm", "stage_2_nmm", "stage_3_nmm")
    for many in (0, 1, 2, 4):
        torque = [
            {"barrel": "R-001-B1", "number": n, "turns": n, **dict.fromkeys(curves[:many], 40 + n)} for n in (1, 2)
        ]
        path = tmp_path / f"{many}.xlsx"
        write_new_book(path, {"Torque": torque if many else [], "Barrels": [{"barrel": "R-001-B1"}]}, barrel="R-001-B1")
        stages = [f"stage {n}" for n in range(1, many)]
        assert keys_of(path) == (["reference"] if many else []) + stages + stages


def test_what_fails_by_least_is_seen_beside_what_is_out_of_stock() -> None:
    left_out = [{"item": f"S-{n}", "measure": "stock"} for n in range(20)]
    left_out += [{"item": f"F-{n}", "measure": "fill"} for n in range(3)]
    shown = [row["item"] for row in nearest(left_out)]
    assert sorted(shown) == sorted(row["item"] for row in left_out)
    assert shown[:8] == ["F-0", "S-0", "F-1", "S-1", "F-2", "S-2", "S-3", "S-4"]


def test_charts_draw_the_numbers_of_a_hidden_sheet() -> None:
    charts = template(r"xl/charts/chart\d+\.xml")
    assert charts
    assert all('plotVisOnly val="1"' not in chart for chart in charts)


def test_no_drop_down_shows_an_empty_tooltip() -> None:
    assert [
        sheet for sheet in template(r"xl/worksheets/sheet\d+\.xml") if "None" in re.sub(r"<c .*?</c>", "", sheet)
    ] == []


def test_an_order_says_which_end_and_nothing_of_the_workshop() -> None:
    page = order_page(book_definition(), "Supplier North")
    heads = [page.cells[4, col].value for col in range(1, LAST + 1)]
    assert "End" in heads
    words = " ".join(c.value.text if isinstance(c.value, Formula) else str(c.value) for c in page.cells.values())
    assert str(cautions_for("mainspring")[0])[:40] not in words


@pytest.mark.parametrize("sheet", ["Barrels", "Orders"])
def test_what_few_rows_need_folds_away(sheet: str) -> None:
    book = openpyxl.load_workbook(data_folder("workbook_template") / "book.xlsx")
    (table,) = book_definition().on_sheet(sheet)
    kept = book[sheet].column_dimensions
    folds = {
        column.key
        for col, column in enumerate(table.columns, 2)
        if any(d.outlineLevel and d.min <= col <= d.max for d in kept.values())
    }
    assert folds == {column.key for column in table.columns if column.seldom}
    assert not [column.key for column in table.columns if column.seldom and (column.required or column.hidden)]


def heights(path: Path, sheet: str) -> dict[int, tuple[float, bool]]:
    """Give row number (from 1) → (height in points, whether somebody set it) of the rows of a sheet that say one."""
    book = open_book(path)
    with zipfile.ZipFile(path) as package:
        root = etree.fromstring(package.read(book.anatomy.sheets[sheet]))
    rows = root.iterfind(".//{*}sheetData/{*}row")
    return {int(row.get("r")): (float(row.get("ht")), row.get("customHeight") == "1") for row in rows if row.get("ht")}


LONG = "never there: the bridge has no hole for it, and the click falls by its own weight as it always did " * 2


def test_a_sentence_is_not_cut_when_the_book_is_made(tmp_path: Path) -> None:
    """Rows are as high as their text, and left to the program, which fits them to what is typed later."""
    tables = {"Needs": [{"need": "N-0001", "part": "click", "reason": LONG}, {"need": "N-0002", "part": "click"}]}
    write_new_book(tmp_path / "book.xlsx", tables)
    high, low = (heights(tmp_path / "book.xlsx", "Needs")[number] for number in (4, 5))
    assert high[0] >= 5 * low[0] / 1.2  # some 200 letters of 6 dots in a column of 240 dots
    assert (high[1], low[1]) == (False, False)


def test_a_sentence_that_a_command_writes_is_not_cut_and_a_height_somebody_set_stays(tmp_path: Path) -> None:
    path = tmp_path / "book.xlsx"
    write_new_book(path, {"Needs": [{"need": f"N-000{n}", "part": "click"} for n in (1, 2)]})
    with zipfile.ZipFile(path) as package:
        parts = {name: package.read(name) for name in package.namelist()}
    part = open_book(path).anatomy.sheets["Needs"]
    parts[part], found = re.subn(rb'(<row r="5"[^>]*) ht="[^"]*"', rb'\1 ht="60" customHeight="1"', parts[part])
    assert found == 1
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as package:
        for name, data in parts.items():
            package.writestr(name, data)
    opened(path).save([Put("Needs", row, {"reason": LONG}) for row in (4, 5)] + [Append("Needs", {"need": "N-0003",
                      "reason": "short"})])  # fmt: skip
    now = heights(path, "Needs")
    assert now[4][0] > 60
    assert (now[5], now[6][0]) == ((60.0, True), 13.5)
    opened(path).save([Put("Needs", 4, {"reason": "short"})])
    assert heights(path, "Needs")[4] == (13.5, False)
