"""The live book: built, opened in the real program with and without the add-in, turned plain and live again."""

import re
import shutil
import zipfile

import openpyxl
import pytest

from orderbook.addin.excel.macro_text import UDF_MODULE
from orderbook.addin.excel.project import code_names, kept_project
from orderbook.book.demo_book import demo_tables
from orderbook.book.new import new
from orderbook.errors import OrderbookError
from orderbook.functions.blocks import STAGE_COLUMNS
from orderbook.functions.call import answer
from orderbook.functions.table import FUNCTIONS
from orderbook.records.definition import book_definition
from orderbook.sheets.live_book import LEFT, LIVE, ORDER, RANK, SIZE, STAGES, TOP, macro_book_sheets
from orderbook.sheets.new_book import write_new_book
from orderbook.xlsx.changes import Changes, append_rows, commit
from orderbook.xlsx.page import address
from orderbook.xlsx.reading import open_book

OURS = re.compile(r"(?<![\w.])(" + "|".join(FUNCTIONS) + r")\(")
BARREL, PIECE = "R-006-B1", "R-006"


@pytest.fixture(scope="module")
def books(tmp_path_factory):
    """A plain book, a live one made from it for each program, and a plain one made from that."""
    folder = tmp_path_factory.mktemp("books")
    plain = folder / "plain.xlsx"
    tables = demo_tables()
    tables["Trials"] = [row for row in tables["Trials"] if row["verdict"] != "ran well"]  # after that none is proposed
    write_new_book(plain, tables, barrel=BARREL, restoration=PIECE)
    new(folder / "live.xlsm", source=plain)
    new(folder / "live.xlsx", live=True, source=folder / "live.xlsm")
    new(folder / "again.xlsx", source=folder / "live.xlsx")
    return folder


def table(book, name):
    """Give a table of a book as a worksheet hands it over."""
    place = book.anatomy.tables[name]
    cells = book.cells[place.sheet]
    rows = range(place.top, place.bottom + 1)
    return [[c.value if (c := cells.get((r, k))) else None for k in range(place.left, place.right + 1)] for r in rows]


def stored(book, row, col, rows, cols):
    cells = book.cells[LIVE]
    return [[c.value if (c := cells.get((row + r, col + k))) else None for k in range(cols)] for r in range(rows)]


def blanked(rows):
    return [[None if cell == "" else cell for cell in row] for row in rows]


def wanted(book):
    """Give the three large blocks as the functions answer them in Python from the tables of the book."""
    names = ("Barrels", "Catalogue", "Trials", "Suppliers", "Rates", "Drawer", "Weights")
    tables = [table(book, name) for name in names]
    return {
        ORDER: answer("GRADED_ORDER", [BARREL, *tables, "", "GBP"]),
        RANK: answer("RANK_SPRINGS", [BARREL, *tables, TOP, "GBP"]),
        SIZE: answer("BARREL_SIZE", [BARREL, tables[0], tables[2]]),
    }


def assert_same(found, expected):
    for got, want in zip(blanked(found), blanked(expected), strict=True):
        assert len(got) == len(want)
        for one, other in zip(got, want, strict=True):
            assert one == (pytest.approx(other, rel=1e-12) if isinstance(other, float) else other)


def test_plain_to_live_to_plain_loses_nothing(books):
    assert (books / "again.xlsx").read_bytes() == (books / "plain.xlsx").read_bytes()


@pytest.mark.parametrize("name", ["live.xlsx", "live.xlsm"])
def test_stored_blocks_are_the_functions_answers(books, name):
    book = open_book(books / name)
    for row, block in wanted(book).items():
        assert_same(stored(book, row, LEFT, len(block), len(block[0])), block)


@pytest.mark.parametrize("name", ["live.xlsx", "live.xlsm"])
def test_few_cells_of_ours_each_a_block(books, name):
    sheets = openpyxl.load_workbook(books / name)
    ours = []
    for sheet in sheets.worksheets:
        for row in sheet.iter_rows():
            for cell in row:
                text = getattr(cell.value, "text", cell.value)
                if isinstance(text, str) and text.startswith("=") and OURS.search(text):
                    ours.append(getattr(cell.value, "ref", ""))
    assert 0 < len(ours) <= 20
    assert all(":" in ref for ref in ours), "each is a block, not a cell"


def test_no_name_of_ours_bears_a_prefix(books):
    """Excel takes `_xludf.` and `_xlfn.` as other names, which no macro has."""
    with zipfile.ZipFile(books / "live.xlsm") as package:
        text = "".join(
            package.read(n).decode("utf-8") for n in package.namelist() if n.startswith("xl/worksheets/sheet")
        )
    assert not re.search(r"_xl\w+\.(" + "|".join(FUNCTIONS) + ")", text)


def test_bench_shows_the_block(books):
    bench = openpyxl.load_workbook(books / "live.xlsm", data_only=True)["Bench"]
    first = dict(zip(STAGE_COLUMNS, wanted(open_book(books / "live.xlsm"))[ORDER][0], strict=True))
    shown = [cell.value for row in bench.iter_rows(min_row=15, max_row=19) for cell in row]
    assert first["item"] in shown
    assert pytest.approx(first["drive_index"], rel=1e-12) in [v for v in shown if isinstance(v, float)]


def test_macro_book_carries_code_configuration_and_names(books):
    with zipfile.ZipFile(books / "live.xlsm") as package:
        parts = {name: package.read(name) for name in package.namelist()}
    assert parts["xl/vbaProject.bin"] == kept_project()
    assert b"sheet.macroEnabled.main+xml" in parts["[Content_Types].xml"]
    assert b"relationships/vbaProject" in parts["xl/_rels/workbook.xml.rels"]
    assert b'fullCalcOnLoad="1"' not in parts["xl/workbook.xml"]  # Excel must not drop the stored values on opening
    heads = [parts[n].decode("utf-8")[:4000] for n in parts if re.fullmatch(r"xl/worksheets/sheet\d+\.xml", n)]
    names = {m[1] for head in heads if (m := re.search(r'<sheetPr[^>]* codeName="([^"]+)"', head))}
    assert names == set(code_names(len(macro_book_sheets())))
    sheets = openpyxl.load_workbook(books / "live.xlsm", read_only=True)
    assert tuple(sheets.sheetnames) == macro_book_sheets()
    rows = [[cell.value for cell in row] for row in sheets["xlwings.conf"].iter_rows(max_col=2)]
    assert ["UDF MODULES", UDF_MODULE] in rows
    assert not [name for name in sheets.sheetnames if name.endswith(".py")]


def test_refresh_stores_the_whole_block_anew(books, tmp_path):
    """A new verdict in Trials: refresh stores every value of the blocks, as the functions answer them."""
    path = tmp_path / "live.xlsm"
    shutil.copy(books / "live.xlsm", path)
    before = open_book(path)
    changes = Changes()
    append_rows(changes, before, "Trials", [{"order": "D-0003", "barrel": BARREL, "verdict": "too weak"}])
    commit(before, changes, again=True)
    book = open_book(path)
    blocks = wanted(book)
    assert blocks[ORDER][0] != wanted(before)[ORDER][0]
    for row, block in blocks.items():
        assert_same(stored(book, row, LEFT, len(block), len(block[0])), block)


def test_what_cannot_come_along_is_said(books, tmp_path):
    own = openpyxl.load_workbook(books / "plain.xlsx")
    own.create_sheet("My notes")
    own.save(tmp_path / "own.xlsx")
    made = new(tmp_path / "next.xlsx", source=tmp_path / "own.xlsx")
    assert [f.saw for f in made.findings] == ["sheet My notes"]


def test_never_over_a_file_that_is_there(books):
    with pytest.raises(OrderbookError, match="already"):
        new(books / "live.xlsm")
    with pytest.raises(OrderbookError, match="ends in"):
        new(books / "live.xls", live=True)


@pytest.mark.libreoffice
@pytest.mark.slow
def test_in_calc_every_live_cell_is_the_python_answer(books, office_with_addin, tmp_path):
    book = open_book(books / "live.xlsx")
    expected = wanted(book)
    with office_with_addin.open(books / "live.xlsx") as document:
        document.recalculate()
        _compare(document, expected)
        torque = document.cells(LIVE, "B60:G111")
        bench = document.cells("Bench", "B18:T20")
        _compare_torque(document, torque)
        document.store(tmp_path / "saved.xlsx")
    with zipfile.ZipFile(tmp_path / "saved.xlsx") as package:
        text = "".join(package.read(n).decode("utf-8") for n in package.namelist() if "worksheets/sheet" in n)
    assert "ORG.ORDERBOOK" not in text.upper()
    assert "GRADED_ORDER(Bench!$D$1," in text
    with office_with_addin.open(tmp_path / "saved.xlsx") as document:
        document.recalculate()
        _compare(document, expected)
        assert document.cells(LIVE, "B60:G111") == torque
        assert document.cells("Bench", "B18:T20") == bench


def _compare(document, expected):
    for row, block in expected.items():
        last = address(row + len(block) - 1, LEFT + len(block[0]) - 1, fixed=False)
        assert_same(document.cells(LIVE, f"{address(row, LEFT, fixed=False)}:{last}"), block)


def _compare_torque(document, torque):
    ((_, bore, arbor, *_),) = document.cells(LIVE, "B4:E4")
    for n, sizes in enumerate(document.cells(LIVE, "C51:E55"), 1):
        turns = [[row[0]] for row in torque]
        assert_same([[row[n]] for row in torque], _filled(answer("SPRING_TORQUE", [bore, arbor, *sizes, turns]), turns))


def _filled(found, rows):
    """Calc repeats a single answer over the whole block."""
    return found if isinstance(found, list) else [[found] for _ in rows]


@pytest.mark.libreoffice
@pytest.mark.slow
@pytest.mark.parametrize("name", ["live.xlsx", "live.xlsm"])
def test_without_the_add_in_the_bench_shows_what_is_stored(books, office, name):
    """Blocks are errors then; Bench falls back on the answer tables, and nothing crashes."""
    with office.open(books / name, relink=False) as document:
        before = document.cells("Bench", "B18:I20")
        assert before[0][2]  # the stored value, until something is worked out anew
        document.recalculate()
        assert "error" in document.cell(LIVE, "B8")
        after = [cell for row in document.cells("Bench", "B18:T20") for cell in row]
        assert not [cell for cell in after if isinstance(cell, dict)]


def test_definition_leaves_room_for_the_live_sheet():
    assert LIVE not in book_definition().sheets
    assert STAGES == 3
