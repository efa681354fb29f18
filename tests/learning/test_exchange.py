"""The exchange file: what it holds and what it never holds, what is refused of others', and its sums however made."""

from __future__ import annotations

import csv
from pathlib import Path

import numpy as np
import pytest

from orderbook.barrel.barrel import Barrel
from orderbook.errors import OrderbookError
from orderbook.learning.evidence import piece_of
from orderbook.learning.exchange import (
    COLUMNS,
    piece_from,
    read_pieces,
    shared_row,
    sums_of_frame,
    told_columns,
    written,
)
from orderbook.learning.model import joined, learned, sums_of
from orderbook.learning.pieces import Piece, Told
from tests.learning.workshops import CLOCKS, GOING, Truth, tried

ROW = {
    "piece": "", "bench": "b", "movement": "clock", "drive": "going", "train": "going", "group": "", "bore_mm": "45",
    "arbor_mm": "9", "above_percent": "52", "above_u_percent": "5", "below_percent": "63", "below_u_percent": "5",
}  # fmt: skip


def a_file(path: Path, *rows: dict[str, str]) -> Path:
    columns = list(dict.fromkeys([*COLUMNS, *(key for row in rows for key in row)]))
    with path.open("w", encoding="utf-8", newline="") as out:
        table = csv.DictWriter(out, columns)
        table.writeheader()
        table.writerows(rows)
    return path


def many(path: Path, count: int, seed: int = 2, bench: str = "") -> Path:
    rng = np.random.default_rng(seed)
    rows = []
    for n, need in enumerate(Truth().needs(-0.5, count, rng)):
        piece = tried(need, rng)
        rows.append(ROW | told_columns(piece) | {"piece": f"{seed:08x}{n:08x}", "bench": bench})
    return a_file(path, *rows)


def test_what_is_written_is_read_again(tmp_path: Path) -> None:
    barrel = Barrel(
        bore=45, arbor=9, depth=18.8, used=4.97,
        tried=["18 x 0.36 x 1650: too weak", "18 x 0.40 x 1650: ran well, for Mrs Quill"],
    )  # fmt: skip
    piece = piece_of("R-001-B1", barrel, "eight day")
    assert isinstance(piece, Piece)
    path = tmp_path / "pieces.csv"
    assert written([shared_row("R-001-B1", barrel, piece)], path) == 1
    assert "Quill" not in path.read_text(encoding="utf-8")
    found = read_pieces([path])
    assert (found.rows, found.pieces, found.refused) == (1, 1, ())
    ((group, bench),) = found.sums
    assert (group, bench) == (piece.group, "pieces")
    own = sums_of([piece])[piece.group, ""]
    difference = found.sums[group, bench].log_chances - own.log_chances
    assert np.abs(difference).max() / 2**28 < 2e-3  # two decimals of a per cent


def test_every_spring_that_was_tried_is_shared() -> None:
    weak, enough = (Told(-0.9, 0.04), Told(-0.8, 0.05), Told(-0.7, 0.05)), (Told(-0.5, 0.05), Told(-0.4, 0.06))
    row = ROW | told_columns(Piece(GOING, weak, enough))
    assert (row["above_percent"], row["below_percent"]) == ("49.66", "60.65")
    assert (row["weaker_percent"], row["weaker_u_percent"]) == ("40.66; 44.93", "4.00; 5.00")
    assert row["stronger_percent"] == "67.03"
    again = piece_from(row, "b")
    for told, was in ((again.too_weak, weak), (again.enough, enough)):
        assert np.allclose(told, was, atol=2e-4)
    without = {key: value for key, value in row.items() if not key.startswith(("weaker", "stronger"))}
    assert piece_from(without, "b").too_weak == again.too_weak[-1:]  # a file of an earlier release


def test_a_file_is_never_written_over(tmp_path: Path) -> None:
    path = a_file(tmp_path / "p.csv", ROW)
    with pytest.raises(OrderbookError, match="file already"):
        written([], path)


@pytest.mark.parametrize(
    ("change", "why"),
    [
        ({"movement": "sundial"}, "movement is none of"),
        ({"drive": ""}, "drive is none of"),
        ({"train": "goin"}, "train is none of"),
        ({"above_percent": "5200"}, "5 to 330"),
        ({"above_percent": "-3"}, "5 to 330"),
        ({"above_percent": "fifty"}, "not readable"),
        ({"above_percent": "nan"}, "not readable"),
        ({"above_u_percent": ""}, "needs its ±"),
        ({"below_u_percent": "0"}, "needs its ±"),
        ({"above_percent": "", "below_percent": ""}, "nothing of the need"),
        ({"above_percent": "120"}, "turned round"),
        ({"bore_mm": "4500"}, "such a size"),
        ({"weaker_percent": "40; 46", "weaker_u_percent": "5"}, "1 for 2 drives"),
        ({"weaker_percent": "40; x", "weaker_u_percent": "5; 5"}, "not readable"),
        ({"stronger_percent": "70; 700", "stronger_u_percent": "5; 5"}, "5 to 330"),
        ({"weaker_percent": "; ".join(["40"] * 13), "weaker_u_percent": "; ".join(["5"] * 13)}, "more springs than 12"),
        ({"arbor_mm": "45"}, "such a size"),
    ],
)
def test_impossible_rows_are_refused_one_by_one(tmp_path: Path, change: dict[str, str], why: str) -> None:
    path = a_file(tmp_path / "p.csv", ROW | {"piece": "1"}, ROW | change | {"piece": "2"}, ROW | {"piece": "3"})
    found = read_pieces([path])
    assert (found.rows, found.pieces) == (3, 2)
    (refused,) = found.refused
    assert "line 3" in refused.where
    assert why in refused.saw
    assert sum(found.why.values()) == 1


def test_many_refusals_are_counted_and_the_first_told(tmp_path: Path) -> None:
    found = read_pieces([a_file(tmp_path / "p.csv", *[ROW | {"drive": "x"}] * 50)])
    assert len(found.refused) == 20
    assert found.why == {"drive is none of going, fusee": 50}


def test_a_file_of_something_else_is_refused(tmp_path: Path) -> None:
    path = tmp_path / "springs.csv"
    path.write_text("item,width\n1,2\n", encoding="utf-8")
    with pytest.raises(OrderbookError, match="no column movement"):
        read_pieces([path])
    with pytest.raises(OrderbookError, match="no such file"):
        read_pieces([tmp_path / "nowhere.csv"])


def test_pieces_met_again_count_once(tmp_path: Path) -> None:
    first, second = many(tmp_path / "a.csv", 30), many(tmp_path / "b.csv", 30)
    found = read_pieces([first, second])
    assert (found.rows, found.pieces, found.duplicates) == (60, 30, 30)
    own = read_pieces([first], known=[f"{2:08x}{n:08x}" for n in range(10)])
    assert own.pieces == 20


def test_rows_without_a_number_are_told_apart_by_what_they_say(tmp_path: Path) -> None:
    path = a_file(tmp_path / "p.csv", ROW, ROW, ROW | {"above_percent": "53"})
    assert read_pieces([path]).pieces == 2


def test_columns_that_name_somebody_are_not_read_and_said(tmp_path: Path) -> None:
    found = read_pieces([a_file(tmp_path / "p.csv", ROW | {"owner": "Mrs Quill"})])
    assert found.columns_left == ("owner",)


def test_the_same_by_pieces_of_a_frame_by_dask_and_in_one_pass(tmp_path: Path) -> None:
    dd = pytest.importorskip("dask.dataframe")
    dask = pytest.importorskip("dask")
    path = many(tmp_path / "pieces.csv", 500)
    whole = read_pieces([path]).sums
    frame = dd.read_csv(path, dtype=str, blocksize=8_000)
    assert frame.npartitions > 3
    parts = [dask.delayed(sums_of_frame)(part, "pieces") for part in frame.to_delayed()]
    (by_dask,) = dask.compute(dask.delayed(joined)(*parts), scheduler="threads")
    assert by_dask.keys() == whole.keys()
    for name, known in whole.items():
        assert by_dask[name].pieces == known.pieces
        assert (by_dask[name].log_chances == known.log_chances).all()
    assert learned(by_dask, GOING, CLOCKS) == learned(whole, GOING, CLOCKS)


def test_parquet_says_the_same(tmp_path: Path) -> None:
    pa_csv = pytest.importorskip("pyarrow.csv")
    pq = pytest.importorskip("pyarrow.parquet")
    path = many(tmp_path / "pieces.csv", 60)
    pq.write_table(pa_csv.read_csv(path), tmp_path / "pieces.parquet")
    one, other = read_pieces([path]), read_pieces([tmp_path / "pieces.parquet"])
    assert (one.pieces, other.pieces) == (60, 60)
    for name, known in one.sums.items():
        assert (other.sums[name].log_chances == known.log_chances).all()


def test_each_file_without_a_bench_is_a_bench(tmp_path: Path) -> None:
    found = read_pieces([many(tmp_path / "north.csv", 5, seed=2), many(tmp_path / "west.csv", 5, seed=3)])
    assert {bench for _, bench in found.sums} == {"north", "west"}
