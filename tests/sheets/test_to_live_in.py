"""What a restorer meets in the book: sheets in the order of the work, no empty tooltips, an order fit to be sent."""

import re
import zipfile

from orderbook.cautions import cautions_for
from orderbook.locate import data_folder
from orderbook.records.definition import book_definition
from orderbook.sheets.blank_book import TEMPLATE
from orderbook.sheets.order_page import LAST, order_page
from orderbook.xlsx.page import Formula


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
