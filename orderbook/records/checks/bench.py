"""What was tried on the bench: verdicts that turned round, fittings that stand there twice."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date

from orderbook.errors import Finding, finding
from orderbook.records.books import Books
from orderbook.records.tables import Trial
from orderbook.records.verdicts import side_of


def verdicts_turned_round(books: Books, on: date) -> Iterator[Finding]:
    """A spring that was too weak in a barrel and ran well in it later, and nothing says what was done between."""
    weak: dict[tuple[str, str], Trial] = {}
    for trial in books.trials:
        where = (trial.order, trial.barrel)
        if side_of(trial.verdict) == "weak":
            weak[where] = trial
        elif side_of(trial.verdict) == "kept" and (before := weak.get(where)) and not trial.seen:
            saw = (
                f"{trial.order} ran well in {trial.barrel}, and was “{before.verdict}” before ({before.row.place.of()})"
            )
            yield finding("verdict_turned_round", where=trial.row.place.of("seen"), saw=saw)


def trials_twice(books: Books, on: date) -> Iterator[Finding]:
    """Two rows of one fitting: the same spring in the same barrel, on one day, with one verdict."""
    seen: dict[tuple[object, ...], Trial] = {}
    for trial in books.trials:
        if trial.order and trial.verdict:
            key = trial.order, trial.barrel, trial.date, trial.verdict, trial.clicks, trial.length_fitted_mm
            if key in seen:
                saw = f"{trial.order} in {trial.barrel}, “{trial.verdict}”, is in {seen[key].row.place.of()} already"
                yield finding("trial_twice", where=trial.row.place.of("order"), saw=saw)
            seen.setdefault(key, trial)
