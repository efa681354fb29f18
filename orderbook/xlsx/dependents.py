"""Which formulas of a book depend on what was changed, and which cells those look at.

Formulas of one column that read alike form a group, so that a table of twenty thousand rows is a handful of groups.
"""

from __future__ import annotations

from bisect import bisect_left
from collections import defaultdict, deque
from collections.abc import Container, Iterable, Iterator, Mapping
from dataclasses import dataclass, field

from orderbook.xlsx.evaluation import Spot
from orderbook.xlsx.page import ArrayFormula, Formula
from orderbook.xlsx.references import OWN, Area, Looks, looks_of
from orderbook.xlsx.structured import PlacedTable, with_open_row

_WIDE = 64  # columns; a wider area is kept with its sheet, not with each of its columns


@dataclass(slots=True, eq=False)
class AlikeFormulas:
    """Formulas of one column that read alike: their rows in order, and those found to depend on a change."""

    sheet: str
    left: int
    right: int
    height: int
    areas: tuple[Area, ...]
    rows: list[int] = field(default_factory=list)
    dirty: set[int] = field(default_factory=set)

    def touched(self, area: Area, rows: list[int]) -> Iterable[int]:
        """Return which rows of the group look at some of `rows` (in order) by one of its areas."""
        if area.top == OWN and area.bottom == OWN:
            return set(rows).intersection(self.rows)
        if area.top == OWN:
            at = bisect_left(rows, area.bottom + 1)
            return self.rows[: bisect_left(self.rows, rows[at - 1] + 1)] if at else ()
        at = bisect_left(rows, area.top)
        if at == len(rows) or (area.bottom != OWN and rows[at] > area.bottom):
            return ()
        return self.rows if area.bottom != OWN else self.rows[bisect_left(self.rows, rows[at]) :]


class Dependence:
    """What looks at what in a book."""

    def __init__(
        self, formulas: Mapping[Spot, Formula | ArrayFormula], tables: tuple[PlacedTable, ...], sheets: Container[str]
    ) -> None:
        """Sort formulas into groups; `clear` is false if one of them does not say what it looks at."""
        self.clear = True
        self.changing: list[Spot] = []
        self._groups: dict[tuple[str, int, str, int], AlikeFormulas] = {}
        self._of: dict[Spot, AlikeFormulas] = {}
        for (sheet, (row, col)), formula in formulas.items():
            text = with_open_row(formula.text, tables, sheet, row, col)
            looks = looks_of(text, sheet)
            if looks.areas is None or any(area.sheet not in sheets for area in looks.areas):
                self.clear = False
                return
            self._add((sheet, (row, col)), text, looks, formula)
        self._columns: dict[tuple[str, int], list[tuple[Area, AlikeFormulas]]] = defaultdict(list)
        self._wide: dict[str, list[tuple[Area, AlikeFormulas]]] = defaultdict(list)
        for group in self._groups.values():
            group.rows.sort()
            for area in group.areas:
                self._index(area, group)

    def _add(self, spot: Spot, text: str, looks: Looks, formula: Formula | ArrayFormula) -> None:
        sheet, (row, col) = spot
        rows, cols = (formula.rows, formula.cols) if isinstance(formula, ArrayFormula) else (1, 1)
        key = (sheet, col, text, rows * 16384 + cols)
        if key not in self._groups:
            self._groups[key] = AlikeFormulas(sheet, col, col + cols - 1, rows, looks.areas or ())
        self._of[spot] = self._groups[key]
        self._groups[key].rows.append(row)
        if looks.changes_by_itself:
            self.changing.append(spot)

    def _index(self, area: Area, group: AlikeFormulas) -> None:
        if area.right - area.left >= _WIDE:
            self._wide[area.sheet].append((area, group))
        else:
            for col in range(area.left, area.right + 1):
                self._columns[area.sheet, col].append((area, group))

    def follow(self, changed: Iterable[tuple[str, int, list[int]]], begin: Iterable[Spot]) -> None:
        """Mark the formulas that depend on changed cells, those of `begin`, and all that depends on them in turn.

        `changed` tells a sheet, a column and its changed rows, in order.
        """
        todo = deque(changed)
        first: dict[AlikeFormulas, list[int]] = defaultdict(list)
        for spot in begin:  # rows of one group are followed together
            first[self._of[spot]].append(spot[1][0])
        for group, rows in first.items():
            todo.extend(self._mark(group, rows))
        while todo:
            sheet, col, rows = todo.popleft()
            for area, group in self._columns.get((sheet, col), ()):
                todo.extend(self._mark(group, group.touched(area, rows)))
            for area, group in self._wide.get(sheet, ()):
                if area.left <= col <= area.right:
                    todo.extend(self._mark(group, group.touched(area, rows)))

    def _mark(self, group: AlikeFormulas, rows: Iterable[int]) -> Iterator[tuple[str, int, list[int]]]:
        new = sorted(set(rows) - group.dirty)
        if not new:
            return
        group.dirty.update(new)
        filled = new if group.height == 1 else sorted({r for row in new for r in range(row, row + group.height)})
        for col in range(group.left, group.right + 1):
            yield group.sheet, col, filled

    def dirty(self) -> Iterator[Spot]:
        """Yield the marked formulas."""
        for group in self._groups.values():
            for row in group.dirty:
                yield group.sheet, (row, group.left)

    def looked_at(self) -> Iterator[Area]:
        """Yield what the marked formulas look at, every row told."""
        for group in self._groups.values():
            if group.dirty:
                for area in group.areas:
                    yield from _told(area, group.dirty)


def _told(area: Area, rows: set[int]) -> Iterator[Area]:
    if area.top == OWN and area.bottom == OWN:
        for row in rows:
            yield Area(area.sheet, row, area.left, row, area.right)
    else:
        top = min(rows) if area.top == OWN else area.top
        bottom = max(rows) if area.bottom == OWN else area.bottom
        yield Area(area.sheet, min(top, bottom), area.left, max(top, bottom), area.right)
