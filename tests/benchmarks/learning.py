"""Many shared pieces: how long learning from them takes, in how much memory, and the same answer by dask.

Run: python -m tests.benchmarks.learning [PIECES]   (writes docs/reference/benchmarks/learning.md; a million by default)
"""

from __future__ import annotations

import csv
import sys
import tempfile
from pathlib import Path

import numpy as np

from orderbook.learning.exchange import COLUMNS, read_pieces, sums_of_frame, told_columns
from orderbook.learning.model import joined
from orderbook.learning.pieces import Group
from tests.benchmarks.side_by_side import growth_table, timed, write
from tests.learning.workshops import Truth, tried

BENCHES, GROUPS = 40, ("", "french 8-day")
OURS = """
from orderbook.learning.exchange import read_pieces
read_pieces([PATH])
"""
PEER = """
import csv, math, warnings
import numpy as np
from lifelines import LogNormalFitter
warnings.simplefilter("ignore")
with open(PATH, encoding="utf-8", newline="") as lines:
    rows = [(float(row["above_percent"] or 5), float(row["below_percent"] or 330)) for row in csv.DictReader(lines)]
low, high = np.array(rows).T
LogNormalFitter().fit_interval_censoring(low, np.maximum(high, low + 0.1))
"""


def a_file(folder: Path, pieces: int) -> Path:
    """Write invented pieces of many benches, half of them of a group of its own."""
    rng, path = np.random.default_rng(1), folder / f"pieces-{pieces}.csv"
    middles = [Truth().group(rng) for _ in range(BENCHES)]
    with path.open("w", encoding="utf-8", newline="") as out:
        table = csv.DictWriter(out, COLUMNS)
        table.writeheader()
        for n in range(pieces):
            bench, label = n % BENCHES, GROUPS[n // BENCHES % 2]
            piece = tried(float(rng.normal(middles[bench], 0.22)), rng, wrong=0.03)
            group = Group("clock", "going", "going", label)
            row = {"piece": f"{n:016x}", "bench": f"bench {bench}", "group": label, **told_columns(piece)}
            table.writerow({**row, "movement": group.movement, "drive": group.drive, "train": group.train})
    return path


def by_dask(path: Path) -> bool:
    """Whether sums of the parts of a dask frame are those of one pass, to the last digit."""
    import dask
    import dask.dataframe as dd

    frame = dd.read_csv(path, dtype=str, blocksize=1_000_000)
    parts = [dask.delayed(sums_of_frame)(part, path.stem) for part in frame.to_delayed()]
    (sums,) = dask.compute(dask.delayed(joined)(*parts), scheduler="threads")
    whole = read_pieces([path]).sums
    return sums.keys() == whole.keys() and all(
        (sums[name].log_chances == known.log_chances).all() for name, known in whole.items()
    )


def main(most: int) -> None:
    """Measure, and write the page."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        small = [10_000, 20_000, 40_000]
        files = {size: a_file(folder, size) for size in small}
        took = {size: timed(OURS, path) for size, path in files.items()}
        peer, _ = timed(PEER, files[20_000])
        same = by_dask(files[40_000])
        long, memory = timed(OURS, a_file(folder, most))
    lines = [
        "| pieces in one file | seconds | most memory, MB |",
        "| --- | --- | --- |",
        *(f"| {size:,} | {spent:.1f} | {used:.0f} |" for size, (spent, used) in took.items()),
        f"| {most:,} | {long:.0f} | {memory:.0f} |",
        "",
        growth_table("pieces of 40 benches read and learned from", small, [took[size][0] for size in small]),
        "",
        f"20,000 pieces take {took[20_000][0] / peer:.1f} times as long as lifelines takes to fit one median and one",
        "spread to the same intervals; ours are worked out for each median and spread there may be, bench by bench,",
        "with every spring that was tried, wrong verdicts and benches that bring only failures.",
        "",
        f"By the parts of a dask frame 40,000 pieces give {'the same' if same else 'OTHER'} sums, to the last digit.",
    ]
    write("learning", "Learning from many pieces", "python -m tests.benchmarks.learning", "\n".join(lines))


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 1_000_000)
