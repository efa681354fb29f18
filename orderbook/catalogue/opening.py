"""From a file to its bytes: what it is by its content, unpacked, and refused while it is still small in memory."""

from __future__ import annotations

import gzip
import zlib
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path

from orderbook.errors import error

MEGABYTE = 1_000_000
WHOLE_BYTES = 64 * MEGABYTE  # lists read in one go; more is read piece by piece, in bounded memory


@dataclass(frozen=True, slots=True)
class Limits:
    """What a list may be at most: bytes (unpacked), rows, columns, characters of one line."""

    size_bytes: int = 200 * MEGABYTE
    rows: int = 5_000_000
    columns: int = 500
    line_letters: int = 1_000_000


def fit_in_one_go(paths: Iterable[Path]) -> bool:
    """Whether lists together are short enough to be read whole."""
    return sum(path.stat().st_size for path in paths) <= WHOLE_BYTES


@dataclass(frozen=True, slots=True)
class Opened:
    """A list's bytes and their kind: "text", "sheet" or "parquet"."""

    kind: str
    data: bytes


SIGNATURES = {
    b"%PDF": "a PDF document",
    b"\x89PNG": "a picture (PNG)",
    b"\xff\xd8\xff": "a picture (JPEG)",
    b"GIF8": "a picture (GIF)",
    b"\xd0\xcf\x11\xe0": "an old Office document (.xls, .doc)",
    b"Rar!": "a RAR archive",
    b"7z\xbc\xaf": "a 7-Zip archive",
    b"BZh": "a bzip2 archive",
    b"\xfd7zXZ": "an xz archive",
    b"(\xb5/\xfd": "a zstd archive",
    b"SQLite": "a database",
    b"{\\rtf": "an RTF document",
}


def open_list(path: Path, limits: Limits) -> Opened:
    """Read a list's bytes, unpacking gzip.

    Raises: OrderbookError(list_too_large | list_is_folder | list_empty | list_not_readable | list_damaged);
    OSError for what the system refuses.
    """
    if path.is_dir():
        raise error("list_is_folder", where=str(path), saw="a folder")
    if path.stat().st_size > limits.size_bytes:
        raise _too_large(path, limits)
    data = path.read_bytes()
    if data[:2] == b"\x1f\x8b":
        data = _unpacked(data, path, limits)
    if not data.strip(b"\r\n\t \x00\xef\xbb\xbf"):
        raise error("list_empty", where=str(path), saw="nothing in it")
    return Opened(_kind(data, path), data)


def _kind(data: bytes, path: Path) -> str:
    if data[:4] == b"PK\x03\x04":
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


def _unpacked(data: bytes, path: Path, limits: Limits) -> bytes:
    pieces, size = [], 0
    try:
        with gzip.open(path) as stream:
            while piece := stream.read(4 * MEGABYTE):
                pieces.append(piece)
                if (size := size + len(piece)) > limits.size_bytes:
                    raise _too_large(path, limits, "unpacked ")
    except (EOFError, gzip.BadGzipFile, zlib.error) as problem:
        raise error("list_damaged", where=str(path), saw=f"the gzip file cannot be unpacked ({problem})") from problem
    return b"".join(pieces)


def _too_large(path: Path, limits: Limits, what: str = "") -> Exception:
    return error("list_too_large", where=str(path), saw=f"{what}more than {limits.size_bytes // MEGABYTE} MB")
