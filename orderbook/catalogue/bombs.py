"""Spreadsheet files that unpack into more than they seem: refused before a reader fills the memory with them."""

from __future__ import annotations

import io
import re
import zipfile
from collections.abc import Iterator
from xml.parsers import expat

from orderbook.catalogue.opening import MEGABYTE, Limits
from orderbook.errors import OrderbookError, error

MOST_CELLS = 5_500_000  # a spreadsheet is held whole while it is opened, at some 90 bytes a cell
PIECE = 4 * MEGABYTE
_COLUMN = re.compile(rb'<c [^>]*?r="([A-Z]{1,3})[0-9]')
_ROW = re.compile(rb'<c [^>]*?r="[A-Z]{1,3}([0-9]{1,7})"')


def refuse_bombs(data: bytes, where: str, limits: Limits) -> None:
    """Unpack a spreadsheet piece by piece, keeping nothing, and stop where it would fill the memory.

    Raises: OrderbookError(list_too_large | too_many_columns | list_not_readable | list_damaged).
    """
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as archive:
            names = archive.namelist()
            if not any(name in ("[Content_Types].xml", "content.xml", "mimetype") for name in names):
                raise error("list_not_readable", where=where, saw="a ZIP archive that is no spreadsheet")
            _look_through(archive, where, limits)
    except (zipfile.BadZipFile, EOFError, ValueError, NotImplementedError, RuntimeError, expat.ExpatError) as problem:
        raise error("list_damaged", where=where, saw=f"the spreadsheet cannot be unpacked ({problem})") from problem
    except Exception as problem:
        if type(problem).__module__ == "zlib":
            raise error("list_damaged", where=where, saw="the spreadsheet cannot be unpacked") from problem
        raise


def _look_through(archive: zipfile.ZipFile, where: str, limits: Limits) -> None:
    size = cells = 0
    for info in archive.infolist():
        repeats = RepeatedCells() if info.filename == "content.xml" else None
        for tail, piece in _pieces(archive, info):
            if (size := size + len(piece)) > 4 * limits.size_bytes:
                raise error("list_too_large", where=where, saw=f"more than {size // MEGABYTE} MB unpacked")
            if repeats is not None:
                repeats.feed(piece)
                rows, columns = repeats.rows, repeats.columns
            else:
                rows, columns = _farthest(tail + piece)
                cells += piece.count(b"<c ") + piece.count(b"<c>")
            if problem := _too_much(rows, columns, cells, where, limits):
                raise problem


def _pieces(archive: zipfile.ZipFile, info: zipfile.ZipInfo) -> Iterator[tuple[bytes, bytes]]:
    """Yield each piece with the end of the one before, in which a tag may have begun."""
    with archive.open(info) as stream:
        tail = b""
        while piece := stream.read(PIECE):
            yield tail, piece
            tail = piece[-100:]


def _too_much(rows: int, columns: int, cells: int, where: str, limits: Limits) -> OrderbookError | None:
    if rows > limits.rows:
        return error("list_too_large", where=where, saw=f"a cell in row {rows:,}")
    if columns > limits.columns:
        return error("too_many_columns", where=where, saw=f"a cell in column {columns:,}, row {rows:,}")
    if max(cells, rows * columns) > MOST_CELLS:
        return too_many_cells(where)
    return None


def too_many_cells(where: str) -> OrderbookError:
    """Make the error for a spreadsheet that would fill the memory."""
    try_this = "Save the sheet as CSV: that is read piece by piece, however long it is."
    return error("list_too_large", where=where, saw=f"more than {MOST_CELLS:,} cells", try_this=try_this)


def _farthest(piece: bytes) -> tuple[int, int]:
    """The last row and column of an .xlsx: a single cell far out makes a reader fill all the cells before it."""
    rows, columns = set(_ROW.findall(piece)), set(_COLUMN.findall(piece))
    return max(map(int, rows), default=0), max(map(_number, columns), default=0)


def _number(letters: bytes) -> int:
    number = 0
    for letter in letters:
        number = number * 26 + letter - 64
    return number


class RepeatedCells:
    """The last filled row and column of the tables of an .ods, in which one cell or row can stand for many.

    >>> found = RepeatedCells()
    >>> found.feed(b'<t:table xmlns:t="T"><t:table-row t:number-rows-repeated="7">'
    ...            b'<t:table-cell t:number-columns-repeated="3" t:value-type="float"/><t:table-cell/></t:table-row>')
    >>> found.rows, found.columns
    (7, 3)
    """

    def __init__(self) -> None:
        """Begin before the first table."""
        self.rows = self.columns = 0
        self._row = self._column = self._repeated = 0
        self._filled = False
        self._parser = expat.ParserCreate()
        self._parser.StartElementHandler = self._start
        self._parser.EndElementHandler = self._end

    def feed(self, piece: bytes) -> None:
        """Take in some more of content.xml.

        Raises: xml.parsers.expat.ExpatError for what is no XML.
        """
        self._parser.Parse(piece)

    def _start(self, name: str, attributes: dict[str, str]) -> None:
        said = {key.rpartition(":")[2]: value for key, value in attributes.items()}
        match name.rpartition(":")[2]:
            case "table":
                self._row = 0
            case "table-row":
                self._repeated, self._column, self._filled = int(said.get("number-rows-repeated", 1)), 0, False
            case "table-cell" | "covered-table-cell":
                self._column += int(said.get("number-columns-repeated", 1))
                if "value-type" in said or "formula" in said:
                    self._fill()
            case "p":
                self._fill()

    def _fill(self) -> None:
        self._filled = True
        self.columns = max(self.columns, self._column)

    def _end(self, name: str) -> None:
        if name.rpartition(":")[2] != "table-row":
            return
        self._row += self._repeated
        if self._filled:
            self.rows = max(self.rows, self._row)
