"""The one table of worksheet functions: Excel, Calc, the reference page and the Help sheet are all made from it.

Adding a function is one entry here and the verb it names.
"""

from __future__ import annotations

import importlib
from collections.abc import Callable
from dataclasses import dataclass
from functools import cache
from typing import Any, Literal

Kind = Literal["number", "length", "text", "table"]


@dataclass(frozen=True, slots=True)
class Argument:
    """One argument: its worksheet word, the verb's keyword, its unit and meaning.

    `empty_as_zero` marks an optional argument for which 0 makes no sense: Calc hands an empty cell over as 0.
    """

    name: str
    keyword: str
    unit: str
    meaning: str
    kind: Kind = "number"
    optional: bool = False
    empty_as_zero: bool = False

    @property
    def shown(self) -> str:
        """The word, in brackets where it may be left out."""
        return f"[{self.name}]" if self.optional else self.name


@dataclass(frozen=True, slots=True)
class Example:
    """Arguments and the answer they must give, known from outside the program."""

    arguments: tuple[float | str, ...]
    answer: float
    places: int
    source: str


@dataclass(frozen=True, slots=True)
class Function:
    """One worksheet function.

    `verb` is `module:name`; `by_column` says that the verb takes whole arrays (else it is called once a row);
    a `block` answers with rows of its own.
    """

    name: str
    verb: str
    gives: str
    unit: str
    arguments: tuple[Argument, ...]
    example: Example | None = None
    by_column: bool = True
    block: bool = False

    @property
    def syntax(self) -> str:
        """The call as it is typed, optional arguments in brackets.

        >>> FUNCTIONS["LENGTH_MM"].syntax
        'LENGTH_MM(text)'
        """
        return f"{self.name}({', '.join(argument.shown for argument in self.arguments)})"

    @property
    def required(self) -> int:
        """How many arguments must be given."""
        return sum(not argument.optional for argument in self.arguments)

    @property
    def python_name(self) -> str:
        """The same verb in Python."""
        return self.name.lower()


@cache
def verb_of(name: str) -> Callable[..., Any]:
    """Import and return the verb behind a function; what is never called is never imported.

    >>> verb_of("LENGTH_MM")("12 thou")
    0.3048
    """
    module, _, verb = FUNCTIONS[name].verb.partition(":")
    found: Callable[..., Any] = getattr(importlib.import_module(module), verb)
    return found


def _in_mm(word: str, meaning: str, **more: Any) -> Argument:
    return Argument(word, f"{word}_mm", "mm", meaning, kind="length", **more)


BORE = _in_mm("bore", "inside diameter of the barrel")
ARBOR = _in_mm("arbor", "diameter where the spring wraps, not the squared end")
WIDTH = _in_mm("width", "height of the strip")
STRENGTH = _in_mm("strength", "thickness of the strip")
LENGTH = _in_mm("length", "length of the strip inside the barrel")

_TABLE = (
    Function(
        "LENGTH_MM",
        "orderbook.measures:length_mm",
        "Any trade length in millimetres: 6¾ ligne, 0.0125 in, 2,35 mm, 12 thou, 5 douzieme.",
        "mm",
        (Argument("text", "text", "", "a length with its unit; a bare number is millimetres", kind="text"),),
        Example(("17 ligne",), 38.3491, 4, "exact: 17 × 1000/443.296 (the metre of 1799 is 443.296 lignes)"),
        by_column=False,
    ),
)  # fmt: skip

FUNCTIONS: dict[str, Function] = {function.name: function for function in _TABLE}
