"""A supplier's file in, springs and rejects out: no row is lost.

Own code only for what the columns of a spring list mean.
"""

from orderbook.catalogue.maps import ColumnMap, MapEntry, map_beside, map_of, map_text, read_map, write_map
from orderbook.catalogue.opening import Limits, fit_in_one_go
from orderbook.catalogue.partitions import catalogue_of_frame, plan_of, reading_of_frame
from orderbook.catalogue.reading import read_catalogue, read_catalogue_chunks, ways_of
from orderbook.catalogue.skeleton import map_skeleton
from orderbook.catalogue.springs import Catalogue, CatalogueReading, ColumnTaken, Reject
from orderbook.catalogue.writing import CANONICAL, canonical_rows, write_catalogue, write_rejects

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
