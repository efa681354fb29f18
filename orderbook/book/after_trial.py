"""What a verdict changed for its barrel: the need before and after it, and what to do, from the book as it is now."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from orderbook.errors import Finding, OrderbookError, finding
from orderbook.records.books import Books
from orderbook.records.index import index
from orderbook.records.tables import OrderLine

if TYPE_CHECKING:
    from orderbook.choosing.advice import AfterTrial
    from orderbook.choosing.belief import Belief


@dataclass(frozen=True, slots=True)
class Need:
    """The least drive index the movement probably asks for, and where it lies nine times in ten."""

    median: float
    low: float
    high: float


@dataclass(frozen=True, slots=True)
class AfterVerdict:
    """The answer to a verdict: what is believed of the need, and the next thing to do, in a word and in words."""

    before: Need
    after: Need
    action: str
    next_action: str


def after_verdict(
    path: Path, books: Books, spring: str, barrel: str
) -> tuple[AfterVerdict | None, tuple[Finding, ...]]:
    """Answer the verdict noted last, from the readings, lists and springs of a workbook.

    Springs at hand are those of the Drawer and the lines that have come and were not tried. Returns: nothing for a
    folder of CSV files, for a barrel of which bore and arbor were not read, and for a spring whose size is not known;
    what stands in the way otherwise is a finding, for the verdict is in the book already.
    """
    if path.is_dir():
        return None, ()
    try:
        found = _answered(path, books, spring, barrel)
    except (OrderbookError, ValueError) as problem:
        return None, (finding("need_not_worked_out", where=barrel, saw=str(problem)),)
    return found, ()


def _answered(path: Path, books: Books, spring: str, barrel: str) -> AfterVerdict | None:
    from orderbook.answers.at_hand import wishes_for
    from orderbook.book.questions import barrel_in, springs_in, wishes_in
    from orderbook.choosing.advice import after_trial
    from orderbook.xlsx.reading import open_book

    book = open_book(path)
    asked, _ = barrel_in(book, barrel)
    if asked.bore is None or asked.arbor is None or not asked.tried or not _has_size(books, spring):
        return None
    springs, _ = springs_in(book)
    told = after_trial(asked, springs, wishes_for(books, wishes_in(book), barrel))
    return AfterVerdict(_need(told.before), _need(told.after), told.action, _words(books, spring, told))


def _need(belief: Belief) -> Need:
    low, high = belief.interval_index()
    return Need(belief.median_index, low, high)


def _has_size(books: Books, spring: str) -> bool:
    found = index(books)
    tried = found.orders.get(spring) or found.drawer.get(spring)
    return tried is not None and tried.strength_mm is not None


def _words(books: Books, spring: str, told: AfterTrial) -> str:
    """Say the next action; of a spring at hand where it is, of one planned already under which number."""
    from orderbook.choosing.grading import GRADE_AGAIN, ROD_FIRST

    stages, words = told.grading.stages, told.next_action
    if told.action == "keep" and (kept := index(books).orders.get(spring)):
        return f"Keep {_named(kept)}: the first that runs well is the one."
    if told.action not in ("fit", "order", "rod test") or not stages:
        return words
    row = told.grading.considered.offer.row(stages[0].row)
    lines = index(books).orders
    rod = ROD_FIRST if words.startswith(ROD_FIRST) else ""
    if line := lines.get(str(row["item"])):
        words = f"{rod} Fit {_named(line)}: it has come and was not tried yet."
    for line in lines.values():
        if line.state == "planned" and _is(line, row["supplier"], row["item"]):
            words += f" {line.order} is planned for it: orderbook order BOOK {line.restoration}."
            break
    return words.replace(GRADE_AGAIN, "Then note it in Barrels, and refresh.").strip()


def _named(line: OrderLine) -> str:
    sizes = (line.width_mm, line.strength_mm, line.length_mm)
    size = " × ".join(f"{s.normalize():f}" for s in sizes if s is not None)
    return f"{line.order} ({line.supplier} {line.item}, {size})"


def _is(line: OrderLine, supplier: str, item: str) -> bool:
    return (line.supplier.casefold(), line.item.casefold()) == (supplier.casefold(), item.casefold())
