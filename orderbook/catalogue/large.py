"""Large regular lists, one line a row, read in bulk; anything irregular is left to the careful way.

The answer is the same: a row that does not fit is a reject with the same reason.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from orderbook.catalogue.blocks import Block, Cell, Coded
from orderbook.catalogue.bulk import cut_rows
from orderbook.catalogue.cutting import Dialect, Lines, Record, records
from orderbook.catalogue.letters import decode
from orderbook.catalogue.opening import Limits
from orderbook.catalogue.springs import Reject
from orderbook.catalogue.tables import NEEDED, Table, find_header, fitted, guess_dialect, misfit, trimmed
from orderbook.catalogue.words import Words, heading

LARGE = 200_000  # bytes of a list that is worth trying so
HEAD = 200_000
FEW = 0.1  # of the rows may be irregular


@dataclass(frozen=True, slots=True)
class Start:
    """Where the rows of a list begin: dialect, header cells, its line, and the byte after it."""

    dialect: Dialect
    cells: tuple[Cell, ...]
    line: int
    offset: int

    @property
    def header(self) -> tuple[str, ...]:
        """The heading texts."""
        return trimmed(self.cells)


def large_table(
    data: bytes, file: str, words: Words, limits: Limits, known: frozenset[str], fixed: str
) -> Table | None:
    """Read a large list as one table; None where it must be read the careful way."""
    if len(data) < LARGE:
        return None
    start = start_of(data, words, known, fixed)
    if start is None or len(start.header) > limits.columns:
        return None
    if data.count(b"\n", start.offset) > limits.rows:
        return None
    return bulk_table(data, start.offset, start, start.line + 1, file, words)


def start_of(head: bytes, words: Words, known: frozenset[str], fixed: str, any_page: bool = False) -> Start | None:
    """Find the header in the first lines; None if it is not one line of plain UTF-8 (or of any code page)."""
    head = head[:HEAD]
    text = _first_lines(head, any_page)
    if not text or "\x00" in text or text.replace("\r\n", "").count("\r"):
        return None
    lines = Lines(text.replace("\r\n", "\n").split("\n")[:-1])
    dialect = guess_dialect(lines, words, known, fixed)
    if not any_page and (dialect.quote != '"' or dialect.escape):
        return None
    cut = [record for record, _ in zip(records(lines, dialect), range(80), strict=False)]
    found = find_header([record.cells for record in cut], words, known)
    if found is None or found.at + 1 >= len(cut) or cut[found.at + 1].line != cut[found.at].line + 1:
        return None
    offset = 0
    for _ in range(cut[found.at].line):
        offset = head.index(b"\n", offset) + 1
    return Start(dialect, found.cells, cut[found.at].line, offset)


def _first_lines(head: bytes, any_page: bool) -> str:
    whole = head[: head.rfind(b"\n") + 1]
    try:
        return whole.decode("utf-8-sig")
    except UnicodeDecodeError:
        return decode(whole, "").text if any_page else ""


def bulk_table(data: bytes, offset: int, start: Start, first_line: int, file: str, words: Words) -> Table | None:
    """Make a table of the rows that begin at a byte; None if they are irregular or one may be another header."""
    width = len(start.header)
    rows = cut_rows(data, offset, start.dialect.delimiter, len(start.cells))
    if rows is None or any(cell for column in rows.columns[width:] for cell in column.cells):
        return None
    columns = rows.columns[:width]
    if _another_header(columns, start.header, words):
        return None
    lines = np.arange(first_line, first_line + len(rows), dtype=np.int64)
    lines = np.delete(lines, [place for place, _ in rows.irregular])
    block = _without_blank_rows(Block(lines, columns))
    rejects = _misfits(rows.irregular, first_line, width, file)
    if rejects is None or len(rejects) > FEW * len(block):
        return None
    short = Counter(len(cells) for _, cells in rows.irregular if len(cells) < width and any(map(str.strip, cells)))
    return Table(file, start.header, start.line, block, tuple(rejects), short=short)


def _another_header(columns: Sequence[Coded], header: tuple[str, ...], words: Words) -> bool:
    """Whether some distinct cell of a size column is itself a heading, but not the column's own."""
    for column, own in zip(columns, header, strict=True):
        if heading(own, words).meaning not in NEEDED[:-1] or len(column.cells) > 200_000:
            continue
        for cell in column.cells:
            text = str(cell).strip()
            if text[:1].isalpha() and text != own and heading(text, words).meaning in NEEDED:
                return True
    return False


def _misfits(irregular: list[tuple[int, list[str]]], first_line: int, width: int, file: str) -> list[Reject] | None:
    """The rows that do not fit the header, without blank ones; None if one can be made to fit."""
    filled = [(place, cells) for place, cells in irregular if any(cell.strip() for cell in cells)]
    if any(fitted(cells, width) is not None for _, cells in filled):
        return None
    return [misfit(Record(first_line + place, cells), width, file) for place, cells in filled]


def _without_blank_rows(block: Block) -> Block:
    blank = np.ones(len(block), dtype=bool)
    for column in block.columns:
        empty = [i for i, cell in enumerate(column.cells) if not str(cell).strip()] if len(column.cells) else []
        blank &= np.isin(column.codes, empty) if empty else False
        if not blank.any():
            return block
    return Block(block.lines[~blank], tuple(Coded(c.codes[~blank], c.cells) for c in block.columns))
