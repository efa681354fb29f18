"""Builds the template again from its definition: `python -m orderbook.sheets.template`."""

from __future__ import annotations

from orderbook.locate import data_folder
from orderbook.sheets.blank_book import TEMPLATE
from orderbook.sheets.new_book import new_book_bytes


def template_bytes() -> bytes:
    """Return the empty book that `orderbook new` copies."""
    return new_book_bytes({})


if __name__ == "__main__":
    (data_folder("workbook_template") / TEMPLATE).write_bytes(template_bytes())
