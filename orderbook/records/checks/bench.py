"""What was read and tried on the bench: repeats of one length that cannot be one length, verdicts that turned round."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date

from orderbook.errors import Finding, OrderbookError, finding
from orderbook.measures import length_mm
from orderbook.measures.readings import ONE_LENGTH
from orderbook.records.books import Books
from orderbook.records.tables import Reading, Trial
from orderbook.records.verdicts import side_of

LENGTHS = (
    "bore",
    "arbor",
    "depth",
    "barrel outside",
    "chain height",
    "fitted width",
    "fitted strength",
    "fitted length",
)


def readings_of_one_length(books: Books, on: date) -> Iterator[Finding]:
    """Repeats that lie too far apart to be one length: a slipped decimal mark, or another part."""
    read: dict[tuple[str, str], list[tuple[float, Reading]]] = {}
    for one in books.readings:
        if one.what in LENGTHS and (mm := _mm(one)) is not None:
            read.setdefault((one.barrel, one.what), []).append((mm, one))
    for (barrel, what), repeats in read.items():
        low, high = (pick(mm for mm, _ in repeats) for pick in (min, max))
        if high > ONE_LENGTH * low:
            saw = f"{what} of {barrel} is read as {low:g} and as {high:g} mm"
            yield finding("repeats_disagree", where=repeats[-1][1].row.place.of("value"), saw=saw)


def _mm(one: Reading) -> float | None:
    try:
        return length_mm(one.value, unit=one.unit or "mm")
    except OrderbookError:
        return None  # said where it is used


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
