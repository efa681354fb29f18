"""Our worksheet functions for the engine that works a book out, when a book's formulas use them."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable
from functools import partial
from typing import Any

from orderbook.xlsx.reading import OpenBook

_CALL = re.compile(r"\b([A-Z][A-Z_]+)\(")


def functions_used(book: OpenBook, more: Iterable[str] = ()) -> dict[str, Callable[..., Any]]:
    """Return name → function of those of ours that stand in the book's formulas, or in `more`."""
    texts = {cell.formula for cells in book.cells.values() for cell in cells.values() if cell.formula}
    called = {name for text in {*texts, *more} if "_" in text for name in _CALL.findall(text.upper())}
    if not called:
        return {}
    from orderbook.functions.table import FUNCTIONS

    return {name: partial(_call, name) for name in called if name in FUNCTIONS}


def _call(name: str, *values: Any) -> Any:
    from orderbook.functions.call import answer
    from orderbook.functions.table import FUNCTIONS

    arguments = FUNCTIONS[name].arguments
    given = [_given(value, a.optional or a.empty_as_zero) for value, a in zip(values, arguments, strict=False)]
    given += list(values[len(arguments) :])
    return _shown(answer(name, given))


def _given(value: Any, may_be_missing: bool) -> Any:
    """Take the engine's word for things: an error is a record, a left-out argument in the middle comes as 0."""
    if isinstance(value, dict) and value.get("type") == "Error":
        return f"#{value['kind']}"
    return None if may_be_missing and value == 0 and not isinstance(value, bool) else value


def _shown(value: Any) -> Any:
    if isinstance(value, list):
        return [["" if cell is None else cell for cell in row] for row in value]
    return "" if value is None else value
