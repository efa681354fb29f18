"""Write the invented lists of demo_catalog again: `python tests/catalogue/make_demo_lists.py [FOLDER]`.

Sizes follow what spring lists look like (small steps, usual lengths, gaps); prices, item numbers and suppliers
are invented. A fixed seed makes the files the same every time.
"""

import csv
import random
import sys
from collections.abc import Iterable, Iterator
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent))
from messy_lists import write_messy

ROOT = Path(__file__).resolve().parents[2]
Spring = tuple[float, float, int]  # width, strength, length in mm


def spans(low: float, high: float, step: float) -> list[float]:
    """Numbers from low to high, both included."""
    return [round(low + step * i, 4) for i in range(round((high - low) / step) + 1)]


def usual_length(bore_mm: float, strength_mm: float, factor: float, step: int) -> int:
    """Half fill of a barrel whose arbor is a third of the bore: L = π·D²/(9·e), times a maker's factor, rounded."""
    return step * round(0.349 * bore_mm**2 / strength_mm * factor / step)


def watch_springs(dice: random.Random, widths: Iterable[float], kept: float) -> Iterator[Spring]:
    for width in widths:
        for strength in spans(0.08, 0.2, 0.005) + spans(0.21, 0.25, 0.01):
            usual = 0.6 < strength / (0.057 * width) < 1.55
            if dice.random() > (kept if usual else 0.08):
                continue  # a real list has gaps
            for factor in dice.choice([(1.0,), (1.05,), (0.97, 1.15), (1.0, 1.2)]):
                length = usual_length(5.45 * width, strength, factor, 10)
                if 160 <= length <= 800:
                    yield width, strength, length


def clock_springs(dice: random.Random, widths: Iterable[float], kept: float) -> Iterator[Spring]:
    for width in widths:
        for strength in spans(0.28, 0.46, 0.01) + spans(0.48, 0.60, 0.02):
            if dice.random() > kept:
                continue
            for factor in dice.choice([(1.0,), (1.03,), (0.95, 1.1)]):
                length = usual_length(20 + 0.93 * width, strength, factor, 50)
                if 1200 <= length <= 3200:
                    yield width, strength, length


def going_clock_springs(dice: random.Random, widths: Iterable[float], kept: float) -> Iterator[Spring]:
    """Springs of going-barrel clocks: wider barrels for their depth, arbors of a fifth of the bore."""
    for width in widths:
        for strength in spans(0.20, 0.56, 0.02):
            usual = 0.6 < strength / (0.1 + 0.017 * width) < 1.5
            if dice.random() > (kept if usual else 0.05):
                continue
            for factor in dice.choice([(1.0,), (0.9,), (0.85, 1.0), (1.0, 1.15)]):
                length = usual_length(1.04 * (13 + 1.75 * width), strength, factor, 50)
                if 500 <= length <= 2600:
                    yield width, strength, length


def pence(dice: random.Random, spring: Spring, base: float, per_cm3: float) -> int:
    width, strength, length = spring
    whole = base + per_cm3 * width * strength * length / 1000 + dice.choice([0, 0, 0.2, 0.4])
    return round(whole * 20) * 5


def north_watch(dice: random.Random) -> list[list[str]]:
    rows = [["Supplier", "Item", "Width mm", "Strength mm", "Length mm", "End", "Price GBP", "Stock", "Note"]]
    for n, spring in enumerate(watch_springs(dice, spans(1.5, 4.0, 0.05), 0.8)):
        price, end = pence(dice, spring, 4.2, 5.5), dice.choice(["hole", "hole", "riveted hook", "bridle"])
        stock, note = dice.choice([0, 1, 2, 3, 5, 8, 12]), dice.choice(["", "", "", "", "old stock", "blue steel"])
        rows.append(["Supplier North", f"NW-{1000 + n}", *sizes(spring), end, money(price), str(stock), note])
    return rows


def north_clock(dice: random.Random) -> list[list[str]]:
    rows = [["Supplier", "Item", "Width mm", "Strength mm", "Length mm", "End", "Price GBP", "Stock", "Note"]]
    springs = [*clock_springs(dice, spans(18, 50, 1), 0.9), *going_clock_springs(dice, spans(8, 24, 1), 0.85)]
    for n, spring in enumerate(springs):
        price = pence(dice, spring, 11, 0.45)
        end = dice.choice(["hole", "hole", "hole", "loop"])
        stock, note = dice.choice([0, 1, 2, 3, 4, 6, 6]), dice.choice(["", "", "", "made to order", "holes both ends"])
        rows.append(["Supplier North", f"NC-{3000 + n}", *sizes(spring), end, money(price), str(stock), note])
    return rows


def east(dice: random.Random) -> list[list[str]]:
    rows = [["Supplier", "Item", "Width mm", "Strength mm", "Length mm", "End", "Price EUR", "Stock"]]
    watch = list(watch_springs(dice, spans(1.6, 3.6, 0.1), 0.55))
    clock = list(clock_springs(dice, spans(18, 50, 2), 0.6))
    clock += list(going_clock_springs(dice, spans(8, 24, 2), 0.6))
    for n, spring in enumerate(watch + clock):
        small = spring[0] < 10
        price = pence(dice, spring, 3.9 if small else 10.5, 5.8 if small else 0.5)
        printed = [f"{spring[0]:.2f}", f"{spring[1]:.3f}", f"{spring[2]}"]
        cells = [*printed, dice.choice(["hole", "hook"] if small else ["hole", "loop"]), money(price)]
        stock = dice.choice([0, 1, 2, 4, 10])
        rows.append(["Supplier East", f"E{70000 + 3 * n}", *(c.replace(".", ",") for c in cells), str(stock)])
    return rows


def west(dice: random.Random) -> list[list[str]]:
    rows = [["Supplier", "Code", "Width (mm)", "Thickness (in)", "Length (in)", "End", "Price", "Pack"]]
    for n, spring in enumerate(watch_springs(dice, spans(1.8, 3.4, 0.1), 0.5)):
        price, pack = pence(dice, spring, 3.4, 6.0), dice.choice([1, 1, 1, 1, 3])
        strength, length = f"{spring[1] / 25.4:.4f}", f"{2 * spring[2] / 25.4 // 1 / 2:g}"
        cells = [f"{spring[0]:g}", strength, length, "hole", f"£{money(price * pack * (18 if pack > 1 else 20) // 20)}"]
        rows.append(["Supplier West", f"W/{n + 1:03d}", *cells, str(pack)])
    return rows


def sizes(spring: Spring) -> list[str]:
    return [f"{value:g}" for value in spring]


def money(minor: int) -> str:
    return f"{minor // 100}.{minor % 100:02d}"


def write(path: Path, rows: list[list[str]], delimiter: str = ",") -> None:
    with path.open("w", encoding="utf-8", newline="") as stream:
        csv.writer(stream, delimiter=delimiter, lineterminator="\n").writerows(rows)


def main(folder: Path) -> None:
    write_messy(folder)
    write(folder / "supplier_north_watch.csv", north_watch(random.Random(1820)))
    write(folder / "supplier_north_clock.csv", north_clock(random.Random(1847)))
    write(folder / "supplier_east.csv", east(random.Random(1822)), ";")
    write(folder / "supplier_west.csv", west(random.Random(1823)))
    write(
        folder / "suppliers.csv",
        [
            ["supplier", "currency", "postage", "free_above", "minimum_order", "lead_days", "column_map"],
            ["Supplier North", "GBP", "4.50", "75.00", "", "4", ""],
            ["Supplier East", "EUR", "9.90", "", "15.00", "12", ""],
            ["Supplier West", "GBP", "3.20", "40.00", "", "7", ""],
        ],
    )
    write(
        folder / "rates.csv",
        [
            ["date", "currency", "rate", "source"],
            ["2026-11-02", "EUR", "0.8650", "invented"],
            ["2026-11-02", "USD", "0.7600", "invented"],
        ],
    )


if __name__ == "__main__":
    main(Path(sys.argv[1]) if len(sys.argv) > 1 else ROOT / "demo_catalog")
