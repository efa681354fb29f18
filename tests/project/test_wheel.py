"""What a user installs: the wheel, in a fresh environment outside the checkout, runs the demo."""

import os
import re
import subprocess
import sys
import venv
import zipfile
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]


@pytest.fixture(scope="module")
def wheel(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("wheel")
    command = [sys.executable, "-m", "build", "--wheel", "--no-isolation", "--outdir", str(folder), str(ROOT)]
    done = subprocess.run(command, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stdout + done.stderr
    return next(folder.glob("*.whl"))


def test_the_wheel_holds_the_data_folders(wheel: Path) -> None:
    names = zipfile.ZipFile(wheel).namelist()
    assert "orderbook/_demo_catalog/supplier_north_watch.csv" in names
    assert any(name.startswith("orderbook/_workbook_template/") for name in names)
    assert {"orderbook/findings.toml", "orderbook/cautions.toml", "orderbook/measures/units.toml"} <= set(names)
    assert not [name for name in names if name.startswith(("tests/", "docs/"))]


@pytest.mark.slow
def test_the_demo_runs_from_the_wheel_alone(wheel: Path, tmp_path: Path) -> None:
    venv.create(tmp_path / "venv", with_pip=True)
    bin_folder = tmp_path / "venv" / ("Scripts" if os.name == "nt" else "bin")
    alone = {key: value for key, value in os.environ.items() if key not in {"PYTHONPATH", "VIRTUAL_ENV"}}
    install = [str(bin_folder / "python"), "-m", "pip", "install", "-q", str(wheel)]
    subprocess.run(install, check=True, env=alone, cwd=tmp_path)
    done = subprocess.run(
        [str(bin_folder / "orderbook"), "demo"], cwd=tmp_path, env=alone, capture_output=True, text=True, check=False
    )
    assert done.returncode == 0, done.stdout + done.stderr
    assert list((tmp_path / "orderbook-demo").glob("*.xlsx"))


def test_the_readme_has_exactly_the_two_commands() -> None:
    blocks = re.findall(r"^```\n(.*?)^```$", (ROOT / "README.md").read_text(encoding="utf-8"), re.M | re.S)
    assert blocks[0].splitlines() == [
        "python3 -m venv .venv && .venv/bin/pip install -q '.[test]' && .venv/bin/orderbook demo",
        ".venv/bin/python -m pytest",
    ]
    assert (ROOT / ".ci/run").read_text(encoding="utf-8").count("README.md") >= 1
