"""The demo runs the main job, fills a folder, and answers as common practice would."""

from pathlib import Path

import openpyxl
import pytest

from orderbook.book.demo import Demonstration, demo
from orderbook.cli import cli, console


@pytest.fixture(scope="module")
def shown(tmp_path_factory: pytest.TempPathFactory) -> Demonstration:
    return demo(tmp_path_factory.mktemp("demo") / "out")


def test_two_or_three_springs_weakest_first(shown: Demonstration) -> None:
    # two or three, weakest first: common practice, no source
    assert [a.barrel for _, a in shown.pieces] == ["R-007-B1", "R-007-B2", "R-006-B1", "R-008-B1"]
    for _, answered in shown.pieces:
        stages = answered.grading.as_dict()["stages"]
        drives = [stage["drive_index"] for stage in stages]
        assert 2 <= len(stages) <= 3
        assert drives == sorted(drives)
        assert len({round(drive) for drive in drives}) == len(drives)
        assert answered.ranking.as_dict()["springs"][0]["item"] == stages[0]["item"]


def test_the_folder_holds_what_it_says(shown: Demonstration) -> None:
    names = {p.relative_to(shown.folder).as_posix() for p in shown.folder.rglob("*") if p.is_file()}
    assert {"book.xlsx", "torque-R-007-B1.png", "lists/supplier_east.csv", "lists/rates.csv"} <= names
    for picture in shown.folder.glob("*.png"):
        assert picture.read_bytes().startswith(b"\x89PNG")


def test_the_book_tells_the_story_further_on(shown: Demonstration) -> None:
    book = openpyxl.load_workbook(shown.folder / "book.xlsx", read_only=True, data_only=True)
    rows = {row[1]: row for row in book["Answers"].iter_rows(max_col=4, values_only=True) if row[1]}
    for barrel in ("R-007-B1", "R-007-B2", "R-006-B1"):
        assert barrel in rows
    assert "Keep the spring that ran well" in str(rows["R-006-B1"])
    assert book["Bench"]["D1"].value == "R-007-B1"
    drawn_as_gaps = {"Plots"}  # a chart leaves a gap where a cell is #N/A
    seen = [sheet for sheet in book if sheet.title not in drawn_as_gaps]
    errors = [c.value for sheet in seen for row in sheet.iter_rows() for c in row if str(c.value).startswith("#")]
    assert errors == []


def test_says_it_in_under_a_screen_and_steps_aside(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.chdir(tmp_path)
    (tmp_path / "orderbook-demo").mkdir()
    (tmp_path / "orderbook-demo" / "mine.txt").write_text("mine")
    assert console.run(cli, ["demo"]) == 0
    said = capsys.readouterr().out
    assert len(said.splitlines()) <= 34
    assert max(map(len, said.splitlines())) <= 120
    assert "invented" in said
    assert "orderbook-demo-2" in said
    assert (tmp_path / "orderbook-demo" / "mine.txt").read_text() == "mine"
