"""Spreadsheet exports and Parquet: rows of cells, guarded against files that unpack into more than they seem."""

from __future__ import annotations

import datetime
import io
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from orderbook.catalogue.blocks import Cell
from orderbook.catalogue.bombs import refuse_bombs
from orderbook.catalogue.opening import MEGABYTE, Limits
from orderbook.errors import error


@dataclass(frozen=True, slots=True)
class Sheet:
    """A sheet's rows as cells, and its name."""

    name: str
    rows: list[list[Cell]]


def read_sheets(data: bytes, where: str, limits: Limits, name: str | None = None) -> Iterator[Sheet]:
    """Read the sheets of an .xlsx, .xlsm or .ods that have anything in them; only the named one if a name is given.

    Raises: OrderbookError(list_too_large | list_damaged | list_not_readable | list_empty | sheet_not_found).
    """
    refuse_bombs(data, where, limits)
    from python_calamine import CalamineError, CalamineWorkbook

    found = 0
    try:
        workbook = CalamineWorkbook.from_filelike(io.BytesIO(data))
        names = workbook.sheet_names
        if name is not None and name not in names:
            raise error("sheet_not_found", where=where, saw=f"no sheet {name!r}; there are {', '.join(names)}")
        for candidate in [name] if name is not None else names:
            rows = workbook.get_sheet_by_name(candidate).to_python(skip_empty_area=False)
            if any(cell != "" for row in rows for cell in row):
                found += 1
                yield Sheet(candidate, [[_cell(cell) for cell in row] for row in rows])
    except CalamineError as problem:
        raise error("list_damaged", where=where, saw=f"the spreadsheet cannot be read ({problem})") from problem
    if not found:
        raise error(
            "list_empty", where=where, saw=f"nothing in the sheet {name!r}" if name else "no sheet has anything"
        )


def read_parquet(data: bytes, where: str, limits: Limits) -> Sheet:
    """Read a Parquet file as a header row and rows.

    Raises: OrderbookError(parquet_needs_pyarrow | list_too_large | list_damaged | too_many_columns).
    """
    try:
        import pyarrow as pa
        import pyarrow.parquet as pq
    except ImportError as problem:
        raise error("parquet_needs_pyarrow", where=where, saw="pyarrow is not installed") from problem
    try:
        file = pq.ParquetFile(io.BytesIO(data))
        if file.metadata.num_rows > limits.rows:
            raise error("list_too_large", where=where, saw=f"more than {limits.rows:,} rows")
        if file.metadata.num_columns > limits.columns:
            raise error("too_many_columns", where=where, saw=f"{file.metadata.num_columns:,} columns")
        unpacked = sum(file.metadata.row_group(i).total_byte_size for i in range(file.metadata.num_row_groups))
        if unpacked > 4 * limits.size_bytes:
            raise error("list_too_large", where=where, saw=f"{unpacked // MEGABYTE} MB unpacked")
        table = file.read()
    except (pa.ArrowException, OSError) as problem:
        why = " ".join(str(problem).split())
        raise error("list_damaged", where=where, saw=f"the Parquet file cannot be read ({why})") from problem
    columns = [[_cell(value) for value in column.to_pylist()] for column in table.columns]
    return Sheet("", [list(table.column_names), *(list(row) for row in zip(*columns, strict=True))])


def _cell(value: Any) -> Cell:
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, (int, float)):
        return float(value) if value == value else ""
    if isinstance(value, (datetime.date, datetime.time, datetime.timedelta)):
        return None
    return str(value)
