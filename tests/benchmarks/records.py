"""The books at size: `check`, one line appended, and the record, each beside its peer in the same run.

Run: python -m tests.benchmarks.records   (writes docs/reference/benchmarks/records.md)
"""

from __future__ import annotations

import random
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from datetime import date, timedelta
from pathlib import Path
from typing import Any

from orderbook.book.demo_book import write_demo_book
from orderbook.book.new import new
from orderbook.book.opened import opened
from orderbook.records.checks import checked
from orderbook.records.rows import Append
from tests.benchmarks.side_by_side import growth_table

PAGE = Path(__file__).resolve().parents[2] / "docs/reference/benchmarks/records.md"
RESTORATIONS, ORDERS, LEDGER = 500, 5_000, 20_000
ROUNDS = 1  # one takes five minutes
ON = date(2026, 6, 1)


def rows(part: float = 1.0) -> dict[str, list[dict[str, Any]]]:
    """A book of invented restorations, the same in every run, or a part of it; orders and ledger agree."""
    pieces, lines, entries = (round(part * whole) for whole in (RESTORATIONS, ORDERS, LEDGER))
    chance = random.Random(7)
    names = [f"R-{n:03d}" for n in range(1, pieces + 1)]
    first = date(2025, 1, 1)
    orders, ledger = [], []
    for n in range(1, lines + 1):
        piece, day = chance.choice(names), first + timedelta(days=chance.randrange(400))
        price = chance.randrange(300, 4000) / 100
        orders.append(
            {
                "order": f"O-{n:04d}", "restoration": piece, "barrel": f"{piece}-B1", "supplier": "Supplier North",
                "item": f"N {n}", "strength_mm": 0.43, "stage": 1, "trigger": "now", "qty": 1, "price": price,
                "currency": "GBP", "state": "fitted", "ordered_on": day, "received_on": day + timedelta(days=5),
                "qty_received": 1,
            }
        )  # fmt: skip
        ledger.append({"date": day, "restoration": piece, "category": "spring", "kind": "paid", "amount": price,
                       "currency": "GBP", "order": f"O-{n:04d}"})  # fmt: skip
    for _ in range(entries - lines):
        ledger.append({"date": first + timedelta(days=chance.randrange(400)), "restoration": chance.choice(names),
                       "category": chance.choice(("part", "material", "tool", "outside work")),
                       "kind": chance.choice(("estimate", "paid", "credit")), "currency": "EUR", "rate": 0.865,
                       "amount": chance.randrange(100, 9000) / 100})  # fmt: skip
    return {
        "Restorations": [
            {"restoration": name, "piece": "invented", "state": "open", "opened": first} for name in names
        ],
        "Barrels": [
            {"barrel": f"{name}-B1", "restoration": name, "train": "going", "drive": "going"} for name in names
        ],
        "Suppliers": [{"supplier": "Supplier North", "currency": "GBP", "postage": 4.5, "lead_days": 4}],
        "Orders": orders,
        "Ledger": ledger,
    }


def seconds(work: Callable[[], object]) -> float:
    """Return the median time of a piece of work."""
    taken = []
    for _ in range(ROUNDS):
        start = time.perf_counter()
        work()
        taken.append(time.perf_counter() - start)
    return statistics.median(taken)


# each in a fresh Python, which says how long the part of interest took
PYPLOT = """
import time
start = time.perf_counter()
import matplotlib.pyplot
print(time.perf_counter() - start)
"""
RECORD = """
import sys, time
from datetime import date
from pathlib import Path
from orderbook.book.opened import opened
books = opened(Path(sys.argv[1])).books
start = time.perf_counter()
from orderbook.reports.record import record_html, record_pdf
from orderbook.answers.record_data import story
page = record_html(story(books, sys.argv[2], on=date(2026, 6, 1)), on=date(2026, 6, 1))
if sys.argv[3]:
    record_pdf(page)
print(time.perf_counter() - start)
"""


def said(code: str, *arguments: str) -> float:
    """Return the seconds that a fresh Python says this took."""
    done = subprocess.run([sys.executable, "-c", code, *arguments], check=True, capture_output=True, text=True)
    return float(done.stdout)


def beside_pyplot(code: str, *arguments: str, rounds: int = 5) -> float:
    """Return the median ratio of a piece of work to the import, each pair taken one after the other."""
    return statistics.median(said(code, *arguments) / said(PYPLOT) for _ in range(rounds))


def measured(folder: Path) -> list[tuple[str, str, float, float]]:
    """Return (what, peer, ratio, the most it should be)."""
    book = folder / "large.xlsx"
    new(book)
    opened(book).save([Append(table, row) for table, listed in rows().items() for row in listed])
    read = seconds(lambda: opened(book))
    at_hand = opened(book)

    def check() -> None:
        checked(at_hand.books.after([]), on=ON)
        at_hand.look()

    whole = seconds(check) + read
    line = {"restoration": "R-001", "category": "part", "kind": "paid", "amount": 5, "currency": "GBP"}
    append = seconds(lambda: opened(book).save([Append("Ledger", line)]))
    demo = folder / "demo.xlsx"
    write_demo_book(demo)
    page = beside_pyplot(RECORD, str(demo), "R-007", "")
    whole_record = beside_pyplot(RECORD, str(demo), "R-007", "pdf")
    large = beside_pyplot(RECORD, str(book), "R-001", "pdf", rounds=1)
    return [
        ("check of the whole book", "reading it", whole / read, 3),
        ("one ledger line appended and saved", "opening the book", append / read, 2),
        ("the demo's record beyond opening the book, HTML", "import matplotlib.pyplot", page, 4),
        ("the demo's record, HTML and PDF", "import matplotlib.pyplot", whole_record, 4),
        ("a record of the large book, HTML and PDF", "import matplotlib.pyplot", large, 4),
    ]


def grown(folder: Path) -> str:
    """Lay out how a check of the whole book grows with it, reading included."""
    sizes, took = [LEDGER // 4, LEDGER // 2, LEDGER], []
    for size in sizes:
        book = folder / f"grown-{size}.xlsx"
        new(book)
        opened(book).save([Append(table, row) for table, listed in rows(size / LEDGER).items() for row in listed])
        took.append(seconds(lambda book=book: checked(opened(book).books, on=ON)))
    return growth_table("ledger lines of a book that is read and checked", sizes, took)


def main() -> None:
    """Measure and write the page."""
    with tempfile.TemporaryDirectory() as folder:
        found = measured(Path(folder))
        more = grown(Path(folder))
    lines = [
        "# Keeping the books: speed",
        "",
        f"A book of {RESTORATIONS} restorations, {LEDGER:,} ledger lines and {ORDERS:,} orders (invented). Ratios of",
        "one run, both sides in it; written by `python -m tests.benchmarks.records`.",
        "",
        "| what | beside | ratio | aim |",
        "| --- | --- | --- | --- |",
        *(f"| {what} | {peer} | {ratio:.2f} | at most {most:g} |" for what, peer, ratio, most in found),
        "",
        "Where the aim is missed: the record of the demo holds photographs today and says what published practice asks",
        "for, row by row; laying its pages out is WeasyPrint's time. A record without photographs keeps to it.",
        "",
        more,
    ]
    PAGE.parent.mkdir(parents=True, exist_ok=True)
    PAGE.write_text("\n".join(lines) + "\n", encoding="utf-8")
    print("\n".join(lines))


if __name__ == "__main__":
    main()
