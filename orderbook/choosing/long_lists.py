"""Lists too long to rank row by row: of each piece, the springs that go in, and the nearest that do not.

A plan is made of springs that go in and of nothing else. So the pieces of a list can be sifted one by one, in any
process, and what is left of them put together and ranked once: the answer is that of one pass over the whole list.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from orderbook.barrel.barrel import Barrel
from orderbook.catalogue import Catalogue, CatalogueReading
from orderbook.catalogue.account import together
from orderbook.catalogue.duplicates import about_items_that_differ, first_of_each, marks_of
from orderbook.choosing.bench import Bench, bench_of
from orderbook.choosing.candidates import is_meant
from orderbook.choosing.fitting import sift, strips_of

NEAREST = 20  # springs that do not go in, kept to be told of


@dataclass(frozen=True, slots=True)
class Candidates:
    """What of a list can matter to one barrel, in the order of the list, with the row counts of the whole list.

    `far` is 0 for what is kept in any case (it goes in, or it was asked for by name), else how far a spring is from
    going in. `left_out` counts the springs that do not go in and are not among the nearest; `marks` tells those rows
    apart, if that was asked for.
    """

    reading: CatalogueReading
    far: NDArray[np.float64]
    left_out: int
    marks: NDArray[np.uint64] | None = None


def candidates(
    barrel: Barrel | Bench,
    piece: Catalogue | CatalogueReading,
    named: Collection[str] = (),
    *,
    marked: bool = False,
) -> Candidates:
    """Sift one piece of a list for a barrel.

    Parameters: barrel; piece, a list or part of one; named, items kept whether they go in or not; marked, whether the
    rows left out are remembered by 16 bytes each, so that one that stands again in another piece is known (needless
    for pieces of `read_catalogue_chunks`, which have each row once).
    Returns: the springs that go in, the named ones and the nearest that do not go in.
    Raises: OrderbookError as `bench_of`.
    """
    bench = barrel if isinstance(barrel, Bench) else bench_of(barrel)[0]
    reading = piece if isinstance(piece, CatalogueReading) else _reading_of(piece)
    springs = reading.catalogue
    found = sift(bench, strips_of(springs))
    far = np.where(found.goes, 0.0, np.maximum(found.far, np.finfo(float).tiny))
    if named:
        names = zip(springs.supplier.tolist(), springs.item.tolist(), strict=True)
        far[[any(is_meant(one, *name) for one in named) for name in names]] = 0.0
    marks = np.zeros((0, 2), dtype=np.uint64) if marked else None
    return _nearest(Candidates(replace(reading, rejects=(), columns=()), far, 0, marks))


def merged(parts: Iterable[Candidates]) -> Candidates:
    """Put the sifted pieces of a list together: `merged` of `candidates` is `candidates` of the whole.

    A row that stands in two pieces is dropped and counted: among the springs kept always, among those left out where
    all pieces are marked.
    """
    pieces = list(parts)
    if len(pieces) == 1:
        return pieces[0]
    springs = Catalogue.concat([piece.reading.catalogue for piece in pieces])
    far = np.concatenate([np.zeros(0), *(piece.far for piece in pieces)])
    first = first_of_each(springs)
    springs, left_out = springs.take(first), sum(piece.left_out for piece in pieces)
    marks = _marks(pieces, springs)
    left_out_once = left_out if marks is None else len(marks)
    again = int((~first).sum()) + left_out - left_out_once
    whole = together([piece.reading for piece in pieces])
    told = [found for found in whole.findings if found.code != "item_differs"]
    reading = replace(
        whole,
        catalogue=springs,
        rows_kept=whole.rows_kept - again,
        rows_duplicate=whole.rows_duplicate + again,
        findings=(*told, *about_items_that_differ(springs)),
    )
    return _nearest(Candidates(reading, far[first], left_out_once, marks))


def _marks(pieces: Sequence[Candidates], kept: Catalogue) -> NDArray[np.uint64] | None:
    """The marks of the rows left out, each once, without those that another piece kept."""
    marks = [piece.marks for piece in pieces if piece.marks is not None]
    if not pieces or len(marks) < len(pieces):
        return None
    known = np.unique(marks_of(kept), axis=0)
    left_out = np.unique(np.concatenate(marks), axis=0)
    both, first, count = np.unique(np.concatenate([left_out, known]), axis=0, return_index=True, return_counts=True)
    return np.asarray(both[(count == 1) & (first < len(left_out))])


def _reading_of(springs: Catalogue) -> CatalogueReading:
    return CatalogueReading(springs, (), (), len(springs), len(springs), 0, 0, ())


def _nearest(found: Candidates) -> Candidates:
    out = np.flatnonzero(found.far > 0)
    nearest = out[np.argsort(found.far[out], kind="stable")[:NEAREST]]
    keep = found.far == 0
    keep[nearest] = True
    dropped = len(keep) - int(keep.sum())
    if not dropped:
        return found
    springs, marks = found.reading.catalogue, found.marks
    if marks is not None:
        marks = np.concatenate([marks, marks_of(springs.take(~keep))])
    reading = replace(found.reading, catalogue=springs.take(keep))
    return Candidates(reading, found.far[keep], found.left_out + dropped, marks)
