"""Refresh: answers are stored with what they were made from, and are stale when that changes."""

import datetime as dt
import json
from pathlib import Path
from typing import Any

import pytest

from orderbook.answers.asked import barrel_of, springs_of
from orderbook.answers.terms import options_of
from orderbook.book.demo_book import demo_tables
from orderbook.book.into_book import bring_in
from orderbook.book.refresh import refresh
from orderbook.book.watch import watched
from orderbook.cli import cli
from orderbook.cli.console import run
from orderbook.errors import OrderbookError
from orderbook.sheets.new_book import write_new_book
from orderbook.xlsx.changes import Changes, append_rows, commit, update_row
from orderbook.xlsx.reading import open_book

WATCH = "R-006-B1"
DAY = dt.date(2026, 3, 12)


@pytest.fixture(scope="module")
def filled(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A book of one barrel, its answers worked out once."""
    tables: dict[str, list[dict[str, Any]]] = demo_tables()
    tables["Barrels"] = [row for row in tables["Barrels"] if row["barrel"] == WATCH]
    tables["Trials"] = [row for row in tables["Trials"] if row["verdict"] != "ran well"]  # after that none is proposed
    tables["Catalogue"] = [row for row in tables["Catalogue"] if row["width_mm"] < 4][::3]
    path = tmp_path_factory.mktemp("filled") / "book.xlsx"
    write_new_book(path, tables, barrel=WATCH, restoration="R-006")
    refresh(path, today=DAY)
    return path


@pytest.fixture
def book(filled: Path, tmp_path: Path) -> Path:
    path = tmp_path / "book.xlsx"
    path.write_bytes(filled.read_bytes())
    return path


def bench(path: Path, place: tuple[int, int]) -> Any:
    cell = open_book(path).cells["Bench"].get(place)
    return None if cell is None else cell.value


def below_title(path: Path, rows: int, column: int) -> Any:
    """What stands on the Bench in a column, a number of rows below the title of the order of springs."""
    (top,) = (row for (row, col), cell in open_book(path).cells["Bench"].items() if cell.value == "Try in this order")
    return bench(path, (top + rows, column))


def flag(path: Path) -> Any:
    return below_title(path, 0, 16)


def test_the_answers_are_those_of_the_verbs_and_the_bench_shows_them(book: Path) -> None:
    from orderbook.choosing.grading import grade

    opened = open_book(book)
    books = opened.records()
    graded = grade(barrel_of(books, WATCH), springs_of(books)[0], options_of(books, WATCH)).as_dict()
    stages = opened.rows("Stages")
    assert [row["item"] for row in stages] == [stage["item"] for stage in graded["stages"]]
    assert stages[0]["drive_index"] == pytest.approx(graded["stages"][0]["drive_index"])
    assert flag(book) == "made 12 Mar 2026: up to date"
    assert below_title(book, 2, 3) == graded["stages"][0]["item"]
    assert opened.rows("Answers")[0]["made_on"] == DAY


def test_nothing_is_worked_out_twice(book: Path) -> None:
    done = refresh(book)
    assert done.answers == ()
    assert done.up_to_date == (WATCH,)


@pytest.mark.parametrize(
    ("table", "values", "words"),
    [
        ("Readings", {"barrel": WATCH, "what": "bore", "value": 15.7, "unit": "mm"}, "READINGS OR TRIALS CHANGED"),
        (
            "Readings",
            {"barrel": WATCH, "what": "depth", "value": "1 1/3 ‴", "unit": "ligne"},
            "READINGS OR TRIALS CHANGED",
        ),
        ("Drawer", {"drawer": "D-0099", "width_mm": 2.9, "strength_mm": 0.16, "length_mm": 500}, None),
    ],
)
def test_a_change_makes_the_answers_stale(book: Path, table: str, values: dict[str, Any], words: str | None) -> None:
    opened, changes = open_book(book), Changes()
    append_rows(changes, opened, table, [values])
    commit(opened, changes)
    shown = flag(book)
    if words is None:  # the piece is closed: a longer list does not make its answers stale
        assert shown.startswith("made ")
        opened, changes = open_book(book), Changes()
        update_row(changes, opened, "Restorations", opened.row("Restorations", "R-006").number, {"state": "open"})
        commit(opened, changes)
        words, shown = "LISTS OR TERMS CHANGED", flag(book)
    assert shown.startswith(words)
    assert bench(book, (1, 2)) == shown


def test_a_reading_typed_as_text_is_read(book: Path) -> None:
    opened, changes = open_book(book), Changes()
    typed = {"barrel": WATCH, "what": "depth", "value": "1.37 ligne", "unit": "ligne", "instrument": "caliper"}
    append_rows(changes, opened, "Readings", [typed])
    commit(opened, changes)
    depth = barrel_of(open_book(book).records(), WATCH).depth
    assert depth is not None
    assert depth.value == pytest.approx((3.10 + 3.10 + 1.37 * 1000 / 443.296) / 3)


def test_what_cannot_be_worked_out_is_said_on_the_bench(book: Path) -> None:
    opened, changes = open_book(book), Changes()
    for row in opened.rows("Readings"):
        if row["barrel"] == WATCH and row["what"] == "arbor":
            update_row(changes, opened, "Readings", row.number, {"value": 20})
    commit(opened, changes)
    done = refresh(book)
    assert done.answers[0].problem is not None
    assert bench(book, (1, 2)).startswith("Put right first:")
    assert open_book(book).rows("Stages") == ()


def test_size_rank_and_grade_of_a_book(book: Path, capsys: pytest.CaptureFixture[str]) -> None:
    where = ["--book", str(book), "--barrel", WATCH, "--json"]
    assert run(cli, ["size", *where]) == 0
    sized = json.loads(capsys.readouterr().out)
    assert run(cli, ["rank", *where]) in (0, 1)
    ranked = json.loads(capsys.readouterr().out)
    assert run(cli, ["grade", *where]) in (0, 1)
    graded = json.loads(capsys.readouterr().out)
    assert sized["width_mm"] == pytest.approx(2.98)
    assert ranked["springs"][0]["item"] == graded["stages"][0]["item"]
    assert run(cli, ["size", "--barrel", WATCH]) == 2
    assert run(cli, ["size", *where, "--bore", "12"]) == 2
    assert "beside a book" in capsys.readouterr().err


def test_a_list_is_brought_in_and_notes_stay(book: Path) -> None:
    from orderbook.catalogue import read_catalogue
    from orderbook.locate import data_folder

    opened, changes = open_book(book), Changes()
    west = [row for row in opened.rows("Catalogue") if row["supplier"] == "Supplier West"]
    others = len(opened.rows("Catalogue")) - len(west)
    update_row(changes, opened, "Catalogue", west[0].number, {"note": "edge not rounded"})
    commit(opened, changes)
    catalogue = read_catalogue(data_folder("demo_catalog") / "supplier_west.csv").catalogue
    assert bring_in(catalogue, book) == (255, others)
    rows = open_book(book).rows("Catalogue")
    assert len(rows) == 255 + others
    assert [row["item"] for row in rows if row["note"] == "edge not rounded"] == [west[0]["item"]]


def test_watching_shows_while_the_book_is_open_and_writes_when_it_is_closed(book: Path) -> None:
    lock = book.with_name(f".~lock.{book.name}#")
    opened, changes = open_book(book), Changes()
    append_rows(changes, opened, "Readings", [{"barrel": WATCH, "what": "bore", "value": 15.64, "unit": "mm"}])
    commit(opened, changes)
    lock.write_text("A. Restorer,bench,host;")
    seen = watched(book, pause_s=0.01)
    first = next(seen)
    assert not isinstance(first, str)
    assert not first.written
    assert [answer.barrel for answer in first.answers] == [WATCH]
    lock.unlink()
    second = next(seen)
    assert not isinstance(second, str)
    assert second.written
    assert flag(book).endswith("up to date")


def test_a_barrel_that_is_not_there(book: Path) -> None:
    with pytest.raises(OrderbookError, match="no R-9; there are: R-006-B1"):
        refresh(book, ["R-9"])
