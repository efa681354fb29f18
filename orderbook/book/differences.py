"""What a program that has a book open must do so that it shows what a command wrote into a copy of it.

Two files are compared, the copy before and after the command. Only what a hand can type is told: formulas are left to
the program, which works them out itself. A table that ran out of blank rows and grew comes whole from its old last row
on. What cannot be done cell by cell (a formula or a sheet that differs) is named in `other`, so that nothing is done by
half.
"""

from __future__ import annotations

import zipfile
from collections.abc import Iterator, Mapping
from dataclasses import asdict, dataclass, field
from pathlib import Path
from typing import Any

from orderbook.xlsx.anatomy import Anatomy, BookTable, anatomy, area
from orderbook.xlsx.many_cells import many_cells
from orderbook.xlsx.package import open_package
from orderbook.xlsx.page import Place, address
from orderbook.xlsx.sheet_reading import SheetCell, cells_of, shared_strings

Typed = float | str | None
SAME = 1e-14  # LibreOffice writes a number with 15 digits, so one that went through it differs in the last bits


@dataclass(frozen=True, slots=True)
class GrownTable:
    """A table that grew: the typed columns of its rows from the old last row (`bottom`) to the new one (`to`)."""

    table: str
    sheet: str
    left: int
    right: int
    bottom: int
    to: int
    typed: tuple[int, ...]
    last: tuple[Typed, ...]
    rows: tuple[tuple[Typed, ...], ...]


@dataclass(frozen=True, slots=True)
class Difference:
    """Cells as (row, column, old, new) by sheet, tables that grew, where tables stood, and what cannot be put in."""

    cells: Mapping[str, tuple[tuple[int, int, Typed, Typed], ...]] = field(default_factory=dict)
    grown: tuple[GrownTable, ...] = ()
    tables: Mapping[str, tuple[str, int, int, int, int]] = field(default_factory=dict)
    other: tuple[str, ...] = ()

    def __bool__(self) -> bool:
        """Say whether there is anything to do."""
        return bool(self.cells or self.grown or self.other)

    def as_dict(self) -> dict[str, Any]:
        """Return it as JSON."""
        return asdict(self)


@dataclass(frozen=True, slots=True)
class _Half:
    """One of the two files: where things are, and the cells of the sheets that differ."""

    parts: Anatomy
    cells: Mapping[str, Mapping[Place, SheetCell]]


@many_cells()
def differences(before: Path, after: Path) -> Difference:
    """Compare a book with what a command made of it.

    Raises: OrderbookError for what is not a book.
    """
    if before.read_bytes() == after.read_bytes():
        return Difference()
    with open_package(before) as one, open_package(after) as two:
        was, now = anatomy(one, before), anatomy(two, after)
        sheets = [sheet for sheet in was.sheets if sheet in now.sheets and not _same_sheet(one, two, was, now, sheet)]
        old, new = _half(one, was, before, sheets), _half(two, now, after, sheets)
    other = ["the sheets"] if set(was.sheets) != set(now.sheets) else []
    other += [
        f"the size of the table {name}"
        for name, table in was.tables.items()
        if _is_smaller(now.tables.get(name), table)
    ]
    grown = tuple(_grown(old, new))
    cells = {sheet: tuple(_cells(sheet, old, new, grown, other)) for sheet in sheets}
    written = {sheet for sheet, found in cells.items() if found} | {growth.sheet for growth in grown}
    tables = {
        t.name: (t.sheet, t.top, t.left, t.bottom, t.right) for t in was.tables.values() if t.sheet in written
    }  # fmt: skip
    return Difference({sheet: found for sheet, found in cells.items() if found}, grown, tables, tuple(other))


def _is_smaller(now: BookTable | None, was: BookTable) -> bool:
    return now is None or now.bottom < was.bottom


def _same_sheet(one: zipfile.ZipFile, two: zipfile.ZipFile, was: Anatomy, now: Anatomy, sheet: str) -> bool:
    """Say whether a sheet is byte for byte as it was, and the texts it may point to are."""
    pairs = [(was.sheets[sheet], now.sheets[sheet]), (was.strings or "", now.strings or "")]
    return all(a == b == "" or (a and b and one.getinfo(a).CRC == two.getinfo(b).CRC) for a, b in pairs)


def _half(package: zipfile.ZipFile, parts: Anatomy, path: Path, sheets: list[str]) -> _Half:
    strings = shared_strings(package, parts.strings, path)
    return _Half(
        parts, {s: {(c.row, c.col): c for c in cells_of(package, parts.sheets[s], strings, path)} for s in sheets}
    )


def _grown(old: _Half, new: _Half) -> Iterator[GrownTable]:
    for name, table in new.parts.tables.items():
        was = old.parts.tables.get(name)
        if was is not None and table.bottom > was.bottom:
            yield _grown_table(old.cells[table.sheet], new.cells[table.sheet], was, table)


def _grown_table(
    was: Mapping[Place, SheetCell], now: Mapping[Place, SheetCell], old: BookTable, new: BookTable
) -> GrownTable:
    typed = tuple(c for c in range(new.left, new.right + 1) if _formula(now.get((new.bottom, c))) is None)
    rows = range(old.bottom, new.bottom + 1)
    return GrownTable(
        new.name, new.sheet, new.left, new.right, old.bottom, new.bottom, typed,
        last=tuple(_typed(was.get((old.bottom, col))) for col in typed),
        rows=tuple(tuple(_typed(now.get((row, col))) for col in typed) for row in rows),
    )  # fmt: skip


def _cells(
    sheet: str, old: _Half, new: _Half, grown: tuple[GrownTable, ...], other: list[str]
) -> Iterator[tuple[int, int, Typed, Typed]]:
    was, now = old.cells[sheet], new.cells[sheet]
    left_out = _of_arrays(was) | {
        (row, col)
        for g in grown if g.sheet == sheet
        for row in range(g.bottom, g.to + 1) for col in range(g.left, g.right + 1)
    }  # fmt: skip
    for place in sorted((was.keys() | now.keys()) - left_out):
        before, after = was.get(place), now.get(place)
        if _formula(before) != _formula(after):
            other.append(f"the formula in {sheet}!{address(*place, fixed=False)}")
        elif _formula(after) is None and not _same(_typed(before), _typed(after)):
            yield (*place, _typed(before), _typed(after))


def _of_arrays(cells: Mapping[Place, SheetCell]) -> set[Place]:
    """Return the places an array formula fills: only its first cell bears the formula, the others are its results."""
    found: set[Place] = set()
    for cell in cells.values():
        if cell.array:
            top, left, bottom, right = area(cell.array)
            found |= {(r, c) for r in range(top, bottom + 1) for c in range(left, right + 1)} - {(cell.row, cell.col)}
    return found


def _formula(cell: SheetCell | None) -> str | None:
    return None if cell is None else cell.formula


def _typed(cell: SheetCell | None) -> Typed:
    if cell is None or cell.value is None or cell.value == "":
        return None
    return float(cell.value) if isinstance(cell.value, (bool, int, float)) else str(cell.value)


def _same(one: Typed, other: Typed) -> bool:
    if isinstance(one, float) and isinstance(other, float):
        return abs(one - other) <= SAME * max(abs(one), abs(other))
    return one == other
