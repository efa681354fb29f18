"""A supplier's file in, springs and rejects out: no row is lost.

Own code only for what the columns of a spring list mean.
"""

from orderbook.catalogue.springs import Catalogue, CatalogueReading, ColumnTaken, Reject

__all__ = ["Catalogue", "CatalogueReading", "ColumnTaken", "Reject"]
