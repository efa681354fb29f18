"""`orderbook addin excel`: setting a live book up for a machine, and finding what is wrong with it."""

import json
import sys

import pytest

from orderbook.addin.excel import configuration
from orderbook.book.new import new
from orderbook.cli import cli, console
from orderbook.xlsx.changes import commit
from orderbook.xlsx.reading import open_book


def run(capsys, *words):
    status = console.run(cli, ["addin", "excel", *map(str, words)])
    said = capsys.readouterr()
    return status, said.out + said.err


@pytest.fixture(scope="module")
def made(tmp_path_factory):
    return new(tmp_path_factory.mktemp("live") / "book.xlsm").path


@pytest.fixture
def book(made, tmp_path):
    path = tmp_path / "book.xlsm"
    path.write_bytes(made.read_bytes())
    return path


def settings(path):
    return configuration.settings_in(open_book(path))


def put(path, **values):
    read = open_book(path)
    commit(read, configuration.changes_for(read, values))


def test_a_new_book_names_no_python_of_another_machine(book):
    assert settings(book) == configuration.WRITTEN


def test_set_up_check_and_take_out_again(book, capsys, monkeypatch):
    monkeypatch.setattr(sys, "platform", "darwin")
    monkeypatch.setattr(configuration.own_settings, "__defaults__", ("darwin", sys.executable))
    assert run(capsys, "--book", book)[0] == 0
    assert settings(book)["INTERPRETER_MAC"] == sys.executable
    assert {**configuration.WRITTEN}.items() <= settings(book).items()
    status, said = run(capsys, "--check", "--book", book)
    assert (status, "All is well." in said) == (0, True), said
    assert run(capsys, "--remove", "--book", book)[0] == 0
    assert settings(book)["INTERPRETER_MAC"] == ""
    status, said = run(capsys, "--check", "--book", book)
    assert (status, "the book names no Python" in said) == (1, True)


def test_where_excel_cannot_run_nothing_is_called_set_up(book, capsys, monkeypatch):
    monkeypatch.setattr(sys, "platform", "linux")
    monkeypatch.setattr(configuration.own_settings, "__defaults__", ("linux", sys.executable))
    before = book.read_bytes()
    status, said = run(capsys, "--book", book)
    assert (status, "nothing was set up" in said, "is set up" in said, len(said.splitlines())) == (2, True, False, 1)
    assert book.read_bytes() == before


def test_windows_gets_the_interpreter_without_a_window():
    own = configuration.own_settings("win32", r"C:\Users\me\venv\Scripts\python.exe")
    assert own["INTERPRETER_WIN"] == r"C:\Users\me\venv\Scripts\pythonw.exe"


@pytest.mark.parametrize("python", ["/nowhere/python3", "/bin/true"])
def test_a_python_that_moved_or_lacks_the_package(book, capsys, python):
    put(book, INTERPRETER_WIN=python)
    status, said = run(capsys, "--check", "--json", "--book", book)
    found = {f["code"]: f for f in json.loads(said)["findings"]}
    assert status == 1
    assert python in found["book_python_fails"]["saw"]


def test_macro_code_of_another_version_is_named(book, capsys, monkeypatch):
    monkeypatch.setattr("orderbook.addin.excel_set_up.kept_project", lambda: b"newer")
    assert "its macro code is of another version" in run(capsys, "--check", "--book", book)[1]


def test_a_plain_book_is_no_live_book(tmp_path, capsys):
    plain = new(tmp_path / "plain.xlsx").path
    for words in (["--book", plain], ["--remove", "--book", plain]):
        status, said = run(capsys, *words)
        assert (status, "no sheet xlwings.conf" in said, len(said.splitlines())) == (2, True, 1)
    assert run(capsys, "--check", "--book", plain)[0] == 1


def test_install_without_a_book_says_what_it_needs(capsys):
    assert run(capsys, "--install") == (
        2,
        "orderbook: --install needs --book BOOK.xlsm Try: orderbook addin excel --help\n",
    )
