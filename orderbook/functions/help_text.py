"""What the function wizards of both programs, the reference page and the Help sheet say of a function."""

from __future__ import annotations

from orderbook.functions.table import Argument, Example, Function


def function_help(function: Function) -> str:
    """Say what the function gives, with its unit.

    >>> from orderbook.functions.table import FUNCTIONS
    >>> function_help(FUNCTIONS["LENGTH_MM"])[-11:]
    'zieme. [mm]'
    """
    return f"{function.gives} [{function.unit}]" if function.unit else function.gives


def argument_help(argument: Argument) -> str:
    """Say what an argument means, with its unit and whether it may be left out."""
    unit = f" [{argument.unit}]" if argument.unit else ""
    return f"{argument.meaning}{unit}{'; may be left out' if argument.optional else ''}"


def example_formula(function: Function, separator: str = ", ") -> str:
    """Write the example as it is typed in a cell.

    >>> from orderbook.functions.table import FUNCTIONS
    >>> example_formula(FUNCTIONS["LENGTH_MM"])
    '=LENGTH_MM("17 ligne")'
    """
    if not isinstance(function.example, Example):
        return ""
    return f"={function.name}({separator.join(map(_typed, function.example.arguments))})"


def _typed(value: float | str) -> str:
    return f'"{value}"' if isinstance(value, str) else f"{value:g}"
