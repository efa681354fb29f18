"""Right rows on polluted lists, ours beside general-purpose readers: `python -m tests.benchmarks.catalogue_robustness`.

Each kind of pollution that published benchmarks of CSV readers use is made over the demo's watch list; a row is right
if item, width, strength, length and price are those of the clean list, wrong if a row is given with another number.
The peers are told the columns by name and get plain float() afterwards, which is more help than a new list gives.
Below it stand made lists of all kinds (languages, units, layouts, prices), of seeds that no test uses: how many rows
are read, and how many of them with a wrong number. `python -m tests.benchmarks.catalogue_robustness [LISTS]` makes as
many as are asked for.
Writes docs/reference/robustness.md.
"""

from __future__ import annotations

import csv
import io
import random
import sys
import tempfile
import warnings
from collections import defaultdict
from collections.abc import Callable
from pathlib import Path

import clevercsv

from orderbook.catalogue import read_catalogue
from orderbook.errors import OrderbookError
from orderbook.locate import data_folder
from tests.catalogue.counted_lists import Count
from tests.catalogue.kinds_of_lists import made_list

SOURCE = data_folder("demo_catalog") / "supplier_north_watch.csv"
PAGE = Path(__file__).resolve().parents[2] / "docs" / "reference" / "robustness.md"
ROWS = list(csv.reader(SOURCE.read_text(encoding="utf-8").splitlines()))
HEADER, BODY = ROWS[0], ROWS[1:401]
Key = tuple[str, float, float, float, float]
NEEDED = ("Item", "Width mm", "Strength mm", "Length mm", "Price GBP")
TRUE = {(r[1], float(r[2]), float(r[3]), float(r[4]), float(r[6])) for r in BODY}


def joined(rows: list[list[str]], mark: str = ",", end: str = "\n", quoting: int = csv.QUOTE_MINIMAL) -> str:
    out = io.StringIO()
    csv.writer(out, delimiter=mark, lineterminator=end, quoting=quoting).writerows(rows)  # type: ignore[arg-type]
    return out.getvalue()


def some_lines(text: str, change: Callable[[str], str], share: float = 0.05) -> str:
    dice = random.Random(11)
    lines = text.splitlines()
    return "\n".join([lines[0], *(change(x) if dice.random() < share else x for x in lines[1:])]) + "\n"


def with_notes(note: str) -> list[list[str]]:
    return [HEADER, *([*row[:-1], note if n % 9 == 0 else row[-1]] for n, row in enumerate(BODY))]


CLEAN = [HEADER, *BODY]
QUOTED = joined(CLEAN, quoting=csv.QUOTE_ALL)
COMMAS = [HEADER, *([cell.replace(".", ",") for cell in row] for row in BODY)]
UNITS = [HEADER, *([*r[:2], r[2] + " mm", r[3] + "mm", r[4] + " mm", r[5], "£" + r[6], *r[7:]] for r in BODY)]
OTHER = [["Tool", "Use", "Price"], ["winder", "barrels", "40.00"], ["gauge", "strips", "12.00"]]
KINDS: dict[str, bytes] = {
    "clean": joined(CLEAN).encode(),
    "semicolons, decimal commas": joined(COMMAS, ";").encode(),
    "tabs": joined(CLEAN, "\t").encode(),
    "pipes": joined(CLEAN, "|").encode(),
    "CR line ends": joined(CLEAN, end="\r").encode(),
    "CRLF line ends": joined(CLEAN, end="\r\n").encode(),
    "UTF-16": joined(CLEAN).encode("utf-16"),
    "Windows-1252 notes": joined(with_notes("geprüft")).encode("cp1252"),
    "byte order mark": joined(CLEAN).encode("utf-8-sig"),
    "title lines above": ("Price list (invented)\nvalid from, 2 November\n\n" + joined(CLEAN)).encode(),
    "footer": (joined(CLEAN) + "\nTotal,,,,,,1234.50,,\nall prices without engagement\n").encode(),
    "header repeated": "".join(joined([HEADER, *BODY[i : i + 50]]) for i in range(0, len(BODY), 50)).encode(),
    "a table of other things below": (joined(CLEAN) + "\n" + joined(OTHER)).encode(),
    "blank lines": joined(CLEAN).replace("\n", "\n\n").encode(),
    "cells over several lines": joined(with_notes("old stock,\nask first")).encode(),
    "everything quoted": QUOTED.encode(),
    "closing quote missing": some_lines(QUOTED, lambda x: x.replace('","', '","', 1).replace('",', ",", 1)).encode(),
    "opening quote missing": some_lines(QUOTED, lambda x: x[1:]).encode(),
    "quote opened in a note": some_lines(joined(CLEAN), lambda x: x.rsplit(",", 1)[0] + ',"old stock').encode(),
    "extra delimiter": some_lines(joined(CLEAN), lambda x: x.replace(",", ",,", 1)).encode(),
    "extra delimiter at the end": some_lines(joined(CLEAN), lambda x: x + ",,").encode(),
    "delimiter missing": some_lines(joined(CLEAN), lambda x: x.replace(",0.", "0.", 1)).encode(),
    "units in cells": joined(UNITS).encode(),
    "last line cut off": joined(CLEAN).encode()[:-9],
}  # fmt: skip


def numbers(rows: list[list[str]]) -> list[Key]:
    """What a user writes after a plain reader: columns by name, float() of the cell."""
    where = [rows[0].index(name) for name in NEEDED]
    keys = []
    for row in rows[1:]:
        try:
            item, *rest = (row[i] for i in where)
            keys.append((item, *(float(cell) for cell in rest)))
        except (ValueError, IndexError, TypeError):
            continue
    return keys  # type: ignore[return-value]


def by_pandas(path: Path) -> list[Key]:
    import pandas as pd

    frame = pd.read_csv(path)
    return numbers([list(frame.columns), *frame.astype(str).values.tolist()])


def by_sniffer(path: Path) -> list[Key]:
    text = path.read_text(encoding="utf-8")
    dialect = csv.Sniffer().sniff(text[:5000])
    return numbers(list(csv.reader(io.StringIO(text, newline=""), dialect)))


def by_clevercsv(path: Path) -> list[Key]:
    frame = clevercsv.read_dataframe(str(path), num_chars=5000)
    return numbers([list(frame.columns), *frame.astype(str).values.tolist()])


def ours(path: Path) -> list[Key]:
    springs = read_catalogue(path).catalogue
    sizes = (springs.width_mm, springs.strength_mm, springs.length_mm, springs.price_minor / 100)
    return list(zip(springs.item.tolist(), *(s.round(9).tolist() for s in sizes), strict=True))


READERS: dict[str, Callable[[Path], list[Key]]] = {
    "orderbook": ours,
    "pandas.read_csv": by_pandas,
    "csv.Sniffer": by_sniffer,
    "clevercsv": by_clevercsv,
}


def measure(content: bytes, reader: Callable[[Path], list[Key]]) -> tuple[int, int]:
    """Right and wrong rows of one reader on one list."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "list.csv"
        path.write_bytes(content)
        try:
            with warnings.catch_warnings():
                warnings.simplefilter("ignore")
                keys = reader(path)
        except (OrderbookError, Exception):
            return 0, 0
    right = len(TRUE & set(keys))
    return right, len(keys) - right


LISTS, FIRST_SEED = 600, 1_000_000
WORDS = {
    "language": "headings in", "units": "sizes in (width/strength/length)", "layout": "sizes", "said": "unit said in",
    "price": "price said by", "file": "file", "tables": "tables",
}  # fmt: skip
FEW = 12  # lists below which a kind is not told of by itself


def made_lists(lists: int) -> list[str]:
    """What becomes of the rows of made lists, a line for each way in which they differ."""
    whole, each = Count(), defaultdict(Count)
    with tempfile.TemporaryDirectory() as folder:
        for seed in range(FIRST_SEED, FIRST_SEED + lists):
            made, one = made_list(seed), Count()
            one.add(made, Path(folder))
            for count in (whole, *(each[name, made.made[name]] for name in WORDS if name in made.made)):
                count.take_in(one)
    lines = [
        "## Lists of all kinds",
        "",
        f"{lists} lists that a generator makes of invented springs. *Readable* are the rows that a careful person",
        "could read without asking; *misread* are rows given with another size or price than the true one; *lost* are",
        "rows that are neither among the springs nor among the rejects. A list that leaves a question open is refused.",
        "",
        "| lists | how many | rows | readable | read | prices read | misread | lost |",
        "| --- | ---: | ---: | ---: | ---: | ---: | ---: | ---: |",
        _row("**all**", whole),
    ]
    told = [(name, kind) for name, kind in sorted(each, key=lambda of: ([*WORDS].index(of[0]), of[1]))]
    lines += [_row(f"{WORDS[name]} {kind}", each[name, kind]) for name, kind in told if each[name, kind].lists >= FEW]
    return [*lines, ""]


def _row(name: str, count: Count) -> str:
    read = f"{100 * count.read / count.readable:.1f} %" if count.readable else "–"
    prices = f"{100 * count.prices_read / count.priced:.1f} %" if count.priced else "–"
    numbers = (count.lists, count.rows, count.readable)
    cells = [name, *(f"{number:,}" for number in numbers), read, prices, str(len(count.misread)), str(len(count.lost))]
    return f"| {' | '.join(cells)} |"


def main() -> None:
    lines = [
        "# Right rows on polluted lists",
        "",
        "Per cent of the 400 springs read right, and in brackets the rows given with a wrong number, if there are any.",
        "The kinds are those of published benchmarks of CSV readers, made over the demo's watch list. The other",
        "readers were given the column names and float(); they are general-purpose and know nothing of springs.",
        "",
        "| kind | " + " | ".join(READERS) + " |",
        "| --- |" + " ---: |" * len(READERS),
    ]
    right_of, wrong_of = dict.fromkeys(READERS, 0), dict.fromkeys(READERS, 0)
    for kind, content in KINDS.items():
        cells = []
        for name, reader in READERS.items():
            right, wrong = measure(content, reader)
            right_of[name] += right
            wrong_of[name] += wrong
            cells.append(f"{100 * right / len(TRUE):.1f}" + (f" ({wrong})" if wrong else ""))
        lines.append(f"| {kind} | " + " | ".join(cells) + " |")
    whole = len(TRUE) * len(KINDS)
    cells = [f"**{100 * right_of[n] / whole:.1f}**" + (f" ({wrong_of[n]})" if wrong_of[n] else "") for n in READERS]
    lines += [
        "| **all** | " + " | ".join(cells) + " |",
        "",
        *made_lists(int(sys.argv[1]) if len(sys.argv) > 1 else LISTS),
        "Made by `python -m tests.benchmarks.catalogue_robustness`.",
        "",
    ]
    PAGE.parent.mkdir(parents=True, exist_ok=True)
    PAGE.write_text("\n".join(lines), encoding="utf-8")
    print("\n".join(lines))


if __name__ == "__main__":
    main()
