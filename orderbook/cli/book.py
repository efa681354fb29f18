"""The flags that let a command ask a book in place of readings and lists."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import click

from orderbook.errors import error

FLAGS = (
    click.option("--book", type=click.Path(path_type=Path), metavar="BOOK", help="Take everything from a book."),
    click.option("--barrel", metavar="ID", help="Which barrel of the book, such as R-007-B1."),
    click.option("--write", is_flag=True, help="Store the answers of that barrel in the book."),
)


def on_a_book(command: Callable[..., Any]) -> Callable[..., Any]:
    """Give a command the flags --book, --barrel and --write."""
    for flag in reversed(FLAGS):
        command = flag(command)
    return command


def asked(book: Path | None, barrel: str | None, write: bool, *others: Any) -> bool:
    """Return whether a book is asked; flags that do not go together are an error.

    Raises: OrderbookError(flag_missing | flags_do_not_go_together).
    """
    if book is None:
        if barrel or write:
            raise error("flag_missing", where="--book", saw="--barrel and --write need a book")
        return False
    if barrel is None:
        raise error("flag_missing", where="--barrel", saw=f"no barrel of {book} is named")
    if any(others):
        raise error("flags_do_not_go_together", where="--book", saw="readings, lists or side files beside a book")
    return True
