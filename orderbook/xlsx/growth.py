"""Lets a table grow: its own part, and all that covered its last row (drop-downs, highlights, names, charts)."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from orderbook.errors import error
from orderbook.xlsx.anatomy import BookTable, area
from orderbook.xlsx.page import address
from orderbook.xlsx.xml_parts import serialise, tag, tree

PRINTED_BELOW = 6  # blank rows of a table that are printed below its last filled one, to write on

_RANGE = re.compile(r"\$?[A-Z]{1,3}\$?\d{1,7}:\$?[A-Z]{1,3}\$?\d{1,7}")
_FORMULAS = ("formula", "formula1", "formula2", "f", "sqref")


@dataclass(frozen=True, slots=True)
class Growth:
    """A table and its new last row (from 0)."""

    table: BookTable
    bottom: int

    def grown(self, ref: str) -> str:
        """Return a range of cells, longer if it reached just to the table's last row within its columns."""
        try:
            top, left, bottom, right = area(ref)
        except ValueError:
            return ref
        t = self.table
        if bottom != t.bottom or left < t.left or right > t.right or top < t.top:
            return ref
        fixed = "$" in ref
        return f"{address(top, left, fixed=fixed)}:{address(self.bottom, right, fixed=fixed)}"

    def grown_formula(self, text: str) -> str:
        """Return a formula with each range on the table's sheet that reached its last row made longer."""
        sheet = re.escape(self.table.sheet)
        quoted = re.escape(self.table.sheet.replace("'", "''"))
        pattern = re.compile(rf"((?:{sheet}|'{quoted}')!)({_RANGE.pattern})")
        return pattern.sub(lambda match: match[1] + self.grown(match[2]), text)


def table_part(growth: Growth, formulas: Mapping[str, str], where: str) -> Callable[[Iterator[bytes]], Iterable[bytes]]:
    """Return the edit of a table's part: new range, and the column formulas of our definition if a program lost them.

    Raises (when run): OrderbookError for a table with a totals row.
    """

    def run(pieces: Iterator[bytes]) -> Iterator[bytes]:
        root = tree(b"".join(pieces), where=where, part=growth.table.part)
        if growth.table.totals:
            raise error(
                "book_totals_row", where=f"{where}, table {growth.table.name}", saw="a totals row below the data"
            )
        t = growth.table
        ref = f"{address(t.top, t.left, fixed=False)}:{address(growth.bottom, t.right, fixed=False)}"
        root.set("ref", ref)
        if (filtered := root.find(tag("autoFilter"))) is not None:
            filtered.set("ref", ref)
        for column in root.iterfind(f"{tag('tableColumns')}/{tag('tableColumn')}"):
            _restore(column, formulas.get(column.get("name", "")))
        yield serialise(root)

    return run


def _restore(column: Any, formula: str | None) -> None:
    from lxml import etree

    if formula and column.find(tag("calculatedColumnFormula")) is None:
        element = etree.Element(tag("calculatedColumnFormula"))
        element.text = formula.lstrip("=")
        column.insert(0, element)


def sheet_tail(growths: Iterable[Growth], sheet: str) -> Callable[[Any], None]:
    """Return the change of what follows a sheet's cells: drop-downs and highlights cover the new rows."""
    own = [g for g in growths if g.table.sheet == sheet]
    every = list(growths)

    def change(root: Any) -> None:
        for element in root.iter():
            if not isinstance(element.tag, str):
                continue
            if "sqref" in element.attrib:
                element.set("sqref", _each(element.get("sqref"), own))
            local = element.tag.rpartition("}")[2]
            if local in _FORMULAS and element.text:
                element.text = _each(element.text, own) if local == "sqref" else _formula(element.text, every)

    return change


def _each(refs: str, growths: Iterable[Growth]) -> str:
    for growth in growths:
        refs = " ".join(growth.grown(ref) for ref in refs.split())
    return refs


def _formula(text: str, growths: Iterable[Growth]) -> str:
    for growth in growths:
        text = growth.grown_formula(text)
    return text


def chart_part(growths: Iterable[Growth], part: str, where: str) -> Callable[[Iterator[bytes]], Iterable[bytes]]:
    """Return the edit of a chart's part: its ranges cover the new rows. A chart that needs none keeps its bytes."""
    every = list(growths)

    def run(pieces: Iterator[bytes]) -> Iterator[bytes]:
        data = b"".join(pieces)
        root = tree(data, where=where, part=part)
        changed = False
        for element in root.iter("{http://schemas.openxmlformats.org/drawingml/2006/chart}f"):
            new = _formula(element.text or "", every)
            changed = changed or new != element.text
            element.text = new
        yield serialise(root) if changed else data

    return run


def names_grown(root: Any, growths: Iterable[Growth]) -> bool:
    """Lengthen the ranges that the workbook's names stand for; True if one changed. For print ranges see below."""
    changed = False
    for name in root.iterfind(f"{tag('definedNames')}/{tag('definedName')}"):
        if name.text and not name.get("name", "").startswith("_xlnm."):
            new = _formula(name.text, growths)
            changed = changed or new != name.text
            name.text = new
    return changed


def print_areas_grown(root: Any, filled: Iterable[tuple[BookTable, int]]) -> bool:
    """Lengthen each print area that holds the head of a table and all its columns, so that no filled row is left out.

    Parameters: tables with their last filled row (from 0). An area that shows only a part of a table was chosen by the
    user, and stays.
    """
    sheets = [sheet.get("name") for sheet in root.iterfind(f"{tag('sheets')}/{tag('sheet')}")]
    changed = False
    for name in root.iterfind(f"{tag('definedNames')}/{tag('definedName')}"):
        if name.get("name") != "_xlnm.Print_Area" or name.get("localSheetId") is None:
            continue
        sheet, mark, ref = (name.text or "").rpartition("!")
        try:
            top, left, bottom, right = area(ref)
            own = sheets[int(name.get("localSheetId"))]
        except (ValueError, IndexError):
            continue
        last = max((row for t, row in filled if t.sheet == own and top <= t.top <= bottom and left <= t.left
                    and t.right <= right), default=0)  # fmt: skip
        if last > bottom:
            changed = True
            name.text = f"{sheet}{mark}{address(top, left)}:{address(last + PRINTED_BELOW, right)}"
    return changed
