"""What can be done now, and what waits for what."""

from __future__ import annotations

from datetime import date
from pathlib import Path

from orderbook.book.opened import opened
from orderbook.records.nextsteps import NextStep, next_steps


def next_(book: Path, restoration: str = "", *, on: date) -> tuple[NextStep, ...]:
    """Return the next steps of one restoration, or of all that are not closed."""
    return next_steps(opened(book).books, on=on, restoration=restoration)
