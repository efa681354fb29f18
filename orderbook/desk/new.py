"""Make a new book."""

from __future__ import annotations

from pathlib import Path

from orderbook.workbook.new_book import copy_template


def new(book: Path) -> Path:
    """Make a new, empty book and return its path; a book that exists is never overwritten."""
    copy_template(book)
    return book
