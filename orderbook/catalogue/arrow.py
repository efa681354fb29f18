"""Rows cut into coded columns by pyarrow. Importing this module fails where it is not installed."""

from __future__ import annotations

import csv
from itertools import pairwise
from typing import Any, cast

import numpy as np
import pyarrow as pa
from numpy.typing import NDArray
from pyarrow import csv as arrow_csv

from orderbook.catalogue.blocks import Cell, Coded
from orderbook.catalogue.bulk import Rows
from orderbook.catalogue.opening import MEGABYTE

TEXT = pa.dictionary(pa.int32(), pa.string())
BLOCK = 4 * MEGABYTE


def cut_by_pyarrow(data: bytes, offset: int, delimiter: str, width: int) -> Rows | None:
    """Cut rows as `bulk.cut_rows`; lines are counted to find out whether a quote runs over a line end."""
    view = memoryview(data)[offset:]
    try:
        table, irregular = _table(view, delimiter, width, threads=True)
        if irregular:
            table, irregular = _table(view, delimiter, width, threads=False)  # only one thread knows the places
    except pa.ArrowException:
        return None
    lines = data.count(b"\n", offset) + (len(view) > 0 and not data.endswith(b"\n"))
    rows = Rows(
        tuple(_coded(column) for column in table.columns),
        [(place, next(csv.reader([text], delimiter=delimiter), [])) for place, text in irregular],
    )
    return rows if len(rows) == lines else None


def _table(data: memoryview, delimiter: str, width: int, threads: bool) -> tuple[Any, list[tuple[int, str]]]:
    irregular: list[tuple[int, str]] = []

    def note(row: Any) -> str:
        irregular.append((-1 if row.number is None else row.number - 1, row.text))
        return "skip"

    names = [f"c{place}" for place in range(width)]
    table = arrow_csv.read_csv(
        pa.BufferReader(pa.py_buffer(data)),
        read_options=arrow_csv.ReadOptions(column_names=names, use_threads=threads, block_size=BLOCK),
        parse_options=arrow_csv.ParseOptions(delimiter=delimiter, ignore_empty_lines=False, invalid_row_handler=note),
        convert_options=arrow_csv.ConvertOptions(column_types=dict.fromkeys(names, TEXT), strings_can_be_null=False),
        memory_pool=pa.system_memory_pool(),  # gives back what is no longer used
    )
    return table, irregular


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
