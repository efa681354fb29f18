"""A formula as it reads in another cell: what is not fixed by `$` moves along, as where a cell is filled down."""

from __future__ import annotations

import re

from orderbook.xlsx.anatomy import column_number
from orderbook.xlsx.page import letters
from orderbook.xlsx.references import LAST_COL, LAST_ROW

_PIECE = re.compile(
    r"""(?P<left_alone>"(?:[^"]|"")*"|'(?:[^']|'')*'|\[(?:[^\[\]']|'.|\[(?:[^\[\]']|'.)*\])*\])
    |(?<![\w.$])(?P<cells>\$?[A-Z]{1,3}\$?\d{1,7}(?::\$?[A-Z]{1,3}\$?\d{1,7})?)(?![\w(.!])
    |(?<![\w.$])(?P<rows>\$?\d{1,7}:\$?\d{1,7})(?![\w.])
    |(?<![\w.$])(?P<columns>\$?[A-Z]{1,3}:\$?[A-Z]{1,3})(?![\w(.!])""",
    re.VERBOSE,
)
_END = re.compile(r"(\$?)([A-Z]*)(\$?)(\d*)")


def shifted(formula: str, down: int, right: int) -> str:
    """Return a formula as it reads so many rows down and columns to the right.

    Text, sheets, structured references and names stay; a reference that leaves the sheet becomes #REF!.

    >>> shifted("SUM($A2:B$4)&\\"A1\\"+'A1 x'!C3+Orders[[#This Row],[A1]]", 1, 2)
    'SUM($A3:D$4)&"A1"+\\'A1 x\\'!E4+Orders[[#This Row],[A1]]'
    """

    def moved(piece: re.Match[str]) -> str:
        if piece.lastgroup == "left_alone":
            return piece[0]
        ends = [_end(end, down, right) for end in piece[0].split(":")]
        return "#REF!" if None in ends else ":".join(filter(None, ends))

    return _PIECE.sub(moved, formula)


def _end(text: str, down: int, right: int) -> str | None:
    """Move one end of a reference; None where it leaves the sheet."""
    match = _END.fullmatch(text)
    assert match
    first, column, second, row = match.groups()
    if column == "":  # of whole rows: the mark before the number was taken for a column's
        first, second = "", first
    place = column_number(column) + (0 if first else right) if column else 0
    number = int(row) - 1 + (0 if second else down) if row else 0
    if not (0 <= place <= LAST_COL and 0 <= number <= LAST_ROW):
        return None
    return f"{first}{letters(place) if column else ''}{second}{number + 1 if row else ''}"
