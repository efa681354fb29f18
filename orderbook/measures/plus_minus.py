"""A value with its ± as a person reads it: the same decimals in both, no more than are known."""

from __future__ import annotations

import math


def plus_minus(value: float, u: float, *, at_least: int = 0, at_most: int = 4) -> tuple[str, str]:
    """Write a value and ± twice its standard uncertainty with the same decimals.

    ± is given to two significant digits where it begins with 1 or 2, else to one (common practice, no source).

    >>> plus_minus(12.7402, 0.31), plus_minus(0.1053, 0.0021), plus_minus(464.51, 8.0)
    (('12.7', '0.6'), ('0.105', '0.004'), ('465', '16'))
    """
    if not math.isfinite(value):
        return "–", ""
    if not (math.isfinite(u) and u > 0):
        return _without_tail(f"{value:.{max(at_least, min(at_most, 3))}f}", at_least), ""
    spread = 2 * u
    leading = spread / 10 ** math.floor(math.log10(spread))
    decimals = -math.floor(math.log10(spread)) + (1 if leading < 2.95 else 0)
    decimals = max(at_least, min(at_most, decimals), 0)
    return f"{value:.{decimals}f}", f"{spread:.{decimals}f}"


def with_plus_minus(value: float, u: float, unit: str = "", *, at_least: int = 0, at_most: int = 4) -> str:
    """Write value, ± and unit in one text.

    >>> with_plus_minus(0.1053, 0.0021, "mm")
    '0.105 ± 0.004 mm'
    """
    number, spread = plus_minus(value, u, at_least=at_least, at_most=at_most)
    return " ".join(part for part in (number, f"± {spread}" if spread else "", unit) if part)


def _without_tail(number: str, at_least: int) -> str:
    whole, _, decimals = number.partition(".")
    kept = decimals[:at_least] + decimals[at_least:].rstrip("0")
    return f"{whole}.{kept}" if kept else whole
