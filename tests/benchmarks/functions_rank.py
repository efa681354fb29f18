"""`RANK_SPRINGS` over 10,000 rows in a real LibreOffice, beside the command line on the same list.

Run: python -m tests.benchmarks.functions_rank; functions_calc puts the row on its page.
"""

from __future__ import annotations

import csv
import subprocess
import sys
import tempfile
import time
from pathlib import Path

from orderbook.addin.calc.extension import build
from tests.office import Office

ROWS, TOP = 10_000, 10
HEADS = ["Supplier", "Item", "Width mm", "Strength mm", "Length mm", "Price a pack", "Currency"]
FLAGS = ["--bore", "15.6", "--arbor", "5.2", "--depth", "3.1", "--used", "3.5"]


def springs() -> list[list[object]]:
    """Invent a list of springs around the demo's watch barrel, all different."""
    return [
        [
            "S",
            f"I{n}",
            1.5 + (n % 25) * 0.1,
            0.08 + (n // 25 % 40) * 0.005,
            300.0 + n // 1000 * 30 + n % 7,
            5 + n % 9 / 4,
            "GBP",
        ]
        for n in range(ROWS)
    ]


def row() -> str:
    """Time both on the same springs; return the row of the page."""
    rows = springs()
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "list.csv"
        with path.open("w", newline="", encoding="utf-8") as file:
            csv.writer(file).writerows(
                [["supplier", "item", "width mm", "strength mm", "length mm", "price", "currency"], *rows]
            )
        begin = time.perf_counter()
        command = [sys.executable, "-m", "orderbook", "rank", str(path), *FLAGS, "--top", str(TOP), "--json"]
        subprocess.run(command, check=True, capture_output=True)
        by_command = time.perf_counter() - begin
        with Office(build(Path(folder) / "orderbook.oxt")) as office, office.new() as document:
            document.by_hand()
            document.put("Sheet1", f"A1:G{ROWS + 1}", [HEADS, *rows])
            barrel = ["Barrel", "Restoration", "Bore mm", "Arbor mm", "Depth mm", "Turns used"]
            document.put("Sheet1", "J1:O2", [barrel, ["B1", "R1", 15.6, 5.2, 3.1, 3.5]])
            document.put("Sheet1", "P1", [['=LENGTH_MM("1 in")']])  # the helper runs, as in a book that is open
            begin = time.perf_counter()  # typing the formula works it out, whether asked or not
            document.put_array("Sheet1", f"Q1:AH{TOP}", f'=RANK_SPRINGS("B1";J1:O2;A1:G{ROWS + 1})')
            shown = document.cells("Sheet1", "Q1:S1")
            in_calc = time.perf_counter() - begin
    assert shown[0][0] == 1.0, shown
    return (
        f"| RANK_SPRINGS over {ROWS:,} rows | {in_calc:.3f} | `orderbook rank` on the same list, start and reading "
        f"included | {by_command:.3f} | {in_calc / by_command:.2f} | ≤ 1.5 |"
    )


if __name__ == "__main__":
    print(row())
