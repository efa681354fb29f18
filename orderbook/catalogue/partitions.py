"""Lists that outgrow one machine: a plan from the whole list, and any part of its rows read by it, in any process."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from orderbook.catalogue.blocks import Block, coded
from orderbook.catalogue.plan import ReadingPlan
from orderbook.catalogue.reading import List, StretchRead, Ways, joined, lists_of, looked_through
from orderbook.catalogue.rows import convert
from orderbook.catalogue.sheets import cell_of
from orderbook.catalogue.springs import Catalogue, CatalogueReading
from orderbook.catalogue.stretches import Head, Stretch, Walk
from orderbook.catalogue.texts import PIECE
from orderbook.errors import error

if TYPE_CHECKING:
    from pandas import DataFrame


def plan_of(
    paths: str | Path | Sequence[str | Path],
    ways: Ways,
    piece_bytes: int = PIECE,
    progress: Callable[[int, int], None] | None = None,
) -> ReadingPlan | None:
    """Decide how a long list is read, from all its cells; None if it holds more than one table.

    Parameters: paths, the list, or the files it is kept in, all with the same headings; ways, from `ways_of`.
    Raises: as `read_catalogue`; OrderbookError(columns_conflict) for files whose headings differ.
    """
    ways = replace(ways, piece_bytes=piece_bytes, progress=progress)
    lists: list[List] = []
    for path in [paths] if isinstance(paths, (str, Path)) else paths:
        found, _, known = lists_of(path, ways)
        ways = ways if lists else replace(known, column_map=known.column_map)
        lists += found
    tables = looked_through(OneAfterTheOther(tuple(lists)), ways, hold=False).tables
    if tables[0].refused is not None:
        raise tables[0].refused
    return tables[0].plan if len(tables) == 1 else None


@dataclass(frozen=True, slots=True)
class OneAfterTheOther:
    """Lists with the same headings as one."""

    lists: tuple[List, ...]

    @property
    def file(self) -> str:
        """What the first is called."""
        return self.lists[0].file

    @property
    def head(self) -> Head:
        """The first one's heading."""
        return self.lists[0].head

    def stretches(self, meant: Mapping[int, int]) -> Iterator[tuple[Stretch | None, Walk]]:
        """Yield every stretch of all, as if below one heading.

        Raises: OrderbookError(columns_conflict).
        """
        walk: Walk | None = None
        for number, one in enumerate(self.lists):
            for stretch, walk in one.stretches(meant):
                if stretch is None:
                    continue
                if number and stretch.head.header != self.head.header:
                    saw = f"the headings of {one.file} are not those of {self.file}"
                    raise error("columns_conflict", where=one.file, saw=saw)
                yield replace(stretch, head=self.head) if number else stretch, walk
        if walk is not None:
            yield None, walk


def catalogue_of_frame(frame: DataFrame, plan: ReadingPlan) -> Catalogue:
    """Read the rows of a data frame of texts by a plan, such as one partition of a longer list; rejects are left out.

    Parameters: frame, columns named by the headings of the plan; plan, from `plan_of`.
    """
    return reading_of_frame(frame, plan).catalogue


def reading_of_frame(frame: DataFrame, plan: ReadingPlan) -> CatalogueReading:
    """Read one partition as `catalogue_of_frame`, with the account of its rows; lines are those of the partition."""
    columns = tuple(coded([cell_of(value) for value in frame[name].tolist()]) for name in plan.header)
    converted = convert(Block(np.arange(len(frame), dtype=np.int64), columns), plan)
    reading = joined([StretchRead(converted)])
    return replace(reading, findings=tuple(found for found in reading.findings if found.code != "no_row_kept"))
