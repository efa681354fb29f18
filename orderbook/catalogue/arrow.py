"""Rows cut into columns by pyarrow. Importing this module fails where it is not installed."""

from __future__ import annotations

import csv
from collections.abc import Collection
from functools import cache, cached_property
from typing import Any, cast

import numpy as np
import pyarrow as pa
import pyarrow.compute as pc
from numpy.typing import NDArray
from pyarrow import csv as arrow_csv

from orderbook.catalogue.blocks import Cell, Coded, Rows
from orderbook.catalogue.opening import MEGABYTE
from orderbook.catalogue.sizes import MISSING

TEXT, CODED = pa.string(), pa.dictionary(pa.int32(), pa.string())
BLOCK = 4 * MEGABYTE


class Plain(Coded):
    """A column whose cells are nearly all different: not coded, and looked through by pyarrow, not cell by cell."""

    is_plain = True

    def __init__(self, array: Any) -> None:
        """Take an arrow array of strings."""
        super().__init__(np.arange(len(array), dtype=np.int32), cast("list[Cell]", array.to_pylist()))
        self._array = array

    @cached_property
    def texts(self) -> list[str]:
        """The cells, stripped; a formula's guard quote taken off."""
        plain = pc.utf8_trim_whitespace(self._array)
        if pc.any(pc.starts_with(plain, "'")).as_py():
            return super().texts
        return cast("list[str]", self.cells if plain.equals(self._array) else plain.to_pylist())

    @cached_property
    def missing(self) -> list[int]:
        """The cells that say nothing."""
        said = pc.utf8_lower(pc.utf8_trim_whitespace(self._array))
        found = pc.is_in(said, value_set=_missing())
        short = _int32(pc.utf8_length(self._array)) < 8
        return np.flatnonzero(_bools(found) & short).tolist()

    @cached_property
    def blank(self) -> NDArray[np.bool_]:
        """Which cells have nothing in them."""
        empty: NDArray[np.bool_] = _int32(pc.binary_length(pc.utf8_trim_whitespace(self._array))) == 0
        return empty

    def take(self, rows: NDArray[np.bool_]) -> Coded:
        """The rows of a mask."""
        bits = pa.py_buffer(np.packbits(rows, bitorder="little"))
        return Plain(self._array.filter(pa.BooleanArray.from_buffers(pa.bool_(), len(rows), [None, bits])))


@cache
def _missing() -> Any:
    """The texts that say nothing; made of buffers, because `pa.array` would load pandas."""
    texts = [text.encode() for text in sorted(MISSING)]
    offsets = np.cumsum([0, *map(len, texts)], dtype=np.int32)
    return pa.StringArray.from_buffers(len(texts), pa.py_buffer(offsets), pa.py_buffer(b"".join(texts)))


def cut_by_pyarrow(data: bytes, offset: int, delimiter: str, width: int, plain: Collection[int] = ()) -> Rows | None:
    """Cut rows as `bulk.cut_rows`; lines are counted to find out whether a quote runs over a line end."""
    view = memoryview(data)[offset:]
    try:
        table, irregular = _table(view, delimiter, width, plain, threads=True)
        if irregular:
            table, irregular = _table(view, delimiter, width, plain, threads=False)  # only one thread knows the places
    except pa.ArrowException:
        return None
    lines = data.count(b"\n", offset) + (len(view) > 0 and not data.endswith(b"\n"))
    rows = Rows(
        tuple(_coded(column) for column in table.columns),
        [(place, next(csv.reader([text], delimiter=delimiter), [])) for place, text in irregular],
    )
    return rows if len(rows) == lines else None


def _table(
    data: memoryview, delimiter: str, width: int, plain: Collection[int], threads: bool
) -> tuple[Any, list[tuple[int, str]]]:
    irregular: list[tuple[int, str]] = []

    def note(row: Any) -> str:
        irregular.append((-1 if row.number is None else row.number - 1, row.text))
        return "skip"

    types = {f"c{place}": TEXT if place in plain else CODED for place in range(width)}
    table = arrow_csv.read_csv(
        pa.BufferReader(pa.py_buffer(data)),
        read_options=arrow_csv.ReadOptions(column_names=[*types], use_threads=threads, block_size=BLOCK),
        parse_options=arrow_csv.ParseOptions(delimiter=delimiter, ignore_empty_lines=False, invalid_row_handler=note),
        convert_options=arrow_csv.ConvertOptions(column_types=types, strings_can_be_null=False),
        memory_pool=pa.system_memory_pool(),  # gives back what is no longer used
    )
    return table, irregular


def _coded(column: Any) -> Coded:
    if not column.num_chunks:
        return Coded(np.zeros(0, dtype=np.int32), [])
    if column.type == TEXT:
        return Plain(column.combine_chunks() if column.num_chunks > 1 else column.chunk(0))
    joined = column.unify_dictionaries()
    codes = [_int32(chunk.indices) for chunk in joined.chunks]
    return Coded(np.concatenate(codes), cast("list[Cell]", joined.chunk(0).dictionary.to_pylist()))


def _bools(array: Any) -> NDArray[np.bool_]:
    bits = np.frombuffer(array.buffers()[1], dtype=np.uint8)
    each = np.unpackbits(bits, count=array.offset + len(array), bitorder="little")[array.offset :]
    return each.astype(np.bool_)


def _int32(array: Any) -> NDArray[np.int32]:
    """View an arrow array; its own conversion would load pandas."""
    return np.frombuffer(array.buffers()[1], dtype=np.int32)[array.offset : array.offset + len(array)]
