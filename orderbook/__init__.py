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
    from orderbook.answers.choice import ChoiceTerms as ChoiceTerms
    from orderbook.answers.choice import grade as grade
    from orderbook.answers.choice import rank as rank
    from orderbook.barrel.barrel import Barrel as Barrel
    from orderbook.barrel.comparing import Comparison as Comparison
    from orderbook.barrel.comparing import compare as compare
    from orderbook.barrel.sizing import Sizing as Sizing
    from orderbook.barrel.sizing import size as size
    from orderbook.barrel.springs_seen import Tried as Tried
    from orderbook.book.book import Book as Book
    from orderbook.book.demo import demo as demo
    from orderbook.book.new import new as new
    from orderbook.catalogue import CatalogueReading as CatalogueReading
    from orderbook.catalogue import read_catalogue as read_catalogue
    from orderbook.choosing.grading import Grading as Grading
    from orderbook.choosing.options import SpringAtHand as SpringAtHand
    from orderbook.choosing.options import Supplier as Supplier
    from orderbook.choosing.ranking import Ranking as Ranking
    from orderbook.errors import Finding as Finding
    from orderbook.errors import OrderbookError as OrderbookError
    from orderbook.functions.blocks import barrel_size as barrel_size
    from orderbook.functions.blocks import graded_order as graded_order
    from orderbook.functions.blocks import rank_springs as rank_springs
    from orderbook.functions.blocks import spring_size as spring_size
    from orderbook.functions.columns import drive_index as drive_index
    from orderbook.functions.columns import fusee_evenness as fusee_evenness
    from orderbook.functions.columns import fusee_set_up as fusee_set_up
    from orderbook.functions.columns import length_mm as length_mm
    from orderbook.functions.columns import load_index as load_index
    from orderbook.functions.columns import rod_test_torque as rod_test_torque
    from orderbook.functions.columns import spring_fill as spring_fill
    from orderbook.functions.columns import spring_length as spring_length
    from orderbook.functions.columns import spring_slack as spring_slack
    from orderbook.functions.columns import spring_strength as spring_strength
    from orderbook.functions.columns import spring_torque as spring_torque
    from orderbook.functions.columns import spring_turns as spring_turns
    from orderbook.functions.columns import spring_width as spring_width
    from orderbook.functions.columns import strongest_useful as strongest_useful
    from orderbook.measures import Measured as Measured
    from orderbook.measures.exchange import Rate as Rate
    from orderbook.measures.exchange import Rates as Rates
    from orderbook.measures.money import Money as Money
    from orderbook.measures.postage import PostageRule as PostageRule

__version__ = "0.1.0"

# name → the room it lives in
ROOMS = {
    "Barrel": "barrel.barrel",
    "Book": "book.book",
    "CatalogueReading": "catalogue",
    "Comparison": "barrel.comparing",
    "Finding": "errors",
    "Grading": "choosing.grading",
    "Measured": "measures",
    "Money": "measures.money",
    "PostageRule": "measures.postage",
    "OrderbookError": "errors",
    "Ranking": "choosing.ranking",
    "Rate": "measures.exchange",
    "Rates": "measures.exchange",
    "Sizing": "barrel.sizing",
    "SpringAtHand": "choosing.options",
    "Supplier": "choosing.options",
    "ChoiceTerms": "answers.choice",
    "Tried": "barrel.springs_seen",
    "barrel_size": "functions.blocks",
    "compare": "barrel.comparing",
    "demo": "book.demo",
    "drive_index": "functions.columns",
    "fusee_evenness": "functions.columns",
    "fusee_set_up": "functions.columns",
    "grade": "answers.choice",
    "graded_order": "functions.blocks",
    "length_mm": "functions.columns",
    "load_index": "functions.columns",
    "new": "book.new",
    "rank": "answers.choice",
    "rank_springs": "functions.blocks",
    "read_catalogue": "catalogue",
    "rod_test_torque": "functions.columns",
    "size": "barrel.sizing",
    "spring_fill": "functions.columns",
    "spring_length": "functions.columns",
    "spring_size": "functions.blocks",
    "spring_slack": "functions.columns",
    "spring_strength": "functions.columns",
    "spring_torque": "functions.columns",
    "spring_turns": "functions.columns",
    "spring_width": "functions.columns",
    "strongest_useful": "functions.columns",
}


def __getattr__(name: str) -> Any:
    """Import a name from its room when it is first asked for."""
    if name not in ROOMS:
        raise AttributeError(f"module 'orderbook' has no attribute {name!r}")
    return getattr(importlib.import_module(f"orderbook.{ROOMS[name]}"), name)


def __dir__() -> list[str]:
    """List the names a user may import."""
    return sorted([*ROOMS, *(name for name in globals() if name.startswith("__"))])
