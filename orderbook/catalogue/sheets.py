"""Spreadsheets as stretches, guarded against files that unpack into more than they seem.

Every visible sheet that holds a list is read; a hidden one only where no other does, or where it is named.
"""

from __future__ import annotations

import datetime
import io
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import chain, islice
from typing import Any

from orderbook.catalogue import bombs
from orderbook.catalogue.blocks import Cell
from orderbook.catalogue.opening import OLD_OFFICE, Limits
from orderbook.catalogue.springs import Reject
from orderbook.catalogue.stretches import Head, ListRow, Stretch, Walk, first_head, stretches_of
from orderbook.catalogue.tables import LOOKED_AT, find_header
from orderbook.catalogue.texts import Wanted, no_rows
from orderbook.catalogue.words import Words
from orderbook.errors import Finding, error, finding

ENCRYPTED = "EncryptedPackage".encode("utf-16-le")


@dataclass(frozen=True, slots=True)
class Sheet:
    """A sheet's rows as cells, and its name."""

    name: str
    rows: list[list[Cell]]


@dataclass(frozen=True, slots=True)
class SheetList:
    """A sheet that holds a list, to be walked through again and again."""

    file: str
    sheet: Any
    hidden: bool
    head: Head
    above: tuple[Reject, ...]
    first: int  # how many rows stand before the first one of a spring
    score: float
    words: Words
    known: frozenset[str]

    def stretches(self, meant: Mapping[int, int]) -> Iterator[tuple[Stretch | None, Walk]]:
        """Yield every stretch with the walk so far; None at the end."""
        walk = Walk(
            self.head, self.words, self.known, self.score, padded=True, meant=dict(meant), fresh=bool(self.head.line)
        )
        if self.above:
            yield Stretch(self.head, no_rows(self.head.width), self.above), walk
        for stretch in stretches_of(islice(_rows(self.sheet), self.first, None), walk):
            yield stretch, walk
        yield None, walk


def read_sheets(data: bytes, where: str, limits: Limits, name: str | None = None) -> Iterator[Sheet]:
    """Read the sheets of a spreadsheet that have anything in them; only the named one if a name is given.

    Raises: OrderbookError(list_too_large | list_damaged | list_locked | list_not_readable | list_empty |
    sheet_not_found).
    """
    found = 0
    for sheet, _ in _sheets(data, where, limits, name):
        rows = [list(row.cells) for row in _rows(sheet)]
        if any(cell != "" for row in rows for cell in row):
            found += 1
            yield Sheet(sheet.name, rows)
    if not found:
        raise _empty(where, name)


def sheet_lists(
    data: bytes, file: str, where: str, limits: Limits, words: Words, wanted: Wanted, name: str | None = None
) -> tuple[list[SheetList], tuple[Finding, ...]]:
    """Find the sheets that hold a list, visible ones first, hidden ones only if there is no other; and what to tell.

    Raises: as `read_sheets`.
    """
    found: list[SheetList] = []
    filled = 0
    for sheet, hidden in _sheets(data, where, limits, name):
        first = list(islice(_rows(sheet), 3 * LOOKED_AT))
        filled += any(cell != "" for row in first for cell in row.cells)
        if (made := _list_of(first, sheet, hidden, file, limits, words, wanted)) is not None:
            found.append(made)
    if not filled:
        raise _empty(where, name)
    visible = [one for one in found if not one.hidden]
    hidden_ones = [one for one in found if one.hidden]
    if name is not None:
        return found, ()
    if visible:
        told = [f"the hidden sheet {one.sheet.name!r} holds a list too; it is not read" for one in hidden_ones]
        return visible, tuple(finding("sheet_not_read", where=file, saw=saw) for saw in told)
    told = [f"the hidden sheet {one.sheet.name!r} was read: no other holds a list" for one in hidden_ones]
    return hidden_ones, tuple(finding("sheet_hidden", where=file, saw=saw) for saw in told)


def labelled_lists(lists: Sequence[SheetList]) -> list[SheetList]:
    """Name each list after its sheet too, where several sheets of a file are read."""
    if len(lists) < 2:
        return list(lists)
    named = []
    for one in lists:
        label = f"{one.file}: {one.sheet.name}"
        rejects = tuple(replace(reject, file=label) for reject in one.above)
        named.append(replace(one, file=label, head=replace(one.head, file=label), above=rejects))
    return named


def _list_of(
    first: Sequence[ListRow], sheet: Any, hidden: bool, file: str, limits: Limits, words: Words, wanted: Wanted
) -> SheetList | None:
    if not wanted.headings:
        width = max([wanted.places, *(len(row.cells) for row in first)])
        above: list[Reject] = []
        head, start, score = Head(0, file, ("",) * width, 0, width), 0, 12.0
    else:
        found = find_header([row.cells for row in first], words, wanted.known)
        if found is None:
            return None
        head, above = first_head(found, first[: found.at], found.at + 1, file, limits)
        start, score = found.at + 1, found.score
    head = replace(head, titles=(sheet.name, *head.titles))
    return SheetList(file, sheet, hidden, head, tuple(above), start, score, words, wanted.known)


def _sheets(data: bytes, where: str, limits: Limits, name: str | None) -> Iterator[tuple[Any, bool]]:
    """Yield the sheets, visible ones first, and whether each is hidden."""
    if data.startswith(OLD_OFFICE):
        if ENCRYPTED in data:
            raise _locked(where)
    else:
        bombs.refuse_bombs(data, where, limits)
    from python_calamine import CalamineError, CalamineWorkbook, PasswordError, SheetTypeEnum, SheetVisibleEnum

    try:
        workbook = CalamineWorkbook.from_filelike(io.BytesIO(data))
        sheets = [s for s in workbook.sheets_metadata if s.typ == SheetTypeEnum.WorkSheet]
        if name is not None and name not in [sheet.name for sheet in sheets]:
            names = ", ".join(sheet.name for sheet in sheets)
            raise error("sheet_not_found", where=where, saw=f"no sheet {name!r}; there are {names}")
        wanted = [sheet for sheet in sheets if name in (None, sheet.name)]
        for sheet in sorted(wanted, key=lambda sheet: sheet.visible != SheetVisibleEnum.Visible):
            read = workbook.get_sheet_by_name(sheet.name)
            if read.total_height * max(1, read.total_width) > bombs.MOST_CELLS:
                raise bombs.too_many_cells(where)
            if read.total_height > limits.rows:
                raise error("list_too_large", where=where, saw=f"{read.total_height:,} rows")
            yield read, sheet.visible != SheetVisibleEnum.Visible
    except PasswordError as problem:
        raise _locked(where) from problem
    except CalamineError as problem:
        if data.startswith(OLD_OFFICE):
            saw = "an old Office document that is no spreadsheet, or a damaged one"
            raise error("list_not_readable", where=where, saw=saw) from problem
        raise error("list_damaged", where=where, saw=f"the spreadsheet cannot be read ({problem})") from problem


def _locked(where: str) -> Exception:
    return error("list_locked", where=where, saw="the spreadsheet is locked with a password")


def _empty(where: str, name: str | None) -> Exception:
    saw = f"nothing in the sheet {name!r}" if name else "no sheet has anything"
    return error("list_empty", where=where, saw=saw)


def _rows(sheet: Any) -> Iterator[ListRow]:
    left = [""] * (sheet.start[1] if sheet.start else 0)
    for line, cells in enumerate(sheet.iter_rows(), start=1):
        yield ListRow(line, [*left, *map(cell_of, cells)])


def cell_of(value: Any) -> Cell:
    """A value of a spreadsheet, of Parquet or of a data frame as a cell: text, a number, or None for a date."""
    if value is None:
        return ""
    if isinstance(value, str):
        return value
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, (int, float)):
        return float(value) if value == value else ""
    if isinstance(value, (datetime.date, datetime.time, datetime.timedelta)):
        return None
    return str(value)


__all__ = ["Sheet", "SheetList", "cell_of", "chain", "labelled_lists", "read_sheets", "sheet_lists"]
