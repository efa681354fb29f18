"""A new, empty book: a copy of the template, made without what builds one."""

from __future__ import annotations

import shutil
from pathlib import Path

from orderbook.errors import error
from orderbook.locate import data_folder

TEMPLATE = "book.xlsx"


def copy_template(path: Path) -> None:
    """Make a new, empty book: a copy of the template.

    Raises: OrderbookError if there is a file of that name already, or the name does not end in .xlsx.
    """
    may_be_made(path)
    with (data_folder("workbook_template") / TEMPLATE).open("rb") as source, path.open("xb") as target:
        shutil.copyfileobj(source, target)


def may_be_made(path: Path) -> None:
    """Refuse a name that is taken, or that a spreadsheet program would not open.

    Raises: OrderbookError(book_name | book_exists).
    """
    if path.suffix.lower() != ".xlsx":
        raise error("book_name", where=str(path), saw=f"the name ends in {path.suffix or 'nothing'}")
    if path.exists():
        raise error("book_exists", where=str(path), saw="there is a file of that name already")
