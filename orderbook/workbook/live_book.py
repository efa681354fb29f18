"""The live book: the plain book with a sheet of blocks that our functions answer."""

from __future__ import annotations

from orderbook.workbook.definition import book_definition

LIVE = "Live"
CONFIGURATION = "xlwings.conf"


def macro_book_sheets() -> tuple[str, ...]:
    """Return the sheets of a live macro book, in order."""
    return (*book_definition().sheets, LIVE, CONFIGURATION)
