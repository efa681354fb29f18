"""Note how a fitted spring did, and say what comes next."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from pathlib import Path

from orderbook.book.after_trial import AfterVerdict, after_verdict
from orderbook.book.opened import opened
from orderbook.errors import Finding, OrderbookError, finding
from orderbook.records.books import Books
from orderbook.records.identifiers import restoration_of
from orderbook.records.marking import tried
from orderbook.records.nextsteps import NextStep, next_steps
from orderbook.records.rows import Append, Change, Value


@dataclass(frozen=True, slots=True)
class Tried:
    """What `trial` did: the book after it, what to do next for that barrel, and findings."""

    books: Books
    changes: tuple[Change, ...]
    barrel: str
    answer: AfterVerdict | None
    next_steps: tuple[NextStep, ...]
    findings: tuple[Finding, ...]
    refreshed: bool = False


def trial(book: Path, spring: str, verdict: str, *, on: date, barrel: str = "", **seen: Value) -> Tried:
    """Add a row to Trials, fire or cancel the stages that waited for it, and keep the book.

    Then the need and the next action are worked out from the book, and the answers it keeps of the barrel anew. What
    stands in the way of that is a finding; the verdict is in the book.
    """
    at_hand = opened(book)
    done = tried(at_hand.books, spring, verdict, on=on, barrel=barrel, **seen)
    at_hand.save(done.changes)
    first = done.changes[0]
    assert isinstance(first, Append)
    where = str(first.values["barrel"])
    answer, more = after_verdict(book, done.books, str(first.values["order"]), where)
    refreshed, said = _refreshed(book, where) if answer else (False, ())
    steps = next_steps(done.books, on=on, restoration=restoration_of(where))
    return Tried(done.books, done.changes, where, answer, steps, (*done.findings, *more, *said), refreshed)


def _refreshed(book: Path, barrel: str) -> tuple[bool, tuple[Finding, ...]]:
    """Work the answers that the book keeps of a barrel out anew: they were made before this verdict."""
    from orderbook.book.refresh import refresh

    try:
        refresh(book, [barrel])
    except OrderbookError as problem:
        return False, (finding("answers_not_refreshed", where=barrel, saw=str(problem)),)
    return True, ()
