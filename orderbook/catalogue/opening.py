"""From a file to its bytes: what it is by its content, and refused while it is still small in memory."""

from __future__ import annotations

import gzip
import io
import zipfile
import zlib
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, BinaryIO, cast

from orderbook.errors import error

if TYPE_CHECKING:
    from _typeshed import WriteableBuffer

MEGABYTE = 1_000_000
TAGS = 4  # bytes of a spreadsheet's XML for one of its text
WHOLE_BYTES = 64 * MEGABYTE  # lists read in one go; more is read piece by piece, in bounded memory


@dataclass(frozen=True, slots=True)
class Limits:
    """What a list may be at most: bytes (unpacked), rows, columns, characters of one line."""

    size_bytes: int = 200 * MEGABYTE
    rows: int = 5_000_000
    columns: int = 500
    line_letters: int = 1_000_000


def fit_in_one_go(paths: Iterable[Path]) -> bool:
    """Whether lists together are short enough to be read whole; packed ones count as what they unpack into."""
    return sum(map(_unpacked_size, paths)) <= WHOLE_BYTES


def _unpacked_size(path: Path) -> int:
    size = path.stat().st_size
    if size < MEGABYTE:
        return size
    with path.open("rb") as stream:
        packed = stream.read(2)
        if packed == b"\x1f\x8b":
            stream.seek(-4, io.SEEK_END)
            return max(size, int.from_bytes(stream.read(4), "little"))
    if packed != b"PK":
        return size
    try:
        with zipfile.ZipFile(path) as archive:
            return max(size, sum(info.file_size for info in archive.infolist()) // TAGS)
    except zipfile.BadZipFile:
        return size  # reading it says what is wrong


@dataclass(frozen=True, slots=True)
class OpenedList:
    """A list's kind ("text", "sheet", "parquet"), how its bytes are opened, and how many there are (packed)."""

    kind: str
    open: Callable[[], BinaryIO]
    size: int

    @property
    def data(self) -> bytes:
        """All bytes."""
        with self.open() as stream:
            return stream.read()


SIGNATURES = {
    b"%PDF": "a PDF document",
    b"\x89PNG": "a picture (PNG)",
    b"\xff\xd8\xff": "a picture (JPEG)",
    b"GIF8": "a picture (GIF)",
    b"Rar!": "a RAR archive",
    b"7z\xbc\xaf": "a 7-Zip archive",
    b"BZh": "a bzip2 archive",
    b"\xfd7zXZ": "an xz archive",
    b"(\xb5/\xfd": "a zstd archive",
    b"SQLite": "a database",
    b"{\\rtf": "an RTF document",
}
OLD_OFFICE = b"\xd0\xcf\x11\xe0"


def open_list(path: Path, limits: Limits) -> OpenedList:
    """Find what a list is, unpacking gzip on the way.

    Raises: OrderbookError(list_too_large | list_is_folder | list_empty | list_not_readable | list_damaged);
    OSError for what the system refuses.
    """
    if path.is_dir():
        raise error("list_is_folder", where=str(path), saw="a folder")
    size = path.stat().st_size
    if size > limits.size_bytes:
        raise _too_large(path, limits)
    with path.open("rb") as stream:
        head = stream.read(4_000)
    opened: Callable[[], BinaryIO] = lambda: path.open("rb")  # noqa: E731
    if head[:2] == b"\x1f\x8b":
        head = _unpacked_head(path, limits)
        opened = lambda: cast("BinaryIO", io.BufferedReader(Unpacked(path)))  # noqa: E731
    if not head.strip(b"\r\n\t \x00\xef\xbb\xbf") and size <= 4_000:
        raise error("list_empty", where=str(path), saw="nothing in it")
    return OpenedList(_kind(head, path), opened, size)


class Unpacked(io.RawIOBase):
    """A gzip file read as plain bytes; one that breaks off is said to be damaged."""

    def __init__(self, path: Path) -> None:
        """Open the file."""
        self._path = path
        self._stream = gzip.GzipFile(path)

    def readable(self) -> bool:
        """It can be read."""
        return True

    def readinto(self, buffer: WriteableBuffer) -> int:
        """Read some bytes.

        Raises: OrderbookError(list_damaged).
        """
        try:
            return self._stream.readinto(buffer)
        except (EOFError, gzip.BadGzipFile, zlib.error) as problem:
            saw = f"the gzip file cannot be unpacked ({problem})"
            raise error("list_damaged", where=str(self._path), saw=saw) from problem

    def close(self) -> None:
        """Close the file."""
        self._stream.close()
        super().close()


def _kind(data: bytes, path: Path) -> str:
    if data[:4] in (b"PK\x03\x04", OLD_OFFICE):
        return "sheet"
    if data[:4] == b"PAR1":
        return "parquet"
    for signature, name in SIGNATURES.items():
        if data.startswith(signature):
            raise error("list_not_readable", where=str(path), saw=name)
    start = data[:1000].lstrip().lower()
    if start.startswith((b"<!doctype", b"<html")):
        raise error("list_not_readable", where=str(path), saw="a web page")
    if start.startswith((b"{", b"[{")):
        raise error("list_not_readable", where=str(path), saw="JSON")
    return "text"


def _unpacked_head(path: Path, limits: Limits) -> bytes:
    """The first bytes of a gzip file that does not unpack into more than a list may be."""
    size, head = 0, b""
    with io.BufferedReader(Unpacked(path)) as stream:
        while piece := stream.read(4 * MEGABYTE):
            head = head or piece[:4_000]
            if (size := size + len(piece)) > limits.size_bytes:
                raise _too_large(path, limits, "unpacked ")
    return head


def _too_large(path: Path, limits: Limits, what: str = "") -> Exception:
    return error("list_too_large", where=str(path), saw=f"{what}more than {limits.size_bytes // MEGABYTE} MB")
