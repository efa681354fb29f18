"""Numbers as a person writes them: three digits that matter, never a power of ten."""

from __future__ import annotations

import math


def plainly(value: float, digits: int = 3) -> str:
    """Write a number to so many significant digits, whole where it is larger, without a power of ten.

    Parameters: value, any number; digits that matter, at least one.
    Returns: the text; a dash where it is no number.

    >>> plainly(1478.6), plainly(0.41499), plainly(12.0), plainly(0.00002), plainly(math.nan)
    ('1479', '0.415', '12', '0.00002', '–')
    """
    if not math.isfinite(value):
        return "–"
    decimals = max(0, digits - 1 - math.floor(math.log10(abs(value)))) if value else 0
    text = f"{value:.{decimals}f}"
    return text.rstrip("0").rstrip(".") if "." in text else text
