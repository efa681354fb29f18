"""A list kept elsewhere, as headers and rows: CSV of any dialect, .xlsx or .ods."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from io import BytesIO
from pathlib import Path
from typing import Any

from orderbook.catalogue.cutting import DELIMITERS, Dialect, Lines, lines_of, records
from orderbook.catalogue.letters import decode
from orderbook.catalogue.opening import Limits, open_list
from orderbook.catalogue.sheets import read_sheets
from orderbook.errors import error
from orderbook.measures.given import rows_of

LOOKED_AT = 30  # lines from which the mark between cells is told


@dataclass(frozen=True, slots=True)
class OutsideList:
    """Headers and rows of a list; each row with its line in the file."""

    name: str
    headers: tuple[str, ...]
    rows: tuple[tuple[int, tuple[Any, ...]], ...]


def outside_list(path: Path, *, sheet: str | None = None) -> OutsideList:
    """Read a list; its first row that holds two texts or more has the headers.

    Raises: OrderbookError(list_not_read, and what the reading of suppliers' lists raises).
    """
    if not path.exists():
        raise error("list_not_read", where=str(path), saw="no such file")
    limits = Limits()
    grid: list[tuple[int, list[Any]]]
    found = open_list(path, limits)
    if found.kind == "sheet":
        first = next(read_sheets(found.data, str(path), limits, sheet), None)
        grid = _sheet(found.data, first.name) if first else []
    else:
        lines = lines_of(decode(found.data, str(path)).text, limits, str(path))
        grid = [(record.line, list(record.cells)) for record in records(lines, Dialect(delimiter_of(lines)))]
    return _headed(path, grid)


def frame_list(frame: Any) -> OutsideList:
    """Take a data frame, or rows by column, as a list; its rows are counted as they are shown, from 0.

    Raises: OrderbookError(rows_not_read | list_not_read).
    """
    rows = rows_of(frame, where="⟨file⟩")
    headers = tuple(dict.fromkeys(name for row in rows for name in row))
    if not headers:
        raise error("list_not_read", where="⟨file⟩", saw="no row")
    body = ((number, tuple(row.get(name) for name in headers)) for number, row in enumerate(rows))
    return OutsideList(
        "data frame", headers, tuple(one for one in body if any(cell not in (None, "") for cell in one[1]))
    )


def _sheet(data: bytes, name: str) -> list[tuple[int, list[Any]]]:
    """Read a sheet that has been looked over for size, this time with its dates: suppliers' lists have none."""
    from python_calamine import CalamineWorkbook

    rows = CalamineWorkbook.from_filelike(BytesIO(data)).get_sheet_by_name(name).to_python(skip_empty_area=False)
    return list(enumerate(rows, 1))


def mark_between(text: str, where: str) -> str:
    """Find the mark between the cells of a text.

    >>> mark_between("part;price", "list.csv")
    ';'
    """
    return delimiter_of(lines_of(text, Limits(), where))


def delimiter_of(lines: Lines) -> str:
    """Find the mark between cells: the one that cuts most rows into equally many cells, at least two.

    >>> delimiter_of(Lines(["part;price", "hands;18,50", "dial feet, two;4,00"]))
    ';'
    """
    sample = Lines(lines.lines[:LOOKED_AT])

    def score(mark: str) -> tuple[int, int]:
        widths = [len(record.cells) for record in records(sample, Dialect(mark))]
        usual = max(set(widths), key=widths.count, default=0)
        return (widths.count(usual) if usual > 1 else 0, usual)

    return max(DELIMITERS, key=score)


def _headed(path: Path, grid: Sequence[tuple[int, Sequence[Any]]]) -> OutsideList:
    for place, (_, cells) in enumerate(grid):
        if sum(isinstance(cell, str) and bool(cell.strip()) for cell in cells) >= 2:
            headers = tuple(str(cell).strip() if cell is not None else "" for cell in cells)
            body = [
                (line, tuple(row)) for line, row in grid[place + 1 :] if any(cell not in (None, "") for cell in row)
            ]
            return OutsideList(path.name, headers, tuple(body))
    raise error("list_not_read", where=str(path), saw="no row with headers")
