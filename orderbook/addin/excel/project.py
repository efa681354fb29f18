"""Builds the macro part of a live book and keeps it with the template: `python -m orderbook.addin.excel.project`.

Only this file needs pyOpenVBA and the text of xlwings; a book is made from what is kept.
"""

from __future__ import annotations

import struct
import tempfile
from collections.abc import Sequence
from pathlib import Path

from orderbook.addin.excel.macro_text import BUTTON, book_module, functions_module
from orderbook.addin.excel.ribbon import MODULE, menu_module
from orderbook.locate import data_folder

KEPT = "macros.bin"
BOOK_NAME = "ThisWorkbook"
# records of the project's directory (MS-OVBA 2.3.4.2)
VERSION, MODULES_COOKIE, STREAM_NAME, COOKIE, TEXT_OFFSET, END = 0x09, 0x13, 0x1A, 0x2C, 0x31, 0x10
NOTHING_COMPILED = b"\xcc\x61\xff\xff\x00\x01\x00"  # MS-OVBA 3.1.1: what a writer that has no compiled code writes


def kept_project() -> bytes:
    """Return the macro part as it is kept with the template."""
    return (data_folder("workbook_template") / KEPT).read_bytes()


def code_names(count: int) -> list[str]:
    """Return the names the sheets of a book have in its macro code.

    >>> code_names(2)
    ['Sheet1', 'Sheet2']
    """
    return [f"Sheet{number}" for number in range(1, count + 1)]


def build_project(sheets: int) -> bytes:
    """Return the macro part for a book of so many sheets; the same table gives the same bytes.

    A scratch book with the same code names makes every sheet a document of the project and not a class.
    """
    import xlsxwriter
    from pyopenvba import ExcelFile
    from pyopenvba.vba import VBAModuleKind

    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "scratch.xlsm"
        scratch = xlsxwriter.Workbook(path)
        scratch.set_vba_name(BOOK_NAME)
        for name in code_names(sheets):
            scratch.add_worksheet().set_vba_name(name)
        scratch.close()
        with ExcelFile(path) as book:
            project = book.add_vba_project()
            book.set_module(BOOK_NAME, _lines(book_module()))
            for name, text in standard_modules().items():
                project.add_module(name, _lines(text))
            project.add_module("Dictionary", _lines(_xlwings_text("addin/Dictionary.cls")), kind=VBAModuleKind.other)
            book.save()
        with ExcelFile(path) as book:
            if problems := book.validate():
                raise ValueError(f"the macro part is not sound: {problems}")
            return without_compiled_remains(book.vba_project_bytes())


def standard_modules() -> dict[str, str]:
    """Return the modules of code by name; `xlwings` is that package's own text."""
    return {
        "xlwings": _xlwings_text("xlwings.bas"),
        "xlwings_udfs": functions_module(),
        "orderbook_button": BUTTON,
        MODULE: menu_module(),
    }


def _xlwings_text(name: str) -> str:
    import xlwings

    return (Path(xlwings.__file__).parent / name).read_text(encoding="utf-8")


def _lines(text: str) -> str:
    return "\r\n".join(text.splitlines()) + "\r\n"


def without_compiled_remains(data: bytes) -> bytes:
    """Leave only what MS-OVBA lets a writer write: the text of the modules, nothing compiled."""
    from pyopenvba.cfb import CFB
    from pyopenvba.vba import compress, decompress

    file = CFB.from_bytes(data)
    kept, stream = b"", ""
    for kind, body in _records(decompress(file.get_stream_in_storage("VBA", "dir"))):
        if kind == STREAM_NAME:
            stream = body.decode("cp1252")
        if kind == TEXT_OFFSET:
            whole = file.get_stream_in_storage("VBA", stream)
            file.write_stream_in_storage("VBA", stream, whole[struct.unpack("<I", body)[0] :])
        kept += _record(kind, {MODULES_COOKIE: b"\xff\xff", COOKIE: b"\xff\xff", TEXT_OFFSET: bytes(4)}.get(kind, body))
    file.write_stream_in_storage("VBA", "dir", compress(kept))
    file.write_stream_in_storage("VBA", "_VBA_PROJECT", NOTHING_COMPILED)
    return bytes(file.to_bytes())


def _records(directory: bytes) -> Sequence[tuple[int, bytes]]:
    """Take the directory apart, up to its end record (some writers leave bytes behind it)."""
    found, at, kind = [], 0, 0
    while kind != END:
        kind, size = struct.unpack_from("<HI", directory, at)
        size = 6 if kind == VERSION else size  # the one record whose size field says something else
        found.append((kind, directory[at + 6 : at + 6 + size]))
        at += 6 + size
    return found


def _record(kind: int, body: bytes) -> bytes:
    return struct.pack("<HI", kind, 4 if kind == VERSION else len(body)) + body


if __name__ == "__main__":
    from orderbook.sheets.live_book import macro_book_sheets

    (data_folder("workbook_template") / KEPT).write_bytes(build_project(len(macro_book_sheets())))
