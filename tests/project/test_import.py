"""`import orderbook` is light, and gives every name it promises."""

import subprocess
import sys
from pathlib import Path

import orderbook


def test_every_name_is_there_and_documented() -> None:
    for name, room in orderbook.ROOMS.items():
        assert getattr(orderbook, name).__doc__, f"{room}.{name}"
        assert name in dir(orderbook)


def test_the_type_checker_is_told_the_same_names() -> None:
    source = Path(orderbook.__file__).read_text(encoding="utf-8")
    told = {line.split(" as ")[1].strip() for line in source.splitlines() if line.startswith("    from orderbook.")}
    assert told == set(orderbook.ROOMS)


def test_heavy_packages_stay_out_of_the_start() -> None:
    code = "import sys, orderbook.cli; print(sorted({m.split('.')[0] for m in sys.modules}))"
    loaded = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True).stdout
    for heavy in ("numpy", "pandas", "scipy", "matplotlib", "pint", "openpyxl", "lxml", "rich", "xlsxwriter"):
        assert f"'{heavy}'" not in loaded
