"""The book's writer and reader beside openpyxl, as ratios in one run: `python tests/benchmarks/workbook.py`."""

from __future__ import annotations

import io
import json
import statistics
import subprocess
import sys
import tempfile
import time
import zipfile
from pathlib import Path

import xlsxwriter
from side_by_side import ROOT, write

ROWS, RUNS = 50_000, 3
OURS = """
from pathlib import Path
from orderbook.workbook.changes import set_cells
set_cells(Path(PATH), {"Sheet1": {(20000, 2): 7.25}})
"""
THEIRS = """
import openpyxl
book = openpyxl.load_workbook(PATH)
book["Sheet1"]["C20001"] = 7.25
book.save(PATH + ".saved")
"""
TIMED = """
import json, sys, time
PATH = {path!r}
begin = time.perf_counter()
exec({code!r})
spent = time.perf_counter() - begin
memory = [line.split()[1] for line in open("/proc/self/status") if line.startswith("VmHWM")]
print(json.dumps([spent, int(memory[0]) / 1024]))
"""
APPEND = """
from pathlib import Path
from orderbook.workbook.changes import Changes, append_rows, commit
from orderbook.workbook.reading import open_book
book, changes = open_book(Path(PATH)), Changes()
rows = [{"supplier": "Supplier North", "item": f"NC-{n}", "width_mm": 2.5, "strength_mm": 0.16,
         "length_mm": 340 + n % 99,
         "price": 4.5, "currency": "GBP"} for n in range(50000)]
append_rows(changes, book, "Catalogue", rows)
commit(book, changes)
"""


def timed(code: str, path: Path) -> tuple[float, float]:
    done = subprocess.run(
        [sys.executable, "-c", TIMED.format(path=str(path), code=code)],
        cwd=ROOT,
        capture_output=True,
        text=True,
        check=True,
    )
    spent, memory = json.loads(done.stdout)
    return spent, memory


def large_book(path: Path) -> None:
    book = xlsxwriter.Workbook(path)
    sheet = book.add_worksheet()
    for row in range(ROWS):
        sheet.write_row(row, 0, [f"S{row}", row, row / 8, "hole"])
    book.close()


def zip_seconds(path: Path) -> float:
    with zipfile.ZipFile(path) as package:
        parts = {name: package.read(name) for name in package.namelist()}
    begin = time.perf_counter()
    with zipfile.ZipFile(io.BytesIO(), "w", zipfile.ZIP_DEFLATED) as target:
        for name, data in parts.items():
            target.writestr(name, data)
    return time.perf_counter() - begin


def wall(code: str, *arguments: str) -> float:
    begin = time.perf_counter()
    subprocess.run([sys.executable, "-c", code, *arguments], cwd=ROOT, check=True, stdout=subprocess.DEVNULL)
    return time.perf_counter() - begin


def main() -> None:
    folder = Path(tempfile.mkdtemp())
    large, catalogue = folder / "large.xlsx", folder / "catalogue.xlsx"
    large_book(large)
    pairs = [(timed(OURS, large), timed(THEIRS, large)) for _ in range(RUNS)]
    speed = statistics.median(theirs[0] / ours[0] for ours, theirs in pairs)
    memory = statistics.median(ours[1] / theirs[1] for ours, theirs in pairs)
    new = "import sys; from orderbook.cli import main; main(['new', sys.argv[1]])"
    wall("pass"), wall("import openpyxl")
    starts = []
    for n in range(7):
        code = f"import sys\ntry:\n    exec({new!r})\nexcept SystemExit: pass"
        starts.append(wall(code, str(folder / f"n{n}.xlsx")) / wall("import openpyxl"))
    subprocess.run([sys.executable, "-m", "orderbook", "new", str(catalogue)], cwd=ROOT, check=True)
    appended = timed(APPEND, catalogue)[0] / zip_seconds(catalogue)
    rows = [
        (
            "open, edit one cell, save a book of 50,000 rows",
            "openpyxl load + save",
            "≥ 10 × faster",
            f"{speed:.1f} × faster",
        ),
        ("the same, most memory", "openpyxl load + save", "≤ 0.33", f"{memory:.2f}"),
        ("`orderbook new`", "`import openpyxl`", "≤ 5", f"{statistics.median(starts):.2f}"),
        ("append 50,000 rows to Catalogue, formulas worked out", "zip of the same bytes", "< 3", f"{appended:.1f}"),
    ]
    table = "| what | peer in the same run | goal | found |\n| --- | --- | --- | --- |\n"
    table += "\n".join("| " + " | ".join(row) + " |" for row in rows)
    write("workbook", "The book: writing and reading", "python tests/benchmarks/workbook.py", table)


if __name__ == "__main__":
    main()
