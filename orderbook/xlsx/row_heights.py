"""How high a row must be for the sentences in it.

A program fits a row to its text when the text is typed there; a file must say the height itself. It is said without
`customHeight`, so that the program goes on fitting it.
"""

from __future__ import annotations

import textwrap
from collections.abc import Iterable
from functools import lru_cache

DOT = 0.75  # points
FIRST, LINE = 18, 17  # dots that one line takes, and each one more
SMALL, LARGE, EDGE = 5.8, 7.6, 16  # dots of a small letter, of a capital or digit, and of indent and margins


def height_of(texts: Iterable[tuple[str, int]]) -> int:
    """Return the height of a row in dots: of texts, each with the width in dots of its column.

    >>> height_of([("bore", 240)]), height_of([("never there: the bridge has no hole for it and nothing hung", 240)])
    (18, 35)
    """
    return FIRST + LINE * (max((_lines(text, width) for text, width in texts), default=1) - 1)


@lru_cache(maxsize=4096)
def _lines(text: str, width: int) -> int:
    if len(text) * LARGE <= width - EDGE and "\n" not in text:
        return 1
    dots = sum(LARGE if letter.isupper() or letter.isdigit() else SMALL for letter in text)
    letters = max(int((width - EDGE) * len(text) / dots), 1)
    return sum(max(len(textwrap.wrap(line, letters)), 1) for line in text.split("\n"))
