"""A list kept elsewhere, as headers and rows: CSV of any dialect, .xlsx or .ods."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Any

from orderbook.errors import error

MAX_BYTES = 200_000_000


@dataclass(frozen=True, slots=True)
class OutsideList:
    """Headers and rows of a list; each row with its line in the file."""

    name: str
    headers: tuple[str, ...]
    rows: tuple[tuple[int, tuple[Any, ...]], ...]


def outside_list(path: Path, *, sheet: str | None = None) -> OutsideList:
    """Read a list; its first row that has a text in it holds the headers.

    Raises: OrderbookError(list_not_read).
    """
    if not path.is_file():
        raise error("list_not_read", where=str(path), saw="no such file")
    if path.stat().st_size > MAX_BYTES:
        raise error("list_not_read", where=str(path), saw=f"larger than {MAX_BYTES // 1_000_000} MB")
    is_text = path.suffix.lower() in (".csv", ".txt", ".tsv")
    grid = _text_grid(path) if is_text else _sheet_grid(path, sheet)
    for number, cells in enumerate(grid, 1):
        if any(isinstance(cell, str) and cell.strip() for cell in cells):
            headers = tuple(str(cell).strip() if cell is not None else "" for cell in cells)
            body = [
                (n, tuple(row))
                for n, row in enumerate(grid[number:], number + 1)
                if any(c not in (None, "") for c in row)
            ]
            return OutsideList(path.name, headers, tuple(body))
    raise error("list_not_read", where=str(path), saw="no row with headers")


def _text_grid(path: Path) -> list[list[Any]]:
    import csv

    import charset_normalizer
    import clevercsv

    raw = path.read_bytes()
    try:
        text = raw.decode("utf-8-sig")
    except UnicodeDecodeError:
        best = charset_normalizer.from_bytes(raw).best()
        if best is None:
            raise error("list_not_read", where=str(path), saw="its letters cannot be told") from None
        text = str(best)
    dialect = clevercsv.Sniffer().sniff(text[:20_000])
    if dialect is None or not dialect.delimiter:
        return [[cell] for cell in text.splitlines()]
    return [list(row) for row in csv.reader(text.splitlines(keepends=True), dialect.to_csv_dialect())]


def _sheet_grid(path: Path, sheet: str | None) -> list[list[Any]]:
    import python_calamine

    try:
        book = python_calamine.CalamineWorkbook.from_path(str(path))
        names = book.sheet_names
        if sheet is not None and sheet not in names:
            expected = f"Expected one of {', '.join(names)}."
            raise error("list_not_read", where=str(path), saw=f"no sheet “{sheet}”", expected=expected)
        return [list(row) for row in book.get_sheet_by_name(sheet or names[0]).to_python(skip_empty_area=False)]
    except (python_calamine.CalamineError, OSError, IndexError) as problem:
        raise error("list_not_read", where=str(path), saw=str(problem) or "not a spreadsheet") from problem
