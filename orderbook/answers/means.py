"""Means of the readings of a barrel with their ±, from the rows of Readings: reckoned here and nowhere else.

The sheet's own formulas do the same natively: the unit and the instrument by the tables on Lists, the mean of the
instruments' errors as half width. A test holds the two against each other.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal
from statistics import median

from orderbook.errors import Finding, OrderbookError, finding
from orderbook.measures import Measured, from_repeats, half_width_mm, length_mm
from orderbook.measures.readings import CALIPER_MM, ONE_LENGTH
from orderbook.records.books import Books
from orderbook.records.definition import book_definition
from orderbook.records.tables import ReadingRow
from orderbook.records.typed_readings import is_same_unit, reading_in

LENGTHS = (
    "bore", "arbor", "depth", "barrel outside", "chain height", "fitted width", "fitted strength", "fitted length"
)  # fmt: skip
COUNTS = ("turns", "clicks", "g", "°")


@dataclass(frozen=True, slots=True)
class Quantity:
    """One measured quantity of a barrel: mean and standard uncertainty in mm, or in the unit of a count."""

    what: str
    measured: Measured
    unit: str
    times: int


@dataclass(frozen=True, slots=True)
class Means:
    """The quantities read of one barrel, and what should be known about its readings."""

    quantities: tuple[Quantity, ...]
    findings: tuple[Finding, ...]

    def of(self, what: str) -> Measured | None:
        """Return a quantity; nothing where it was not read."""
        return next((q.measured for q in self.quantities if q.what == what), None)


def means_of(books: Books, barrel: str) -> Means:
    """Return mean and ± of each quantity read of a barrel.

    u² = (t·s)²/n + (a/√3)², a the mean of the instruments' largest errors; see `measures.from_repeats`.
    A reading that cannot be used is one finding; readings too far apart to be one length are an error among them.
    """
    by_what: dict[str, list[tuple[ReadingRow, float]]] = {}
    findings: list[Finding] = []
    units = _units(books)
    for row in books.readings:
        if row.barrel == barrel and row.what and not row.row.place.below and row.value not in (None, ""):
            read = _read(row, units)
            if isinstance(read, Finding):
                findings.append(read)
            else:
                by_what.setdefault(row.what, []).append((row, read))
    limits, about = _limits(books)
    found = [_quantity(what, rows, limits) for what, rows in by_what.items()]
    apart = [f for what, rows in by_what.items() if what in LENGTHS for f in _apart(what, rows, limits)]
    return Means(tuple(found), (*findings, *about, *apart))


def _quantity(what: str, rows: list[tuple[ReadingRow, float]], limits: Mapping[str, float]) -> Quantity:
    is_count = rows[0][0].unit in COUNTS
    widths = [limits.get(r.instrument.casefold(), 0.0 if is_count else CALIPER_MM) for r, _ in rows]
    named = ", ".join(dict.fromkeys(r.instrument for r, _ in rows if r.instrument))
    times = f"{len(rows)} readings" if len(rows) > 1 else "1 reading"
    source = f"{times}, {named or ('counted' if is_count else 'caliper ± 0.03 mm assumed')}"
    measured = from_repeats([mm for _, mm in rows], half_width=sum(widths) / len(widths), source=source)
    return Quantity(what, measured, rows[0][0].unit if is_count else "mm", len(rows))


def _apart(what: str, rows: list[tuple[ReadingRow, float]], limits: Mapping[str, float]) -> Iterable[Finding]:
    """Readings too far apart to be one length, or further than their instruments explain.

    The one furthest from the middle is named; of two, both.
    """
    values = [mm for _, mm in rows]
    low, high = min(values), max(values)
    explained = 2 * max(limits.get(row.instrument.casefold(), CALIPER_MM) for row, _ in rows)
    if high - low <= explained * (1 + 1e-9):
        return
    middle = median(values)
    odd = max(rows, key=lambda one: max(one[1] / middle, middle / one[1]))
    others = [(row, mm) for row, mm in rows if row is not odd[0]]
    if high > ONE_LENGTH * low:
        named = f" ({others[0][0].row.place.of('value')})" if len(others) == 1 else " elsewhere"
        said = ", ".join(f"{mm:g}" for _, mm in others)
        saw = f"{what} of {odd[0].barrel} is read as {odd[1]:g} mm here, and as {said} mm{named}"
        yield finding("repeats_disagree", where=odd[0].row.place.of("value"), saw=saw)
    else:
        saw = f"{what} of {odd[0].barrel} is read as {odd[1]:g} mm here; readings differ by {high - low:.3g} mm"
        saw += f", their instruments explain {explained:g} mm"
        yield finding("repeats_spread", where=odd[0].row.place.of("value"), saw=saw)


def _read(row: ReadingRow, units: Mapping[str, float]) -> float | Finding:
    """Return a reading in mm, or as its count; or why it cannot be used."""
    where = row.row.place.of("value")
    if isinstance(row.value, (bool, date, timedelta)):
        called = "yes or no" if isinstance(row.value, bool) else "a day" if isinstance(row.value, date) else "a time"
        return finding("reading_not_used", where=where, saw=f"{row.value} ({called})")
    try:
        value = _value(row, units, where)
    except OrderbookError as problem:
        return finding("reading_not_used", where=where, saw=problem.saw, try_this=problem.try_this)
    if isinstance(value, float) and value <= 0 and row.what in LENGTHS:
        return finding("reading_not_used", where=where, saw=f"{row.value} is no length")
    return value


def _value(row: ReadingRow, units: Mapping[str, float], where: str) -> float | Finding:
    said, unit = row.value, row.unit.casefold()
    in_text = ""
    if isinstance(said, str):
        read = reading_in(said, unit=row.unit, where=where)
        said, in_text = read.number, read.unit
    if in_text and not unit:
        return length_mm(str(row.value), where=where)
    if unit not in units:
        saw = (
            f"{row.value} in “{row.unit}”, which is not among the units on Lists"
            if unit
            else f"{row.value} without a unit"
        )
        return finding("reading_not_used", where=row.row.place.of("unit"), saw=saw)
    if in_text and not is_same_unit(in_text, units[unit]):
        return finding("reading_not_used", where=where, saw=f"“{row.value}”, and its unit is said to be {row.unit}")
    assert isinstance(said, (int, float, Decimal))
    return float(said) * units[unit]


def _units(books: Books) -> dict[str, float]:
    """Units by name, as they stand on Lists; those of a new book where a book has no such table."""
    if "Units" in books.tables:
        return {u.unit.casefold(): float(u.mm) for u in books.units if u.unit and u.mm}
    return {str(row["unit"]).casefold(): float(row["mm"]) for row in book_definition().tables["Units"].rows}


def _limits(books: Books) -> tuple[dict[str, float], list[Finding]]:
    """Largest errors of instruments by name; one that cannot be read is said and left out."""
    if "Instruments" not in books.tables:
        rows = book_definition().tables["Instruments"].rows
        return {str(row["instrument"]).casefold(): float(row["half_width_mm"]) for row in rows}, []
    found: dict[str, float] = {}
    findings = []
    for one in books.instruments:
        where = one.row.place.of("half_width_mm")
        said = float(one.half_width_mm) if isinstance(one.half_width_mm, Decimal) else one.half_width_mm
        if one.instrument and said not in (None, ""):
            try:
                found[one.instrument.casefold()] = half_width_mm(said, where=where)
            except OrderbookError as problem:
                saw = f"{problem.saw}: {one.instrument} counts as a caliper"
                findings.append(finding("reading_not_used", where=where, saw=saw))
    return found, findings
