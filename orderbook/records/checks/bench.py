"""What was tried on the bench: verdicts that turned round."""

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
