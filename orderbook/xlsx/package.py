"""A book as a zip package: raw copying of the parts that do not change, and refusing what is not a book we can keep.

Parts that are not rewritten keep their packed bytes, their order and their zip headers.
"""

from __future__ import annotations

import contextlib
import copy
import zipfile
from collections.abc import Callable, Collection, Iterable, Iterator, Mapping
from pathlib import Path
from typing import IO, Any

from orderbook.errors import OrderbookError, error

CHUNK = 1 << 18
MOST_UNPACKED = 1 << 30
MOST_RATIO = 400  # deflate reaches about 1030 on nothing but zeros; sheets of blank rows reach about 60
RATIO_MATTERS_ABOVE = 1 << 25
_COMPOUND = b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1"
_ENCRYPTED = "EncryptedPackage".encode("utf-16-le")

Edit = Callable[[Iterator[bytes]], Iterable[bytes | memoryview]]
"""Takes the pieces of a part and gives the pieces of the new part."""


def open_package(path: Path) -> zipfile.ZipFile:
    """Open a book's package for reading, refusing what is not a book that can be kept without loss.

    Raises: OrderbookError that says how to save the book instead.
    """
    if path.is_dir():
        raise error("book_kind", where=str(path), saw="this is a folder")
    _refuse_other_kinds(path)
    try:
        package = zipfile.ZipFile(path)
    except (zipfile.BadZipFile, EOFError) as problem:
        raise error("book_damaged", where=str(path), saw=f"the package cannot be read ({problem})") from None
    try:
        _refuse(package, path)
    except BaseException:
        package.close()
        raise
    return package


def rewrite(
    source: zipfile.ZipFile, target: IO[bytes], changes: Mapping[str, Edit], without: Collection[str] = ()
) -> None:
    """Copy a package to `target`, part by part and raw, but for the parts in `changes` and those left out."""
    infos = sorted(source.infolist(), key=lambda info: info.header_offset)
    if missing := set(changes) - {info.filename for info in infos}:
        raise KeyError(f"no such part: {', '.join(sorted(missing))}")
    ends = [info.header_offset for info in infos[1:]] + [source.start_dir]
    with zipfile.ZipFile(target, "w") as out:
        out.comment = source.comment
        for info, end in zip(infos, ends, strict=True):
            if info.filename in without:
                continue
            if info.filename in changes:
                _packed(source, info, changes[info.filename], out)
            else:
                _raw(source, info, end, out)


def _packed(source: zipfile.ZipFile, info: zipfile.ZipInfo, edit: Edit, out: zipfile.ZipFile) -> None:
    new = zipfile.ZipInfo(info.filename, info.date_time)
    new.compress_type = zipfile.ZIP_DEFLATED
    new.external_attr, new.create_system = info.external_attr, info.create_system
    with out.open(new, "w", force_zip64=info.file_size > 1 << 30) as member:
        for piece in edit(pieces_of(source, info)):
            member.write(piece)


def pieces_of(package: zipfile.ZipFile, info: zipfile.ZipInfo | str) -> Iterator[bytes]:
    """Yield the bytes of a part, a piece at a time."""
    with package.open(info) as member:
        while piece := member.read(CHUNK):
            yield piece


def _raw(source: Any, info: zipfile.ZipInfo, end: int, out: Any) -> None:
    """Copy local header, packed bytes and any descriptor exactly as they stand.

    This uses fields of zipfile that are not in its documentation; a test copies packages of many makers to hold it.
    """
    moved = copy.copy(info)
    moved.header_offset = out.fp.seek(out.start_dir)
    source.fp.seek(info.header_offset)
    left = end - info.header_offset
    while left:
        piece = source.fp.read(min(CHUNK, left))
        if not piece:
            raise error("book_damaged", where=str(source.filename), saw="the package ends too early")
        left -= out.fp.write(piece)
    out.start_dir, out._didModify = out.fp.tell(), True
    out.filelist.append(moved)
    out.NameToInfo[moved.filename] = moved


def _refuse_other_kinds(path: Path) -> None:
    with path.open("rb") as file:
        head = file.read(8)
        if head == _COMPOUND:
            rest = file.read(1 << 20) + _tail(file)
            if _ENCRYPTED in rest:
                raise error("book_encrypted", where=str(path), saw="the book is protected by a password")
            raise error("book_kind", where=str(path), saw="this is an old .xls book, or not a book")
    if not head:
        raise error("book_damaged", where=str(path), saw="the file is empty")
    if head[:4] not in (b"PK\x03\x04", b"PK\x05\x06"):
        raise error("book_kind", where=str(path), saw=f"the file begins with {_shown(head)}, which is no .xlsx book")


def _tail(file: IO[bytes]) -> bytes:
    file.seek(0, 2)
    file.seek(max(file.tell() - (1 << 20), 0))
    return file.read()


def _shown(head: bytes) -> str:
    text = head.decode("utf-8", "replace").replace("\r", "\n").split("\n")[0]
    return f'"{text}"' if text and text.isprintable() else "bytes that are not text"


def _refuse(package: zipfile.ZipFile, path: Path) -> None:
    infos = package.infolist()
    names = [info.filename for info in infos]
    for refusal in (_other_format(package, names), _signed(names), _bomb(infos)):
        if refusal:
            code, saw = refusal
            raise error(code, where=str(path), saw=saw)
    if len(set(names)) < len(names):
        raise error("book_damaged", where=str(path), saw="the package holds two parts of one name")
    if any(info.flag_bits & 1 for info in infos):
        raise error("book_encrypted", where=str(path), saw="parts of the package are protected by a password")


def _other_format(package: zipfile.ZipFile, names: list[str]) -> tuple[str, str] | None:
    if "mimetype" in names and package.read("mimetype").startswith(b"application/vnd.oasis"):
        return "book_kind", "this is an OpenDocument (.ods) book"
    if any(name.endswith("workbook.bin") for name in names):
        return "book_kind", "this is a binary (.xlsb) book"
    if "[Content_Types].xml" not in names:
        return "book_kind", "this is a zip file, but no .xlsx book"
    return None


def _signed(names: list[str]) -> tuple[str, str] | None:
    if any(name.startswith("_xmlsignatures/") for name in names):
        return "book_signed", "the book carries a digital signature, which any change would break"
    return None


def _bomb(infos: list[zipfile.ZipInfo]) -> tuple[str, str] | None:
    total = sum(info.file_size for info in infos)
    if total > MOST_UNPACKED:
        return "book_too_large", f"it would unpack to {total / 1e9:.1f} GB"
    for info in infos:
        if info.file_size > RATIO_MATTERS_ABOVE and info.file_size > MOST_RATIO * max(info.compress_size, 1):
            return (
                "book_too_large",
                f"{info.filename} would unpack to {info.file_size / max(info.compress_size, 1):.0f} times",
            )
    return None


def read_part(package: zipfile.ZipFile, name: str, path: Path) -> bytes:
    """Return a part's bytes; a damaged one is an error that names it."""
    with reading(name, path):
        return package.read(name)


@contextlib.contextmanager
def reading(name: str, path: Path) -> Iterator[None]:
    """Make an error that names the part of whatever goes wrong while it is unpacked."""
    try:
        yield
    except (zipfile.BadZipFile, EOFError, KeyError, OSError, NotImplementedError) as problem:
        if isinstance(problem, OrderbookError):
            raise
        raise error("book_damaged", where=str(path), saw=f"its part {name} cannot be read ({problem})") from None
