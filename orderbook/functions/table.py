"""The one table of worksheet functions: Excel, Calc, the reference page and the Help sheet are all made from it.

Adding a function is one entry here and the verb it names.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import cache
from pkgutil import resolve_name
from typing import Any, Literal

Kind = Literal["number", "length", "text", "table"]


@dataclass(frozen=True, slots=True)
class Argument:
    """One argument: its worksheet word, the verb's keyword, its unit and meaning.

    `empty_as_zero` marks an optional argument for which 0 makes no sense: Calc hands an empty cell over as 0.
    `one_value` says that the verb takes one number for all rows of a column call.
    """

    name: str
    keyword: str
    unit: str
    meaning: str
    kind: Kind = "number"
    optional: bool = False
    empty_as_zero: bool = False
    one_value: bool = False

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
    a `block` answers with rows of its own; `if_none` is what a cell says where the verb has no number to give.
    `typed` is the example of a block as it is typed in a book.
    """

    name: str
    verb: str
    gives: str
    unit: str
    arguments: tuple[Argument, ...]
    example: Example | None = None
    by_column: bool = True
    block: bool = False
    if_none: str = ""
    typed: str = ""

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


@cache
def verb_of(name: str) -> Callable[..., Any]:
    """Import and return the verb behind a function; what is never called is never imported.

    >>> verb_of("LENGTH_MM")("12 thou")
    0.3048
    """
    found: Callable[..., Any] = resolve_name(FUNCTIONS[name].verb)
    return found


def _in_mm(word: str, meaning: str, **more: Any) -> Argument:
    return Argument(word, f"{word}_mm", "mm", meaning, kind="length", **more)


def _may(argument: Argument, **more: Any) -> Argument:
    return replace(argument, optional=True, empty_as_zero=True, **more)


BORE = _in_mm("bore", "inside diameter of the barrel")
ARBOR = _in_mm("arbor", "diameter where the spring wraps, not the squared end")
DEPTH = _in_mm("depth", "from the floor of the barrel to the underside of its cover")
WIDTH = _in_mm("width", "height of the strip")
STRENGTH = _in_mm("strength", "thickness of the strip")
LENGTH = _in_mm("length", "length of the strip inside the barrel")
TURNS = Argument("turns", "turns", "turns", "turns between run down and fully wound")
USED = Argument("used", "used_turns", "turns", "turns of the barrel between windings")
FILL = _may(
    Argument("fill", "fill", "", "share of the free room the spring takes; 0.5 unless given, for the most turns")
)
FLOW_STRESS = _may(
    Argument("flow_stress", "flow_stress_mpa", "MPa", "stress at which the strip yields; 1700 unless given")
)
MODULUS = _may(Argument("modulus", "modulus_mpa", "MPa", "modulus of the strip; 206000 unless given"))
SET_UP = Argument(
    "set_up",
    "set_up_turns",
    "turns",
    "turns of set-up; left out: the run ends fully wound",
    optional=True,
    one_value=True,
)
REFERENCE = tuple(
    _may(
        _in_mm(
            f"ref_{part.name}",
            f"{part.meaning} of the spring that counts as 100; the strongest useful one unless given",
        )
    )
    for part in (WIDTH, STRENGTH, LENGTH)
)
SPRING = (WIDTH, STRENGTH, LENGTH)
USED_TURNS = Argument("used_turns", "used_turns", "turns", "turns of the barrel between windings")
CONE = (
    _in_mm("small_radius", "groove of the fusee at its small end"),
    _in_mm("large_radius", "groove of the fusee at its large end"),
    _in_mm("barrel_outside", "diameter of the barrel where the chain winds"),
    _in_mm("chain_height", "how far the chain stands up from its groove"),
)
BARREL_ID = Argument("barrel_id", "barrel_id", "", "number of the barrel, as in the table of barrels", kind="text")
BARRELS = Argument("barrels", "barrels", "", "table Barrels with its header", kind="table")
CATALOGUE = Argument("catalogue", "catalogue", "", "table Catalogue with its header", kind="table")
TRIALS = Argument("trials", "trials", "", "table Trials with its header", kind="table", optional=True)
TABLES = (
    BARREL_ID,
    BARRELS,
    CATALOGUE,
    TRIALS,
    *(
        Argument(name.lower(), name.lower(), "", f"table {name} with its header", kind="table", optional=True)
        for name in ("Suppliers", "Rates", "Drawer", "Weights")
    ),
)
CURRENCY = Argument(  # the bare word is a type of Excel's macro language
    "book_currency",
    "currency",
    "",
    "money to reckon in; the commonest of the list unless given",
    kind="text",
    optional=True,
)
REYMONDIN = "Reymondin, Monnier, Jeanneret, Pelaratti, The Theory of Horology, pp. 48–49 (from memory)"
INTEGRATED = "integration along the strip, independent of the program's closed form"
HALF_WIDTH = Example(
    (15.6, 5.2, 3.5, 1.45, 0.21, 404.4, 1, 2.9, 0.21, 404.4), 50, 9, "exact: half the width has half the torque"
)
LOST = "#it does not go in, leaves too few turns, or runs slack"

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
    Function(
        "SPRING_WIDTH",
        "orderbook.mechanics:spring_width",
        "Width of the spring for a barrel of this depth.",
        "mm",
        (DEPTH, _may(_in_mm("clearance", "room between spring and cover; 0.12 mm or 2.5 % of the depth unless given"))),
        Example((3.1, 0.2), 2.9, 6, "exact: depth less clearance"),
    ),
    Function(
        "SPRING_STRENGTH",
        "orderbook.mechanics:spring_strength",
        "Strength of the spring that gives these turns; at half fill the thickest that does.",
        "mm",
        (BORE, ARBOR, TURNS, FILL),
        Example((11.4, 2.4, 12.74), 0.105, 3, REYMONDIN),
    ),
    Function(
        "SPRING_LENGTH",
        "orderbook.mechanics:spring_length",
        "Length of spring that gives this fill; what the hooking needs is extra.",
        "mm",
        (BORE, ARBOR, STRENGTH, FILL),
        Example((11.4, 2.4, 0.105), 464.51, 2, REYMONDIN),
    ),
    Function(
        "SPRING_TURNS",
        "orderbook.mechanics:spring_turns",
        "Turns of the barrel between run down and fully wound, slack turns included.",
        "turns",
        (BORE, ARBOR, STRENGTH, LENGTH),
        Example((11.4, 2.4, 0.105, 464.51), 12.74, 2, REYMONDIN),
    ),
    Function(
        "SPRING_FILL",
        "orderbook.mechanics:spring_fill",
        "Share of the free room of the barrel that the spring takes; the turns are greatest at 0.5.",
        "0…1",
        (BORE, ARBOR, STRENGTH, LENGTH),
        Example((20, 7, 0.25, 540), 0.48971, 5, "exact: 4·length·strength/(π(bore² − arbor²))"),
    ),
    Function(
        "SPRING_SLACK",
        "orderbook.mechanics:spring_slack",
        "Turns from run down at which the torque begins: a set spring hangs slack up to there.",
        "turns",
        (BORE, ARBOR, STRENGTH, LENGTH, FLOW_STRESS, MODULUS),
        Example((15.6, 5.2, 0.21, 404.4), 0.63, 2, INTEGRATED),
    ),
    Function(
        "SPRING_TORQUE",
        "orderbook.mechanics:spring_torque",
        "Torque at the barrel, without friction, so many turns from run down.",
        "N·mm",
        (BORE, ARBOR, *SPRING, Argument("turns_up", "turns_up", "turns", "turns from run down"), FLOW_STRESS, MODULUS),
        Example((15.6, 5.2, 2.9, 0.21, 404.4, 2.345), 26.6, 1, INTEGRATED),
    ),
    Function(
        "DRIVE_INDEX",
        "orderbook.functions.indices:drive_index",
        "Least torque at the barrel over the run, in per cent of the strongest useful spring's.",
        "%",
        (BORE, ARBOR, USED, *SPRING, SET_UP, *REFERENCE),
        HALF_WIDTH,
        if_none=LOST,
    ),
    Function(
        "LOAD_INDEX",
        "orderbook.functions.indices:load_index",
        "Greatest torque at the barrel over the run, in per cent of the strongest useful spring's.",
        "%",
        (BORE, ARBOR, USED, *SPRING, SET_UP, *REFERENCE),
        HALF_WIDTH,
        if_none=LOST,
    ),
    Function(
        "STRONGEST_USEFUL",
        "orderbook.functions.indices:strongest_useful",
        "Strength of the strongest useful spring of this barrel: beyond it more load, no more drive.",
        "mm",
        (BORE, ARBOR, USED, FILL),
        Example((15.6, 5.2, 3.5), 0.21, 3, "search over all strengths, with the torque from SPRING_TORQUE"),
    ),
    Function(
        "ROD_TEST_TORQUE",
        "orderbook.mechanics:rod_test_torque",
        "Torque at the winding square of a weight on a rod.",
        "N·mm",
        (
            Argument("grams", "grams", "g", "weight on the rod"),
            Argument("arm", "arm_mm", "mm", "from the square's middle"),
        ),
        Example((100, 50), 49.03325, 5, "exact: grams × arm × 9.80665 m/s² (BIPM, standard acceleration of free fall)"),
    ),
    Function(
        "FUSEE_SET_UP",
        "orderbook.mechanics:fusee_set_up",
        "Set-up at which a fusee evens its spring best, in barrel turns from where the torque begins.",
        "turns",
        (
            BORE,
            ARBOR,
            *SPRING,
            USED_TURNS,
            *CONE,
            _may(
                Argument(
                    "ratchet_teeth", "ratchet_teeth", "", "teeth of the set-up ratchet: whole clicks", one_value=True
                )
            ),
            _may(Argument("reserve", "reserve", "turns", "turns kept at the top; 0.75 unless given", one_value=True)),
        ),
        Example(
            (15.6, 5.2, 2.9, 0.165, 514.8, 3.5, 4, 7, 20, 0.8), 1.74, 2, "search over all set-ups with FUSEE_EVENNESS"
        ),
    ),
    Function(
        "FUSEE_EVENNESS",
        "orderbook.mechanics:fusee_evenness",
        "Greatest over least torque at the fusee over the run, at this set-up; 1 is perfectly even.",
        "ratio",
        (
            BORE,
            ARBOR,
            *SPRING,
            USED_TURNS,
            *CONE,
            Argument("set_up", "set_up", "turns", "turns of set-up from where the torque begins"),
            replace(
                _may(Argument("reserve", "reserve", "turns", "turns kept at the top; none unless given")),
                one_value=True,
            ),
        ),
        Example(
            (15.6, 5.2, 2.9, 0.165, 514.8, 3.5, 4, 7, 20, 0.8, 1.76),
            1.13,
            2,
            "the cone and SPRING_TORQUE, turn by turn",
        ),
    ),
    Function(
        "SPRING_SIZE",
        "orderbook.functions.blocks:spring_size",
        "The spring of a barrel from its readings: what, value, unit, ±, source.",
        "",
        (BORE, ARBOR, DEPTH, _may(TURNS), _may(USED), _may(STRENGTH)),
        block=True,
        typed="=SPRING_SIZE(15.6, 5.2, 3.1, , 3.5)",
    ),
    Function(
        "BARREL_SIZE",
        "orderbook.functions.blocks:barrel_size",
        "The spring of a barrel of the book: what, value, unit, ±, source.",
        "",
        (BARREL_ID, BARRELS, TRIALS),
        block=True,
        typed='=BARREL_SIZE("R-006-B1", Barrels[[#Headers],[#Data]], Trials[[#Headers],[#Data]])',
    ),
    Function(
        "RANK_SPRINGS",
        "orderbook.functions.blocks:rank_springs",
        "Springs of the catalogue that go into a barrel, best first; one row each.",
        "",
        (*TABLES, _may(Argument("top", "top", "", "how many rows; 10 unless given")), CURRENCY),
        block=True,
        typed='=RANK_SPRINGS("R-006-B1", Barrels[[#Headers],[#Data]], Catalogue[[#Headers],[#Data]])',
    ),
    Function(
        "GRADED_ORDER",
        "orderbook.functions.blocks:graded_order",
        "Springs to order for a barrel, weakest first; one row each.",
        "",
        (
            *TABLES,
            _may(Argument("count", "count", "", "how many springs, 1 to 5; what pays, at most 3, unless given")),
            CURRENCY,
        ),
        block=True,
        typed='=GRADED_ORDER("R-006-B1", Barrels[[#Headers],[#Data]], Catalogue[[#Headers],[#Data]])',
    ),
)

FUNCTIONS: dict[str, Function] = {function.name: function for function in _TABLE}
