"""Short readable identifiers: R-007, R-007-B1, N-0012, O-0031, P-0007, D-0004."""

from __future__ import annotations

import re
from collections.abc import Iterable

WIDTHS = {"R": 3, "N": 4, "O": 4, "P": 4, "D": 4}
_SHAPES = {
    "restoration": re.compile(r"R-\d{3,}"),
    "barrel": re.compile(r"R-\d{3,}-B\d+"),
    "need": re.compile(r"N-\d{3,}"),
    "order": re.compile(r"O-\d{3,}"),
    "parcel": re.compile(r"P-\d{3,}"),
    "drawer": re.compile(r"D-\d{3,}"),
}
# the tables whose rows have an identifier, and the column it stands in
IDENTIFIED = {
    "Restorations": "restoration", "Barrels": "barrel", "Needs": "need", "Drawer": "drawer", "Orders": "order"
}  # fmt: skip
EXAMPLES = {"restoration": "R-007", "barrel": "R-007-B1", "need": "N-0012", "order": "O-0031", "drawer": "D-0004"}


def tidy(text: str) -> str:
    """Return an identifier in its plain spelling: capitals, no spaces, a plain hyphen.

    >>> tidy(" o–0031 ")
    'O-0031'
    """
    return re.sub(r"\s+", "", text).replace("–", "-").replace("−", "-").upper()


def is_shaped(kind: str, text: str) -> bool:
    """Return whether a text has the shape of an identifier of this kind.

    >>> is_shaped("order", "O-0031"), is_shaped("order", "31")
    (True, False)
    """
    return _SHAPES[kind].fullmatch(text) is not None


def several(text: str) -> tuple[str, ...]:
    """Return the identifiers of a cell that may hold several.

    >>> several("N-0003, n-0004; N-0005")
    ('N-0003', 'N-0004', 'N-0005')
    """
    return tuple(tidy(piece) for piece in re.split(r"[,;\s]+", text) if piece)


def next_identifiers(letter: str, taken: Iterable[str], count: int = 1) -> tuple[str, ...]:
    """Return the next free identifiers: one above the highest taken, so that a number is never used again.

    >>> next_identifiers("O", ["O-0031", "O-0007"], 2)
    ('O-0032', 'O-0033')
    >>> next_identifiers("R", [])
    ('R-001',)
    """
    numbers = [int(m[1]) for text in taken if (m := re.fullmatch(rf"{letter}-(\d+)", text))]
    first = max(numbers, default=0) + 1
    return tuple(f"{letter}-{number:0{WIDTHS[letter]}d}" for number in range(first, first + count))


def restoration_of(barrel: str) -> str:
    """Return the restoration a barrel belongs to, by its name.

    >>> restoration_of("R-007-B1")
    'R-007'
    """
    return barrel.rpartition("-B")[0] or barrel
