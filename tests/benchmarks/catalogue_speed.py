"""Reading long lists beside pandas in the same run: `python tests/benchmarks/catalogue_speed.py [ROWS]`.

Each reading is a fresh process, so that its peak memory is its own; the best of three counts.
Writes docs/reference/benchmarks/catalogue.md.
"""

from __future__ import annotations

import csv
import random
import subprocess
import sys
import tempfile
from pathlib import Path

from orderbook.locate import data_folder

ROOT = Path(__file__).resolve().parents[2]
PAGE = ROOT / "docs" / "reference" / "benchmarks" / "catalogue.md"
SOURCE = (data_folder("demo_catalog") / "supplier_north_watch.csv").read_text(encoding="utf-8").splitlines()
OURS = """import time, pyarrow.csv
from orderbook.catalogue import read_catalogue
begin = time.perf_counter()
read_catalogue({path!r})"""
TIDY_PEER = """import time, pyarrow.csv, pandas as pd
begin = time.perf_counter()
rows = pd.read_csv({path!r}, engine="pyarrow")
for name in ("Width mm", "Strength mm", "Length mm", "Price GBP"):
    rows[name] = pd.to_numeric(rows[name])
rows.duplicated()"""
PLAIN_PEER = """import time, pandas as pd
begin = time.perf_counter()
pd.read_csv({path!r})"""
TEXT_PEER = """import time, pandas as pd
begin = time.perf_counter()
pd.read_csv({path!r}, dtype=str)"""
TAIL = """
import resource
print(time.perf_counter() - begin, resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024)"""


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


def best(script: str, path: Path) -> tuple[float, float]:
    """Least seconds and most memory (MB) of three runs."""
    command = [sys.executable, "-c", script.format(path=str(path)) + TAIL]
    runs = [subprocess.run(command, cwd=ROOT, capture_output=True, text=True, check=True).stdout for _ in range(3)]
    seconds, memory = zip(*(map(float, out.split()) for out in runs), strict=True)
    return min(seconds), max(memory)


def main(rows: int) -> None:
    cases = [
        (f"tidy, {rows:,} rows", tidy, rows, TIDY_PEER, "read_csv(engine='pyarrow'), to_numeric, duplicated", "3"),
        ("tidy, 200,000 rows", tidy, 200_000, TEXT_PEER, "read_csv(dtype=str)", "4"),
        ("mixed units in cells, 100,000 rows", messy, 100_000, PLAIN_PEER, "read_csv", "15"),
    ]
    lines = [
        "# Reading long lists",
        "",
        "Seconds after the imports, best of three fresh processes; ratio to pandas on the same file in the same run.",
        "",
        "| list | MB | ours, s | pandas, s | pandas does | ratio | aim at most | our memory, MB |",
        "| --- | ---: | ---: | ---: | --- | ---: | ---: | ---: |",
    ]
    for name, make, count, peer, does, aim in cases:
        with tempfile.TemporaryDirectory() as folder:
            path = Path(folder) / "list.csv"
            make(path, count)
            megabytes = path.stat().st_size / 1e6
            (ours, memory), (theirs, _) = best(OURS, path), best(peer, path)
        cells = f"{megabytes:.0f} | {ours:.2f} | {theirs:.2f} | {does} | {ours / theirs:.1f} | {aim} | {memory:.0f}"
        lines.append(f"| {name} | {cells} |")
    lines += ["", "Made by `python tests/benchmarks/catalogue_speed.py`.", ""]
    PAGE.parent.mkdir(parents=True, exist_ok=True)
    PAGE.write_text("\n".join(lines), encoding="utf-8")
    print("\n".join(lines))


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 1_000_000)
