"""Turns the function table into functions that xlwings can publish in Excel."""

from __future__ import annotations

import datetime
import inspect
from collections.abc import Callable
from typing import Any

from orderbook.functions.call import answer
from orderbook.functions.help_text import argument_help, function_help
from orderbook.functions.table import FUNCTIONS, Function

CATEGORY = "Mainspring"
ERROR_CODES = range(-2146826300, -2146826200)  # Excel's error values that xlwings has no text for
LONGEST_HELP = 255  # letters Excel keeps of one description


def publish(namespace: dict[str, Any], function_mark: Callable[..., Any], argument_mark: Callable[..., Any]) -> None:
    """Define every function of the table in `namespace`, marked for xlwings.

    Parameters: function_mark and argument_mark, xlwings' `func` and `arg`.
    """
    for function in FUNCTIONS.values():
        made = _worksheet_function(function)
        for argument in function.arguments:
            made = argument_mark(argument.name, ndim=2, err_to_str=True, doc=argument_help(argument)[:LONGEST_HELP])(
                made
            )
        # last, because each mark above sets the category back
        namespace[function.name] = function_mark(category=CATEGORY)(made)


def _worksheet_function(function: Function) -> Callable[..., Any]:
    def call(*values: Any) -> Any:
        return answer(function.name, [arrived(value) for value in values])

    needed = inspect.Parameter.POSITIONAL_OR_KEYWORD
    call.__signature__ = inspect.Signature(  # type: ignore[attr-defined]  # what xlwings reads
        [
            inspect.Parameter(a.name, needed, default=None if a.optional else inspect.Parameter.empty)
            for a in function.arguments
        ]
    )
    call.__name__ = function.name
    call.__doc__ = function_help(function)[:LONGEST_HELP]
    return call


def arrived(value: Any) -> Any:
    """Take what xlwings hands over: one cell as itself, a range as rows, an error value as text.

    >>> arrived([[2.5]]), arrived([[1.0], [-2146826243]]), arrived(None)
    (2.5, [[1.0], ['#ERROR!']], None)
    """
    if isinstance(value, list):
        if len(value) == 1 and len(value[0]) == 1:
            return _cell(value[0][0])
        return [[_cell(cell) for cell in row] for row in value]
    return _cell(value)


def _cell(value: Any) -> Any:
    if type(value) is int and value in ERROR_CODES:
        return "#ERROR!"
    return value.replace(tzinfo=None) if isinstance(value, datetime.datetime) else value
