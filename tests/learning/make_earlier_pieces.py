"""Write the invented closed pieces of demo_catalog/earlier again: `python -m tests.learning.make_earlier_pieces`.

A book of an earlier year as a folder of CSV files: fifteen clocks with going barrels whose needs are drawn about
medians of our own, springs tried from the weak side by the project's own mechanics. A fixed seed makes them the
same each time.
"""

from __future__ import annotations

import csv
import math
from typing import Any

import numpy as np

from orderbook.barrel.barrel import Barrel
from orderbook.choosing.bench import TriedStrip, bench_of
from orderbook.choosing.fitting import scale_of
from orderbook.choosing.seen import tried_spring
from orderbook.locate import data_folder
from orderbook.mechanics import spring_length

INVENTED = "all numbers and names in this book are invented"
# group, how many, median and spread of the need, bore, share of the arbor, depth
KINDS = (
    ("", "eight-day timepiece", 8, 0.66, 0.16, (42.0, 48.0), (14.0, 19.0)),
    ("French 8-day", "French drum movement", 7, 0.45, 0.16, (34.0, 40.0), (11.0, 15.0)),
)
UNIT = {"unit": "mm", "instrument": "caliper"}


def main() -> None:
    rng = np.random.default_rng(1885)
    tables: dict[str, list[dict[str, Any]]] = {
        name: [] for name in ("Restorations", "Barrels", "Readings", "Drawer", "Trials")
    }
    tables["Settings"] = [{"setting": "book currency", "value": "GBP"}, {"setting": "note", "value": INVENTED}]
    number = 101
    for label, piece, count, median, spread, bores, depths in KINDS:
        for need in (math.log(median) + spread * np.clip(rng.normal(0, 1, count), -1.5, 1.5)).tolist():
            bore, depth = round(float(rng.uniform(*bores)), 1), round(float(rng.uniform(*depths)), 1)
            arbor, used = round(bore * float(rng.uniform(0.21, 0.28)), 1), round(float(rng.uniform(4.2, 5.2)), 1)
            name = f"R-{number}"
            tables["Restorations"].append(
                {"restoration": name, "piece": f"{piece}, invented", "movement": "clock", "state": "closed",
                 "opened": "2025-02-01", "closed": "2025-06-01", "note": INVENTED}
            )  # fmt: skip
            tables["Barrels"].append(
                {"barrel": f"{name}-B1", "restoration": name, "train": "going", "drive": "going", "turns_used": used,
                 "group": label, "fault": "strength"}
            )  # fmt: skip
            for what, mm in (("bore", bore), ("arbor", arbor), ("depth", depth)):
                tables["Readings"].append(
                    {"barrel": f"{name}-B1", "what": what, "value": mm, **UNIT, "date": "2025-02-02"}
                )
            _try(
                tables,
                f"{name}-B1",
                Barrel(bore=bore, arbor=arbor, depth=depth, used=used, movement="clock"),
                need,
                median,
            )
            number += 1
    folder = data_folder("demo_catalog") / "earlier"
    folder.mkdir(exist_ok=True)
    for table, rows in tables.items():
        with (folder / f"{table}.csv").open("w", encoding="utf-8", newline="") as out:
            writer = csv.DictWriter(out, list(dict.fromkeys(key for row in rows for key in row)), lineterminator="\n")
            writer.writeheader()
            writer.writerows(rows)


def _try(tables: dict[str, list[dict[str, Any]]], barrel: str, read: Barrel, need: float, median: float) -> None:
    """Fit springs from four fifths of the median up, a step of 0.02 mm at a time, until one drives as is needed."""
    bench, _ = bench_of(read)
    scale = scale_of(bench)
    width = math.floor(2 * bench.widest_mm) / 2

    def length_of(strength: float) -> int:
        return 10 * round(float(spring_length(bench.bore_mm, bench.arbor_mm, strength, 0.5)) / 10)

    def drive_of(strength: float) -> float:
        return tried_spring(bench, TriedStrip(width, strength, length_of(strength), "ran well"), scale).drive

    strength = 0.2
    while drive_of(strength) < 80 * median:
        strength += 0.02
    for day in range(3, 28, 4):
        length, drive = length_of(strength), drive_of(strength)
        ran = drive >= 100 * math.exp(need)
        spring = f"D-{len(tables['Drawer']) + 101:04d}"
        tables["Drawer"].append(
            {"drawer": spring, "label": "invented", "width_mm": width, "strength_mm": round(strength, 2),
             "length_mm": length, "whose": "ours", "origin": "new", "state": "fitted" if ran else "gone"}
        )  # fmt: skip
        tables["Trials"].append(
            {"order": spring, "barrel": barrel, "date": f"2025-03-{day:02d}",
             "verdict": "ran well" if ran else "too weak", "seen": "invented"}
        )  # fmt: skip
        if ran:
            return
        strength += 0.02


if __name__ == "__main__":
    main()
