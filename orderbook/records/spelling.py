"""How a book spells an input or a verb that a text names: by the column it stands in, or by the entry of the menu."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType

# input → where it stands in a book; others are said as they are
COLUMNS: Mapping[str, str] = MappingProxyType({
    "turns": "Turns asked in Barrels", "used": "Turns used in Barrels", "hours": "Runs for in Barrels",
    "wheels": "Wheels in Barrels", "clearance": "Clearance in Barrels", "fill": "Fill asked in Barrels",
    "set_up": "Set-up in Barrels", "ratchet_teeth": "Ratchet teeth in Barrels", "fusee": "Fusee in Barrels",
    "material": "Material in Barrels", "rod": "Rod test in Barrels", "free": "Lying free in Barrels",
    "drive": "Drive in Barrels", "train": "Train in Barrels", "end": "End in Barrels",
    "stop_work": "Stop work in Barrels",
    "movement": "Movement in Restorations", "original": "Fitted spring in Barrels", "tried": "Trials",
    "bore": "bore in Readings", "arbor": "arbor in Readings", "depth": "depth in Readings",
    "barrel_outside": "barrel outside in Readings", "chain_height": "chain height in Readings",
    "strength": "fitted strength in Readings", "length": "fitted length in Readings",
    "currency": "book currency on Lists", "rates": "Rates on Lists", "suppliers": "Suppliers", "drawer": "Drawer",
    "weights": "Weights on Lists", "map": "a column map", "mark": "State in Orders",
})  # fmt: skip
VERBS: Mapping[str, str] = MappingProxyType({
    "check": "a check of the book", "refresh": "working out again", "next": "what is next",
    "catalogue": "bringing in a list",
    "help": "the page Help", "addin": "the set-up of the add-in", "new": "a new book",
    "grade": "the graded order", "rank": "the ranked springs", "export": "the export",
})  # fmt: skip


def in_cells(name: str, example: str) -> str:
    """Spell a mark as a cell of a book does.

    >>> in_cells("used", "3.5"), in_cells("bore", ""), in_cells("!check", "fix")
    ('Turns used in Barrels (3.5)', 'bore in Readings', 'a check of the book')
    """
    if name.startswith("!"):
        return VERBS.get(name[1:], name[1:])
    said = COLUMNS.get(name, name.replace("_", " "))
    return f"{said} ({example})" if example else said
