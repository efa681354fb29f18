"""Rows of a long list cut into coded columns, many at a time; what is not one line a row is left to others.

By pyarrow where it is installed, else by the csv module; the columns are the same.
"""

from __future__ import annotations

import csv
import io
from collections import defaultdict
from collections.abc import Collection, Iterable
from itertools import islice
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from orderbook.catalogue.blocks import Coded, Rows
from orderbook.catalogue.opening import MEGABYTE

if TYPE_CHECKING:
    from _csv import Reader as CsvReader

PAYS = 2 * MEGABYTE  # from here pyarrow saves more time than its import takes
TOGETHER = 128  # rows cut and coded at a time: few enough to stay in the processor's cache


def cut_rows(data: bytes, offset: int, delimiter: str, width: int, plain: Collection[int] = ()) -> Rows | None:
    """Cut the rows that begin at a byte; None if they are not plain text in UTF-8 with one line a row.

    Parameters: width, how many cells a regular row has; plain, columns whose cells are mostly different.

    >>> rows = cut_rows(b"a,2.5\\nb,2.5\\nc\\n", 0, ",", 2)
    >>> [column.cells for column in rows.columns], rows.columns[1].codes.tolist(), rows.irregular
    ([['a', 'b'], ['2.5']], [0, 0], [(2, ['c'])])
    """
    if b"\x00" in data or (b"\r" in data and data.count(b"\r") != data.count(b"\r\n")):
        return None
    if len(data) < PAYS:
        return cut_by_csv(data, offset, delimiter, width)
    try:
        from orderbook.catalogue.arrow import cut_by_pyarrow
    except ImportError:
        return cut_by_csv(data, offset, delimiter, width)
    return cut_by_pyarrow(data, offset, delimiter, width, plain)


def cut_by_csv(data: bytes, offset: int, delimiter: str, width: int) -> Rows | None:
    """Cut rows by the csv module, as `cut_rows`."""
    raw = io.BytesIO(data)
    raw.seek(offset)
    lines = io.TextIOWrapper(raw, encoding="utf-8", newline="\n")
    try:
        return _coded_rows(csv.reader(lines, delimiter=delimiter), width)
    except (csv.Error, UnicodeDecodeError):
        return None


class _Codes:
    """A column while it is read: each distinct cell with its number, and the number of each row's cell."""

    def __init__(self) -> None:
        self.places: defaultdict[str, int] = defaultdict()
        self.places.default_factory = self.places.__len__  # a cell not met before gets the next number
        self.codes: list[NDArray[np.int32]] = []

    def add(self, cells: Iterable[str]) -> None:
        self.codes.append(np.array([*map(self.places.__getitem__, cells)], dtype=np.int32))

    def coded(self) -> Coded:
        self.places.default_factory = None  # it refers to the dict itself, which would outlive its use
        return Coded(np.concatenate([np.zeros(0, dtype=np.int32), *self.codes]), [*self.places])


def _coded_rows(reader: CsvReader, width: int) -> Rows | None:
    columns, irregular, done = [_Codes() for _ in range(width)], [], 0
    while rows := list(islice(reader, TOGETHER)):
        if reader.line_num != done + len(rows):
            return None  # a quote runs over a line end
        if {*map(len, rows)} != {width}:
            irregular += [(done + at, row) for at, row in enumerate(rows) if len(row) != width]
            rows = [row for row in rows if len(row) == width]
        for column, cells in zip(columns, zip(*rows, strict=True), strict=False):
            column.add(cells)
        done = reader.line_num
    return Rows(tuple(column.coded() for column in columns), irregular)
