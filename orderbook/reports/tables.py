"""Tables for a person to read: plain columns, a rule under the heads, numbers to the right."""

from __future__ import annotations

import textwrap
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from io import StringIO
from typing import TYPE_CHECKING, Literal

from orderbook.measures.plus_minus import plus_minus as plus_minus
from orderbook.measures.plus_minus import with_plus_minus as with_plus_minus

if TYPE_CHECKING:
    from rich.box import Box


WIDTH = 100  # characters of a line of words


@dataclass(frozen=True, slots=True)
class TextColumn:
    """One column: its head (a second line may hold the unit), where its cells stand, whether long text may wrap."""

    head: str
    align: Literal["left", "right", "center"] = "left"
    wraps: bool = False


def table(
    columns: Sequence[TextColumn | str],
    rows: Iterable[Sequence[str]],
    *,
    width: int = WIDTH,
    bold_row: int | None = None,
) -> str:
    """Lay rows of text out in columns; a column that may wrap gives way when the width is short.

    Parameters: rows of as many cells as columns; width in characters; bold_row, a row to stress on a terminal.
    Returns: the lines as one text, without a newline at the end.

    >>> print(table(["what", TextColumn("mm", "right")], [["width", "3.00"], ["strength", "0.105"]]))
    what         mm
    ───────────────
    width      3.00
    strength  0.105
    """
    from rich.console import Console
    from rich.table import Table
    from rich.text import Text

    grid = Table(box=_rule_under_heads(), pad_edge=False, show_edge=False, header_style="", collapse_padding=True)
    for column in columns:
        told = TextColumn(column) if isinstance(column, str) else column
        grid.add_column(told.head, justify=told.align, no_wrap=not told.wraps, overflow="fold")
    for number, row in enumerate(rows):
        grid.add_row(*map(Text, row), style="bold" if number == bold_row else "")
    page = StringIO()
    Console(file=page, width=width, highlight=False, markup=False, color_system=None, legacy_windows=False).print(grid)
    return "\n".join(line.rstrip() for line in page.getvalue().splitlines())


def wrapped(text: str, width: int = WIDTH, *, set_in: str = "") -> str:
    """Break a sentence into lines of a page, its later lines set in by two; `set_in` sets in all of them alike.

    >>> print(wrapped("Note: " + "seven " * 18))
    Note: seven seven seven seven seven seven seven seven seven seven seven seven seven seven seven
      seven seven seven
    """
    return textwrap.fill(text, width, initial_indent=set_in, subsequent_indent=set_in or "  ")


def money_text(text: str, currency: str) -> str:
    """Write an amount with its thousands apart and its currency behind.

    >>> money_text("1234.50", "GBP")
    '1,234.50 GBP'
    """
    whole, point, minor = text.partition(".")
    sign, digits = ("-", whole[1:]) if whole.startswith("-") else ("", whole)
    return f"{sign}{int(digits):,}{point}{minor} {currency}".rstrip()


def _rule_under_heads() -> Box:
    from rich.box import Box as Rules

    return Rules("    \n    \n ── \n    \n    \n    \n    \n    \n")
