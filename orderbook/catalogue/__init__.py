"""A supplier's file in, springs and rejects out: no row is lost.

Own code only for what the columns of a spring list mean. What is exported here is imported when it is first used: the
rooms that only hold springs do not wait for the reader of lists.
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from orderbook.catalogue.maps import (
        ColumnMap,
        MapEntry,
        find_map,
        map_beside,
        map_of,
        map_text,
        read_map,
        write_map,
    )
    from orderbook.catalogue.opening import Limits, fit_in_one_go
    from orderbook.catalogue.partitions import catalogue_of_frame, plan_of, reading_of_frame
    from orderbook.catalogue.reading import read_catalogue, read_catalogue_chunks, ways_of
    from orderbook.catalogue.skeleton import map_skeleton
    from orderbook.catalogue.springs import Catalogue, CatalogueReading, ColumnTaken, Reject
    from orderbook.catalogue.writing import CANONICAL, canonical_rows, write_catalogue, write_rejects

_HOMES = {
    "maps": ("ColumnMap", "MapEntry", "find_map", "map_beside", "map_of", "map_text", "read_map", "write_map"),
    "opening": ("Limits", "fit_in_one_go"),
    "partitions": ("catalogue_of_frame", "plan_of", "reading_of_frame"),
    "reading": ("read_catalogue", "read_catalogue_chunks", "ways_of"),
    "skeleton": ("map_skeleton",),
    "springs": ("Catalogue", "CatalogueReading", "ColumnTaken", "Reject"),
    "writing": ("CANONICAL", "canonical_rows", "write_catalogue", "write_rejects"),
}
_HOME_OF = {name: home for home, names in _HOMES.items() for name in names}

__all__ = [
    "CANONICAL",
    "Catalogue",
    "CatalogueReading",
    "ColumnMap",
    "ColumnTaken",
    "Limits",
    "MapEntry",
    "Reject",
    "canonical_rows",
    "catalogue_of_frame",
    "find_map",
    "fit_in_one_go",
    "map_beside",
    "map_of",
    "map_skeleton",
    "map_text",
    "plan_of",
    "read_catalogue",
    "read_catalogue_chunks",
    "read_map",
    "reading_of_frame",
    "ways_of",
    "write_catalogue",
    "write_map",
    "write_rejects",
]


def __getattr__(name: str) -> Any:
    """Import what is exported when it is first asked for."""
    if name not in _HOME_OF:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    return getattr(import_module(f"{__name__}.{_HOME_OF[name]}"), name)
