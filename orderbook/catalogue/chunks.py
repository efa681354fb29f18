"""Lists too long for the memory: read twice, piece by piece; once to decide how, once for the springs.

What is decided is decided from the whole list, so every piece is read as the list would be read in one go.
"""

from __future__ import annotations

import gzip
import re
from collections import Counter
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import TYPE_CHECKING, Any, BinaryIO, cast

import numpy as np
from numpy.typing import NDArray

from orderbook.catalogue.blocks import Block, Cell, Coded, coded, size_cell
from orderbook.catalogue.cutting import Record, lines_of, records
from orderbook.catalogue.duplicates import AT_ONCE, SAME, SHOWN
from orderbook.catalogue.large import LARGE, Start, bulk_table, start_of
from orderbook.catalogue.letters import decode
from orderbook.catalogue.maps import ColumnMap
from orderbook.catalogue.naming import SIZES
from orderbook.catalogue.opening import MEGABYTE, Limits
from orderbook.catalogue.plan import Plan, decided
from orderbook.catalogue.reading import Part, Ways, draft, joined, named_after_file, read_list, taken, ways_of
from orderbook.catalogue.rows import Converted, convert
from orderbook.catalogue.sizes import Written
from orderbook.catalogue.springs import Catalogue, CatalogueReading, ColumnTaken
from orderbook.catalogue.tables import Found, Table, meant_short, tables_of
from orderbook.errors import Finding, error, finding

if TYPE_CHECKING:
    from pandas import DataFrame

PIECE = 8 * MEGABYTE
LONGEST_CELL = MEGABYTE
KEPT_CELLS = 200_000  # distinct cells of a column kept as evidence; beyond, only cells of a new shape
DECIDING = (*SIZES, "sizes", "price")
Progress = Callable[[int, int], None]


@dataclass(slots=True)
class Evidence:
    """The distinct cells of a column over all pieces, as `plan.decided` asks for them."""

    seen: dict[Cell, int] = field(default_factory=dict)
    shapes: set[str] = field(default_factory=set)

    def add(self, column: Coded) -> None:
        """Take in the cells of one more piece."""
        for cell, count in zip(column.cells, column.counts.tolist(), strict=True):
            if cell in self.seen:
                self.seen[cell] += count
            elif len(self.seen) < KEPT_CELLS or self._is_new_shape(cell):
                self.seen[cell] = count

    def _is_new_shape(self, cell: Cell) -> bool:
        shape = re.sub(r"[0-9]", "9", str(cell))
        new = shape not in self.shapes
        self.shapes.add(shape)
        return new

    @property
    def cells(self) -> list[Cell]:
        """The distinct cells."""
        return list(self.seen)

    @property
    def texts(self) -> list[str]:
        """The distinct cells as text."""
        return coded(self.cells).texts

    @property
    def sizes(self) -> list[Written | None]:
        """The distinct cells taken apart."""
        return [size_cell(cell) for cell in self.seen]

    @property
    def counts(self) -> NDArray[np.int64]:
        """How many rows have each."""
        return np.fromiter(self.seen.values(), dtype=np.int64, count=len(self.seen))


@dataclass(slots=True)
class Met:
    """What was met so far, as sorted marks of 8 bytes each."""

    marks: NDArray[np.int64] = field(default_factory=lambda: np.zeros(0, dtype=np.int64))

    def among(self, marks: NDArray[np.int64]) -> NDArray[np.bool_]:
        """Tell which marks were met."""
        if not len(self.marks):
            return np.zeros(len(marks), dtype=bool)
        at = np.searchsorted(self.marks, marks)
        return np.asarray(self.marks[np.minimum(at, len(self.marks) - 1)] == marks)

    def add(self, marks: NDArray[np.int64]) -> None:
        """Remember some more; two sorted runs are merged in one pass."""
        self.marks = np.concatenate([self.marks, np.sort(marks)])
        self.marks.sort(kind="stable")


@dataclass(slots=True)
class Repeats:
    """The rows and the items seen so far, so that a repeat in a later piece is known, and an item that differs.

    A row is a repeat if its mark and that of its item were both met: two rows that differ and yet pass for one would
    need the same mark of 64 bits by chance, and the same item besides.
    """

    rows: Met = field(default_factory=Met)
    items: Met = field(default_factory=Met)

    def sort_out(self, springs: Catalogue) -> tuple[NDArray[np.bool_], NDArray[np.intp]]:
        """Return a mask of the rows no earlier piece had, and the rows among them whose item one had; remember all."""
        items, rows = _marks(springs, ("supplier", "item")), _marks(springs, SAME)
        known = self.items.among(items)
        new = ~(known & self.rows.among(rows))
        self.items.add(items[new])
        self.rows.add(rows[new])
        return new, np.flatnonzero(known & new)


def _marks(springs: Catalogue, names: Sequence[str]) -> NDArray[np.int64]:
    parts = [np.zeros(0, dtype=np.int64)]
    for at in range(0, len(springs), AT_ONCE):
        columns = (getattr(springs, name)[at : at + AT_ONCE].tolist() for name in names)
        parts.append(np.array([*map(hash, zip(*columns, strict=True))], dtype=np.int64))
    return np.concatenate(parts)


def read_catalogue_chunks(
    paths: str | Path | Sequence[str | Path],
    *,
    supplier: str | None = None,
    column_map: ColumnMap | str | Path | None = None,
    gauge: str | Path | None = None,
    sheet: str | None = None,
    currency: str | None = None,
    words: str | Path | None = None,
    limits: Limits | None = None,
    piece_bytes: int = PIECE,
    progress: Progress | None = None,
) -> Iterator[CatalogueReading]:
    """Read lists piece by piece: the same springs, rejects and duplicates as `read_catalogue`, in bounded memory.

    Parameters: as `read_catalogue`; piece_bytes, how much text is held at a time; progress, called with the bytes
    done and the bytes there are (each is read twice).
    Returns: a reading for each piece; line numbers are those of the list. Files that are not plain text of one table
    come as one piece.
    Raises: as `read_catalogue`, before the first piece of the list.

    >>> from orderbook.locate import data_folder
    >>> pieces = read_catalogue_chunks(data_folder("demo_catalog") / "supplier_north_watch.csv", piece_bytes=20_000)
    >>> [reading.rows_kept for reading in pieces]
    [357, 359, 323]
    """
    ways = ways_of(
        supplier=supplier, column_map=column_map, gauge=gauge, sheet=sheet, currency=currency, words=words,
        limits=limits,
    )  # fmt: skip
    repeats = Repeats()
    for path in [paths] if isinstance(paths, (str, Path)) else paths:
        yield from _pieces_of_list(Path(path), ways, repeats, piece_bytes, progress)


def _pieces_of_list(
    path: Path, ways: Ways, repeats: Repeats, piece_bytes: int, progress: Progress | None
) -> Iterator[CatalogueReading]:
    found = _looked_through(path, ways, piece_bytes, progress)
    if found is None:
        yield _without_repeats(joined(read_list(path, ways)), repeats)
        return
    plan, start, meant = found
    _, said = named_after_file(path, ways, start.header)
    columns: tuple[ColumnTaken, ...] = ()
    for table in _tables(path, start, ways, piece_bytes, progress, meant):
        reading, columns = _piece_reading(cast("Table", table), plan, repeats, columns)
        yield replace(reading, findings=(*said, *reading.findings))
        said = []


def plan_of(path: Path, ways: Ways, piece_bytes: int = PIECE, progress: Progress | None = None) -> Plan | None:
    """Decide how a long list is read, from all its cells; None if it cannot be read piece by piece.

    Raises: as `read_catalogue`.
    """
    found = _looked_through(path, ways, piece_bytes, progress)
    return None if found is None else found[0]


def _looked_through(
    path: Path, ways: Ways, piece_bytes: int, progress: Progress | None
) -> tuple[Plan, Start, int] | None:
    """The plan, where the rows begin, and how many cells a row has that leaves out its last ones on purpose."""
    start = _start(path, ways)
    if start is None:
        return None
    named, _ = named_after_file(path, ways, start.header)
    plan = draft(start.header, path.name, named)
    evidence = {column.index: Evidence() for column in plan.columns if column.meaning in DECIDING}
    short, rows = Counter[int](), 0
    for table in _tables(path, start, ways, piece_bytes, progress):
        if table is None:
            return None
        for index, found in evidence.items():
            found.add(table.block.columns[index])
        short += table.short
        rows += len(table.block) + len(table.rejects)
    empty = Evidence()
    plan = decided(plan, [evidence.get(index, empty) for index in range(len(start.header))])
    return plan, start, meant_short(short, rows)


def catalogue_of_frame(frame: DataFrame, plan: Plan) -> Catalogue:
    """Read the rows of a data frame of texts by a plan, such as one partition of a longer list; rejects are left out.

    Parameters: frame, columns named by the headings of the plan; plan, from `plan_of`.
    """
    return _converted_frame(frame, plan).catalogue


def reading_of_frame(frame: DataFrame, plan: Plan) -> CatalogueReading:
    """Read one partition as `catalogue_of_frame`, with the account of its rows; lines are those of the partition."""
    reading = joined([Part(_converted_frame(frame, plan), (), (), ())])
    return replace(reading, findings=tuple(found for found in reading.findings if found.code != "no_row_kept"))


def _converted_frame(frame: DataFrame, plan: Plan) -> Converted:
    columns = tuple(coded([_cell(value) for value in frame[name].tolist()]) for name in plan.header)
    return convert(Block(np.arange(len(frame), dtype=np.int64), columns), plan)


def _cell(value: Any) -> Cell:
    return "" if value is None or value != value else value if isinstance(value, (str, float)) else str(value)


def _start(path: Path, ways: Ways) -> Start | None:
    if path.is_dir() or path.stat().st_size > ways.limits.size_bytes:
        return None  # read_catalogue says what is wrong
    with _opened(path) as stream:
        try:
            head = stream.read(4 * MEGABYTE)
        except (OSError, EOFError):
            return None
    if head[:4] in (b"PK\x03\x04", b"PAR1") or b"\x00" in head[:2000]:
        return None
    start = start_of(head, ways.words, ways.column_map.headings, ways.column_map.delimiter, any_page=True)
    return None if start is None or len(start.header) > ways.limits.columns else start


def _opened(path: Path) -> BinaryIO:
    with path.open("rb") as stream:
        packed = stream.read(2) == b"\x1f\x8b"
    return cast("BinaryIO", gzip.open(path)) if packed else path.open("rb")


def _tables(
    path: Path, start: Start, ways: Ways, piece_bytes: int, progress: Progress | None, meant: int | None = None
) -> Iterator[Table | None]:
    """Yield each piece as a table; None where the list turns out to hold more than one table."""
    size, done, line = path.stat().st_size, 0, start.line + 1
    with _opened(path) as stream:
        stream.read(start.offset)
        for piece in _pieces(stream, piece_bytes):
            done += len(piece)
            if done > ways.limits.size_bytes:
                raise error("list_too_large", where=str(path), saw=f"more than {ways.limits.size_bytes // MEGABYTE} MB")
            yield _table(piece, start, line, path.name, ways, meant)
            line += piece.count(b"\n")
            if line > ways.limits.rows:
                raise error("list_too_large", where=str(path), saw=f"more than {ways.limits.rows:,} rows")
            if progress:
                progress(done, size)


def _pieces(stream: BinaryIO, piece_bytes: int) -> Iterator[bytes]:
    """Cut a stream after line ends at which all quotes are closed."""
    data = stream.read(piece_bytes)
    while more := stream.read(piece_bytes):
        end = _closed_end(data)
        end = len(data) if not end and len(data) > piece_bytes + LONGEST_CELL else end
        rest = data[end:]
        if end:
            yield data[:end]
        data = rest + more
    if data:
        yield data


def _closed_end(data: bytes) -> int:
    end = data.rfind(b"\n") + 1
    if data.count(b'"', 0, end) % 2 == 0:
        return end
    at = end
    while at and end - at < LONGEST_CELL:
        at = data.rfind(b"\n", 0, at - 1) + 1
        if data.count(b'"', at, end) % 2:
            return at
    return end


def _table(piece: bytes, start: Start, line: int, file: str, ways: Ways, meant: int | None) -> Table | None:
    fast = _fast(piece, start, line, file, ways)
    if fast is not None and not (meant and fast.short[meant]):
        return fast
    lines = replace(lines_of(decode(piece, file).text, ways.limits, file), first=line)
    header = Record(start.line, [str(cell) for cell in start.cells])
    rows = [header, *records(lines, start.dialect, len(start.header))]
    tables = tables_of(
        Found(0, start.cells, 12.0), rows, file, ways.words, ways.limits, complete=lines.complete, meant=meant
    )
    return tables[0] if len(tables) == 1 else None


def _fast(piece: bytes, start: Start, line: int, file: str, ways: Ways) -> Table | None:
    if start.dialect.quote != '"' or start.dialect.escape or len(piece) < LARGE:
        return None
    return bulk_table(piece, 0, start, line, file, ways.words)


def _piece_reading(
    table: Table, plan: Plan, repeats: Repeats, columns: tuple[ColumnTaken, ...]
) -> tuple[CatalogueReading, tuple[ColumnTaken, ...]]:
    converted = convert(table.block, plan)
    said = sorted(set(converted.catalogue.currency.tolist()) - {""})
    columns = columns or tuple(taken(column, table, plan, " ".join(said)) for column in plan.columns)
    reading = _without_repeats(joined([Part(converted, columns, table.rejects, ())]), repeats)
    findings = tuple(found for found in reading.findings if found.code != "no_row_kept")
    return replace(reading, findings=findings), columns


def _without_repeats(reading: CatalogueReading, repeats: Repeats) -> CatalogueReading:
    """Drop and count the rows that an earlier piece had, and tell of items that differ from it."""
    springs = reading.catalogue
    new, again = repeats.sort_out(springs)
    kept = springs if new.all() else springs.take(new)
    dropped = len(springs) - len(kept)
    return replace(
        reading,
        catalogue=kept,
        rows_kept=len(kept),
        rows_duplicate=reading.rows_duplicate + dropped,
        findings=(*reading.findings, *_about_items_again(springs, again)),
    )


def _about_items_again(springs: Catalogue, rows: NDArray[np.intp]) -> list[Finding]:
    if not len(rows):
        return []
    shown = "; ".join(f"{springs.item[row]} in line {springs.line[row]} and before" for row in rows[:SHOWN].tolist())
    more = f" and {len(rows) - SHOWN} more" if len(rows) > SHOWN else ""
    return [finding("item_differs", where="catalogue", saw=shown + more)]
