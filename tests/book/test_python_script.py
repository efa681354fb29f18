"""The script of a person in Python runs as it stands, and pyright knows the type of everything in it."""

from __future__ import annotations

import runpy
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from orderbook.locate import data_folder

SCRIPT = Path(__file__).with_name("python_script.py")
ROOT = Path(__file__).parents[2]


def test_it_runs_and_says_what_the_bench_wants_to_know(
    workbook: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    pytest.importorskip("pandas")
    monkeypatch.setenv("MPLBACKEND", "Agg")
    monkeypatch.chdir(tmp_path)
    workbook.rename("clocks.xlsx")
    shutil.copytree(data_folder("demo_catalog"), "demo_catalog")
    said = runpy.run_path(str(SCRIPT))
    assert 0 < said["spread"] < said["strength"] < 0.3
    assert said["printed"].startswith("The spring that belongs there")
    of_a_file, of_a_frame = (springs.drop(columns="file") for springs in (said["springs"], said["by_frame"].to_frame()))
    assert of_a_file.equals(of_a_frame)
    assert said["stages"].drive_index.is_monotonic_increasing
    assert said["ranked"]["rank"].tolist() == [1, 2, 3]
    assert "in_mm" in said["readings"]
    assert "verdict too weak" in said["after"]
    assert "R-007.html" in [path.name for path in said["record"]]


@pytest.mark.slow
def test_pyright_knows_every_type_of_it() -> None:
    command = [sys.executable, "-m", "pyright", "--pythonpath", sys.executable, str(SCRIPT)]
    done = subprocess.run(command, capture_output=True, text=True, check=False, cwd=ROOT)
    assert done.returncode == 0, done.stdout + done.stderr
