"""What the extension tells LibreOffice of the worksheet functions, made from their table."""

from __future__ import annotations

from orderbook.addin.calc import names
from orderbook.addin.calc.configuration import configuration, node, prop
from orderbook.addin.calc.typelib import ANYTHING, CELLS, type_library
from orderbook.functions.help_text import argument_help, function_help
from orderbook.functions.table import FUNCTIONS, Argument, Function


def functions() -> str:
    """Return names, arguments and help of every function."""
    described = "\n".join(_function(function) for function in FUNCTIONS.values())
    inside = node(names.SERVICE, node("AddInFunctions", f"\n{described}\n", ""))
    return configuration("CalcAddIns", node("AddInInfo", inside, ""))


def _function(function: Function) -> str:
    arguments = "".join(
        node(a.name, prop("DisplayName", a.name, "en") + prop("Description", argument_help(a), "en"))
        for a in function.arguments
    )
    return node(
        names.method(function.name),
        prop("DisplayName", function.name, "en")
        + prop("Description", function_help(function), "en")
        + prop("Category", names.CATEGORY)
        + prop("CompatibilityName", function.name, "en-US")
        + node("Parameters", arguments, ""),
    )


def library() -> bytes:
    """Return the types of the functions."""
    methods = [(names.method(f.name), [(a.name, taken_as(a)) for a in f.arguments]) for f in FUNCTIONS.values()]
    return type_library(names.MODULES, names.INTERFACE, methods)


def taken_as(argument: Argument) -> str:
    """Take a table that must be given as a range of cells: LibreOffice asks no function about values with an error.

    Only `any` can be left out, so the other tables stay that.
    """
    return CELLS if argument.kind == "table" and not argument.optional else ANYTHING


def with_tables() -> list[str]:
    """Return the functions that take ranges of cells."""
    return [name for name, function in FUNCTIONS.items() if CELLS in map(taken_as, function.arguments)]
