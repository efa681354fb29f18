"""The most an instrument may be out, as a person types it into a table."""

from __future__ import annotations

from numbers import Real

from orderbook.measures.lengths import length_mm


def half_width_mm(value: object, *, where: str) -> float:
    """Read the largest error of an instrument: a number of mm, or a text such as `0.01 mm` or `± 0,02`.

    Returns: mm; zero where it is said to be exact.
    Raises: OrderbookError(length_not_read | length_not_sensible).

    >>> half_width_mm("0.01 mm", where="Instruments"), half_width_mm("± 0,02", where="Instruments")
    (0.01, 0.02)
    """
    said = value.strip().lstrip("±").removeprefix("+/-").strip() if isinstance(value, str) else value
    if said in ("0", 0):
        return 0.0
    if isinstance(said, Real) and not isinstance(said, bool):
        return length_mm(float(said), where=where)
    return length_mm(said if isinstance(said, str) else str(said), where=where)
