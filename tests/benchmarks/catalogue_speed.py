"""Reading long lists beside pandas in the same run: `python -m tests.benchmarks.catalogue_speed [ROWS]`.

Each is a fresh process, so that its peak memory is its own; ratios are taken pair by pair.
Writes docs/reference/benchmarks/catalogue.md.
"""

from __future__ import annotations

import csv
import random
import subprocess
import sys
import tempfile
from collections.abc import Sequence
from pathlib import Path
from statistics import median

from orderbook.locate import data_folder
from tests.benchmarks.side_by_side import growth_table

ROOT = Path(__file__).resolve().parents[2]
PAGE = ROOT / "docs" / "reference" / "benchmarks" / "catalogue.md"
SOURCE = (data_folder("demo_catalog") / "supplier_north_watch.csv").read_text(encoding="utf-8").splitlines()
WITHOUT = """import sys, time
sys.modules["orderbook.catalogue.arrow"] = None  # as if pyarrow were not installed
"""
WITH = """import time, pyarrow.csv
"""
READ = """from orderbook.catalogue import read_catalogue
begin = time.perf_counter()
read_catalogue({path!r})"""
RANK = """from orderbook.catalogue import read_catalogue
from orderbook.barrel.barrel import barrel_from_texts
from orderbook.choosing.long_lists import candidates
from orderbook.choosing.ranking import rank
readings = dict(bore=["15.6"], arbor=["5.2"], depth=["3.1"], used=["3.5"])
barrel = barrel_from_texts(readings)[0]
reading = read_catalogue({path!r})
begin = time.perf_counter()
rank(barrel, candidates(barrel, reading))"""
PIECES = """from orderbook.catalogue import read_catalogue_chunks
begin = time.perf_counter()
for piece in read_catalogue_chunks({path!r}):
    pass"""
TIDY_PEER = """import time, pyarrow.csv, pandas as pd
begin = time.perf_counter()
rows = pd.read_csv({path!r}, engine="pyarrow")
for name in ("Width mm", "Strength mm", "Length mm", "Price GBP"):
    rows[name] = pd.to_numeric(rows[name])
rows.duplicated()"""
PLAIN_PEER = """import time, pandas as pd
begin = time.perf_counter()
pd.read_csv({path!r})"""
TAIL = """
import resource
print(time.perf_counter() - begin, resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024)"""
TIDY_DOES, PLAIN_DOES = "read_csv(engine='pyarrow'), to_numeric, duplicated", "read_csv"


RANKED = (
    "Ranking is for one watch barrel, shown as `orderbook rank` shows it. The long lists are the demo's springs over",
    "and over with new item numbers, so that one in eight goes in; of a real list it is 20 to 100. A list that is",
    "irregular (a cell over several lines, blank cells beyond the header in some rows, letters of an old code page) is",
    "read row by row, several times slower, and with the same answer.",
)


def tidy(path: Path, rows: int) -> None:
    """The demo's springs over and over, each with its own item number."""
    body = [row.split(",", 2) for row in SOURCE[1:]]
    with path.open("w", encoding="utf-8") as stream:
        stream.write(SOURCE[0] + "\n")
        for n in range(rows):
            supplier, _, rest = body[n % len(body)]
            stream.write(f"{supplier},NW-{n},{rest}\n")


def messy(path: Path, rows: int) -> None:
    """Sizes in mm, cm, inches and thousandths in the same column, prices with the sign before or behind."""
    dice = random.Random(3)
    with path.open("w", encoding="utf-8", newline="") as stream:
        writer = csv.writer(stream)
        writer.writerow(["Supplier", "Item", "Width", "Strength", "Length", "End", "Price", "Stock", "Note"])
        for n in range(rows):
            row = dice.choice(SOURCE[1:]).split(",")
            row[1], row[2:5] = f"N-{n}", [size(dice, float(cell)) for cell in row[2:5]]
            row[6] = dice.choice(["£{}", "{} GBP", "{} £"]).format(row[6])
            writer.writerow(row)


def size(dice: random.Random, mm: float) -> str:
    inch = mm / 25.4
    return dice.choice([f"{mm:g} mm", f"{mm / 10:.4f} cm", f'{inch:.4f}"', f"{1000 * inch:.2f} thou"])


def once(script: str, path: Path) -> tuple[float, float]:
    """Seconds and most memory (MB) of one fresh process."""
    command = [sys.executable, "-c", script.format(path=str(path)) + TAIL]
    out = subprocess.run(command, cwd=ROOT, capture_output=True, text=True, check=True).stdout
    seconds, memory = out.split()
    return float(seconds), float(memory)


def beside(ours: Sequence[str], peer: str, path: Path, runs: int) -> list[tuple[float, float, float, float]]:
    """Each of ours beside the peer, all in turn: seconds of both and their ratio (medians), and our most memory."""
    found: list[list[tuple[float, float, float]]] = [[] for _ in ours]
    for _ in range(runs):
        theirs, _ = once(peer, path)
        for script, column in zip(ours, found, strict=True):
            seconds, memory = once(script, path)
            column.append((seconds, theirs, memory))
    return [
        (
            median(mine for mine, _, _ in column),
            median(theirs for _, theirs, _ in column),
            median(mine / theirs for mine, theirs, _ in column),
            max(memory for _, _, memory in column),
        )
        for column in found
    ]


def main(rows: int) -> None:
    many, some, mixed = f"tidy, {rows:,} rows", "tidy, 200,000 rows", "mixed units in cells, 100,000 rows"
    reads = [("read", WITH + READ), ("read, without pyarrow", WITHOUT + READ)]
    cases = [
        (many, tidy, rows, TIDY_PEER, TIDY_DOES, [*reads, ("rank, once read", WITH + RANK)], (3, 10, 3)),
        (some, tidy, 200_000, PLAIN_PEER, PLAIN_DOES, reads, (0, 0)),
        (mixed, messy, 100_000, PLAIN_PEER, PLAIN_DOES, reads, (15, 15)),
    ]
    lines = [
        "# Reading long lists",
        "",
        "Seconds after the imports of fresh processes, ours and pandas in turn, in the same run, on the same file;",
        "medians of the seconds and of the ratios pair by pair. Memory is the most a process held, libraries with it.",
        "",
        "| list | MB | we do | s | pandas does | s | ratio | aim at most | our memory, MB |",
        "| --- | ---: | --- | ---: | --- | ---: | ---: | ---: | ---: |",
    ]
    for name, make, count, peer, does, ours, aims in cases:
        with tempfile.TemporaryDirectory() as folder:
            path = Path(folder) / "list.csv"
            make(path, count)
            megabytes = path.stat().st_size / 1e6
            found = beside([script for _, script in ours], peer, path, 3 if count > 500_000 else 7)
        for (what, _), aim, (seconds, theirs, ratio, memory) in zip(ours, aims, found, strict=True):
            cells = f"{megabytes:.0f} | {what} | {seconds:.2f} | {does} | {theirs:.2f} | {ratio:.1f}"
            lines.append(f"| {name} | {cells} | {aim or '–'} | {memory:.0f} |")
    lines += [
        "",
        *RANKED,
        "",
        *in_pieces(rows),
        "",
        "## Growth",
        "",
        *growth(rows),
        "",
        "Made by `python -m tests.benchmarks.catalogue_speed`.",
        "",
    ]
    PAGE.parent.mkdir(parents=True, exist_ok=True)
    PAGE.write_text("\n".join(lines), encoding="utf-8")
    print("\n".join(lines))


def in_pieces(rows: int) -> list[str]:
    """The memory of lists that are read piece by piece."""
    lines = [
        "## Piece by piece",
        "",
        "What `read_catalogue_chunks` holds at most: the list is read twice, 16 bytes a row are remembered.",
        "",
        "| rows | MB | memory, MB | without pyarrow, MB |",
        "| ---: | ---: | ---: | ---: |",
    ]
    for count in (rows // 2, rows, 2 * rows):
        with tempfile.TemporaryDirectory() as folder:
            path = Path(folder) / "list.csv"
            tidy(path, count)
            memory = [once(way + PIECES, path)[1] for way in (WITH, WITHOUT)]
            megabytes = path.stat().st_size / 1e6
        lines.append(f"| {count:,} | {megabytes:.0f} | {memory[0]:.0f} | {memory[1]:.0f} |")
    return lines


def growth(rows: int) -> list[str]:
    """Seconds of reading a tidy list as it doubles."""
    sizes = [rows // 8, rows // 4, rows // 2, rows]
    took = []
    for count in sizes:
        with tempfile.TemporaryDirectory() as folder:
            path = Path(folder) / "list.csv"
            tidy(path, count)
            took.append(median(once(WITH + READ, path)[0] for _ in range(3)))
    return growth_table("rows of a tidy list", sizes, took).splitlines()


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 1_000_000)
