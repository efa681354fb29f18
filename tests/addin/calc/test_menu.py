"""The menu in a real LibreOffice: entries, dialogs, and what is said and kept when something goes wrong."""

import json
import shutil
import stat
import subprocess
import sys
import time
from pathlib import Path

import psutil
import pytest

from orderbook.actions import ACTIONS, MENU
from orderbook.addin.calc.extension import build
from orderbook.book.new import new
from orderbook.xlsx.page import letters
from tests.office import WAIT_S, Office, until

pytestmark = [pytest.mark.libreoffice, pytest.mark.slow]
ODS = "calc8"


@pytest.fixture(scope="module")
def office(tmp_path_factory):
    """A LibreOffice in which dialogs open and wait."""
    with Office(build(tmp_path_factory.mktemp("extension") / "orderbook.oxt"), headless=False) as found:
        yield found


@pytest.fixture
def python(office, tmp_path):
    """Let the menu start another program in place of its Python, for one test."""
    kept = office.profile / "user" / "orderbook.json"

    def behind(text):
        script = tmp_path / "python.sh"
        script.write_text(f"#!/bin/sh\n{text}\n")
        script.chmod(script.stat().st_mode | stat.S_IXUSR)
        kept.write_text(json.dumps({"python": str(script)}))
        return script

    behind.kept = kept
    yield behind
    kept.unlink(missing_ok=True)


@pytest.fixture
def file(tmp_path, refreshed_demo_bytes):
    path = tmp_path / "book.xlsx"
    path.write_bytes(refreshed_demo_bytes)
    return path


class Shared:
    """The demo's book in one window for many tests, for opening it is slow; after one that fails it is opened anew."""

    def __init__(self, office, folder, content):
        self.office, self.folder, self.content, self.opened, self.window = office, folder, content, 0, None

    def fresh(self):
        if self.window is None:
            self.opened += 1
            path = self.folder / f"book{self.opened}.xlsx"
            path.write_bytes(self.content)
            self.window = self.office.window(path)
        return self.window

    def drop(self):
        if self.window is not None:
            window, self.window = self.window, None
            window.close()


@pytest.fixture(scope="module")
def shared(office, tmp_path_factory, refreshed_demo_bytes):
    found = Shared(office, tmp_path_factory.mktemp("shared"), refreshed_demo_bytes)
    yield found
    found.drop()


@pytest.fixture
def window(shared, request):
    """The book as it was opened: what a test changes is undone after it, which undo must be able to do."""
    window = shared.fresh()
    failed = request.session.testsfailed
    yield window
    if request.session.testsfailed != failed:
        shared.drop()
        return
    while window.steps():
        window.undo()
    assert "Traceback" not in shared.office.said()


def copies(office):
    return list(office.profile.glob("orderbook-*"))


# ---- entries ---------------------------------------------------------------------------------------------------------


def test_the_menu_is_the_table_of_actions(window, office):
    shown = window.menu()
    assert [name for name, _ in shown] == [action.label.replace("~", "") for action in ACTIONS.values()]
    grey = {name for name, usable in shown if not usable}
    assert grey == {ACTIONS[key].label.replace("~", "") for key in ("stop", "finding")}
    with office.window("private:factory/scalc") as blank:
        usable = {key for key in ACTIONS if blank.enabled(key)}
    assert usable == {"new", "set_up"}  # what needs no book


def test_a_book_open_for_reading_only(office, file):
    with office.window(file, ReadOnly=True) as window:
        for key, action in ACTIONS.items():
            if action.way == "change":
                assert not window.enabled(key), key
        assert window.enabled("check")
        before = window.everything()
        assert window.do("refresh") == (False, "not now")
        assert window.everything() == before


# ---- what goes wrong -------------------------------------------------------------------------------------------------


def nothing_changed(office, window, before, steps=()):
    assert window.everything() == before
    assert window.steps() == list(steps)
    assert window.enabled("refresh")
    assert not window.enabled("stop")
    assert copies(office) == []


def test_a_worker_that_is_killed(office, window, python):
    before = window.everything()
    python("kill -9 $$")
    well, said = window.do("trial", spring="O-0004", verdict="ran well")
    assert (well, "The book is as it was." in said, "Traceback" in said) == (False, True, False), said
    nothing_changed(office, window, before)
    assert window.bars() == ["orderbook"]


def test_a_python_that_is_gone(office, window, python):
    before = window.everything()
    python.kept.write_text(json.dumps({"python": "/nowhere/python3"}))
    well, said = window.do("refresh")
    assert (well, said) == (False, "/nowhere/python3: No such file or directory. The book is as it was.")
    nothing_changed(office, window, before)


def test_a_python_without_the_package(office, window, python):
    before = window.everything()
    python(f'exec {sys.executable} -I -S -c "import orderbook"')
    well, said = window.do("refresh")
    assert (well, said) == (False, "ModuleNotFoundError: No module named 'orderbook'. The book is as it was.")
    nothing_changed(office, window, before)


def test_stop_stops_at_once(office, window, python, tmp_path):
    before = window.everything()
    python(f"echo $$ > {tmp_path}/pid\nexec sleep 600")
    window.start("refresh")
    until((tmp_path / "pid").exists)
    assert window.enabled("stop")
    assert not window.enabled("refresh")
    with_stop = time.monotonic()
    window.stop()
    assert window.wait() == (False, "stopped")
    assert time.monotonic() - with_stop < WAIT_S
    pid = int((tmp_path / "pid").read_text())
    assert not psutil.pid_exists(pid) or psutil.Process(pid).status() == psutil.STATUS_ZOMBIE
    nothing_changed(office, window, before)


def test_a_window_closed_meanwhile_ends_the_work(office, file, python, tmp_path):
    python(f"echo $$ > {tmp_path}/pid\nexec sleep 600")
    before = file.read_bytes()
    window = office.window(file)
    window.start("refresh")
    until((tmp_path / "pid").exists)
    window.close()
    pid = int((tmp_path / "pid").read_text())
    until(lambda: not psutil.pid_exists(pid) or psutil.Process(pid).status() == psutil.STATUS_ZOMBIE)
    until(lambda: copies(office) == [])
    assert file.read_bytes() == before


def test_a_cell_edited_meanwhile_is_named_and_nothing_is_written(office, window, python, tmp_path):
    """The work waits until the test has typed into a cell that it will want to write."""
    python(f'while [ ! -e {tmp_path}/go ]; do sleep 0.1; done\nexec {sys.executable} "$@"')
    sheet, left, top, _, bottom = window.table_area("Orders")
    orders = [row["Order"] for row in window.table("Orders")]
    heads = list(window.table("Orders")[0])
    row, column = top + 1 + orders.index("O-0005"), left + heads.index("State")
    cell = f"{letters(column)}{row + 1}"
    window.start("mark", lines=["O-0005"], state="cancelled")
    until(lambda: copies(office))
    window.type_in(sheet, cell, "received")
    window.type_in(sheet, "A1", "typed meanwhile")
    before = window.everything()
    (tmp_path / "go").touch()
    well, said = window.wait()
    assert (well, said) == (False, f"{sheet}.{cell} was changed meanwhile. Do it again.")
    assert window.everything() == before
    assert copies(office) == []
    python.kept.unlink()
    window.undo()
    window.undo()
    assert window.do("mark", lines=["O-0005"], state="cancelled")[0]


def test_a_file_held_by_another_program_is_no_hindrance(window):
    """The file is not touched: LibreOffice's own lock, or a foreign one, does not matter."""
    file = Path(window.path())
    file.with_name(f".~lock.{file.name}#").write_text(",somebody,else,01.01.2026 00:00,file:///x;")
    on_disk = file.read_bytes()
    well, said = window.do("mark", lines=["O-0005"], state="cancelled")
    assert well, said
    assert file.read_bytes() == on_disk


def test_a_sheet_that_is_protected_stops_it_all(office, window):
    sheet = window.table_area("Orders")[0]
    window.protect(sheet)
    before = window.everything()
    well, said = window.do("mark", lines=["O-0005"], state="cancelled")
    assert (well, said) == (False, f"the sheet {sheet} is protected. Do it again.")
    assert window.everything() == before


def test_a_mistake_is_said_in_the_words_of_the_menu(office, window):
    before = window.everything()
    well, said = window.do("trial", spring="O-9999", verdict="too weak")
    assert not well
    assert "O-9999" in said
    assert "--" not in said
    nothing_changed(office, window, before)


def test_never_saved_and_ods_books(office, file, tmp_path):
    with office.window(file) as window:
        window.window_save((tmp_path / "book.ods").as_uri(), ODS)
    shutil.copy(tmp_path / "book.ods", tmp_path / "second.ods")
    with office.window(tmp_path / "second.ods") as window:
        well, said = window.do("mark", lines=["O-0005"], state="cancelled")
        assert well, said
    with office.window(file, AsTemplate=True) as window:
        well, said = window.do("mark", lines=["O-0005"], state="cancelled")
        assert well, said
        well, said = window.do("record", restoration="R-007")
        assert (well, said.startswith("the book: it has no file yet")) == (False, True), said


def test_a_live_book_and_what_is_typed_into_it(office, tmp_path, refreshed_demo_bytes):
    """Its functions go on answering; edits that are not saved count, whichever way they get to the work."""
    plain = tmp_path / "plain.xlsx"
    plain.write_bytes(refreshed_demo_bytes)
    new(tmp_path / "live.xlsx", live=True, source=plain)
    with office.window(tmp_path / "live.xlsx") as window:
        for spring, note in (("O-0005", "the first"), ("O-0006", "the second")):
            row = [row["Order"] for row in window.table("Orders")].index(spring)
            sheet, left, top, *_ = window.table_area("Orders")
            column = left + list(window.table("Orders")[0]).index("Note")
            window.type_in(sheet, f"{letters(column)}{top + 2 + row}", note)
            well, said = window.do("mark", lines=[spring], state="cancelled")
            assert well, said
            line = window.table("Orders")[row]
            assert (line["State"], line["Note"]) == ("cancelled", note)
        shown = window.shown("Bench", "D18")
        assert shown
        assert not shown.startswith("#")
        assert "Err:" not in shown


# ---- no freeze -------------------------------------------------------------------------------------------------------


def test_a_macro_that_waits_for_the_end_gets_its_answer(office, window):
    """DispatchHelper waits in the main thread without letting anything else run: it must be answered first."""
    assert window.helper_in_main_thread("refresh", {}, WAIT_S)
    until(lambda: window.enabled("refresh"))


# ---- findings, stale answers, bench ----------------------------------------------------------------------------------


def test_findings_are_walked_through_and_dropped_when_the_book_changes(window):
    assert window.do("check")[0]
    first = window.view()
    assert window.enabled("finding")
    window.do("finding")
    assert window.view() != first
    window.type_in("Bench", "A40", "a change")
    until(lambda: not window.enabled("finding"))


def test_stale_answers_show_what_mends_them(window):
    sheet, left, top, *_ = window.table_area("Readings")
    rows = window.table("Readings")
    at = next(n for n, row in enumerate(rows) if row["Barrel"] == "R-007-B1" and row["What"] == "bore")
    column = left + list(rows[0]).index("Value")
    assert "orderbook-stale" not in window.bars()
    window.type_in(sheet, f"{letters(column)}{top + 2 + at}", rows[at]["Value"] + 0.4)
    until(lambda: "orderbook-stale" in window.bars())
    well, said = window.do("refresh")
    assert well, said
    until(lambda: "orderbook-stale" not in window.bars())


def test_bench_takes_the_barrel_of_the_row(window):
    sheet, _, top, *_ = window.table_area("Orders")
    orders = [row["Order"] for row in window.table("Orders")]
    window.look_at(sheet, f"B{top + 2 + orders.index('O-0001')}", 0)
    assert window.do("bench") == (True, "R-006-B1")
    assert (window.view()[0], window.everything()["Bench"][0][3]) == ("Bench", "R-006-B1")
    assert window.steps() == [f"{MENU}: {ACTIONS['bench'].plain}"]
    assert window.do("bench") == (True, "R-006-B1")  # standing on Bench itself: it is there already
    assert window.steps() == [f"{MENU}: {ACTIONS['bench'].plain}"]
    window.look_at("Help", "A1", 0)
    assert not window.do("bench")[0]


# ---- dialogs ---------------------------------------------------------------------------------------------------------


def test_a_trial_by_its_dialog(window):
    """Labels, the order of Tab, the choices of the book; the row one stands on is chosen already."""
    sheet, _, top, *_ = window.table_area("Orders")
    orders = [row["Order"] for row in window.table("Orders")]
    window.look_at(sheet, f"B{top + 2 + orders.index('O-0004')}", 0)
    window.start("trial")
    ask = window.office.ask
    names = ask("dialog", "Note a trial", WAIT_S)
    wanted = [question.plain for question in ACTIONS["trial"].questions]
    assert [name for name in names if name in wanted] == wanted
    assert names[-2:] == ["OK", "Cancel"]
    assert ask("tab_order", len(names)) == names
    offered, chosen = ask("offered", "Spring")
    assert chosen[0].startswith("O-0004  ")
    assert {words.split("  ")[0] for words in offered} >= {"O-0004", "D-0004"}
    verdicts, _ = ask("offered", "Verdict")
    assert verdicts == list(ACTIONS["trial"].questions[1].choices)
    ask("pick", "Verdict", verdicts.index("ran well"))
    ask("fill_in", "What was seen", "even to the end")
    ask("push", "OK")
    well, said = window.wait()
    assert well, said
    last = window.table("Trials")[-1]
    assert (last["Order or drawer"], last["Verdict"], last["What was seen"]) == (
        "O-0004", "ran well", "even to the end",
    )  # fmt: skip


def test_a_dialog_cancelled_changes_nothing(office, window):
    before = window.everything()
    window.start("mark")
    office.ask("dialog", "Mark order lines", WAIT_S)
    office.ask("push", "Cancel")
    assert window.wait() == (False, "cancelled")
    nothing_changed(office, window, before)


def test_it_is_installed_without_a_trace_of_this_machine(tmp_path):
    """An extension for other machines names no Python and no folder of this one."""
    made = build(tmp_path / "orderbook.oxt", python="")
    listed = subprocess.run(["unzip", "-p", str(made), "addin.json"], capture_output=True, text=True, check=True).stdout
    assert json.loads(listed)["python"] == json.loads(listed)["package_folder"] == ""
