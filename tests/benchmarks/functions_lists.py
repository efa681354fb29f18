"""Worksheet functions over whole lists in a real LibreOffice, beside the command line on the same list.

Run: python -m tests.benchmarks.functions_lists; functions_calc puts the rows on its page.
"""

from __future__ import annotations

import csv
import tempfile
import time
from pathlib import Path
from typing import Any

from orderbook.addin.calc.extension import build
from tests.benchmarks.side_by_side import seconds
from tests.office import Document, Office

ROWS, SOME, TOP, CHANGES = 10_000, 1_000, 10, 3
HEADS = ["Supplier", "Item", "Width mm", "Strength mm", "Length mm", "Price a pack", "Currency"]
FLAGS = ["--arbor", "5.2", "--depth", "3.1", "--used", "3.5"]
BORE = 15.6


def springs() -> list[list[Any]]:
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


def rows() -> str:
    """Time both functions and both commands on the same springs; return the rows of the page."""
    found = springs()
    some = found[::9][:SOME]  # every width, strength and length among them
    with tempfile.TemporaryDirectory() as folder, Office(build(Path(folder) / "orderbook.oxt")) as office:
        long, short = written(Path(folder) / "long.csv", found), written(Path(folder) / "short.csv", some)
        with office.new() as document:
            typed(document, found)
            ranked = ranking(document)
        with office.new() as document:
            typed(document, some)
            graded = grading(document)
        terms = Path(folder) / "terms.csv"
        terms.write_text("supplier,currency,postage,lead_days\nS,GBP,4.50,4\n", encoding="utf-8")
        start = min(seconds(["-m", "orderbook", "--version"]) for _ in range(CHANGES))
        by_rank = seconds(
            ["-m", "orderbook", "rank", str(long), "--bore", str(BORE), *FLAGS, "--top", str(TOP), "--json"]
        )
        grade = ["-m", "orderbook", "grade", str(short), *FLAGS, "--suppliers", str(terms)]
        by_grade = min(seconds([*grade, "--bore", str(BORE + n / 10)]) for n in range(1, CHANGES + 1)) - start
    return (
        f"| RANK_SPRINGS over {ROWS:,} rows | {ranked:.3f} | `orderbook rank` on the same list, start and reading "
        f"included | {by_rank:.3f} | {ranked / by_rank:.2f} | ≤ 1.5 |\n"
        f"| GRADED_ORDER over {SOME:,} springs after a changed reading | {graded:.3f} | `orderbook grade` on the same "
        f"list, less the time of `orderbook --version` | {by_grade:.3f} | {graded / by_grade:.2f} | ≤ 1 |"
    )


def written(path: Path, found: list[list[Any]]) -> Path:
    """Write springs as a supplier's list."""
    heads = ["supplier", "item", "width mm", "strength mm", "length mm", "price", "currency"]
    with path.open("w", newline="", encoding="utf-8") as file:
        csv.writer(file).writerows([heads, *found])
    return path


def typed(document: Document, found: list[list[Any]]) -> None:
    """Type springs and one barrel; the helper runs then, as in a book that is open."""
    document.put("Sheet1", f"A1:G{len(found) + 1}", [HEADS, *found])
    barrel = ["Barrel", "Restoration", "Bore mm", "Arbor mm", "Depth mm", "Turns used"]
    document.put("Sheet1", "J1:O2", [barrel, ["B1", "R1", BORE, 5.2, 3.1, 3.5]])
    document.put("Sheet1", "J5:M6", [["Supplier", "Currency", "Postage", "Lead time days"], ["S", "GBP", 4.5, 4.0]])
    document.put("Sheet1", "P1", [['=LENGTH_MM("1 in")']])


def ranking(document: Document) -> float:
    """Return the seconds of a ranking; typing the formula works it out, whether asked or not."""
    document.by_hand()
    begin = time.perf_counter()
    document.put_array("Sheet1", f"Q1:AH{TOP}", f'=RANK_SPRINGS("B1";J1:O2;A1:G{ROWS + 1})')
    shown = document.cells("Sheet1", "Q1:S1")
    took = time.perf_counter() - begin
    assert shown[0][0] == 1.0, shown
    return took


def grading(document: Document) -> float:
    """Return the seconds from a changed reading to its graded order, the best of some."""
    document.put_array("Sheet1", "Q1:AG3", f'=GRADED_ORDER("B1";J1:O2;A1:G{SOME + 1};;J5:M6)')
    took = []
    for n in range(1, CHANGES + 1):
        begin = time.perf_counter()
        document.put("Sheet1", "L2", [[BORE + n / 10]])
        shown = document.cells("Sheet1", "Q1:S1")
        took.append(time.perf_counter() - begin)
        assert shown[0][0] == 1.0, shown
    return min(took)


if __name__ == "__main__":
    print(rows())
