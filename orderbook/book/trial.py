"""Note how a fitted spring did, and say what comes next."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from pathlib import Path

from orderbook.answers.after_trial import AfterVerdict, after_verdict
from orderbook.book.opened import opened
from orderbook.errors import Finding
from orderbook.records.books import Books
from orderbook.records.identifiers import restoration_of
from orderbook.records.marking import tried
from orderbook.records.nextsteps import NextStep, next_steps
from orderbook.records.rows import Append, Change, Value


@dataclass(frozen=True, slots=True)
class TrialNoted:
    """What `trial` did: the book after it, what to do next for that barrel, and findings."""

    books: Books
    changes: tuple[Change, ...]
    barrel: str
    answer: AfterVerdict | None
    next_steps: tuple[NextStep, ...]
    findings: tuple[Finding, ...]
    refreshed: bool = False


def trial(book: Path, spring: str, verdict: str, *, on: date, barrel: str = "", **seen: Value) -> TrialNoted:
    """Add a row to Trials, fire or cancel the stages that waited for it, and keep the book.

    With it the need, the next action and the answers the book keeps of the barrel are worked out, from the list once,
    and saved in the same step. What stands in the way of an answer is a finding; the verdict is in the book.
    """
    at_hand = opened(book)
    done = tried(at_hand.books, spring, verdict, on=on, barrel=barrel, **seen)
    first = done.changes[0]
    assert isinstance(first, Append)
    where = str(first.values["barrel"])
    answer, more = after_verdict(done.books, str(first.values["order"]), where)
    refreshed = answer is not None and at_hand.file is not None
    at_hand.save(done.changes, {where: answer.answer} if answer and refreshed else None, made_on=on)
    steps = next_steps(done.books, on=on, restoration=restoration_of(where))
    return TrialNoted(done.books, done.changes, where, answer, steps, (*done.findings, *more), refreshed)
