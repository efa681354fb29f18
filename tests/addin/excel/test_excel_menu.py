"""The tab's Python side against a stand-in for the open book: it ends as the command line leaves a file."""

import io
import shutil
import sys
import types
import zipfile
from pathlib import Path
from unittest import mock

import pytest

from orderbook import Book
from orderbook.actions import ACTIONS
from orderbook.addin.excel.ribbon import PART, RUN, with_ribbon
from orderbook.book import excel_menu
from orderbook.book.differences import Difference, differences
from orderbook.book.excel_menu import decoded, done, put_in
from orderbook.book.new import new
from orderbook.errors import OrderbookError
from tests.addin.excel import com_stubs
from tests.addin.excel.open_excel import OpenExcel

ODD = 'a | b & "c" \' ¾ = 1; 时'


@pytest.fixture
def file(tmp_path, refreshed_demo_bytes):
    path = tmp_path / "own" / "book.xlsx"
    path.parent.mkdir()
    path.write_bytes(refreshed_demo_bytes)
    return path


@pytest.fixture
def excel(file):
    return OpenExcel(file)


def act(excel, file, key, tmp_path, **given):
    copy = tmp_path / "copies" / "copy.xlsx"
    copy.parent.mkdir(exist_ok=True)
    shutil.copy(file, copy)
    return done(excel, ACTIONS[key], str(copy), given)


def test_a_trial_ends_in_the_open_book_as_in_a_file(excel, file, tmp_path):
    excel.stand_on(*excel.row_of("Orders", "Order", "O-0004"))
    before = file.read_bytes()
    said = act(excel, file, "trial", tmp_path, verdict="ran well", clicks="7", note=ODD, barrel="")
    assert file.read_bytes() == before  # the file of the open book is Excel's
    kept = file.with_name("book.before.xlsx")
    assert kept.read_bytes() == before
    assert str(kept) in said
    by_command = Path(shutil.copy(file, tmp_path / "command.xlsx"))
    Book(by_command).trial("O-0004", "ran well", clicks=7, note=ODD)
    wanted = differences(file, by_command)
    assert wanted.cells
    for sheet, cells in wanted.cells.items():
        for row, column, _, value in cells:
            assert excel.sheets[sheet].cells.get((row, column)) == value, (sheet, row, column)
    assert set(excel.all_written()) == {(s, (r, c)) for s, cells in wanted.cells.items() for r, c, *_ in cells} | {
        (g.sheet, (row, column)) for g in wanted.grown for row in range(g.bottom, g.to + 1) for column in g.typed
    }
    assert ODD in excel.column("Trials", "What was seen")


def test_marking_takes_the_rows_one_stands_on(excel, file, tmp_path):
    excel.stand_on(*excel.row_of("Orders", "Order", "O-0005"))
    act(excel, file, "mark", tmp_path, state="cancelled", pieces="")
    orders = dict(zip(excel.column("Orders", "Order"), excel.column("Orders", "State"), strict=True))
    assert orders["O-0005"] == "cancelled"
    assert orders["O-0006"] != "cancelled"


@pytest.mark.parametrize(("key", "given"), [("trial", {"verdict": "too weak"}), ("order", {}), ("record", {})])
def test_a_row_that_says_nothing_is_said_so_and_nothing_is_written(excel, file, tmp_path, key, given):
    excel.stand_on("Help", "A1")
    said = act(excel, file, key, tmp_path, **given)
    assert "the row speaks of none" in said
    assert not excel.all_written()


def test_what_is_left_empty_is_named(excel, file, tmp_path):
    excel.stand_on(*excel.row_of("Orders", "Order", "O-0004"))
    assert act(excel, file, "trial", tmp_path, verdict="").startswith("Verdict: nothing is filled in.")
    assert not excel.all_written()


def test_a_cell_that_differs_stops_it_all(excel, file, tmp_path):
    excel.stand_on(*excel.row_of("Orders", "Order", "O-0004"))
    by_command = Path(shutil.copy(file, tmp_path / "command.xlsx"))
    Book(by_command).trial("O-0004", "ran well", clicks=7)
    wanted = differences(file, by_command)
    sheet = next(iter(wanted.cells))
    row, column, *_ = wanted.cells[sheet][-1]
    excel.sheets[sheet].cells[row, column] = "another"
    with pytest.raises(OrderbookError, match="the cell was changed") as refused:
        put_in(excel, wanted)
    assert refused.value.finding.where.startswith(f"{sheet}!")
    assert not excel.all_written()
    with pytest.raises(OrderbookError, match="the formula in A!B1"):
        put_in(excel, Difference(other=("the formula in A!B1",)))


def test_findings_go_round_and_are_always_of_the_book_as_it_is(excel, file, tmp_path):
    excel.stand_on("Help", "A1")
    seen = []
    for _ in range(4):
        act(excel, file, "finding", tmp_path)
        selected = excel.app.selection
        seen.append((selected.sheet.name, selected.first))
    assert seen[0] != ("Help", (0, 0))
    assert len(set(seen)) > 1
    assert not excel.all_written()


def test_bench_shows_the_barrel_of_the_row(excel, file, monkeypatch):
    monkeypatch.setattr("tests.addin.excel.open_excel.Range.value", _plain_value())
    excel.stand_on(*excel.row_of("Orders", "Order", "O-0001"))
    assert done(excel, ACTIONS["bench"], "", {}) == "R-006-B1"
    assert (excel.active, excel.sheets["Bench"]["D1"].value) == ("Bench", "R-006-B1")


def _plain_value():
    """Return the value of a range without the rule for texts: the name of a barrel reads as nothing else."""
    return property(
        lambda own: own._rows()[0][0] if own.shape == (1, 1) else own._rows(),
        lambda own, value: own.sheet.cells.__setitem__(own.first, value),
    )


def test_run_is_what_the_macro_code_calls(excel, file, tmp_path, monkeypatch):
    import xlwings

    monkeypatch.setattr(xlwings, "Book", types.SimpleNamespace(caller=lambda: excel))
    copy = tmp_path / "orderbook-20260101.xlsx"
    shutil.copy(file, copy)
    (tmp_path / "before").mkdir()  # somebody's own folder beside the copy
    coded = copy.as_posix().encode("utf-16-be").hex().upper()
    excel_menu.run("next", copy=coded)
    assert not copy.exists()
    assert (tmp_path / "before").exists()
    assert excel.app.status_bar
    assert decoded("0041" + "007C".lower()) == "A|"


def test_the_tab_is_in_a_new_live_book_and_stays_through_a_command(tmp_path):
    live = new(tmp_path / "live.xlsm").path
    before = _parts(live)
    assert before[PART]
    assert b"customUI/customUI14.xml" in before["_rels/.rels"]
    Book(live).append("Suppliers", {"supplier": "Supplier Up", "currency": "GBP"})
    after = _parts(live)
    assert before != after
    assert all(before[name] == after[name] for name in (PART, "_rels/.rels", "xl/vbaProject.bin"))


def _parts(path):
    with zipfile.ZipFile(path) as package:
        assert package.testzip() is None
        return {name: package.read(name) for name in package.namelist()}


def test_every_part_is_reached_and_every_relationship_leads_somewhere(tmp_path, refreshed_demo_bytes):
    with zipfile.ZipFile(io.BytesIO(with_ribbon(refreshed_demo_bytes))) as package:
        links = package.read("_rels/.rels").decode()
        assert links.count(PART) == 1
        assert PART in package.namelist()
        assert 'Extension="xml"' in package.read("[Content_Types].xml").decode()


# ---- through xlwings' own server, COM stubbed ------------------------------------------------------------------------


class ComBook:
    """The book that called, as Excel's COM hands it over: its name, and the line at the foot of the window."""

    def __init__(self, path):
        self.Name, self.FullName = path.name, str(path)
        self.Application = types.SimpleNamespace(StatusBar=False, Hwnd=1)


@pytest.fixture
def run_python(file):
    """Do what `RunPython` does with its text where Excel keeps one Python: name the caller, then let it be executed."""
    udfs, server = com_stubs.install()
    book, windows = ComBook(file), sys.modules["xlwings._xlwindows"]
    python = server.XLPython()

    def run(text):
        python.SetAttr(python.Module("xlwings._xlwindows"), "BOOK_CALLER", book)
        python.Exec(text)
        return book

    with mock.patch.object(windows, "BOOK_CALLER", None), mock.patch.object(sys, "platform", "win32"):
        yield run


def hexed(words):
    return words.encode("utf-16-be").hex().upper()


def test_the_text_of_a_button_runs_through_xlwings_server(run_python, file, tmp_path):
    copy, folder = tmp_path / "copy.xlsx", tmp_path / "tables ¾ | a"
    shutil.copy(file, copy)
    book = run_python(RUN.format(f"'export', copy='{hexed(str(copy))}', folder='{hexed(str(folder))}'"))
    assert str(folder) in book.Application.StatusBar
    by_command = tmp_path / "by command"
    Book(file).export(by_command)
    names = sorted(path.name for path in by_command.iterdir())
    assert sorted(path.name for path in folder.iterdir()) == names
    assert all((folder / name).read_bytes() == (by_command / name).read_bytes() for name in names)


def test_a_mistake_reaches_the_line_at_the_foot(run_python, file, tmp_path):
    copy = tmp_path / "copy.xlsx"
    shutil.copy(file, copy)
    book = run_python(RUN.format(f"'export', copy='{hexed(str(copy))}', folder=''"))
    assert book.Application.StatusBar.startswith("Folder: ")
