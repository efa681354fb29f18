"""Note how a fitted spring did, and say what comes next."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from pathlib import Path

from orderbook.desk.opened import opened
from orderbook.errors import Finding
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
    next_steps: tuple[NextStep, ...]
    findings: tuple[Finding, ...]


def trial(book: Path, spring: str, verdict: str, *, on: date, barrel: str = "", **seen: Value) -> Tried:
    """Add a row to Trials, fire or cancel the stages that waited for it, and keep the book."""
    at_hand = opened(book)
    done = tried(at_hand.books, spring, verdict, on=on, barrel=barrel, **seen)
    at_hand.save(done.changes)
    first = done.changes[0]
    where = str(first.values["barrel"]) if isinstance(first, Append) else ""
    steps = next_steps(done.books, on=on, restoration=restoration_of(where))
    return Tried(done.books, done.changes, where, steps, done.findings)
