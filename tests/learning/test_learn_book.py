"""Learning on a whole book: what is stored with each barrel, what answers say of it, what is shared and what is not."""

from __future__ import annotations

import csv
import json
import shutil
from pathlib import Path

import numpy as np
import pytest

from orderbook.answers.answer import considered
from orderbook.answers.taught import practice_start, taught_by
from orderbook.book.book import Book
from orderbook.book.demo_book import write_earlier_book
from orderbook.book.opened import opened
from orderbook.learning.model import learned, sums_of
from orderbook.locate import data_folder

SIX = ("R-101", "R-103", "R-105", "R-106", "R-108", "R-109")  # the last of a group of its own
NAMES = ("Quill", "Marchbanks", "Penhaligon")


@pytest.fixture
def earlier(tmp_path: Path) -> Path:
    """Six of the demo's invented closed clocks of an earlier year, as a folder of CSV files."""
    folder = shutil.copytree(data_folder("demo_catalog") / "earlier", tmp_path / "earlier")
    for table in ("Restorations", "Barrels", "Readings", "Trials"):
        head, *rows = (folder / f"{table}.csv").read_text(encoding="utf-8").splitlines()
        kept = [row for row in rows if any(name in row for name in SIX)]
        (folder / f"{table}.csv").write_text("\n".join([head, *kept]) + "\n", encoding="utf-8")
    return folder


@pytest.fixture
def now(tmp_path: Path) -> Path:
    """The demo's book as a folder, with a few springs that can be had."""
    folder = shutil.copytree(data_folder("demo_catalog") / "book", tmp_path / "now")
    (folder / "Settings.csv").write_text("setting,value\nbook currency,GBP\n", encoding="utf-8")
    rows = [f"Supplier North,S{e},18,{e / 100},{65000 // e},{5 + e / 10},GBP" for e in range(26, 56, 2)]
    head = "supplier,item,width_mm,strength_mm,length_mm,price,currency"
    (folder / "Catalogue.csv").write_text("\n".join([head, *rows]) + "\n", encoding="utf-8")
    return folder


def barrel(folder: Path, name: str):  # type: ignore[no-untyped-def]
    return next(row for row in opened(folder).books.barrels if row.barrel == name)


def test_start_of_an_open_barrel_is_stored_and_its_answer_says_where_it_came_from(now: Path, earlier: Path) -> None:
    before = considered(opened(now).books, "R-008-B1").start
    assert (before.median, before.spread) == (55.0, 0.40)
    Book(now).learn(earlier)
    start = considered(opened(now).books, "R-008-B1").start
    assert start.spread < 0.36
    assert "5 pieces of yours" in start.says
    assert "55, 40 %" in start.says
    by_practice = Book(now).grade("R-008-B1", start="practice").considered.start
    assert (by_practice.median, by_practice.spread) == (55.0, 0.40)


def test_practice_takes_it_out_again_and_so_does_the_setting(now: Path, earlier: Path) -> None:
    Book(now).learn(earlier)
    Book(now).learn(start="practice")
    assert barrel(now, "R-008-B1").learned_need is None
    (now / "Settings.csv").write_text("setting,value\nbook currency,GBP\nstart,practice\n", encoding="utf-8")
    Book(now).learn(earlier)
    assert barrel(now, "R-008-B1").learned_need is None
    assert barrel(earlier, "R-101-B1").learned_need is not None


def test_a_workbook_shows_on_its_page_what_was_learned(tmp_path: Path) -> None:
    path = tmp_path / "earlier.xlsx"
    write_earlier_book(path)
    book = Book(path)
    said = book.learn().as_dict()["groups"]
    shown = book.rows("Learned")
    assert [row["pieces"] for row in shown] == [group["pieces"] for group in said] == [8, 7]
    assert [row["movements"] for row in shown] == [
        "clock, going barrel, going train", "clock, going barrel, going train: French 8-day",
    ]  # fmt: skip
    for row, group in zip(shown, said, strict=True):
        assert float(row["need"]) == pytest.approx(group["median"], abs=0.051)
        assert float(row["high"] / row["need"]) == pytest.approx(np.exp(1.6448536 * group["spread"]), rel=0.005)
        assert float(row["less"] + row["low"]) == pytest.approx(float(row["need"]))
        assert row["practice_need"] == 55
    assert book.learn().stored == 0
    book.learn(start="practice")
    assert book.rows("Learned") == ()


def test_a_book_of_failures_alone_is_told_so(tmp_path: Path) -> None:
    folder = shutil.copytree(data_folder("demo_catalog") / "earlier", tmp_path / "earlier")
    assert not Book(folder).learn().findings
    at_once = {name for name, piece in taught_by(opened(folder).books).pieces.items() if not piece.too_weak}
    trials = (folder / "Trials.csv").read_text(encoding="utf-8").splitlines()
    kept = [row for row in trials if not any(name in row for name in at_once)]
    (folder / "Trials.csv").write_text("\n".join(kept) + "\n", encoding="utf-8")
    found = Book(folder).learn()
    told = [one for one in found.findings if one.code == "only_failures_taught"]
    assert any("in all 5 pieces" in one.saw or "in all 6 pieces" in one.saw for one in told)
    assert "went well at once" in found.text()


def test_a_barrel_never_teaches_itself(earlier: Path) -> None:
    Book(earlier).learn()
    taught = taught_by(opened(earlier).books)
    name = "R-103-B1"
    rest = [piece for other, piece in taught.pieces.items() if other != name]
    alone = learned(sums_of(rest), taught.groups[name], practice_start(taught.groups[name]))
    row = barrel(earlier, name)
    assert float(row.learned_need) == pytest.approx(alone.median, abs=0.051)
    assert float(row.learned_spread) == pytest.approx(100 * alone.spread, abs=0.051)


def test_learning_again_changes_nothing(earlier: Path) -> None:
    assert Book(earlier).learn().stored == 6
    assert Book(earlier).learn().stored == 0


def test_what_teaches_nothing_is_counted_with_its_reason(earlier: Path) -> None:
    rows = (earlier / "Barrels.csv").read_text(encoding="utf-8").splitlines()
    rows = [row.replace("strength", "friction") if row.startswith("R-105") else row for row in rows]
    (earlier / "Barrels.csv").write_text("\n".join(rows) + "\n", encoding="utf-8")
    drawer = (earlier / "Drawer.csv").read_text(encoding="utf-8")
    first = (earlier / "Trials.csv").read_text(encoding="utf-8").splitlines()[1].split(",")[0]
    (earlier / "Drawer.csv").write_text(drawer.replace(first, "D-0999"), encoding="utf-8")
    found = Book(earlier).learn()
    assert found.why_left_out == {"the strength was not the fault": 1, "springs without a strength": 1}
    assert len(found.pieces) == 4
    assert "friction" in json.dumps(found.as_dict())
    assert "the strength was not the fault: 1 (R-105-B1)" in found.text()


def test_shared_file_of_a_book_full_of_names_names_nobody(earlier: Path, tmp_path: Path) -> None:
    for table, columns in {
        "Restorations": {"piece": "Mrs Quill's clock", "owner_reference": "Quill, 3 High Street", "note": "Marchbanks"},
        "Barrels": {"note": "for Penhaligon", "group": "Quill's French clocks"},
        "Trials": {"seen": "Marchbanks heard it"},
        "Drawer": {"label": "Penhaligon's drawer"},
        "Readings": {"note": "Quill"},
    }.items():
        with (earlier / f"{table}.csv").open(encoding="utf-8", newline="") as lines:
            rows = [row | columns for row in csv.DictReader(lines)]
        with (earlier / f"{table}.csv").open("w", encoding="utf-8", newline="") as out:
            writer = csv.DictWriter(out, list(rows[0]))
            writer.writeheader()
            writer.writerows(rows)
    Book(earlier).append("Settings", {"setting": "bench", "value": "Marchbanks and Quill"})
    Book(earlier).append("Settings", {"setting": "your name", "value": "Marchbanks"})
    found = Book(earlier).learn(into=tmp_path / "pieces.csv")
    text = (tmp_path / "pieces.csv").read_text(encoding="utf-8")
    assert text.count("\n") == 7
    for secret in (*NAMES, "R-101", "D-0101", "2025", "Supplier", "High Street", "invented"):
        assert secret.casefold() not in text.casefold()
    assert "owners" in found.text()


def test_own_pieces_met_again_in_a_shared_file_count_once(earlier: Path, tmp_path: Path) -> None:
    first = Book(earlier).learn(into=tmp_path / "pieces.csv")
    again = Book(earlier).learn(with_pieces=[tmp_path / "pieces.csv"])
    assert again.others.duplicates == len(first.pieces)
    assert again.others.pieces == 0
    assert [one.median for one in again.groups] == [one.median for one in first.groups]


def test_others_pieces_reach_the_stored_start(now: Path, earlier: Path, tmp_path: Path) -> None:
    Book(earlier).learn(into=tmp_path / "pieces.csv")
    found = Book(now).learn(with_pieces=[tmp_path / "pieces.csv"])
    assert found.others.pieces == 6
    row = barrel(now, "R-008-B1")
    assert "5 pieces of others (1 bench)" in row.learned_from


def test_picture_is_drawn(earlier: Path, tmp_path: Path) -> None:
    assert Book(earlier).learn().save_picture(tmp_path / "learned.png").stat().st_size > 10_000


def test_demo_says_its_earlier_pieces_are_invented() -> None:
    folder = data_folder("demo_catalog") / "earlier"
    for name in ("Settings", "Restorations", "Trials", "Drawer"):
        assert "invented" in (folder / f"{name}.csv").read_text(encoding="utf-8")
