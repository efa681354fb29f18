"""The demo runs the main job, fills a folder, and answers as common practice would."""

from pathlib import Path

import openpyxl
import pytest

from orderbook.cli import cli, console
from orderbook.desk.demo import Shown, demo


@pytest.fixture(scope="module")
def shown(tmp_path_factory: pytest.TempPathFactory) -> Shown:
    return demo(tmp_path_factory.mktemp("demo") / "out")


def test_two_or_three_springs_weakest_first(shown: Shown) -> None:
    # two or three, weakest first: common practice, no source
    assert [a.barrel for _, a in shown.pieces] == ["R-007-B1", "R-007-B2", "R-006-B1"]
    for _, answered in shown.pieces:
        stages = answered.grading.as_dict()["stages"]
        drives = [stage["drive_index"] for stage in stages]
        assert 2 <= len(stages) <= 3
        assert drives == sorted(drives)
        assert len({round(drive) for drive in drives}) == len(drives)
        assert answered.ranking.as_dict()["springs"][0]["item"] == stages[0]["item"]


def test_the_folder_holds_what_it_says(shown: Shown) -> None:
    names = {p.relative_to(shown.folder).as_posix() for p in shown.folder.rglob("*") if p.is_file()}
    assert {"book.xlsx", "torque-R-007-B1.png", "lists/supplier_east.csv", "lists/rates.csv"} <= names
    for picture in shown.folder.glob("*.png"):
        assert picture.read_bytes().startswith(b"\x89PNG")


def test_the_book_holds_sizing_rank_and_order(shown: Shown) -> None:
    book = openpyxl.load_workbook(shown.folder / "book.xlsx", read_only=True, data_only=True)
    cells = {str(cell) for row in book["Answers"].iter_rows(values_only=True) for cell in row if cell is not None}
    for _, answered in shown.pieces:
        assert answered.barrel in cells
        assert answered.grading.as_dict()["stages"][0]["item"] in cells


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
