"""A data frame is a list like any other, and the springs go out as one."""

from __future__ import annotations

from pathlib import Path

import pandas as pd
import pytest

from orderbook.catalogue import Catalogue, read_catalogue
from orderbook.locate import data_folder
from tests.catalogue.invented import WATCH, assert_reads, listed, written

LISTS = data_folder("demo_catalog")


@pytest.mark.parametrize(
    "name", ["supplier_east.csv", "supplier_north_watch.csv", "supplier_north_clock.csv", "supplier_west.csv"]
)
@pytest.mark.parametrize("dtype", [None, str])
def test_a_frame_and_its_csv_give_equal_springs(name: str, dtype: object) -> None:
    by_file = read_catalogue(LISTS / name).catalogue
    frame = pd.read_csv(LISTS / name, dtype=dtype, sep=None, engine="python")  # type: ignore[call-overload]
    by_frame = read_catalogue(frame).catalogue
    for column in (
        "item",
        "width_mm",
        "strength_mm",
        "length_mm",
        "price_minor",
        "currency",
        "pack",
        "stock",
        "supplier",
    ):
        assert getattr(by_frame, column).tolist() == getattr(by_file, column).tolist(), column


def test_a_frame_says_where_a_row_came_from() -> None:
    frame = pd.DataFrame(
        {"Item": ["a", "b"], "Width mm": [2.5, None], "Strength mm": [0.16, 0.16], "Length mm": [340, 340]}
    )
    reading = read_catalogue(frame, supplier="Supplier North")
    assert reading.rows_kept == 1
    assert reading.rejects[0].line == 3
    assert reading.rejects[0].file == "data frame"


def test_frames_and_files_mix(tmp_path: Path) -> None:
    path = listed(tmp_path, written(["Item", "Width mm", "Strength mm", "Length mm"]))
    frame = pd.DataFrame({"Item": ["b"], "Width mm": [2.5], "Strength mm": [0.16], "Length mm": [345]})
    assert read_catalogue([path, frame]).rows_kept == 4


def test_columns_of_any_kind(tmp_path: Path) -> None:
    columns = {"Item": [s.item for s in WATCH], "Width mm": [s.width for s in WATCH],
     "Strength mm": [s.strength for s in WATCH],
               "Length mm": [s.length for s in WATCH]}  # fmt: skip
    assert_reads(columns)  # type: ignore[arg-type]
    pa = pytest.importorskip("pyarrow")
    assert_reads(pa.table(columns))


def test_springs_and_rejects_go_out_as_frames() -> None:
    reading = read_catalogue(LISTS / "messy_german.csv", supplier="Supplier East")
    springs, rejects = reading.to_frame(), reading.rejects_frame()
    assert len(springs) == reading.rows_kept
    assert list(springs.columns)[:5] == ["supplier", "item", "width_mm", "strength_mm", "length_mm"]
    assert springs.price.iloc[0] == 4.80
    assert springs.loc[springs.item == "G-206", "price"].isna().all()
    assert list(rejects.columns) == ["file", "line", "column", "text", "reason", "try_this"]
    again = read_catalogue(springs).catalogue
    same = ("item", "width_mm", "strength_mm", "length_mm", "price_minor", "currency", "pack")
    for name in same:
        assert getattr(again, name).tolist() == getattr(reading.catalogue, name).tolist(), name
    assert isinstance(reading.catalogue, Catalogue)


def test_the_import_of_the_room_leaves_pandas_alone() -> None:
    import subprocess
    import sys

    code = (
        "import sys; from orderbook.catalogue import read_catalogue; "
        "assert 'pandas' not in sys.modules and 'pyarrow' not in sys.modules"
    )
    subprocess.run([sys.executable, "-c", code], check=True)
