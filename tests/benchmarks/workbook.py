"""The book's writer and reader beside peers, as ratios in one run.

Run: python -m tests.benchmarks.workbook            all of it, about three minutes; writes the page
     python -m tests.benchmarks.workbook PART …     edit, append, refresh or new; prints only
"""

from __future__ import annotations

import io
import statistics
import subprocess
import sys
import tempfile
import time
import zipfile
from collections.abc import Callable
from pathlib import Path

import xlsxwriter

from tests.benchmarks.side_by_side import ROOT, growth_table, ratios, seconds, timed, write

ROWS, RUNS, CELLS = 50_000, 3, 1_000
EDIT_OURS = """
from pathlib import Path
from orderbook.xlsx.changes import set_cells
set_cells(Path(PATH), {"Sheet1": {(20000, 2): 7.25}})
"""
EDIT_THEIRS = """
import openpyxl
book = openpyxl.load_workbook(PATH)
book["Sheet1"]["C20001"] = 7.25
book.save(PATH + ".saved")
"""
ADDED = """
rows = [{"supplier": "Supplier North", "item": f"NC-{n}", "width_mm": 2.5, "strength_mm": 0.16,
         "length_mm": 340 + n % 99, "price": 4.5, "currency": "GBP"} for n in range(50000)]
"""
APPEND_OURS = f"""
from pathlib import Path
from orderbook.xlsx.changes import Changes, append_rows, commit
from orderbook.xlsx.reading import open_book
{ADDED}
rows = rows[:COUNT]
book, changes = open_book(Path(PATH)), Changes()
append_rows(changes, book, "Catalogue", rows)
commit(book, changes)
"""
APPEND_THEIRS = f"""
import openpyxl
{ADDED}
book = openpyxl.load_workbook(PATH)
for number, row in enumerate(rows, 4):
    for column, value in enumerate(row.values(), 2):
        book["Catalogue"].cell(number, column, value)
book.save(PATH + ".saved")
"""
Line = tuple[str, str, str, str]


def zip_seconds(path: Path) -> float:
    """Return the seconds to pack a book's parts again."""
    with zipfile.ZipFile(path) as package:
        parts = {name: package.read(name) for name in package.namelist()}
    begin = time.perf_counter()
    with zipfile.ZipFile(io.BytesIO(), "w", zipfile.ZIP_DEFLATED) as target:
        for name, data in parts.items():
            target.writestr(name, data)
    return time.perf_counter() - begin


def edit(folder: Path) -> list[Line]:
    """One cell of a large book of somebody else."""
    path = folder / "large.xlsx"
    book = xlsxwriter.Workbook(path)
    sheet = book.add_worksheet()
    for row in range(ROWS):
        sheet.write_row(row, 0, [f"S{row}", row, row / 8, "hole"])
    book.close()
    pairs = [(timed(EDIT_OURS, path), timed(EDIT_THEIRS, path)) for _ in range(RUNS)]
    speed = statistics.median(theirs[0] / ours[0] for ours, theirs in pairs)
    memory = statistics.median(ours[1] / theirs[1] for ours, theirs in pairs)
    what = f"open, edit one cell, save a book of {ROWS:,} rows"
    return [
        (what, "openpyxl load + save", "at least 10 × faster", f"{speed:.1f} × faster"),
        ("the same, most memory", "openpyxl load + save", "at most 0.33", f"{memory:.2f}"),
    ]


def append(folder: Path) -> list[Line]:
    """Many rows into a table of ours."""
    ours, theirs = folder / "ours.xlsx", folder / "theirs.xlsx"
    for path in (ours, theirs):
        subprocess.run([sys.executable, "-m", "orderbook", "new", str(path)], cwd=ROOT, check=True, capture_output=True)
    spent = timed(APPEND_OURS.replace("COUNT", str(ROWS)), ours)[0]
    packed, other = zip_seconds(ours), timed(APPEND_THEIRS, theirs)[0]
    what = f"open, append {ROWS:,} rows to Catalogue, work out, save"
    return [
        (what, "zip of the same bytes", "below 3", f"{spent / packed:.1f}"),
        (what, "openpyxl, which works nothing out", "–", f"{spent / other:.2f}"),
    ]


def refresh(folder: Path) -> list[Line]:
    """Cells of a book that call a function of ours."""
    from orderbook.sheets.blank_book import copy_template
    from orderbook.xlsx.changes import Changes, commit
    from orderbook.xlsx.page import Formula
    from orderbook.xlsx.reading import open_book

    path = folder / "functions.xlsx"
    copy_template(path)
    book, changes = open_book(path), Changes()
    for row in range(3, CELLS + 3):
        changes.put("Drawer", (row, 40), 300.0 + row / 10)
        changes.put("Drawer", (row, 41), Formula(f"=SPRING_TURNS(11.4,2.4,0.105,AO{row + 1})"))
    commit(book, changes)
    size = ["-m", "orderbook", "size", "--bore", "11.40", "--arbor", "2.40", "--depth", "3.1", "--strength", "0.105"]
    found = statistics.median(ratios(size, ["-m", "orderbook", "refresh", str(path)], runs=7))
    cells = open_book(path).cells["Drawer"]
    assert all(isinstance(cells[row, 41].value, float) for row in range(3, CELLS + 3))
    return [(f"`orderbook refresh`, {CELLS:,} cells that call our functions", "`orderbook size`", "at most 3", f"{found:.2f}")]  # fmt: skip # noqa: E501


def new(folder: Path) -> list[Line]:
    """A new book."""
    path, found = folder / "new.xlsx", []
    for _ in range(8):
        path.unlink(missing_ok=True)
        theirs = seconds(["-c", "import openpyxl"])
        found.append(seconds(["-m", "orderbook", "new", str(path)]) / theirs)
    return [("`orderbook new`", "`import openpyxl`", "at most 5", f"{statistics.median(found[1:]):.2f}")]


def grown(folder: Path) -> str:
    """Lay out how appending grows with the rows."""
    sizes, took = [ROWS // 4, ROWS // 2, ROWS], []
    for size in sizes:
        path = folder / f"grown-{size}.xlsx"
        subprocess.run([sys.executable, "-m", "orderbook", "new", str(path)], cwd=ROOT, check=True, capture_output=True)
        took.append(min(timed(APPEND_OURS.replace("COUNT", str(size)), path)[0] for _ in range(2)))
    return growth_table("rows appended to Catalogue, worked out, saved", sizes, took)


WHY = """\
Where a goal is missed: the template has 18,400 formulas of its own today (marks of what answers were made of, typed
cells told at once, order sheets), half more than when the goal of *refresh* was set, and those that look at what has
changed are found first; appended rows get their formulas and are worked out, which takes longer than packing them."""
PARTS: dict[str, Callable[[Path], list[Line]]] = {"edit": edit, "append": append, "refresh": refresh, "new": new}


def main() -> None:
    """Measure what is asked for; the page is written when that is all."""
    lines: list[Line] = []
    with tempfile.TemporaryDirectory() as folder:
        for name in sys.argv[1:] or PARTS:
            found = PARTS[name](Path(folder))
            lines += found
            print(*found, sep="\n", file=sys.stderr, flush=True)
        more = "" if sys.argv[1:] else grown(Path(folder))
    if len(sys.argv) == 1:
        table = "| what | peer in the same run | goal | found |\n| --- | --- | --- | --- |\n"
        table += "\n".join("| " + " | ".join(line) + " |" for line in lines)
        page = f"{table}\n\n{WHY}\n\n{more}"
        write("workbook", "The book: writing and reading", "python -m tests.benchmarks.workbook", page)


if __name__ == "__main__":
    main()
