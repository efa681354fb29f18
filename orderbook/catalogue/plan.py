"""How a list is read: unit and decimal mark of every column, decided from all its cells before any row is read.

A unit comes from the user's map, the heading, the line of units below it, a title line or the cells, in that order;
what
nobody said is mm, if nothing speaks against it and the sizes of the whole list stand in usual relations (`usual.py`).
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, field, replace
from typing import Any, Protocol

from orderbook.catalogue.blocks import Cell
from orderbook.catalogue.context import ALL, UNCLEAR, Hints
from orderbook.catalogue.gauges import GaugeTable, gauge_number
from orderbook.catalogue.headings import SIZES
from orderbook.catalogue.marks import UNDECIDED, both_readings, decide, evidence
from orderbook.catalogue.naming import ListColumn
from orderbook.catalogue.prices import PER_PACK, pack_size, price_said, price_words
from orderbook.catalogue.sizes import (
    SENSIBLE_MM,
    UNITS_TRIED,
    Written,
    in_mm,
    is_missing,
    is_whole,
    labelled,
    pieces,
    sensible,
)
from orderbook.catalogue.units import Unit, UnitDoubt, known_unit, said_unit
from orderbook.catalogue.words import Vocabulary, fold
from orderbook.errors import Finding, OrderbookError, error, finding
from orderbook.measures.money import minor_digits

ENOUGH = 0.5  # a column is misread as a whole if fewer of its readable rows have a sensible size
FITS = 0.9
OLD_UNITS = ("in", "ft", "ligne", "douzième", "thou", "yd")


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
class ReadingPlan:
    """How the rows of one table are read, and what to tell about it."""

    file: str
    header: tuple[str, ...]
    columns: tuple[ListColumn, ...]
    words: Vocabulary
    supplier: str = ""
    currency: str = ""
    gauge: GaugeTable | None = None
    hints: Hints = field(default_factory=Hints)
    findings: tuple[Finding, ...] = ()
    mark: str = ""  # the decimal mark that all columns share, "" if they do not
    lenient: bool = False  # rows far from what is usual are not rejected

    def column(self, meaning: str) -> ListColumn | None:
        """Return the column of a meaning, if there is one."""
        return next((column for column in self.columns if column.meaning == meaning), None)

    @property
    def is_the_users(self) -> bool:
        """Whether the user's map says the unit of every size, so that unusual sizes are no reason to ask."""
        sized = [column for column in self.columns if column.meaning in (*SIZES, "sizes")]
        return all(column.said_by == "map" for column in sized)


def in_context(plan: ReadingPlan, unit_line: Sequence[str], hints: Hints) -> ReadingPlan:
    """Add to the columns what the line of units and the title lines say."""
    columns = []
    for column in plan.columns:
        below = unit_line[column.index] if column.index < len(unit_line) else ""
        if column.meaning in (*SIZES, "sizes") and column.said_by != "map":
            column = _sized_in_context(column, below, hints, plan.words)
        elif column.meaning == "gauge" and isinstance(unit := said_unit(below), Unit):
            column = replace(column, meaning="strength", unit=unit.name, said_by="line", doubt="", numbered=False)
        elif column.meaning == "price":
            column = _price_in_context(_price_with_line(column, below, plan.words), hints)
        columns.append(column)
    return replace(plan, columns=tuple(columns), hints=hints)


def _price_with_line(column: ListColumn, below: str, words: Vocabulary) -> ListColumn:
    """Add what the line of units says of a price: "CHF", "£ each", "EUR/10". The heading's own words come first."""
    said = price_words(below, words)
    if said.currency and column.currency and said.currency != column.currency:
        return replace(column, doubt=column.doubt or f"{column.currency} or {said.currency}")
    pack, each = (column.pack, column.each) if column.pack or column.each else (said.pack, said.each)
    return replace(
        column,
        currency=column.currency or said.currency,
        sign=column.sign or said.sign,
        minor=column.minor or said.minor,
        pack=pack,
        each=each,
        tax=column.tax or said.tax,
        doubt=column.doubt or said.unclear,
    )


def _sized_in_context(column: ListColumn, below: str, hints: Hints, words: Vocabulary) -> ListColumn:
    if below.strip(" -–()[]."):
        unit = said_unit(below)
        if isinstance(unit, Unit) and column.unit in ("", unit.name):
            return replace(column, unit=unit.name, said_by=column.said_by or "line", doubt="", numbered=False)
        if isinstance(unit, Unit) and column.unit:
            return replace(column, doubt=f"{column.unit} or {unit.name}")
        if isinstance(unit, UnitDoubt) or any(word not in words.vocabulary for word in fold(below)):
            return replace(column, doubt=below.strip())
    if column.unit or column.doubt or any(part.unit for part in column.order):
        return column
    which = column.meaning if column.meaning in hints.units or column.meaning in hints.doubts else ALL
    if which in hints.doubts:
        return replace(column, doubt=hints.doubts[which])
    if which in hints.units:
        return replace(column, unit=hints.units[which].name, said_by="title")
    return column


def _price_in_context(column: ListColumn, hints: Hints) -> ListColumn:
    currency = column.currency or ("" if column.sign else hints.currency)
    pack, each = (column.pack, column.each) if column.pack or column.each else (hints.pack, hints.each)
    if pack == 1 and each:
        pack = 0
    if pack == UNCLEAR:
        return replace(
            column, currency=currency, doubt=column.doubt or f"line {hints.text!r}", tax=column.tax or hints.tax
        )
    return replace(column, currency=currency, pack=pack, each=each, tax=column.tax or hints.tax)


def decided(plan: ReadingPlan, seen: Sequence[Seen]) -> ReadingPlan:
    """Decide what the headings left open, from all cells of each column.

    Raises: OrderbookError(mark_undecided | unit_not_said | unit_not_sensible | column_not_read | gauge_not_named).
    """
    plan = _with_unit_column(plan, seen)
    other = _unit_of_the_others(plan.columns)
    by_row = plan.column("unit") is not None
    columns = []
    for column in plan.columns:
        cells = seen[column.index]
        if column.meaning in SIZES:
            columns.append(_size_column(column, cells, plan.file, other, by_row))
        elif column.meaning == "sizes":
            columns.append(_combined_column(column, cells, plan.file, by_row))
        elif column.meaning == "gauge":
            columns.append(_gauge_column(column, cells, plan))
        else:
            columns.append(column)
    plan = replace(plan, columns=tuple(columns))
    plan = replace(plan, mark=_mark_of_all(plan.columns))
    return _with_price(plan, seen)


def _with_unit_column(plan: ReadingPlan, seen: Sequence[Seen]) -> ReadingPlan:
    """A column of units is of sizes (mm, in), of packs (each, dozen), or not used: its cells tell."""
    column = plan.column("unit")
    if column is None:
        return plan
    said = [text for text in seen[column.index].texts if not is_missing(text)]
    if said and all(isinstance(said_unit(text), Unit) for text in said):
        return plan
    packs = bool(said) and all(pack_size(text, plan.words) for text in said)
    meaning = "pack" if packs and plan.column("pack") is None else "unused"
    return replace(plan, columns=tuple(replace(c, meaning=meaning) if c is column else c for c in plan.columns))


def _size_column(column: ListColumn, seen: Seen, file: str, other: str, by_row: bool) -> ListColumn:
    known = [(size, count) for size, count in zip(seen.sizes, seen.counts, strict=True) if size is not None and count]
    if not known:
        return _without_a_size(column, seen, file)
    unit, why = ("", "by its row") if by_row and not column.unit else _bare_unit(column, known, file, other)
    low, high = SENSIBLE_MM[column.meaning]
    typed = [size for size, cell in zip(seen.sizes, seen.cells, strict=True) if isinstance(cell, str)]
    numbers = {size.number: size.unit or unit for size in typed if size is not None and not size.is_fraction}
    decimal, decided_by = _mark(column, numbers, file, lambda d, n: low <= float(n) * _factor(numbers[d]) <= high)
    column = replace(column, unit=unit, decimal=decimal, why=_joined(column.why, why, decided_by))
    sized = [(in_mm(size, decimal, bare_unit(size, column)), count) for size, count in known]
    right = sum(count for mm, count in sized if mm is not None and low <= mm <= high)
    read = sum(count for mm, count in sized if mm is not None)
    if read and right < ENOUGH * read:
        raise _not_sensible(column, known, decimal, unit, file)
    return column


def _gauge_column(column: ListColumn, seen: Seen, plan: ReadingPlan) -> ListColumn:
    """A column of numbers of a gauge needs a table; sizes with their units among them do not."""
    sized = any(size is not None and size.unit for size in seen.sizes)
    if plan.gauge is None and plan.column("strength") is None and plan.column("sizes") is None and not sized:
        said = next((text for text in seen.texts if not is_missing(text)), "")
        saw = f"{column.header!r} speaks of a gauge, such as {said!r}, and gauges differ from maker to maker"
        raise error("gauge_not_named", where=plan.file, saw=saw)
    return column


def bare_unit(size: Written, column: ListColumn) -> str:
    """The unit of a number without one; a column may have another for its whole numbers."""
    return column.whole_numbers if column.whole_numbers and is_whole(size) else column.unit


def _without_a_size(column: ListColumn, seen: Seen, file: str) -> ListColumn:
    said = [text for text in seen.texts if not is_missing(text)]
    if said and not (column.meaning == "strength" and any(gauge_number(text) for text in said)):
        saw = f"the column {column.header!r} has no cell that is a length, such as {said[0]!r}"
        raise error("column_not_read", where=file, saw=saw)
    return column


def _bare_unit(column: ListColumn, known: list[tuple[Written, Any]], file: str, other: str) -> tuple[str, str]:
    """Return the unit of the column's bare numbers ("" where nobody said it: such rows are rejected), and why."""
    bare = [size for size, _ in known if not size.unit]
    if not bare:
        return column.unit or ("mm" if all(known_unit(size.unit) == 1 for size, _ in known) else ""), ""
    _refuse_doubt(column, file)
    if column.unit:
        return column.unit, f"unit by a {'line below' if column.said_by == 'line' else 'title line'}" if (
            column.said_by in ("line", "title")
        ) else ""
    if fraction := next((size.number for size in bare if size.is_fraction), ""):
        saw = f"the column {column.header!r} has fractions such as {fraction} and says no unit"
        raise error("unit_not_said", where=file, saw=saw)
    written = {size.unit for size, _ in known if size.unit}
    if all(known_unit(unit) == 1 for unit in written):
        if other and not written:
            return _mm_or_other(column, known, file, other)
        return "mm", "" if written else "no unit said: mm"
    return "", "units in the cells"


def _refuse_doubt(column: ListColumn, file: str) -> None:
    """A word that may be a unit, or a number that is a gauge, stops the column.

    Raises: OrderbookError(unit_in_doubt | gauge_not_named).
    """
    if column.numbered:
        saw = f"{column.header!r} speaks of a number or a gauge, and gauges differ from maker to maker"
        raise error("gauge_not_named", where=file, saw=saw)
    if column.doubt:
        saw = f"the column {column.header!r}: is {column.doubt!r} a unit, and which?"
        raise error("unit_in_doubt", where=file, saw=saw)


def _mm_or_other(column: ListColumn, known: list[tuple[Written, Any]], file: str, other: str) -> tuple[str, str]:
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


def _mark(
    column: ListColumn, numbers: Iterable[str], file: str, sensible: Callable[[str, str], bool]
) -> tuple[str, str]:
    if column.decimal:
        return column.decimal, ""
    mark = decide(numbers, sensible)
    if mark.undecided and not mark.decimal:
        expected = f"In the column {column.header!r} {both_readings(mark.undecided)}, and no other cell decides."
        raise error("mark_undecided", where=file, saw=f"column {column.header!r}: {mark.undecided}", expected=expected)
    return mark.decimal, mark.why if "could be" in mark.why or mark.decimal == "mixed" else ""


def _not_sensible(
    column: ListColumn, known: list[tuple[Written, Any]], decimal: str, unit: str, file: str
) -> OrderbookError:
    low, high = SENSIBLE_MM[column.meaning]
    numbers = [size.number for size, _ in known]
    fits = [name for name in _fitting(column.meaning, known, decimal) if name != unit]
    saw = f"the column {column.header!r} as {column.meaning} in {unit or 'its units'}: {', '.join(numbers[:3])} …"
    expected = f"A mainspring's {column.meaning} lies between {low:g} and {high:g} mm."
    gauge = column.meaning == "strength" and all(gauge_number(number) for number in numbers[:50])
    advice = (
        f"It would make sense in {' or '.join(fits)}" if fits else "Look at the decimal mark, or for swapped columns"
    )
    advice += ", or as a gauge number" if gauge else ""
    try_this = f"{advice}; if so, say it in a column map: it is never assumed."
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


def _combined_column(column: ListColumn, seen: Seen, file: str, by_row: bool) -> ListColumn:
    apart = [found for text in seen.texts if (found := pieces(text) or tuple(labelled(text).values()))]
    if not apart:
        said = next((text for text in seen.texts if not is_missing(text)), "")
        saw = f"the column {column.header!r} has no cell such as 2.50 x 0.16 x 340; it has {said!r}"
        raise error("column_not_read", where=file, saw=saw)
    bare = [piece for found in apart for piece in found if not piece.unit]
    if bare and not any(part.unit for part in column.order):
        _refuse_doubt(column, file)
    written = {piece.unit for found in apart for piece in found if piece.unit}
    all_mm = all(known_unit(unit) == 1 for unit in written)
    unit = column.unit or ("mm" if all_mm and not by_row else "")
    if bare and unit == "mm" and not column.unit and any(piece.is_fraction for piece in bare):
        fraction = next(part.number for part in bare if part.is_fraction)
        saw = f"the column {column.header!r} has fractions such as {fraction} and no unit"
        raise error("unit_not_said", where=file, saw=saw)
    numbers = [piece.number for found in apart for piece in found if not piece.is_fraction]
    decimal, why = (
        _mark(column, numbers, file, lambda d, n: True)
        if _marks_of_pieces(apart, unit) == ""
        else (_marks_of_pieces(apart, unit), "only so are the sizes those of springs")
    )
    if column.said_by == "title":
        why = _joined(why, "unit by a title line")
    return replace(column, unit=unit, decimal=decimal, why=_joined(column.why, why))


def _marks_of_pieces(apart: Sequence[tuple[Written, ...]], unit: str) -> str:
    """The mark by which three sizes in one cell are those of a spring, if the numbers leave it open; else ""."""
    found = {evidence(piece.number) for cell in apart for piece in cell if not piece.is_fraction}
    if UNDECIDED not in found or found & {".", ","}:
        return ""
    fits = []
    for mark in (".", ","):
        sizes = [sorted(mm for piece in cell if (mm := in_mm(piece, mark, unit or "mm")) is not None) for cell in apart]
        three = [cell for cell in sizes if len(cell) == 3]
        names = ("strength", "width", "length")
        good = sum(all(map(sensible, names, cell)) for cell in three)
        fits += [mark] if three and good >= FITS * len(three) else []
    return fits[0] if len(fits) == 1 else ""


def _with_price(plan: ReadingPlan, seen: Sequence[Seen]) -> ReadingPlan:
    """Decide mark and currency of the price; a mark that nothing decides costs the price, not the list."""
    column = plan.column("price")
    if column is None:
        return plan
    cells, found = seen[column.index], []
    prices = [price for text in cells.texts if (price := price_said(text, plan.words)) is not None]
    currency = column.currency or plan.currency
    if column.sign and not column.currency:
        currency = plan.currency
    said = {price.currency for price in prices if price.currency}
    one = currency or (next(iter(said)) if len(said) == 1 else "")
    typed = [text for text, cell in zip(cells.texts, cells.cells, strict=True) if isinstance(cell, str)]
    numbers = [price.number for text in typed if (price := price_said(text, plan.words)) is not None]
    mark = decide(numbers, lambda d, n: _whole_money(n, one))
    decimal = column.decimal or mark.decimal
    if mark.undecided and not decimal:
        saw = f"the column {column.header!r}: {both_readings(mark.undecided)}, and no other cell decides"
        found.append(finding("price_mark_undecided", where=plan.file, saw=saw))
    if column.doubt == PER_PACK and plan.column("pack") is not None:
        column = replace(column, doubt="")
    if column.doubt:
        saw = f"the column {column.header!r}: what is the {column.doubt} for? Its prices are left out"
        found.append(finding("price_unclear", where=plan.file, saw=saw))
    if column.tax == "without" or any(price.tax == "without" for price in prices):
        found.append(
            finding("prices_without_tax", where=plan.file, saw=f"the prices in {column.header!r} are without tax")
        )
    priced = replace(column, decimal=decimal, why=column.why)
    columns = tuple(priced if c.index == column.index else c for c in plan.columns)
    return replace(plan, columns=columns, findings=(*plan.findings, *found))


def _mark_of_all(columns: Sequence[ListColumn]) -> str:
    """The one decimal mark of all size columns, "" if they differ or need none."""
    marks = {column.decimal for column in columns if column.decimal}
    return marks.pop() if len(marks) == 1 else ""


def _whole_money(number: str, currency: str) -> bool:
    """A currency without decimals decides; in any other, 1,234 stays undecided."""
    return not (currency and minor_digits(currency) == 0 and "." in number)


def _unit_of_the_others(columns: Sequence[ListColumn]) -> str:
    """The unit that is not metric and that some column of a size has, if any."""
    return next(
        (c.unit for c in columns if c.meaning in SIZES and c.unit.split()[-1:] and c.unit.split()[-1] in OLD_UNITS), ""
    )


def _factor(unit: str) -> float:
    return float(known_unit(unit) or 1)


def _joined(*parts: str) -> str:
    return "; ".join(part for part in parts if part)
