"""A folder we fill never costs a person a file."""

from pathlib import Path

import pytest

from orderbook.book.own_folder import fill
from orderbook.errors import OrderbookError


def test_fills_again_while_nobody_touched_it(tmp_path: Path) -> None:
    folder = tmp_path / "out"
    assert fill(folder, {"a.txt": b"1", "lists/b.csv": b"2"}) == folder
    assert fill(folder, {"a.txt": b"3"}) == folder
    assert (folder / "a.txt").read_bytes() == b"3"


@pytest.mark.parametrize("touch", ["change", "add"])
def test_steps_aside_or_refuses(tmp_path: Path, touch: str) -> None:
    folder = tmp_path / "out"
    fill(folder, {"a.txt": b"1"})
    (folder / ("a.txt" if touch == "change" else "mine.txt")).write_bytes(b"mine")
    with pytest.raises(OrderbookError) as caught:
        fill(folder, {"a.txt": b"2"})
    assert caught.value.code == "folder_not_ours"
    assert fill(folder, {"a.txt": b"2"}, may_step_aside=True) == tmp_path / "out-2"
    assert (folder / ("a.txt" if touch == "change" else "mine.txt")).read_bytes() == b"mine"


def test_a_file_in_the_way(tmp_path: Path) -> None:
    (tmp_path / "out").write_bytes(b"")
    with pytest.raises(OrderbookError, match="a file, not a folder"):
        fill(tmp_path / "out", {"a.txt": b"1"})


def test_what_an_earlier_run_wrote_and_this_one_does_not_is_taken_away(tmp_path: Path) -> None:
    folder = tmp_path / "out"
    for files in ({"north.html": b"1", "east.html": b"1"}, {"north.html": b"2"}, {"north.html": b"3"}):
        assert fill(folder, files) == folder
        assert {p.name for p in folder.iterdir() if p.suffix == ".html"} == set(files)


def test_a_changed_sheet_of_an_earlier_run_is_kept(tmp_path: Path) -> None:
    folder = tmp_path / "out"
    fill(folder, {"north.html": b"1", "east.html": b"1"})
    (folder / "east.html").write_bytes(b"with my notes")
    with pytest.raises(OrderbookError, match=r"east\.html, which was changed since"):
        fill(folder, {"north.html": b"2"})
    assert (folder / "east.html").read_bytes() == b"with my notes"
