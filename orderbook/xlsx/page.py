"""A sheet as plain data before it is a file: cells, widths, drop-downs, charts.

Being data, a page can be evaluated (so that every formula carries its value) and compared, without a file.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from typing import Any

Place = tuple[int, int]


@dataclass(frozen=True, slots=True)
class Formula:
    """A native formula; its value is worked out before the book is written."""

    text: str


@dataclass(frozen=True, slots=True)
class ArrayFormula:
    """A formula of ours that answers a whole rectangle, from its first cell on."""

    text: str
    rows: int
    cols: int


@dataclass(frozen=True, slots=True)
class Look:
    """A named style with a number format and the few things that may differ from cell to cell."""

    style: str
    format: str = ""
    align: str = ""
    indent: int = 0
    bold: bool = False
    fill: str = ""
    size: str = ""
    wrap: bool | None = None
    left: str = ""
    shrink: bool = False


@dataclass(frozen=True, slots=True)
class Cell:
    """What a cell holds and how it looks."""

    value: Any
    look: Look


@dataclass(frozen=True, slots=True)
class LaidTable:
    """Where a table of the definition lies on a page (rows and columns from 0, the header row included)."""

    name: str
    top: int
    left: int
    bottom: int
    right: int


@dataclass(slots=True)
class Page:
    """One sheet being laid out."""

    name: str
    widths: list[int] = field(default_factory=list)
    hidden: set[int] = field(default_factory=set)
    folds: set[int] = field(default_factory=set)  # columns that fold away together
    heights: list[int] = field(default_factory=list)
    fitted_from: int | None = None  # the first row whose height a program fits to what is typed
    cells: dict[Place, Cell] = field(default_factory=dict)
    tables: list[LaidTable] = field(default_factory=list)
    drop_downs: list[dict[str, Any]] = field(default_factory=list)
    highlights: list[dict[str, Any]] = field(default_factory=list)
    charts: list[dict[str, Any]] = field(default_factory=list)
    names: dict[str, Place] = field(default_factory=dict)
    freeze: Place | None = None
    area: tuple[int, int, int, int] | None = None
    repeat_row: int | None = None
    show_heads: bool = False

    def put(self, row: int, col: int, value: Any, look: Look) -> None:
        """Lay a value into a cell."""
        self.cells[row, col] = Cell(value, look)

    def fill(self, row: int, cols: Iterable[int], look: Look) -> None:
        """Give empty cells a look, so that rules run through."""
        for col in cols:
            self.cells.setdefault((row, col), Cell(None, look))


def band(page: Page, row: int, first: int, last: int, text: str, notes: Mapping[int, str] | None = None) -> None:
    """Lay a block title: words over a steel rule, with small notes on the same rule."""
    for col in range(first, last + 1):
        page.put(row, col, None, Look("block"))
    page.put(row, first, text, Look("block"))
    for col, note in (notes or {}).items():
        page.put(row, col, note, Look("block_note"))


def letters(col: int) -> str:
    """Return the name of a column counted from 0.

    >>> letters(0), letters(27)
    ('A', 'AB')
    """
    name, rest = "", col + 1
    while rest:
        rest, last = divmod(rest - 1, 26)
        name = chr(65 + last) + name
    return name


def address(row: int, col: int, *, fixed: bool = True) -> str:
    """Return `$B$4` (or `B4`) of a cell counted from 0."""
    return f"${letters(col)}${row + 1}" if fixed else f"{letters(col)}{row + 1}"
