"""Which cells a formula looks at: rectangles on sheets, its own row left open, as a column's cells share it.

Only what stands plainly in the text is told. A formula that works out an address while it runs, or uses what is not
understood here, is unclear; whoever asks must then take every cell into account.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache

from orderbook.xlsx.anatomy import column_number
from orderbook.xlsx.structured import OWN_ROW

OWN = -1  # stands for the row of the formula itself
LAST_ROW, LAST_COL = 1_048_575, 16_383
_UNCLEAR_CALLS = {"OFFSET", "INDIRECT"}
_CHANGING_CALLS = {"NOW", "TODAY", "RAND", "RANDBETWEEN", "RANDARRAY", "CELL", "INFO"}
_WORDS = {"TRUE", "FALSE"}
_FIRST = re.compile(r"INDEX\(('(?:[^']|'')*'!)?(\$[A-Z]+\$\d+)(?::\$[A-Z]+\$\d+)?,1\):(?:\1(?=\$))?")
_SHEET = r"(?:'(?:[^']|'')+'|[^\W\d][\w.]*)!"
_END = r"(?![\w(.!#])"
_TOKEN = re.compile(
    rf"""(?P<text>"(?:[^"]|"")*")
    |(?P<error>\#[A-Z][A-Z0-9/_]*[!?]?)
    |(?P<rows>(?:{_SHEET})?\$?\d+:\$?\d+){_END}
    |(?P<number>(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?)
    |(?P<cells>(?:{_SHEET})?\$?[A-Z]{{1,3}}\$?(?:\d{{1,7}}|{OWN_ROW})
        (?::(?:{_SHEET})?\$?[A-Z]{{1,3}}\$?(?:\d{{1,7}}|{OWN_ROW}))?){_END}
    |(?P<columns>(?:{_SHEET})?\$?[A-Z]{{1,3}}:\$?[A-Z]{{1,3}}){_END}
    |(?P<call>[^\W\d][\w.]*)\(
    |(?P<word>[^\W\d][\w.\\?]*)
    |(?P<range>\)\s*:|:)|(?P<other>[\[\]{{}}\#'!@])""",
    re.VERBOSE,
)
_NAME = re.compile(
    r'"(?:[^"]|"")*"|\'(?:[^\']|\'\')*\'|\[(?:[^\[\]\']|\'.|\[(?:[^\[\]\']|\'.)*\])*\]|(?<![\w.!\[])([^\W\d\\][\w.\\?]*)(?![\w.(!\[])'
)


@dataclass(frozen=True, slots=True)
class Area:
    """A rectangle of cells a formula looks at, from 0; a row may be `OWN`."""

    sheet: str
    top: int
    left: int
    bottom: int
    right: int


@dataclass(frozen=True, slots=True)
class Looks:
    """What a formula looks at, and whether it may change by itself; `areas` is None if the text does not say."""

    areas: tuple[Area, ...] | None
    changes_by_itself: bool = False


@lru_cache(maxsize=8192)
def looks_of(text: str, sheet: str) -> Looks:
    """Return what a formula on a sheet looks at; structured references have been turned into addresses.

    >>> looks_of("=SUM('Work bench'!$B$2:$B$4)+A1", "Other").areas
    (Area(sheet='Work bench', top=1, left=1, bottom=3, right=1), Area(sheet='Other', top=0, left=0, bottom=0, right=0))
    >>> looks_of("=OFFSET(A1,1,1)", "Other").areas is None
    True
    """
    areas, changing = [], False
    for match in _TOKEN.finditer(first_of(text)):
        kind = match.lastgroup
        if kind in ("rows", "cells", "columns"):
            areas.append(_area(match[0], kind, sheet))
        elif kind == "call":
            name = match[kind].upper().rpartition(".")[2]
            changing = changing or name in _CHANGING_CALLS
            if name in _UNCLEAR_CALLS:
                return Looks(None)
        elif kind in ("range", "other") or (kind == "word" and match[0].upper() not in _WORDS):
            return Looks(None)
    return Looks(tuple(areas), changing)


def first_of(text: str) -> str:
    """Return `INDEX(range,1):cell` as one range, which says plainly what it covers.

    The sheet is named once: the engine takes a range that names it twice to depend on nothing.

    >>> first_of("=SUM(INDEX('A b'!$B$4:$B$9,1):'A b'!$B$7)")
    "=SUM('A b'!$B$4:$B$7)"
    """
    return _FIRST.sub(r"\1\2:", text) if "INDEX(" in text else text


def _area(text: str, kind: str, sheet: str) -> Area:
    first, _, second = _parted(text)
    if "!" in first:
        name, _, first = first.rpartition("!")
        sheet = name[1:-1].replace("''", "'") if name.startswith("'") else name
    second = second.rpartition("!")[2] or first
    if kind == "rows":
        tops = sorted(int(end.replace("$", "")) - 1 for end in (first, second))
        return Area(sheet, tops[0], 0, tops[1], LAST_COL)
    ends = [end.replace("$", "") for end in (first, second)]
    left, right = sorted(column_number(end.rstrip("0123456789" + OWN_ROW)) for end in ends)
    if kind == "columns":
        return Area(sheet, 0, left, LAST_ROW, right)
    top, bottom = (OWN if end.endswith(OWN_ROW) else int(end.lstrip("ABCDEFGHIJKLMNOPQRSTUVWXYZ")) - 1 for end in ends)
    return Area(sheet, *(min(top, bottom), left, max(top, bottom)), right) if OWN not in (top, bottom) else Area(
        sheet, top, left, bottom, right
    )  # fmt: skip


def _parted(text: str) -> tuple[str, str, str]:
    """Part a reference at its colon; a sheet's name between quotes may hold one."""
    at = text.rfind("'!") if text.startswith("'") else -1
    at = text.index("'!") if at >= 0 and text.count("'!") > 1 else at
    first, colon, second = text[max(at, 0) :].partition(":")
    return text[: max(at, 0)] + first, colon, second


def without_names(formula: str, names: Mapping[str, str]) -> str:
    """Return a formula with each of the book's names that stands for cells replaced by their address.

    `names` is keyed in lower case. Text, sheets and functions are left alone.

    >>> without_names('=SUM(all_mm)&"all_mm"', {"all_mm": "One!$B$2:$B$4"})
    '=SUM(One!$B$2:$B$4)&"all_mm"'
    """
    if not names:
        return formula
    return _NAME.sub(lambda match: names.get((match[1] or "").lower(), match[0]), formula)
