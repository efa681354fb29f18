"""What a book asks of the verbs: one barrel with what was read and tried, the springs, the terms."""

from __future__ import annotations

from collections.abc import Mapping
from decimal import Decimal
from typing import TYPE_CHECKING, Any

from orderbook.errors import Finding, OrderbookError, finding
from orderbook.measures import half_width_mm, length_mm
from orderbook.measures.readings import CALIPER_MM, from_repeats
from orderbook.xlsx.reading import OpenBook, Row

if TYPE_CHECKING:
    from orderbook.barrel.barrel import Barrel
    from orderbook.catalogue import Catalogue
    from orderbook.choosing.options import Wishes

# what is read → column of Barrels that holds its mean
MEANS = {
    "bore": "bore", "arbor": "arbor", "depth": "depth", "barrel outside": "barrel_outside",
    "chain height": "chain_height",
    "fitted width": "fitted_width", "fitted strength": "fitted_strength", "fitted length": "fitted_length",
}  # fmt: skip


def barrel_in(book: OpenBook, name: str) -> tuple[Barrel, tuple[Finding, ...]]:
    """Return a barrel of a book with everything read of it and tried in it.

    Readings typed as text (`6¾ ligne`), which the sheet itself leaves out, are read here.
    Raises: OrderbookError if there is no such barrel, or if what the book says of it cannot be used.
    """
    from orderbook.functions.table_questions import barrel_from_row

    row = book.row("Barrels", name)
    found: list[Finding] = []
    trials = [_trial(book, trial) for trial in book.rows("Trials") if _is_of(trial, name) and trial["verdict"]]
    means = _means(book, str(row["barrel"]), found)
    if any(_is_fitted(trial, means) for trial in trials):  # a spring with a verdict speaks by it, not as the original
        means |= dict.fromkeys(("fitted_width_mm", "fitted_strength_mm", "fitted_length_mm"), 0.0)
    barrel, said = barrel_from_row(_plain(row.values) | means, trials)
    return barrel, (*found, *said)


def springs_in(book: OpenBook) -> tuple[Catalogue, tuple[Finding, ...]]:
    """Return the springs of the table Catalogue, those marked "leave out" apart."""
    from orderbook.functions.table_questions import catalogue_of

    catalogue, rejects = catalogue_of(_range(book, "Catalogue"))
    return catalogue, tuple(finding("book_row_not_used", where="Catalogue", saw=line) for line in rejects[:10])


def wishes_in(book: OpenBook, *, top: int = 12, **more: Any) -> Wishes:
    """Return suppliers' terms, rates, the drawer, weights and the currency of a book."""
    from orderbook.functions.table_questions import wishes_of

    settings = {str(row["setting"]): row["value"] for row in book.rows("Settings")}
    suppliers, rates, drawer, weights = (_range(book, name) for name in ("Suppliers", "Rates", "Drawer", "Weights"))
    currency = str(settings.get("book currency") or "")
    return wishes_of(suppliers, rates, drawer, weights, currency, top=top, **more)


def _is_of(row: Row, name: str) -> bool:
    return str(row["barrel"] or "").strip().casefold() == name.strip().casefold()


def _means(book: OpenBook, name: str, found: list[Finding]) -> dict[str, float]:
    units = {str(row["unit"]): float(row["mm"]) for row in book.rows("Units") if row["mm"]}
    limits = {str(row["instrument"]): _limit(row, found) for row in book.rows("Instruments")}
    read: dict[str, list[tuple[float, float]]] = {}
    for row in book.rows("Readings"):
        if _is_of(row, name) and (value := _in_mm(row, units, found)) is not None:
            limit = limits.get(str(row["instrument"]))
            read.setdefault(str(row["what"]), []).append((value, CALIPER_MM if limit is None else limit))
    means: dict[str, float] = {}
    for what, column in MEANS.items():
        if values := read.get(what):
            half_width = sum(limit for _, limit in values) / len(values)
            mean = from_repeats([value for value, _ in values], half_width=half_width, source="Readings")
            means |= {f"{column}_mm": mean.value, f"{column}_pm_mm": 2 * mean.u}
    return means


def _limit(row: Row, found: list[Finding]) -> float | None:
    """Read the largest error of an instrument; what cannot be read is said, and counts as not given."""
    if row["half_width_mm"] is None:
        return None
    where = f"Instruments row {row.number + 1}"
    try:
        return half_width_mm(row["half_width_mm"], where=where)
    except OrderbookError as problem:
        saw = f"{problem.saw}: {row['instrument']} counts as a caliper"
        found.append(finding("book_row_not_used", where=where, saw=saw))
        return None


def _in_mm(row: Row, units: Mapping[str, float], found: list[Finding]) -> float | None:
    """Read a value in mm: a number by its unit on Lists, a text as a length; what is neither is left out and said."""
    value, unit, where = row["value"], str(row["unit"] or ""), f"Readings row {row.number + 1}"
    if value is None:
        return None
    if isinstance(value, (int, float)) and unit in units:
        return float(value) * units[unit]
    try:
        return length_mm(value, where=where, unit=unit or "mm")
    except OrderbookError as problem:
        found.append(finding("book_row_not_used", where=where, saw=str(problem)))
        return None


def _is_fitted(trial: Mapping[str, Any], means: Mapping[str, float]) -> bool:
    strength, fitted = trial.get("strength_mm"), means.get("fitted_strength_mm")
    return bool(strength and fitted and abs(float(strength) - fitted) < 0.01 * fitted)


def _trial(book: OpenBook, trial: Row) -> dict[str, Any]:
    """Return a trial with the measures of the spring that was fitted, from Orders or Drawer."""
    wanted = str(trial["order"] or "").strip().casefold()
    sizes: dict[str, Any] = {}
    for table, key in (("Orders", "order"), ("Drawer", "drawer")):
        for row in book.rows(table):
            if str(row[key] or "").strip().casefold() == wanted:
                sizes = {size: row[size] for size in ("width_mm", "strength_mm", "length_mm")}
    return _plain({**trial.values, **sizes})


def _range(book: OpenBook, name: str) -> list[list[Any]]:
    from orderbook.records.definition import book_definition

    keys = [c.key for c in book_definition().tables[name].columns]
    return [list(keys), *([_number(row[key]) for key in keys] for row in book.rows(name))]


def _plain(values: Mapping[str, Any]) -> dict[str, Any]:
    return {key: _number(value) for key, value in values.items()}


def _number(value: Any) -> Any:
    return float(value) if isinstance(value, Decimal) else value
