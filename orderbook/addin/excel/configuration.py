"""The sheet of a live book that tells xlwings which Python to start."""

from __future__ import annotations

import sys
from collections.abc import Mapping
from pathlib import Path

import orderbook
from orderbook.addin.excel.macro_text import UDF_MODULE
from orderbook.errors import error
from orderbook.sheets.live_book import CONFIGURATION
from orderbook.xlsx.changes import Changes
from orderbook.xlsx.reading import OpenBook

VERSION = "0.37.8"  # of xlwings: the macro code names the library of this very version
# A key that stands here hides the user's own settings even when it is empty, so none is written without a value.
WRITTEN = {"UDF MODULES": UDF_MODULE, "SHOW CONSOLE": "False", "ADD_WORKBOOK_TO_PYTHONPATH": "False"}
INTERPRETERS = {"win32": "INTERPRETER_WIN", "darwin": "INTERPRETER_MAC"}
OURS = (*INTERPRETERS.values(), "PYTHONPATH")


def own_settings(platform: str = sys.platform, executable: str = sys.executable) -> dict[str, str]:
    """Return what this machine's Python must be called by: its path, and where the package lies in a checkout.

    >>> print(own_settings("win32", "C:/py/python.exe")["INTERPRETER_WIN"])
    C:/py/pythonw.exe
    """
    found = {}
    if key := INTERPRETERS.get(platform):
        found[key] = without_window(executable) if platform == "win32" else executable
    folder = Path(orderbook.__file__).resolve().parent.parent
    if folder.name != "site-packages":
        found["PYTHONPATH"] = str(folder)
    return found


def without_window(executable: str) -> str:
    """Return the interpreter that opens no console window, by its full path: a bare name finds xlwings' library not."""
    return executable.removesuffix("python.exe") + "pythonw.exe" if executable.endswith("python.exe") else executable


def settings_in(book: OpenBook) -> dict[str, str]:
    """Return what the book tells xlwings, from its first column down to the first gap.

    Raises: OrderbookError(not_a_live_book) for a book without that sheet.
    """
    return {key: value for key, (_, value) in _rows(book).items()}


def _rows(book: OpenBook) -> dict[str, tuple[int, str]]:
    if CONFIGURATION not in book.cells:
        raise error("not_a_live_book", where=str(book.path), saw=f"no sheet {CONFIGURATION}")
    cells = book.cells[CONFIGURATION]
    found: dict[str, tuple[int, str]] = {}
    while (head := cells.get((len(found), 0))) is not None and head.value:
        value = cells.get((len(found), 1))
        found[str(head.value).upper()] = (len(found), str(value.value) if value and value.value is not None else "")
    return found


def changes_for(book: OpenBook, wanted: Mapping[str, str]) -> Changes:
    """Return the changes that put `wanted` into the sheet, in rows that are there or just below."""
    rows, changes = _rows(book), Changes()
    below = len(rows)
    for key, value in wanted.items():
        row = rows[key][0] if key in rows else below
        below += key not in rows
        changes.put(CONFIGURATION, (row, 0), key)
        changes.put(CONFIGURATION, (row, 1), value)
    return changes
