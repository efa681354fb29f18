"""What is wrong with rows: the first trouble of each, and the reject made of it."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from orderbook.catalogue.blocks import Block
from orderbook.catalogue.sizes import Trouble
from orderbook.catalogue.springs import Reject
from orderbook.catalogue.words import Words, fold


@dataclass(slots=True)
class Faults:
    """The first trouble of each row, by number (0: none)."""

    number: NDArray[np.int32]
    troubles: list[tuple[str, Trouble]] = field(default_factory=list)

    @staticmethod
    def none(rows: int) -> Faults:
        """No row has trouble yet."""
        return Faults(np.zeros(rows, dtype=np.int32))

    def add(self, column: str, rows: NDArray[np.bool_], trouble: Trouble) -> None:
        """Note the trouble of these rows, unless they have one already."""
        hit = rows & (self.number == 0)
        if hit.any():
            self.troubles.append((column, trouble))
            self.number[hit] = len(self.troubles)

    def of_cells(self, column: str, codes: NDArray[np.int32], troubles: dict[int, Trouble]) -> None:
        """Note the troubles of distinct cells for the rows that have them."""
        if not troubles:
            return
        index = np.zeros(1 + max(int(codes.max(initial=0)), *troubles), dtype=np.int32)  # some cells have no row left
        for cell, trouble in troubles.items():
            self.troubles.append((column, trouble))
            index[cell] = len(self.troubles)
        found = index[codes]
        self.number = np.where(self.number == 0, found, self.number)


def rejects_of(block: Block, faults: Faults, file: str, words: Words) -> list[Reject]:
    """Make the rejects of the rows that have trouble; titles and totals are told as such."""
    totals = words.kind("total")
    begins = frozenset(word.split()[0] for word in totals)
    rows = np.flatnonzero(faults.number)
    return [_reject(block, int(row), faults.troubles[faults.number[row] - 1], file, totals, begins) for row in rows]


def _reject(
    block: Block, row: int, fault: tuple[str, Trouble], file: str, totals: frozenset[str], begins: frozenset[str]
) -> Reject:
    column, trouble = fault
    cells = [c.texts[c.codes[row]] for c in block.columns]
    filled = [cell for cell in cells if cell]
    text = " | ".join(cells)
    line = int(block.lines[row])
    if len(filled) == 1 and not filled[0][:1].isdigit():
        return Reject(file, line, "", filled[0], "a title or remark: one cell only", "Nothing to do if so.")
    if any(_is_total(cell, totals, begins) for cell in filled):
        return Reject(file, line, "", text, "a total, not a spring", "Nothing to do if so.")
    return Reject(file, line, column, text, trouble.reason, trouble.try_this)


def _is_total(cell: str, totals: frozenset[str], begins: frozenset[str]) -> bool:
    words = fold(cell)
    if not words or words[0] not in begins:
        return False
    return any(" ".join(words[:n]) in totals for n in (1, 2, 3))
