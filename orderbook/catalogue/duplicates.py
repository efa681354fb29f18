"""Rows that say the same twice, and items that say two things."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, fields
from hashlib import blake2b

import numpy as np
from numpy.typing import NDArray

from orderbook.catalogue.springs import Catalogue
from orderbook.errors import Finding, finding

SAME = tuple(one.name for one in fields(Catalogue) if one.name not in ("file", "line"))
SHOWN = 5
AT_ONCE = 20_000  # rows held as Python objects at a time


def first_of_each(springs: Catalogue) -> NDArray[np.bool_]:
    """Mark the rows that are not the repeat of an earlier row in everything but file and line.

    >>> two = Catalogue.of(item=["a", "a", "b"], width_mm=[2, 2, 2], strength_mm=[1, 1, 1], length_mm=[9, 9, 9])
    >>> first_of_each(two).tolist()
    [True, False, True]
    """
    if all_items_differ(springs):
        return np.ones(len(springs), dtype=bool)
    key = np.zeros(len(springs), dtype=np.int64)
    for name in SAME:
        codes = _codes(getattr(springs, name))
        if not codes.any():
            continue
        _, key = np.unique(key * (int(codes.max()) + 1) + codes, return_inverse=True)
    _, first = np.unique(key, return_index=True)
    mask = np.zeros(len(springs), dtype=bool)
    mask[first] = True
    return mask


def marks_of(springs: Catalogue) -> NDArray[np.uint64]:
    """Mark each row by 16 bytes, two numbers a row, that are the same only for rows that say the same.

    >>> two = Catalogue.of(item=["a", "a", "b"], width_mm=[2, 2, 2], strength_mm=[1, 1, 1], length_mm=[9, 9, 9])
    >>> len(np.unique(marks_of(two), axis=0))
    2
    """
    parts = [_marks(springs, slice(at, at + AT_ONCE)) for at in range(0, len(springs), AT_ONCE)]
    return np.frombuffer(b"".join(parts), dtype=np.uint64).reshape(-1, 2)


def _marks(springs: Catalogue, rows: slice) -> bytes:
    columns = [getattr(springs, name)[rows].tolist() for name in SAME]
    said = (repr(row).encode("utf-8", "surrogatepass") for row in zip(*columns, strict=True))
    return b"".join(blake2b(row, digest_size=16).digest() for row in said)


def all_items_differ(springs: Catalogue) -> bool:
    """Whether no item number stands there twice, so that nothing can be a duplicate.

    Looked up by hashes first, which sort ten times as fast as texts.
    """
    items = springs.item.tolist()
    hashes = np.sort(np.fromiter(map(hash, items), dtype=np.int64, count=len(items)))
    return not bool((hashes[1:] == hashes[:-1]).any()) or len(set(items)) == len(items)


def items_that_differ(springs: Catalogue) -> list[tuple[str, str, list[int]]]:
    """Items of one supplier that stand there with different sizes or prices: supplier, item, lines."""
    items = springs.item.tolist()
    places: dict[tuple[str, str], list[int]] = {}
    for line, key in zip(springs.line.tolist(), zip(springs.supplier.tolist(), items, strict=True), strict=True):
        places.setdefault(key, []).append(line)
    return [(*key, lines) for key, lines in places.items() if len(lines) > 1]


def about_items_that_differ(springs: Catalogue) -> list[Finding]:
    """Tell of the items that stand there with different sizes or prices, if there are any."""
    differ = items_that_differ(springs)
    if not differ:
        return []
    shown = "; ".join(f"{item} in lines {lines_text(lines)}" for _, item, lines in differ[:SHOWN])
    more = f" and {len(differ) - SHOWN} more" if len(differ) > SHOWN else ""
    return [finding("item_differs", where="catalogue", saw=shown + more)]


def about_items_again(springs: Catalogue, rows: NDArray[np.intp]) -> list[Finding]:
    """Tell of rows whose item an earlier piece had with another size or price."""
    if not len(rows):
        return []
    shown = "; ".join(f"{springs.item[row]} in line {springs.line[row]} and before" for row in rows[:SHOWN].tolist())
    more = f" and {len(rows) - SHOWN} more" if len(rows) > SHOWN else ""
    return [finding("item_differs", where="catalogue", saw=shown + more)]


def lines_text(lines: Sequence[int]) -> str:
    """The first few line numbers.

    >>> lines_text(range(1, 9))
    '1, 2, 3, 4, 5 …'
    """
    return ", ".join(str(line) for line in lines[:SHOWN]) + (" …" if len(lines) > SHOWN else "")


def _codes(values: NDArray[np.generic]) -> NDArray[np.int64]:
    if values.dtype != object:
        _, codes = np.unique(values, return_inverse=True)
        return np.asarray(codes, dtype=np.int64)
    places: dict[str, int] = {}
    return np.fromiter((places.setdefault(v, len(places)) for v in values.tolist()), np.int64, count=len(values))


@dataclass(slots=True)
class Met:
    """What was met so far, as sorted marks of 8 bytes each."""

    marks: NDArray[np.int64] = field(default_factory=lambda: np.zeros(0, dtype=np.int64))

    def among(self, marks: NDArray[np.int64]) -> NDArray[np.bool_]:
        """Tell which marks were met."""
        if not len(self.marks):
            return np.zeros(len(marks), dtype=bool)
        at = np.searchsorted(self.marks, marks)
        return np.asarray(self.marks[np.minimum(at, len(self.marks) - 1)] == marks)

    def add(self, marks: NDArray[np.int64]) -> None:
        """Remember some more; two sorted runs are merged in one pass."""
        self.marks = np.concatenate([self.marks, np.sort(marks)])
        self.marks.sort(kind="stable")


@dataclass(slots=True)
class Repeats:
    """The rows and the items seen so far, so that a repeat in a later piece is known, and an item that differs.

    A row is a repeat if its mark and that of its item were both met: two rows that differ and yet pass for one would
    need the same mark of 64 bits by chance, and the same item besides.
    """

    rows: Met = field(default_factory=Met)
    items: Met = field(default_factory=Met)

    def sort_out(self, springs: Catalogue) -> tuple[NDArray[np.bool_], NDArray[np.intp]]:
        """Return a mask of the rows no earlier piece had, and the rows among them whose item one had; remember all."""
        items, rows = _hashes(springs, ("supplier", "item")), _hashes(springs, SAME)
        known = self.items.among(items)
        new = ~(known & self.rows.among(rows))
        self.items.add(items[new])
        self.rows.add(rows[new])
        return new, np.flatnonzero(known & new)


def _hashes(springs: Catalogue, names: Sequence[str]) -> NDArray[np.int64]:
    """A number of 64 bits for each row, made of those of its columns."""
    mixed = np.full(len(springs), 0x9E3779B97F4A7C15, dtype=np.uint64)
    for name in names:
        values = getattr(springs, name)
        if values.dtype == object:
            numbers = np.fromiter(map(hash, values.tolist()), dtype=np.int64, count=len(values))
        else:
            numbers = np.ascontiguousarray(values + 0 if values.dtype == np.float64 else values).view(np.int64)
        mixed = _mix(mixed ^ numbers.view(np.uint64))
    return mixed.view(np.int64)


def _mix(numbers: NDArray[np.uint64]) -> NDArray[np.uint64]:
    """Spread every bit over all others, so that what is put in next does not cancel it (splitmix64's finalizer)."""
    with np.errstate(over="ignore"):
        numbers = (numbers ^ (numbers >> np.uint64(30))) * np.uint64(0xBF58476D1CE4E5B9)
        numbers = (numbers ^ (numbers >> np.uint64(27))) * np.uint64(0x94D049BB133111EB)
    return numbers ^ (numbers >> np.uint64(31))
