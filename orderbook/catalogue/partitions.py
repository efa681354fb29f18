"""Lists that outgrow one machine: a plan from the whole list, and any part of its rows read by it, in any process."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from orderbook.catalogue.blocks import Block, coded
from orderbook.catalogue.plan import Plan
from orderbook.catalogue.reading import Part, Ways, joined, lists_of, looked_through
from orderbook.catalogue.rows import convert
from orderbook.catalogue.sheets import cell_of
from orderbook.catalogue.springs import Catalogue, CatalogueReading
from orderbook.catalogue.texts import PIECE

if TYPE_CHECKING:
    from pandas import DataFrame


def plan_of(
    path: Path, ways: Ways, piece_bytes: int = PIECE, progress: Callable[[int, int], None] | None = None
) -> Plan | None:
    """Decide how a long list is read, from all its cells; None if it holds more than one table.

    Raises: as `read_catalogue`.
    """
    lists, _, ways = lists_of(path, replace(ways, piece_bytes=piece_bytes, progress=progress))
    if len(lists) != 1:
        return None
    tables = looked_through(lists[0], ways, hold=False).tables
    if tables[0].refused is not None:
        raise tables[0].refused
    return tables[0].plan if len(tables) == 1 else None


def catalogue_of_frame(frame: DataFrame, plan: Plan) -> Catalogue:
    """Read the rows of a data frame of texts by a plan, such as one partition of a longer list; rejects are left out.

    Parameters: frame, columns named by the headings of the plan; plan, from `plan_of`.
    """
    return reading_of_frame(frame, plan).catalogue


def reading_of_frame(frame: DataFrame, plan: Plan) -> CatalogueReading:
    """Read one partition as `catalogue_of_frame`, with the account of its rows; lines are those of the partition."""
    columns = tuple(coded([cell_of(value) for value in frame[name].tolist()]) for name in plan.header)
    converted = convert(Block(np.arange(len(frame), dtype=np.int64), columns), plan)
    reading = joined([Part(converted)])
    return replace(reading, findings=tuple(found for found in reading.findings if found.code != "no_row_kept"))
