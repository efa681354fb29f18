"""Structured references as plain addresses, so that an engine needs no tables."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

from orderbook.xlsx.page import address, letters

OWN_ROW = "\0"  # stands for the row of the formula itself, so that the cells of a column share a text
_AREAS = {"#all", "#data", "#headers", "#totals", "#this row"}
_REFERENCE = re.compile(
    r"""(?P<text>"(?:[^"]|"")*"|'(?:[^']|'')*')
    |(?P<table>[A-Za-z_\\][\w.\\]*)?(?P<spec>\[(?:[^\[\]']|'.|\[(?:[^\[\]']|'.)*\])*\])""",
    re.VERBOSE,
)
_PART = re.compile(r"\[((?:[^\[\]']|'.)*)\]|([^,:\[\]]+)")


@dataclass(frozen=True, slots=True, eq=False)
class PlacedTable:
    """Where a table lies, rows and columns from 0, the header row and `totals` rows included.

    Two are the same only if they are one object: a book's formulas ask for it ten thousand times.
    """

    name: str
    sheet: str
    top: int
    left: int
    bottom: int
    right: int
    heads: tuple[str, ...]
    totals: int = 0


def to_addresses(formula: str, tables: Sequence[PlacedTable], sheet: str, row: int, col: int) -> str:
    """Return `formula` with every `Table[…]` and `[@col]` replaced; words between quotes are left alone.

    >>> t = PlacedTable("Rates", "Lists", 2, 1, 5, 2, ("Currency", "Rate"))
    >>> to_addresses('=SUM(Rates[Rate])+Rates[[#This Row],[Rate]]', [t], "Lists", 3, 4)
    "=SUM('Lists'!$C$4:$C$6)+'Lists'!$C$4"
    """
    return with_open_row(formula, tuple(tables), sheet, row, col).replace(OWN_ROW, str(row + 1))


def with_open_row(formula: str, tables: tuple[PlacedTable, ...], sheet: str, row: int, col: int) -> str:
    """Return `formula` as `to_addresses` does, but with `OWN_ROW` where it means its own row."""
    if "[" not in formula:
        return formula
    here = next((t for t in tables if t.sheet == sheet and t.top <= row <= t.bottom and t.left <= col <= t.right), None)
    return _pattern(formula, tables, here, _inside(tables, row))


@lru_cache(maxsize=65536)
def _inside(tables: tuple[PlacedTable, ...], row: int) -> frozenset[str]:
    return frozenset(t.name for t in tables if t.top < row <= t.bottom - t.totals)


@lru_cache(maxsize=4096)
def _pattern(formula: str, tables: tuple[PlacedTable, ...], here: PlacedTable | None, inside: frozenset[str]) -> str:
    """Return the formula with addresses, its own row left open: the cells of a column share it."""
    named = _by_name(tables)

    def swap(match: re.Match[str]) -> str:
        if match["text"]:
            return match[0]
        table = named.get(match["table"].lower()) if match["table"] else here
        if table is None:
            return match[0]
        return _address(table, match["spec"], table.name in inside)

    return _REFERENCE.sub(swap, formula)


@lru_cache(maxsize=64)
def _by_name(tables: tuple[PlacedTable, ...]) -> dict[str, PlacedTable]:
    return {t.name.lower(): t for t in tables}


@lru_cache(maxsize=16384)
def _address(table: PlacedTable, spec: str, inside: bool) -> str:
    areas, ends = _taken_apart(spec)
    heads = [head.lower() for head in table.heads]
    try:
        places = [table.left + heads.index(end) for end in ends]
    except ValueError:
        return "#REF!"
    left, right = (min(places), max(places)) if places else (table.left, table.right)
    quoted = "'" + table.sheet.replace("'", "''") + "'!"
    if "#this row" in areas:
        return _span(quoted, f"${letters(left)}${OWN_ROW}", f"${letters(right)}${OWN_ROW}") if inside else "#VALUE!"
    top, bottom = _rows(table, areas)
    return _span(quoted, address(top, left), address(bottom, right))


def _span(sheet: str, first: str, last: str) -> str:
    return sheet + first if first == last else f"{sheet}{first}:{last}"


@lru_cache(maxsize=4096)
def _taken_apart(spec: str) -> tuple[frozenset[str], tuple[str, ...]]:
    inner = spec[1:-1].strip()
    areas: set[str] = set()
    if inner.startswith("@"):
        areas.add("#this row")
        inner = inner[1:]
    parts = [a or b for a, b in _PART.findall(inner)] if "[" in inner else [inner]
    ends = []
    for part in filter(None, (p.strip() for p in parts)):
        if part.lower() in _AREAS:
            areas.add(part.lower())
        else:
            ends.append(re.sub(r"'(.)", r"\1", part).lower())
    return frozenset(areas), tuple(ends)


def _rows(table: PlacedTable, areas: frozenset[str]) -> tuple[int, int]:
    last = table.bottom - table.totals
    if "#all" in areas:
        return table.top, table.bottom
    if "#headers" in areas:
        return table.top, last if "#data" in areas else table.top
    if "#totals" in areas:
        return (table.top + 1 if "#data" in areas else table.bottom), table.bottom
    return table.top + 1, last
