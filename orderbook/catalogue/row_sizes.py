"""Width, strength and length of every row in mm, by a plan. Each distinct cell is read once."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from orderbook.catalogue.blocks import Block, Coded
from orderbook.catalogue.faults import Faults
from orderbook.catalogue.gauges import gauge_number
from orderbook.catalogue.headings import SIZES
from orderbook.catalogue.marks import both_readings
from orderbook.catalogue.naming import ListColumn
from orderbook.catalogue.plan import ReadingPlan, bare_unit
from orderbook.catalogue.sizes import (
    SENSIBLE_MM,
    Trouble,
    Written,
    by_meaning,
    in_mm,
    is_missing,
    labelled,
    pieces,
    why_not,
)
from orderbook.catalogue.units import known_unit
from orderbook.catalogue.usual import unusual_rows

Floats = NDArray[np.float64]
NO_UNIT = "Write the unit, or say it in a column map."


def sizes_of(block: Block, plan: ReadingPlan, faults: Faults) -> list[Floats]:
    """Read width, strength and length of the rows; what cannot be read is NaN and noted among the faults."""
    combined = plan.column("sizes")
    found: dict[str, Floats] = {}
    if combined is not None:
        found = _combined(block, combined, plan, faults)
    for meaning in SIZES:
        if (column := plan.column(meaning)) is not None:
            own = _size(block, column, plan, faults, optional=meaning in found)
            given = found.get(meaning)
            if given is not None:
                _differ(column, own, given, faults)
                own = np.where(np.isnan(own), given, own)
            found[meaning] = own
    if (gauge := plan.column("gauge")) is not None and "strength" not in found:
        found["strength"] = _by_gauge(block.columns[gauge.index], gauge, plan, faults)
    sizes = [found.get(meaning, np.full(len(block), np.nan)) for meaning in SIZES]
    for meaning, values in zip(SIZES, sizes, strict=True):
        faults.add("", np.isnan(values), Trouble(f"no {meaning}", "Add it to the list, or leave the row out."))
    _in_proportion(sizes[0], sizes[1], sizes[2], plan, faults)
    return sizes


def _size(block: Block, column: ListColumn, plan: ReadingPlan, faults: Faults, optional: bool) -> Floats:
    coded = block.columns[column.index]
    codes, cells, units = _with_units(coded, column, block, plan)
    values = np.full(len(cells), np.nan)
    troubles: dict[int, Trouble] = {}
    sizes, texts = coded.sizes, coded.texts
    for at, (cell, unit) in enumerate(zip(cells, units, strict=True)):
        taken = column if unit is None else replace(column, unit=unit)
        answer = _one_size(sizes[cell], texts[cell], coded.cells[cell] is None, taken, plan)
        if isinstance(answer, Trouble):
            if not (optional and is_missing(texts[cell])):
                troubles[at] = answer
        else:
            values[at] = answer
    faults.of_cells(column.header, codes, troubles)
    return np.asarray(values[codes])


def _with_units(
    coded: Coded, column: ListColumn, block: Block, plan: ReadingPlan
) -> tuple[NDArray[np.int32], list[int], list[str | None]]:
    """Each distinct cell, or each distinct pair of cell and unit where a column says the unit of the row."""
    beside = plan.column("unit")
    if beside is None or column.unit:
        return coded.codes, list(range(len(coded.cells))), [None] * len(coded.cells)
    units = block.columns[beside.index]
    width = max(1, len(units.cells))
    both, codes = np.unique(coded.codes.astype(np.int64) * width + units.codes, return_inverse=True)
    pairs = [divmod(pair, width) for pair in both.tolist()]
    said = [units.texts[unit] for _, unit in pairs]
    return codes.astype(np.int32), [cell for cell, _ in pairs], [unit if known_unit(unit) else "" for unit in said]


def _one_size(size: Written | None, text: str, is_date: bool, column: ListColumn, plan: ReadingPlan) -> float | Trouble:
    if is_date:
        return Trouble("a spreadsheet made a date of it", "Write the size as text in the sheet.")
    if is_missing(text):
        return Trouble(f"no {column.meaning}", "Add it to the list, or leave the row out.")
    if size is None:
        if column.meaning == "strength" and (number := gauge_number(text)):
            return _gauge_mm(number, text, column, plan)
        return why_not(text)
    unit = bare_unit(size, column)
    if not size.unit and not unit:
        return Trouble(f"{text!r} has no unit, while other cells have", NO_UNIT)
    if not size.unit and size.is_part_of_an_inch and known_unit(unit) == 1:
        return Trouble(f"{text!r} is no fraction of a millimetre", NO_UNIT)
    mm = in_mm(size, column.decimal, unit)
    if mm is None:
        return _unreadable(size, text)
    low, high = SENSIBLE_MM[column.meaning]
    if not low <= mm <= high:
        saw = f"{text!r} is a {column.meaning} of {mm:.4g} mm; a mainspring's is {low:g} to {high:g} mm"
        return Trouble(saw, "Look at the decimal mark and the unit.")
    return mm


def _unreadable(size: Written, text: str) -> Trouble:
    if ".." in text:
        return why_not(text)
    if not size.is_fraction and len(size.number.replace(",", ".").split(".")) == 2:
        return Trouble(f"{both_readings(size.number)}; the column has both marks", "Write it with four decimals.")
    return Trouble(f"{text!r} is not one number", "Write one number with its unit, such as 0.16 mm.")


def _gauge_mm(number: str, text: str, column: ListColumn, plan: ReadingPlan) -> float | Trouble:
    if plan.gauge is None:
        saw = f"{text!r} is a gauge number, and gauges differ from maker to maker"
        return Trouble(saw, "Name the gauge's table: a CSV file with the columns gauge,number,mm.")
    table = plan.gauge.only(f"{column.header} {text}")
    if table is None:
        return Trouble(
            f"{plan.gauge.source} has several gauges", "Name the gauge in the heading, or use a table of one."
        )
    if number not in table:
        return Trouble(f"gauge number {number} is not in {plan.gauge.source}", "Add it to the table if it is right.")
    low, high = SENSIBLE_MM["strength"]
    if not low <= table[number] <= high:
        saw = f"gauge number {number} is {table[number]:g} mm; a mainspring's strength is {low:g} to {high:g} mm"
        return Trouble(saw, "Is it the right gauge?")
    return table[number]


def _by_gauge(coded: Coded, column: ListColumn, plan: ReadingPlan, faults: Faults) -> Floats:
    values = np.full(len(coded.cells), np.nan)
    troubles: dict[int, Trouble] = {}
    for at, (text, size) in enumerate(zip(coded.texts, coded.sizes, strict=True)):
        number = gauge_number(text)
        if number is None and size is not None and size.unit:  # a size with its unit among gauge numbers
            answer = _one_size(size, text, False, replace(column, meaning="strength"), plan)
        else:
            answer = _gauge_mm(number, text, column, plan) if number else _not_a_gauge(text)
        if isinstance(answer, Trouble):
            troubles[at] = answer
        else:
            values[at] = answer
    faults.of_cells(column.header, coded.codes, troubles)
    return np.asarray(values[coded.codes])


def _not_a_gauge(text: str) -> Trouble:
    if is_missing(text):
        return Trouble("no strength", "Add it to the list, or leave the row out.")
    return Trouble(f"{text!r} is no gauge number", "Write the number alone, such as 12 or 3/0.")


def _combined(block: Block, column: ListColumn, plan: ReadingPlan, faults: Faults) -> dict[str, Floats]:
    coded = block.columns[column.index]
    codes, cells, units = _with_units(coded, column, block, plan)
    values = {meaning: np.full(len(cells), np.nan) for meaning in SIZES}
    troubles: dict[int, Trouble] = {}
    for at, (cell, unit) in enumerate(zip(cells, units, strict=True)):
        answer = _come_apart(coded.texts[cell], column if unit is None else replace(column, unit=unit))
        if isinstance(answer, Trouble):
            troubles[at] = answer
        else:
            for meaning, mm in answer.items():
                values[meaning][at] = mm
    faults.of_cells(column.header, codes, troubles)
    found = {meaning: sizes[codes] for meaning, sizes in values.items()}
    return {meaning: sizes for meaning, sizes in found.items() if not np.isnan(sizes).all()}


def _come_apart(text: str, column: ListColumn) -> Mapping[str, float] | Trouble:
    if is_missing(text):
        return Trouble("no size", "Add it to the list, or leave the row out.")
    named = labelled(text)
    found = tuple(named.values()) or pieces(text)
    bare = _bare_units(found, column)
    if any(not piece.unit and not unit for piece, unit in zip(found, bare, strict=True)):
        return Trouble(f"{text!r} has no unit, while other cells have", NO_UNIT)
    if any(not p.unit and p.is_part_of_an_inch and known_unit(u) == 1 for p, u in zip(found, bare, strict=True)):
        return Trouble(f"{text!r} has a fraction that is none of a millimetre", NO_UNIT)
    sizes = [in_mm(piece, column.decimal, unit) for piece, unit in zip(found, bare, strict=True)]
    known = [size for size in sizes if size is not None]
    if not found or len(known) < len(found):
        try_this = "Write it as width x strength x length with a unit, such as 2.50 x 0.16 x 340 mm."
        return Trouble(f"{text!r} does not come apart into width, strength and length", try_this)
    apart = dict(zip(named, known, strict=True)) if named else by_meaning(known, column.order)
    if apart is None:
        if len(found) > 3 and not column.order:
            saw = f"{text!r} has {len(found)} numbers, and nobody says which is which"
            return Trouble(saw, "Say their order in a column map, such as barrel x width x strength x length.")
        return Trouble(f"{text!r} does not come apart into width, strength and length", "Which number is which?")
    for meaning, mm in apart.items():
        low, high = SENSIBLE_MM[meaning]
        if not low <= mm <= high:
            saw = f"{text!r} makes a {meaning} of {mm:.4g} mm; a mainspring's is {low:g} to {high:g} mm"
            return Trouble(saw, "Look at the decimal mark and the unit.")
    return apart


def _bare_units(found: tuple[Written, ...], column: ListColumn) -> list[str]:
    """The unit of each number of a cell that does not say its own."""
    if len(column.order) == len(found):
        return [part.unit.name if part.unit is not None else column.unit for part in column.order]
    return [column.unit] * len(found)


def _differ(column: ListColumn, own: Floats, given: Floats, faults: Faults) -> None:
    apart = ~np.isnan(own) & ~np.isnan(given) & ~np.isclose(own, given, rtol=0.005)
    faults.add(column.header, apart, Trouble("two columns give different sizes", "Ask the supplier which is right."))


def _in_proportion(width: Floats, strength: Floats, length: Floats, plan: ReadingPlan, faults: Faults) -> None:
    with np.errstate(invalid="ignore"):
        thick, short = width < 3 * strength, length < 3 * width
    advice = "Look at the decimal marks; are two columns swapped?"
    if plan.lenient:
        return
    faults.add("", thick, Trouble("the strength is more than a third of the width", advice))
    faults.add("", short, Trouble("the length is less than three widths", advice))
    if not plan.is_the_users:
        for reason, rows in unusual_rows(width, strength, length):
            faults.add(
                "",
                rows,
                Trouble(reason, "Is one size in another unit? If the list is right, say its units in a column map."),
            )
