"""A stretch of a list as columns: each distinct cell once, and which row has which."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import ClassVar, NamedTuple, cast

import numpy as np
from numpy.typing import NDArray

from orderbook.catalogue.marks import UNDECIDED, evidence
from orderbook.catalogue.sizes import MISSING, Written, written

Cell = str | float | None  # None: a spreadsheet's date, which nobody meant as a size

PLAIN = "0123456789.,"


@dataclass(eq=False)
class Coded:
    """One column. What is worked out of a cell is worked out once, however many rows have it."""

    codes: NDArray[np.int32]
    cells: list[Cell]
    is_plain: ClassVar[bool] = False  # whether there is a cell for each row, in order

    @cached_property
    def texts(self) -> list[str]:
        """The distinct cells as text, stripped; a formula's guard quote taken off."""
        if {*map(type, self.cells)} == {str} and "'" not in "".join(cast("list[str]", self.cells)):
            return [*map(str.strip, cast("list[str]", self.cells))]
        return [shown(cell) for cell in self.cells]

    @cached_property
    def missing(self) -> list[int]:
        """The distinct cells that say nothing."""
        return [at for at, text in enumerate(map(str.casefold, self.texts)) if text in MISSING]

    @cached_property
    def sizes(self) -> list[Written | None]:
        """The distinct cells as numbers with their units."""
        return [size_cell(cell) for cell in self.cells]

    @cached_property
    def blank(self) -> NDArray[np.bool_]:
        """Which distinct cells have nothing in them."""
        return np.fromiter((not str(cell).strip() for cell in self.cells), dtype=bool, count=len(self.cells))

    def take(self, rows: NDArray[np.bool_]) -> Coded:
        """The rows of a mask."""
        return Coded(self.codes[rows], self.cells)

    @cached_property
    def counts(self) -> NDArray[np.int64]:
        """How many rows have each distinct cell."""
        return np.bincount(self.codes, minlength=len(self.cells))


@dataclass(frozen=True, slots=True, eq=False)
class Block:
    """Rows of one table: their line numbers and their columns."""

    lines: NDArray[np.int64]
    columns: tuple[Coded, ...]

    def __len__(self) -> int:
        """Return how many rows there are."""
        return len(self.lines)

    def take(self, rows: NDArray[np.bool_]) -> Block:
        """The rows of a mask."""
        return Block(self.lines[rows], tuple(column.take(rows) for column in self.columns))


def coded(cells: Sequence[Cell]) -> Coded:
    """Code a column of cells.

    >>> column = coded(["2,5", "2,6", "2,5"])
    >>> column.codes.tolist(), column.cells
    ([0, 1, 0], ['2,5', '2,6'])
    """
    places: dict[Cell, int] = {}
    codes = np.fromiter((places.setdefault(cell, len(places)) for cell in cells), dtype=np.int32, count=len(cells))
    return Coded(codes, list(places))


def block(lines: Sequence[int], rows: Sequence[Sequence[Cell]], width: int) -> Block:
    """Make a block of rows that all have `width` cells."""
    columns = zip(*rows, strict=True) if rows else ((),) * width
    return Block(np.asarray(lines, dtype=np.int64), tuple(coded(column) for column in columns))


def shown(cell: Cell) -> str:
    """Return a cell as text.

    >>> shown(70000.0), shown(0.16), shown(" '=A1 "), shown(None)
    ('70000', '0.16', '=A1', '(a date)')
    """
    if cell is None:
        return "(a date)"
    if isinstance(cell, str):
        text = cell.strip()
        return text[1:] if len(text) > 1 and text[0] == "'" and text[1] in "=+-@\t\r" else text
    return str(int(cell)) if cell == int(cell) else repr(cell)


def size_cell(cell: Cell) -> Written | None:
    """Take a size cell apart; a spreadsheet's number has a decimal point, whatever it looks like."""
    if cell is None:
        return None
    if isinstance(cell, str):
        text = cell.strip()
        return Written(text, "") if text and text[0] in PLAIN and not text.strip(PLAIN) else written(text)
    text = shown(cell)
    return Written(text + "0" if evidence(text) == UNDECIDED else text, "")


class Rows(NamedTuple):
    """Rows cut apart: coded columns, and the rows of another width with their places among all rows."""

    columns: tuple[Coded, ...]
    irregular: list[tuple[int, list[str]]]

    def __len__(self) -> int:
        """How many rows there are, irregular ones with them."""
        return len(self.columns[0].codes) + len(self.irregular)
