"""How an open book gets to the work behind the menu: as a file and the cells typed since, or written by LibreOffice."""

import json
import shutil
import stat
import time
from pathlib import Path

import pytest

from orderbook.book.menu import Request, typed_over
from orderbook.records.definition import book_definition
from orderbook.xlsx.page import letters
from orderbook.xlsx.reading import open_book
from tests.addin.calc.test_menu_walk import EXCEL, assert_same, everything
from tests.office import until

pytestmark = [pytest.mark.libreoffice, pytest.mark.slow]


class Copying:
    """A window of the demo's book whose actions go to a program that keeps the request and waits."""

    def __init__(self, office, window, folder):
        self.office, self.window, self.folder = office, window, folder
        self.requested = folder / "request.json"
        script = folder / "python.sh"
        script.write_text(f"#!/bin/sh\ncat > {folder}/begun && mv {folder}/begun {self.requested}\nexec sleep 600\n")
        script.chmod(script.stat().st_mode | stat.S_IXUSR)
        self.setting = office.profile / "user" / "orderbook.json"
        self.script = script

    def request(self):
        """Begin an action, keep what the work was told and the copy it was given, and stop it."""
        self.setting.write_text(json.dumps({"python": str(self.script)}))
        self.window.start("refresh")
        until(self.requested.exists)
        told = json.loads(self.requested.read_text())
        self.requested.unlink()
        copy = self.folder / "copy.xlsx"
        shutil.copyfile(told["copy"], copy)
        self.window.stop()
        assert self.window.wait() == (False, "stopped")
        self.setting.unlink()
        return Request(**{**told, "copy": str(copy), "typed": told["typed"]})

    def saved(self):
        """Let the book be read anew: save it and give LibreOffice the time."""
        self.window.window_save_as(Path(self.window.path()).as_uri(), EXCEL)

    def told(self, edit):
        """Return the request after an edit, made when the book had been read; that takes a moment after each save."""
        for pause in (1, 3, 10, 30):
            self.saved()
            time.sleep(pause)
            steps = len(self.window.steps())
            edit()
            request = self.request()
            if request.typed:
                return request
            while len(self.window.steps()) > steps:
                self.window.undo()
        raise AssertionError("what was typed never went beside the file")

    def place(self, table, row, key):
        """Return sheet and cell of a row of a table, -1 for its headings."""
        sheet, left, top, *_ = self.window.table_area(table)
        head = book_definition().tables[table].column(key).header
        return sheet, f"{letters(left + list(self.window.table(table)[0]).index(head))}{top + 2 + row}"


@pytest.fixture(scope="module")
def book(office_with_addin, tmp_path_factory, refreshed_demo_bytes):
    folder = tmp_path_factory.mktemp("copying")
    file = folder / "book.xlsx"
    file.write_bytes(refreshed_demo_bytes)
    with office_with_addin.window(file) as window:
        yield Copying(office_with_addin, window, folder)
    until(lambda: not list(office_with_addin.profile.glob("orderbook*-*")))  # closed: nothing is left behind


def test_a_book_as_it_was_saved_is_copied_as_a_file(book):
    book.saved()
    request = book.request()
    assert (Path(request.copy).read_bytes(), request.typed) == (Path(book.window.path()).read_bytes(), [])


def test_typed_cells_go_beside_the_file_and_come_to_what_libreoffice_writes(book, tmp_path):
    """Numbers, text that reads like one, an emptied cell, a new row, a date, a formula typed over, the barrel shown."""
    window = book.window
    trials, readings = len(window.table("Trials")), window.table("Readings")
    bore = next(n for n, row in enumerate(readings) if row["What"] == "bore")
    edits = [
        (*book.place("Readings", bore, "value"), readings[bore]["Value"] + 0.25),
        (*book.place("Readings", bore + 1, "value"), "5,5"),
        (*book.place("Readings", bore + 2, "unit"), ""),
        (*book.place("Orders", 0, "received_on"), 46000.0),
        (*book.place("Orders", 1, "price"), 0.1 + 0.2),
        (*book.place("Orders", 1, "goods"), 12.5),
        (*book.place("Trials", trials, "order"), "O-0004"),
        (*book.place("Trials", trials, "verdict"), "too weak"),
        ("Bench", "D1", "R-006-B1"),
    ]

    def edit():
        for sheet, cell, value in edits:
            window.type_in(sheet, cell, value)

    before = Path(window.path()).read_bytes()
    request = book.told(edit)
    assert len(request.typed) <= len(edits)
    assert typed_over(request)
    window.window_save((tmp_path / "written.xlsx").as_uri(), EXCEL)
    ours, theirs = everything(Path(request.copy)), everything(tmp_path / "written.xlsx")
    assert ours["Trials"][trials]["verdict"] == "too weak"
    assert_same(ours, theirs)
    for _ in edits:
        window.undo()
    book.saved()
    assert_same(everything(Path(window.path())), everything_of(before, tmp_path))


def everything_of(content, folder):
    path = folder / "before.xlsx"
    path.write_bytes(content)
    return everything(path)


@pytest.mark.parametrize("kind", ["a formula", "a date where a number is meant", "a row put into a table", "a heading"])
def test_what_is_not_plainly_typed_is_written_by_libreoffice(book, kind, tmp_path):
    window = book.window
    sheet, cell = book.place("Readings", 0, "value")
    heading = book.place("Readings", -1, "note")

    def edit():
        window.type_in("Help", "Z1", "typed")
        match kind:
            case "a formula":
                window.enter(sheet, cell, "=2*21.3")
            case "a date where a number is meant":
                window.show_as_date(sheet, cell)
            case "a row put into a table":
                window.insert_row(sheet, int(cell.lstrip("ABCDEFGHIJKLMNOPQRSTUVWXYZ")))
            case "a heading":
                window.type_in(*heading, "Remark of mine")

    book.told(lambda: window.type_in("Help", "Z1", "so that the book is read for certain"))
    edit()
    request = book.request()
    assert request.typed == []
    assert open_book(Path(request.copy)).cells["Help"][0, 25].value == "typed"
    while window.steps():
        window.undo()


def test_a_formula_the_engine_does_not_know_is_left_to_libreoffice(book, tmp_path):
    """The work says so, for the stored value is not true any more once a cell it looks at was typed over."""
    window = book.window
    window.type_in("Help", "Y1", 3.0)
    window.enter("Help", "Z1", "=EASTERSUNDAY(2000+Y1)")
    request = book.told(lambda: window.type_in("Help", "Y1", 2.0))
    assert not typed_over(request)
    window.type_in("Help", "Y1", "")
    window.enter("Help", "Z1", "")
    well, said = window.do("check")  # the whole way: told, refused, written, checked
    assert well, said


def test_what_an_action_put_in_is_kept_until_the_next(book):
    """The file that the work made is the book, so that the next action needs no file written by LibreOffice."""
    window = book.window
    for pause in (1, 3, 10, 30):
        well, said = window.do("mark", lines=["O-0005"], state="cancelled")
        assert well, said
        time.sleep(pause)
        kept = list(book.office.profile.glob("orderbook_kept-*"))
        window.type_in("Help", "Z2", f"typed after {pause}")
        request = book.request()
        window.undo()
        window.undo()
        if request.typed:
            break
    assert [cell[:3] for cell in request.typed] == [["Help", 1, 25]]
    assert len(kept) == 1
    kept_row = next(r for r in open_book(Path(request.copy)).rows("Orders") if r["order"] == "O-0005")
    assert kept_row["state"] == "cancelled"
