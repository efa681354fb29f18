"""What each function of the table can be asked: its example, or the call it is shown with, on the tables of the demo.

A new entry of the table needs nothing here.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from orderbook.functions.ranges import is_empty
from orderbook.functions.table import FUNCTIONS
from orderbook.xlsx.reading import open_book

Tables = Mapping[str, list[list[Any]]]
_ARGUMENTS = re.compile(r'\s*(?P<table>\w+)\[\[#Headers\],\[#Data\]\]|\s*"(?P<text>[^"]*)"|\s*(?P<number>[\d.]*)')
EVERY = 12  # springs of the demo's list that are kept: enough for a ranking, quick enough to ask often


def tables_of(path: Path) -> dict[str, list[list[Any]]]:
    """Return every table of a book as a worksheet hands it over, header first; fewer springs, no blank rows."""
    book = open_book(path)
    found = {}
    for name, place in book.anatomy.tables.items():
        cells, columns = book.cells[place.sheet], range(place.left, place.right + 1)
        rows = [
            [_plain(c.value) if (c := cells.get((r, k))) else None for k in columns]
            for r in range(place.top, place.bottom + 1)
        ]
        found[name] = [row for row in rows if not all(map(is_empty, row))]
    found["Catalogue"] = [found["Catalogue"][0], *found["Catalogue"][1::EVERY]]
    return found


def _plain(value: Any) -> Any:
    return float(value) if isinstance(value, int) and not isinstance(value, bool) else value


def arguments_of(name: str, tables: Tables) -> list[Any]:
    """Return arguments that have an answer, as far as the entry gives them; None where one is left out."""
    function = FUNCTIONS[name]
    if function.example:
        return list(function.example.arguments)
    inside = function.typed.removeprefix(f"={name}(").removesuffix(")")
    given: list[Any] = []
    at = 0
    while at <= len(inside):
        found = _ARGUMENTS.match(inside, at)
        assert found, inside[at:]
        at = found.end() + 1  # beyond the comma
        given.append(_value(found, tables))
    assert len(given) <= len(function.arguments)
    return given


def _value(found: re.Match[str], tables: Tables) -> Any:
    if found["table"]:
        return tables[found["table"]]
    if found["text"] is not None:
        return found["text"]
    return float(found["number"]) if found["number"] else None
