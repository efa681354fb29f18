"""Large regular lists by pyarrow, where it is installed; anything irregular is left to the careful way.

The answer is the same: line numbers are checked by counting the lines, and a row that does not fit is a reject with
the same reason.
"""

from __future__ import annotations

import csv
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Any, NamedTuple, cast

import numpy as np
from numpy.typing import NDArray

from orderbook.catalogue.blocks import Block, Cell, Coded
from orderbook.catalogue.cutting import Dialect, Lines, Record, records
from orderbook.catalogue.letters import decode
from orderbook.catalogue.opening import MEGABYTE, Limits
from orderbook.catalogue.springs import Reject
from orderbook.catalogue.tables import NEEDED, Table, find_header, fitted, guess_dialect, misfit, trimmed
from orderbook.catalogue.words import Words, heading

LARGE = 2 * MEGABYTE
HEAD = 200_000
FEW = 0.2  # of the rows may be irregular


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


class Rows(NamedTuple):
    """What pyarrow made of the rows: coded columns, and the irregular rows with their places."""

    columns: tuple[Coded, ...]
    irregular: list[tuple[int, str]]


def large_table(
    data: bytes, file: str, words: Words, limits: Limits, known: frozenset[str], fixed: str
) -> Table | None:
    """Read a large list as one table; None where it must be read the careful way."""
    if len(data) < LARGE or not _has_pyarrow():
        return None
    start = start_of(data, words, known, fixed)
    if start is None or len(start.header) > limits.columns:
        return None
    lines = _line_count(data, start.offset)
    if lines is None or lines > limits.rows:
        return None
    rows = read_rows(memoryview(data)[start.offset :], start)
    if rows is None or len(rows.columns[0].codes) + len(rows.irregular) != lines:
        return None  # a quote runs over a line end
    return table_of(rows, start, start.line + 1, file, words)


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


def read_rows(data: memoryview, start: Start) -> Rows | None:
    """Cut rows into coded columns; None if they are not regular enough."""
    import pyarrow as pa

    try:
        table, irregular = _cut(data, start, threads=True)
        if irregular:
            if irregular[0][0] < 0 and len(irregular) > FEW * (table.num_rows + len(irregular)):
                return None
            table, irregular = _cut(data, start, threads=False)  # only one thread knows the places
    except pa.ArrowException:
        return None
    width = len(start.header)
    if any(not set(_distinct(table.column(i))) <= {""} for i in range(width, table.num_columns)):
        return None
    return Rows(tuple(_coded(table.column(i)) for i in range(width)), irregular)


def table_of(rows: Rows, start: Start, first_line: int, file: str, words: Words) -> Table | None:
    """Make a table of the rows; None if one of them may be another header."""
    width = len(start.header)
    if _another_header(rows.columns, start.header, words):
        return None
    lines = np.arange(first_line, first_line + len(rows.columns[0].codes) + len(rows.irregular))
    rejects = []
    if rows.irregular:
        lines = np.delete(lines, [place for place, _ in rows.irregular])
        found = _misfits(rows.irregular, start, first_line, width, file)
        if found is None:
            return None
        rejects = found
    block = _without_blank_rows(Block(lines.astype(np.int64), rows.columns))
    return Table(file, start.header, start.line, block, tuple(rejects))


def _has_pyarrow() -> bool:
    try:
        import pyarrow.csv  # noqa: F401
    except ImportError:
        return False
    return True


def _line_count(data: bytes, offset: int) -> int | None:
    if data.count(b"\r") != data.count(b"\r\n"):
        return None
    return data.count(b"\n", offset) + (not data.endswith(b"\n"))


def _cut(data: memoryview, start: Start, threads: bool) -> tuple[Any, list[tuple[int, str]]]:
    import pyarrow as pa
    from pyarrow import csv as arrow_csv

    irregular: list[tuple[int, str]] = []

    def note(row: Any) -> str:
        irregular.append((row.number - 1 if row.number is not None else -1, row.text))
        return "skip"

    names = [f"c{i}" for i in range(len(start.cells))]
    text = pa.dictionary(pa.int32(), pa.string())
    table = arrow_csv.read_csv(
        pa.BufferReader(pa.py_buffer(data)),
        read_options=arrow_csv.ReadOptions(column_names=names, use_threads=threads, block_size=4 * MEGABYTE),
        parse_options=arrow_csv.ParseOptions(
            delimiter=start.dialect.delimiter, ignore_empty_lines=False, invalid_row_handler=note
        ),
        convert_options=arrow_csv.ConvertOptions(column_types=dict.fromkeys(names, text), strings_can_be_null=False),
        memory_pool=pa.system_memory_pool(),  # gives back what is no longer used
    )
    return table, irregular


def _distinct(column: Any) -> list[str]:
    return [text for chunk in column.chunks for text in chunk.dictionary.to_pylist()]


def _coded(column: Any) -> Coded:
    joined = column.unify_dictionaries()
    if not joined.num_chunks:
        return Coded(np.zeros(0, dtype=np.int32), [])
    codes = [_int32(chunk.indices) for chunk in joined.chunks]
    return Coded(np.concatenate(codes), _strings(joined.chunk(0).dictionary))


def _int32(array: Any) -> NDArray[np.int32]:
    """View an arrow array; its own conversion would load pandas."""
    return np.frombuffer(array.buffers()[1], dtype=np.int32)[array.offset : array.offset + len(array)]


def _strings(array: Any) -> list[Cell]:
    """Make Python strings of an arrow array, in one piece where they are plain ASCII."""
    _, offsets, letters = array.buffers()
    places = np.frombuffer(offsets, dtype=np.int32)[array.offset : array.offset + len(array) + 1].tolist()
    text = bytes(memoryview(letters)[places[0] : places[-1]]) if letters is not None else b""
    if not text.isascii():
        return cast("list[Cell]", array.to_pylist())
    plain, first = text.decode("ascii"), places[0]
    return [plain[start - first : end - first] for start, end in pairwise(places)]


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


def _misfits(
    irregular: list[tuple[int, str]], start: Start, first_line: int, width: int, file: str
) -> list[Reject] | None:
    rejects = []
    for place, text in irregular:
        cells = next(csv.reader([text], delimiter=start.dialect.delimiter), [])
        if not any(cell.strip() for cell in cells):
            continue
        record = Record(first_line + place, cells)
        if fitted(cells, width) is not None:
            return None
        rejects.append(misfit(record, width, file))
    return rejects


def _without_blank_rows(block: Block) -> Block:
    blank = np.ones(len(block), dtype=bool)
    for column in block.columns:
        empty = [i for i, cell in enumerate(column.cells) if not str(cell).strip()] if len(column.cells) else []
        blank &= np.isin(column.codes, empty) if empty else False
        if not blank.any():
            return block
    return Block(block.lines[~blank], tuple(Coded(c.codes[~blank], c.cells) for c in block.columns))
