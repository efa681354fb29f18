"""The whole job by the menu's own commands in a real LibreOffice: the tables are those of the command line."""

import subprocess
import sys
from pathlib import Path

import pytest

from orderbook.actions import ACTIONS, MENU
from orderbook.locate import data_folder
from orderbook.records.definition import book_definition
from orderbook.xlsx.reading import open_book

pytestmark = [pytest.mark.libreoffice, pytest.mark.slow]
EXCEL = "Calc MS Excel 2007 XML"
SAME = 1e-12  # LibreOffice writes numbers with 15 digits and takes what is left of two equal numbers for 0
LIST = "supplier_north_clock.csv"
TYPED = ("Suppliers", "Rates", "Restorations", "Barrels", "Needs", "Readings")


def command(*words):
    done = subprocess.run(
        [sys.executable, "-m", "orderbook", *map(str, words)], capture_output=True, text=True, check=False
    )
    assert done.returncode in (0, 1), done.stderr
    return done.stdout


def everything(path):
    """Return every table of a book, a number as a number, a day as a day, blank cells left out."""
    book = open_book(path)
    return {
        name: [{key: value for key, value in row.values.items() if value not in (None, "")} for row in book.rows(name)]
        for name in book_definition().tables
    }


def assert_same(ours, theirs):
    for name in book_definition().tables:
        assert len(ours[name]) == len(theirs[name]), name
        for number, (one, other) in enumerate(zip(ours[name], theirs[name], strict=True)):
            assert one.keys() == other.keys(), (name, number)
            for key in one:
                assert same(one[key], other[key]), (name, number, key, one[key], other[key])


def same(one, other):
    numbers = isinstance(one, (int, float)) and isinstance(other, (int, float))
    return abs(one - other) <= SAME * max(1.0, abs(one), abs(other)) if numbers else one == other


class Walk:
    """One window and one file of the command line; after each step both are compared, and undo and redo tried."""

    def __init__(self, office, folder):
        self.office, self.folder, self.window, self.file = office, folder, None, folder / "commands.xlsx"
        self.now = {}  # what stands in the window

    def new(self):
        blank = self.office.window("private:factory/scalc")
        well, said = blank.do("new", path=str(self.folder / "window.xlsx"))
        assert well, said
        found = self.office.ask("opened_url", (self.folder / "window.xlsx").as_uri())
        assert found, "the new book was not opened"
        self.window = type(blank)(self.office, *found)
        command("new", self.file)
        self.now = self.window.everything()

    def step(self, key, given, *words, compared=True, undone=True):
        before, steps = self.now, self.window.steps()
        well, said = self.window.do(key, **given)
        print(f"{key}: {said[:100]} (longest freeze {self.window.slowest:.2f} s)", flush=True)
        assert well, (key, said)
        after = self.now = self.window.everything()
        if words:
            command(*words)
            if compared:
                self.compare()
        if after == before:
            assert self.window.steps() == steps
            return said
        assert self.window.steps() == [f"{MENU}: {ACTIONS[key].plain}", *steps]
        if not undone:
            return said
        self.window.undo()
        assert self.window.everything() == before, f"undo of {key}"
        self.window.redo()
        assert self.window.everything() == after, f"redo of {key}"
        return said

    def compare(self):
        saved = self.folder / "saved.xlsx"
        self.window.window_save(saved.as_uri(), EXCEL)
        assert_same(everything(saved), everything(self.file))


def test_from_a_new_book_to_the_printed_record(office_with_addin, tmp_path):
    source, walk = data_folder("demo_catalog"), Walk(office_with_addin, tmp_path)
    walk.new()
    book, window = walk.file, walk.window
    springs = str(tmp_path / LIST)
    heads, *rows = (source / LIST).read_text(encoding="utf-8").splitlines(keepends=True)
    Path(springs).write_text("".join([heads, *rows[::6]]), encoding="utf-8")
    walk.step("catalogue", {"lists": springs}, "catalogue", springs, "--into", book)
    for table in TYPED:
        rows = str(source / "book" / f"{table}.csv")
        walk.step("import", {"file": rows, "table": table}, "import", book, rows, "--table", table,
                  compared=table == TYPED[-1],
                  undone=table == TYPED[-1])  # fmt: skip
    walk.step("refresh", {}, "refresh", book)
    assert walk.step("refresh", {}) == "Everything was up to date."
    walk.step("order", {"restoration": "R-007"}, "order", book, "R-007")
    planned = [row["Order"] for row in window.table("Orders")]
    assert planned
    walk.step("mark", {"lines": planned[:1], "state": "ordered"}, "order", book, "R-007", planned[0], "--mark",
              "ordered")  # fmt: skip
    walk.step("mark", {"lines": planned[:1], "state": "received"}, "order", book, "R-007", planned[0], "--mark",
              "received")  # fmt: skip
    walk.step("trial", {"spring": planned[0], "verdict": "too weak", "clicks": 7.0, "note": "slow after | 20 h"},
              "trial", book, planned[0], "too weak", "--clicks", 7, "--note", "slow after | 20 h")  # fmt: skip
    walk.step("fix", {}, "check", book, "--fix")
    walk.step("next", {})
    walk.step("check", {})
    said = walk.step("record", {"restoration": "R-007", "into": str(tmp_path / "by menu")})
    command("record", book, "R-007", "--into", tmp_path / "by command")
    page = (tmp_path / "by menu" / "R-007.html").read_text(encoding="utf-8")
    assert planned[0] in page, said
    assert page.replace("window", "commands") == (tmp_path / "by command" / "R-007.html").read_text(encoding="utf-8")
    walk.step("export", {"folder": str(tmp_path / "tables")})
    command("export", book, tmp_path / "own tables")
    assert {p.name for p in (tmp_path / "tables").iterdir()} == {p.name for p in (tmp_path / "own tables").iterdir()}
    window.close()
