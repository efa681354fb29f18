"""Lists that are columns already: data frames of pandas and others, arrow tables, Parquet files, dicts of columns."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, BinaryIO

import numpy as np

from orderbook.catalogue.blocks import Block, Cell, coded
from orderbook.catalogue.headings import SIZES
from orderbook.catalogue.naming import columns_not_found
from orderbook.catalogue.opening import MEGABYTE, Limits
from orderbook.catalogue.sheets import cell_of
from orderbook.catalogue.stretches import TOGETHER, Head, ListRow, Stretch, Walk, first_head, stretches_of
from orderbook.catalogue.tables import find_header, header_score, trimmed
from orderbook.catalogue.texts import Wanted
from orderbook.catalogue.words import Words
from orderbook.errors import error

FRAME = "data frame"
Columns = list[Sequence[Any]]


@dataclass(frozen=True, slots=True)
class ColumnList:
    """Columns with their names, some thousands of rows at a time, to be walked through again and again.

    Where the names are no headings, a heading row is looked for below them.
    """

    file: str
    names: tuple[str, ...]
    batches: Callable[[], Iterator[Columns]]
    head: Head
    first: int  # rows before the first one of a spring
    score: float
    words: Words
    known: frozenset[str]

    def stretches(self, meant: Mapping[int, int]) -> Iterator[tuple[Stretch | None, Walk]]:
        """Yield every stretch with the walk so far; None at the end."""
        walk = Walk(self.head, self.words, self.known, self.score, padded=True, meant=dict(meant))
        if self.first:
            for stretch in stretches_of(self._rows(), walk):
                yield stretch, walk
        else:
            line = 2 if self.head.line else 1
            for columns in self.batches():
                count = len(columns[0]) if columns else 0
                made = tuple(coded([cell_of(value) for value in column]) for column in columns[: self.head.width])
                yield Stretch(self.head, _without_blank_rows(Block(np.arange(line, line + count), made))), walk
                line += count
        yield None, walk

    def _rows(self) -> Iterator[ListRow]:
        line = 2
        for columns in self.batches():
            for cells in zip(*columns, strict=True):
                if line > self.first + 1:
                    yield ListRow(line, [cell_of(cell) for cell in cells])
                line += 1


def frame_list(frame: Any, words: Words, limits: Limits, wanted: Wanted) -> ColumnList:
    """Take a data frame (pandas, polars), a table of arrow or a mapping of columns as a list.

    Raises: TypeError for anything else; OrderbookError(columns_not_found | too_many_columns).
    """
    names = _names(frame)
    return _column_list(FRAME, names, lambda: _batches_of_frame(frame, len(names)), words, limits, wanted)


def parquet_list(
    open_file: Callable[[], BinaryIO], file: str, where: str, words: Words, limits: Limits, wanted: Wanted
) -> ColumnList:
    """Take a Parquet file as a list; a few thousand rows of it are held at a time.

    Raises: OrderbookError(parquet_needs_pyarrow | list_too_large | list_damaged | too_many_columns).
    """
    try:
        import pyarrow as pa
        import pyarrow.parquet as pq
    except ImportError as problem:
        raise error("parquet_needs_pyarrow", where=where, saw="pyarrow is not installed") from problem
    try:
        with open_file() as stream:
            found = pq.ParquetFile(stream)
            groups, names = found.metadata, tuple(found.schema_arrow.names)
        if groups.num_rows > limits.rows:
            raise error("list_too_large", where=where, saw=f"more than {limits.rows:,} rows")
        if groups.num_columns > limits.columns:
            raise error("too_many_columns", where=where, saw=f"{groups.num_columns:,} columns")
        unpacked = sum(groups.row_group(i).total_byte_size for i in range(groups.num_row_groups))
        if unpacked > 4 * limits.size_bytes:
            raise error("list_too_large", where=where, saw=f"{unpacked // MEGABYTE} MB unpacked")
    except (pa.ArrowException, OSError) as problem:
        raise _damaged(where, problem) from problem

    def batches() -> Iterator[Columns]:
        try:
            with open_file() as stream:
                for batch in pq.ParquetFile(stream).iter_batches(batch_size=TOGETHER):
                    yield [column.to_pylist() for column in batch.columns]
        except (pa.ArrowException, OSError) as problem:
            raise _damaged(where, problem) from problem

    return _column_list(file, names, batches, words, limits, wanted)


def _damaged(where: str, problem: Exception) -> Exception:
    why = " ".join(str(problem).split())
    return error("list_damaged", where=where, saw=f"the Parquet file cannot be read ({why})")


def _column_list(
    file: str,
    names: tuple[str, ...],
    batches: Callable[[], Iterator[Columns]],
    words: Words,
    limits: Limits,
    wanted: Wanted,
) -> ColumnList:
    if len(names) > limits.columns:
        raise error("too_many_columns", where=file, saw=f"{len(names):,} columns")
    if not wanted.headings:
        head = Head(0, file, ("",) * len(names), 0, len(names))
        return ColumnList(file, names, batches, head, 0, 12.0, words, wanted.known)
    if score := header_score(names, words, wanted.known):
        head = Head(0, file, trimmed(names), 1, len(names))
        return ColumnList(file, names, batches, head, 0, score, words, wanted.known)
    columns = next(batches(), [])
    rows = [[cell_of(cell) for cell in cells] for cells in zip(*columns, strict=True)]
    found = find_header(rows, words, wanted.known)
    if found is None:
        raise columns_not_found(("item", *SIZES), trimmed(names), file)
    above = [ListRow(1, names), *(ListRow(at + 2, cells) for at, cells in enumerate(rows[: found.at]))]
    head, _ = first_head(found, above, found.at + 2, file, limits)
    return ColumnList(file, names, batches, head, found.at + 1, found.score, words, wanted.known)


def _names(frame: Any) -> tuple[str, ...]:
    names: Any
    if hasattr(frame, "column_names"):
        names = frame.column_names
    elif hasattr(frame, "columns"):
        names = list(frame.columns)
    elif isinstance(frame, Mapping):
        names = list(frame)
    else:
        raise TypeError(f"a list is a path, or has columns like a data frame; this is a {type(frame).__name__}")
    return tuple("" if str(name).startswith("Unnamed: ") else str(name) for name in names)


def _batches_of_frame(frame: Any, width: int) -> Iterator[Columns]:
    columns = [_column(frame, at) for at in range(width)]
    count = len(columns[0]) if columns else 0
    for at in range(0, max(count, 1), TOGETHER):
        yield [_values(column[at : at + TOGETHER]) for column in columns]


def _column(frame: Any, at: int) -> Any:
    if hasattr(frame, "iloc"):
        return frame.iloc[:, at]
    if hasattr(frame, "column_names"):
        return frame.column(at)
    return list(frame.values())[at] if isinstance(frame, Mapping) else frame[list(frame.columns)[at]]


def _values(column: Any) -> list[Any]:
    for way in ("to_pylist", "to_list", "tolist"):
        if hasattr(column, way):
            return [_known(value) for value in getattr(column, way)()]
    return [_known(value) for value in column]


def _known(value: Any) -> Any:
    """A missing value of any library, and its own numbers, as plain Python."""
    if value is None or isinstance(value, (str, float, int)):
        return value
    if type(value).__name__ in ("NAType", "NaTType"):
        return None
    return value.item() if isinstance(value, np.generic) else value


def _without_blank_rows(block: Block) -> Block:
    blank = np.ones(len(block), dtype=bool)
    for column in block.columns:
        blank &= column.blank[column.codes]
    if not blank.any():
        return block
    return block.take(~blank)


__all__ = ["Cell", "ColumnList", "frame_list", "parquet_list"]
