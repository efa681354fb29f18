"""orderbook: from caliper readings of a spring barrel to the springs to order, weakest first.

Names are imported from their rooms when they are first used, so that `import orderbook` costs nothing.

>>> import orderbook
>>> round(orderbook.spring_turns(11.40, 2.40, 0.105, 464.507), 2)
12.74
"""

from __future__ import annotations

import importlib
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from orderbook.barrel.barrel import Barrel as Barrel
    from orderbook.barrel.barrel import barrel_from_texts as barrel_from_texts
    from orderbook.barrel.sizing import size as size
    from orderbook.book.book import Book as Book
    from orderbook.catalogue import read_catalogue as read_catalogue
    from orderbook.choosing.grading import grade as grade
    from orderbook.choosing.options import Options as Options
    from orderbook.choosing.ranking import rank as rank
    from orderbook.errors import Finding as Finding
    from orderbook.errors import OrderbookError as OrderbookError
    from orderbook.functions.blocks import barrel_size as barrel_size
    from orderbook.functions.blocks import graded_order as graded_order
    from orderbook.functions.blocks import rank_springs as rank_springs
    from orderbook.functions.blocks import spring_size as spring_size
    from orderbook.measures import Measured as Measured
    from orderbook.measures import length_mm as length_mm
    from orderbook.measures.money import Money as Money
    from orderbook.mechanics import drive_index as drive_index
    from orderbook.mechanics import fusee_evenness as fusee_evenness
    from orderbook.mechanics import fusee_set_up as fusee_set_up
    from orderbook.mechanics import load_index as load_index
    from orderbook.mechanics import rod_test_torque as rod_test_torque
    from orderbook.mechanics import spring_fill as spring_fill
    from orderbook.mechanics import spring_length as spring_length
    from orderbook.mechanics import spring_slack as spring_slack
    from orderbook.mechanics import spring_strength as spring_strength
    from orderbook.mechanics import spring_torque as spring_torque
    from orderbook.mechanics import spring_turns as spring_turns
    from orderbook.mechanics import spring_width as spring_width
    from orderbook.mechanics import strongest_useful as strongest_useful

__version__ = "0.1.0"

# name → the room it lives in
ROOMS = {
    "Barrel": "barrel.barrel",
    "Book": "book.book",
    "Finding": "errors",
    "Measured": "measures",
    "Money": "measures.money",
    "Options": "choosing.options",
    "OrderbookError": "errors",
    "barrel_from_texts": "barrel.barrel",
    "barrel_size": "functions.blocks",
    "drive_index": "mechanics",
    "fusee_evenness": "mechanics",
    "fusee_set_up": "mechanics",
    "grade": "choosing.grading",
    "graded_order": "functions.blocks",
    "length_mm": "measures",
    "load_index": "mechanics",
    "rank": "choosing.ranking",
    "rank_springs": "functions.blocks",
    "read_catalogue": "catalogue",
    "rod_test_torque": "mechanics",
    "size": "barrel.sizing",
    "spring_fill": "mechanics",
    "spring_length": "mechanics",
    "spring_size": "functions.blocks",
    "spring_slack": "mechanics",
    "spring_strength": "mechanics",
    "spring_torque": "mechanics",
    "spring_turns": "mechanics",
    "spring_width": "mechanics",
    "strongest_useful": "mechanics",
}


def __getattr__(name: str) -> Any:
    """Import a name from its room when it is first asked for."""
    if name not in ROOMS:
        raise AttributeError(f"module 'orderbook' has no attribute {name!r}")
    return getattr(importlib.import_module(f"orderbook.{ROOMS[name]}"), name)


def __dir__() -> list[str]:
    """List the names a user may import."""
    return sorted([*ROOMS, *(name for name in globals() if name.startswith("__"))])
