"""A supplier's file in, springs and rejects out: no row is lost.

Own code only for what the columns of a spring list mean.
"""

from orderbook.catalogue.maps import ColumnMap, MapEntry, map_text, read_map
from orderbook.catalogue.opening import Limits
from orderbook.catalogue.reading import read_catalogue
from orderbook.catalogue.springs import Catalogue, CatalogueReading, ColumnTaken, Reject

__all__ = [
    "Catalogue",
    "CatalogueReading",
    "ColumnMap",
    "ColumnTaken",
    "Limits",
    "MapEntry",
    "Reject",
    "map_text",
    "read_catalogue",
    "read_map",
]
