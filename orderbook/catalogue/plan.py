"""How a list is read: unit and decimal mark of every column, decided from all its cells before any row is read."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import Any, Protocol

from orderbook.catalogue.blocks import Cell
from orderbook.catalogue.gauges import GaugeTable, gauge_number
from orderbook.catalogue.marks import both_readings, decide
from orderbook.catalogue.naming import SIZES, Column
from orderbook.catalogue.prices import price_text
from orderbook.catalogue.sizes import SENSIBLE_MM, UNITS_TRIED, Written, in_mm, is_missing, known_unit, pieces
from orderbook.catalogue.words import Words
from orderbook.errors import OrderbookError, error
from orderbook.measures.money import minor_digits

ENOUGH = 0.5  # a column is misread as a whole if fewer of its readable rows have a sensible size
FITS = 0.9


class Seen(Protocol):
    """What is known of a column's cells: the distinct ones and how often each stands there."""

    @property
    def cells(self) -> list[Cell]:
        """The distinct cells as they are: a number of a spreadsheet says nothing of the marks of texts."""

    @property
    def texts(self) -> list[str]:
        """The distinct cells."""

    @property
    def sizes(self) -> list[Written | None]:
        """The distinct cells taken apart."""

    @property
    def counts(self) -> Any:
        """How many rows have each."""


@dataclass(frozen=True, slots=True)
class Plan:
    """How the rows of one table are read."""

    file: str
    header: tuple[str, ...]
    columns: tuple[Column, ...]
    words: Words
    supplier: str = ""
    currency: str = ""
    gauge: GaugeTable | None = None

    def column(self, meaning: str) -> Column | None:
        """Return the column of a meaning, if there is one."""
        return next((column for column in self.columns if column.meaning == meaning), None)


def decided(plan: Plan, seen: Sequence[Seen]) -> Plan:
    """Decide what the headings left open, from all cells of each column.

    Raises: OrderbookError(mark_undecided | unit_not_said | unit_not_sensible | column_not_read | gauge_not_named).
    """
    columns = []
    other = _unit_of_the_others(plan.columns)
    for column in plan.columns:
        cells = seen[column.index]
        if column.meaning in SIZES:
            columns.append(_size_column(column, cells, plan.file, other))
        elif column.meaning == "sizes":
            columns.append(_combined_column(column, cells, plan.file))
        elif column.meaning == "price":
            columns.append(_price_column(column, cells, plan))
        else:
            columns.append(column)
    return replace(plan, columns=tuple(columns))


def _size_column(column: Column, seen: Seen, file: str, other: str) -> Column:
    known = [(size, count) for size, count in zip(seen.sizes, seen.counts, strict=True) if size is not None and count]
    if not known:
        return _without_a_size(column, seen, file)
    unit, why = _bare_unit(column, known, file, other)
    low, high = SENSIBLE_MM[column.meaning]
    typed = [size for size, cell in zip(seen.sizes, seen.cells, strict=True) if isinstance(cell, str)]
    numbers = [size.number for size in typed if size is not None and not size.is_fraction]
    decimal, decided_by = _mark(column, numbers, file, lambda n: low <= float(n) * _factor(unit) <= high)
    sized = [(in_mm(size, decimal, unit), count) for size, count in known]
    right = sum(count for mm, count in sized if mm is not None and low <= mm <= high)
    read = sum(count for mm, count in sized if mm is not None)
    if read and right < ENOUGH * read:
        raise _not_sensible(column, known, decimal, unit, file)
    return replace(column, unit=unit, decimal=decimal, why=_joined(column.why, why, decided_by))


def _without_a_size(column: Column, seen: Seen, file: str) -> Column:
    said = [text for text in seen.texts if not is_missing(text)]
    if said and not (column.meaning == "strength" and any(gauge_number(text) for text in said)):
        saw = f"the column {column.header!r} has no cell that is a length, such as {said[0]!r}"
        raise error("column_not_read", where=file, saw=saw)
    return column


def _bare_unit(column: Column, known: list[tuple[Written, Any]], file: str, other: str) -> tuple[str, str]:
    """Return the unit of the column's bare numbers ("" where nobody said it: such rows are rejected), and why."""
    if column.unit:
        return column.unit, ""
    written = {size.unit for size, _ in known if size.unit}
    if all(known_unit(unit) == 1 for unit in written):
        if other and not written and column.meaning in SIZES:
            return _mm_or_other(column, known, file, other)
        return "mm", "" if written else "no unit said: mm"
    return "", "units in the cells"


def _mm_or_other(column: Column, known: list[tuple[Written, Any]], file: str, other: str) -> tuple[str, str]:
    """A column without a unit beside one in inches: decided only if one of the two makes sense of it."""
    fits = [unit for unit in _fitting(column.meaning, known, ".") if unit in ("mm", other)]
    if len(fits) != 1:
        saw = f"the column {column.header!r} says no unit, and another column is in {other}"
        raise error("unit_not_said", where=file, saw=saw)
    if fits == ["mm"]:
        return "mm", f"only mm makes sense of it, not {other}"
    raise error(
        "unit_not_said", where=file, saw=f"the column {column.header!r} says no unit and makes sense in {other}"
    )


def _mark(column: Column, numbers: list[str], file: str, sensible: Callable[[str], bool]) -> tuple[str, str]:
    if column.decimal:
        return column.decimal, ""
    mark = decide(numbers, sensible)
    if mark.undecided and not mark.decimal:
        expected = f"In the column {column.header!r} {both_readings(mark.undecided)}, and no other cell decides."
        raise error("mark_undecided", where=file, saw=f"column {column.header!r}: {mark.undecided}", expected=expected)
    return mark.decimal, mark.why if "could be" in mark.why or mark.decimal == "mixed" else ""


def _not_sensible(
    column: Column, known: list[tuple[Written, Any]], decimal: str, unit: str, file: str
) -> OrderbookError:
    low, high = SENSIBLE_MM[column.meaning]
    numbers = [size.number for size, _ in known]
    fits = [name for name in _fitting(column.meaning, known, decimal) if name != unit]
    saw = f"the column {column.header!r} as {column.meaning} in {unit or 'its units'}: {', '.join(numbers[:3])} …"
    expected = f"A mainspring's {column.meaning} lies between {low:g} and {high:g} mm."
    gauge = column.meaning == "strength" and all(gauge_number(number) for number in numbers[:50])
    advice = f"It would make sense in {' or '.join(fits)}" if fits else "Look at the decimal mark"
    advice += ", or as a gauge number" if gauge else ""
    try_this = f"{advice}; if so, say it in a column map (--map), it is never assumed."
    return error("unit_not_sensible", where=file, saw=saw, expected=expected, try_this=try_this)


def _fitting(meaning: str, known: list[tuple[Written, Any]], decimal: str) -> list[str]:
    """Units in which the bare numbers of a column would be sensible sizes."""
    low, high = SENSIBLE_MM[meaning]
    bare = [(size, count) for size, count in known if not size.unit]
    whole = sum(count for _, count in bare)
    fits = []
    for unit in UNITS_TRIED:
        sized = ((in_mm(size, decimal, unit), count) for size, count in bare)
        right = sum(count for mm, count in sized if mm is not None and low <= mm <= high)
        if whole and right >= FITS * whole:
            fits.append(unit)
    return fits


def _combined_column(column: Column, seen: Seen, file: str) -> Column:
    apart = [found for text in seen.texts if (found := pieces(text))]
    if not apart:
        said = next((text for text in seen.texts if not is_missing(text)), "")
        saw = f"the column {column.header!r} has no cell such as 2.50 x 0.16 x 340; it has {said!r}"
        raise error("column_not_read", where=file, saw=saw)
    unit = column.unit or ("mm" if all(known_unit(p.unit) == 1 for f in apart for p in f if p.unit) else "")
    numbers = [piece.number for found in apart for piece in found if not piece.is_fraction]
    decimal, why = _mark(column, numbers, file, lambda n: True)
    sized = [known for found in apart if (known := _all_mm(found, decimal, unit))]
    low, high = SENSIBLE_MM["strength"]
    if sized and sum(low <= min(sizes) <= high for sizes in sized) < ENOUGH * len(sized):
        saw = f"the column {column.header!r} in {unit or 'its units'}: {' x '.join(p.number for p in apart[0])}"
        raise error("unit_not_sensible", where=file, saw=saw)
    return replace(column, unit=unit, decimal=decimal, why=_joined(column.why, why))


def _all_mm(found: tuple[Written, ...], decimal: str, unit: str) -> list[float]:
    sizes = [in_mm(piece, decimal, unit) if piece.unit or unit else None for piece in found]
    known = [size for size in sizes if size is not None]
    return known if len(known) == len(sizes) else []


def _price_column(column: Column, seen: Seen, plan: Plan) -> Column:
    prices = [price for text in seen.texts if (price := price_text(text, plan.words)) is not None]
    currency = column.currency or plan.currency
    said = {price.currency for price in prices if price.currency}
    one = currency or (next(iter(said)) if len(said) == 1 else "")
    decimal, why = _mark(column, [price.number for price in prices], plan.file, lambda n: _whole_money(n, one))
    return replace(column, currency=currency, decimal=decimal, why=_joined(column.why, why))


def _whole_money(number: str, currency: str) -> bool:
    """A currency without decimals decides; in any other, 1,234 stays undecided."""
    return not (currency and minor_digits(currency) == 0 and "." in number)


def _unit_of_the_others(columns: Sequence[Column]) -> str:
    """The unit other than mm that some heading of a size names, if any."""
    units = [c.unit for c in columns if c.meaning in SIZES and c.unit and known_unit(c.unit) != 1]
    return units[0] if units and not any(known_unit(unit) == known_unit("1/100 mm") for unit in units) else ""


def _factor(unit: str) -> float:
    return float(known_unit(unit) or 1)


def _joined(*parts: str) -> str:
    return "; ".join(part for part in parts if part)
