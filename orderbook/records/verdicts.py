"""What a verdict means for the springs that were to follow."""

from __future__ import annotations

from datetime import date

from orderbook.barrel.verdicts import Side, verdict_in
from orderbook.records.books import Books
from orderbook.records.index import index
from orderbook.records.tables import Trial


def side_of(verdict: str) -> Side | None:
    """Return on which side of the need a verdict lies; nothing for a word that is none of the verdicts.

    >>> side_of("stopped after 2 turns"), side_of("ran well"), side_of("too strong"), side_of("hm")
    ('weak', 'kept', 'strong', None)
    """
    known = verdict_in(verdict)
    return None if known is None else known.side


def last_trial(books: Books, spring: str, barrel: str = "") -> Trial | None:
    """Return the last trial of a spring (in one barrel, if named): the latest by date, of one day the lower row."""
    mine = [
        trial
        for trial in index(books).trials_with[spring]
        if side_of(trial.verdict) and (not barrel or trial.barrel == barrel)
    ]
    return max(mine, key=lambda trial: (trial.date or date.min, trial.row.place.row), default=None)
