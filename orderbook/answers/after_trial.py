"""What a verdict changed for its barrel: the need before and after it, and what to do, from the book as it is now."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from orderbook.answers.answer import Answer, considered, sized
from orderbook.errors import Finding, OrderbookError, finding, spelled
from orderbook.records.books import Books
from orderbook.records.index import index
from orderbook.records.nextsteps import size_in_words
from orderbook.records.tables import OrderLine

if TYPE_CHECKING:
    from orderbook.choosing.advice import AfterTrial
    from orderbook.choosing.belief import Belief


@dataclass(frozen=True, slots=True)
class NeedIndex:
    """The least drive index the movement probably asks for, and where it lies nine times in ten."""

    median: float
    low: float
    high: float


@dataclass(frozen=True, slots=True)
class AfterVerdict:
    """The answer to a verdict: what is believed of the need, the next thing to do, and the barrel's answer with it."""

    before: NeedIndex
    after: NeedIndex
    action: str
    next_action: str
    answer: Answer


def after_verdict(books: Books, spring: str, barrel: str) -> tuple[AfterVerdict | None, tuple[Finding, ...]]:
    """Answer the verdict noted last, from the readings, lists and springs of a book as they are with it.

    Returns: nothing for a barrel of which bore and arbor were not read, and for a spring whose size is not known; what
    stands in the way otherwise is a finding, for the verdict is in the book already.
    """
    try:
        return _answered(books, spring, barrel), ()
    except (OrderbookError, ValueError) as problem:
        return None, (finding("need_not_worked_out", where=barrel, saw=str(problem)),)


def _answered(books: Books, spring: str, barrel: str) -> AfterVerdict | None:
    from orderbook.answers.answer import asked_barrel
    from orderbook.choosing.advice import advice_on
    from orderbook.choosing.ranking import ranking_of

    asked = asked_barrel(books, barrel)
    if asked.bore is None or asked.arbor is None or not asked.trials or not _has_size(books, spring):
        return None
    c = considered(books, barrel)
    told = advice_on(c)
    answer = Answer(barrel, sized(books, barrel), ranking_of(c), told.grading)
    return AfterVerdict(_need(told.before), _need(told.after), told.action, _words(books, spring, told), answer)


def _need(belief: Belief) -> NeedIndex:
    low, high = belief.interval_index()
    return NeedIndex(belief.median_index, low, high)


def _has_size(books: Books, spring: str) -> bool:
    found = index(books)
    tried = found.orders.get(spring) or found.drawer.get(spring)
    return tried is not None and tried.strength_mm is not None


def _words(books: Books, spring: str, told: AfterTrial) -> str:
    """Say the next action; of a spring at hand where it is, of one planned already under which number."""
    from orderbook.choosing.grading import ROD_FIRST, still_too_weak

    stages, words = told.grading.fittings, told.next_action
    if told.action == "keep" and (kept := index(books).orders.get(spring)):
        return f"Keep {_named(kept)}: the first that runs well is the one."
    if told.action not in ("set up", "fit", "order", "rod test") or not stages:
        return words
    row = told.grading.considered.offer.row(stages[0].row)
    lines = index(books).orders
    if line := lines.get(str(row["item"])):
        rod_first = f"{spelled(ROD_FIRST)} "
        rod = rod_first if words.startswith(rod_first) else ""
        words = f"{rod}Fit {_named(line)}: it has come and was not tried yet."
        if told.action == "set up":
            words = f"{spelled(told.grading.first_action)} {still_too_weak(words)}"
    for line in lines.values():
        if line.state == "planned" and _is(line, row["supplier"], row["item"]):
            words += f" {line.order} is planned for it."
            break
    return words


def _named(line: OrderLine) -> str:
    return f"{line.order} ({line.supplier} {line.item}, {size_in_words(line)})"


def _is(line: OrderLine, supplier: str, item: str) -> bool:
    return (line.supplier.casefold(), line.item.casefold()) == (supplier.casefold(), item.casefold())
