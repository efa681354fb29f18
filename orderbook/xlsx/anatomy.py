"""Where things are in a book: sheets and their parts, tables and their heads, names, charts, the date system."""

from __future__ import annotations

import posixpath
import re
import zipfile
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from typing import Any

from orderbook.errors import error
from orderbook.xlsx.package import CHUNK, read_part, reading
from orderbook.xlsx.xml_parts import PACKAGE_RELATIONS, RELATIONS, tag, tree

_MERGED = re.compile(rb"<(?:\w+:)?mergeCell\b[^>]*\sref=[\"']([A-Z0-9:]+)[\"']")
_FIXED = re.compile(r"(?:'(?:[^']|'')+'|[^\W\d][\w.]*)!\$[A-Z]{1,3}\$\d+(?::\$[A-Z]{1,3}\$\d+)?")
_ESCAPED = re.compile(r"_x([0-9A-Fa-f]{4})_")
_CELL = re.compile(r"\$?([A-Z]{1,3})\$?(\d{1,7})")


@dataclass(frozen=True, slots=True)
class BookTable:
    """A table as it stands in a book; rows and columns from 0, its header row included."""

    name: str
    sheet: str
    part: str
    top: int
    left: int
    bottom: int
    right: int
    heads: tuple[str, ...]
    totals: int = 0
    formulas: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Anatomy:
    """The parts of a book and what is in them."""

    path: Path
    workbook: str
    sheets: Mapping[str, str]
    tables: Mapping[str, BookTable]
    strings: str | None
    styles: str | None
    charts: tuple[str, ...]
    date1904: bool
    calc_chain: str | None
    names: Mapping[str, str]
    recalculate: bool
    merged: Mapping[str, tuple[tuple[int, int, int, int], ...]]


def anatomy(package: zipfile.ZipFile, path: Path) -> Anatomy:
    """Read where the sheets, tables and charts of a book are."""
    workbook = _workbook_part(package, path)
    root = tree(read_part(package, workbook, path), where=str(path), part=workbook)
    links = relations(package, workbook, path)
    sheets = {}
    for element in root.iterfind(f"{tag('sheets')}/{tag('sheet')}"):
        link = links.get(element.get(f"{{{RELATIONS}}}id"))
        if link and link[0].endswith("/worksheet"):
            sheets[element.get("name")] = link[1]
    return Anatomy(
        path=path,
        workbook=workbook,
        sheets=sheets,
        tables=_tables(package, path, sheets),
        strings=next((target for kind, target in links.values() if kind.endswith("/sharedStrings")), None),
        styles=next((target for kind, target in links.values() if kind.endswith("/styles")), None),
        charts=tuple(n for n in package.namelist() if re.fullmatch(r"xl/charts/chart[^/]*\.xml", n)),
        date1904=_is_1904(root),
        calc_chain=next((target for kind, target in links.values() if kind.endswith("/calcChain")), None),
        names=_names(root),
        recalculate=_asks_to_recalculate(root),
        merged={sheet: _merged(package, part, path) for sheet, part in sheets.items()},
    )


def _merged(package: zipfile.ZipFile, part: str, path: Path) -> tuple[tuple[int, int, int, int], ...]:
    """Find the merged cells of a sheet, which may be large: a piece at a time, cut between elements."""
    found: list[bytes] = []
    rest = b""
    with reading(part, path), package.open(part) as file:
        while piece := file.read(CHUNK):
            rest += piece
            cut = max(rest.rfind(b"<"), 0)
            found += _MERGED.findall(rest, 0, cut) if b"mergeCell" in rest else []
            rest = rest[cut:]
    return tuple(area(ref.decode()) for ref in [*found, *_MERGED.findall(rest)])


def relations(package: zipfile.ZipFile, part: str, path: Path) -> dict[str, tuple[str, str]]:
    """Return id → (kind, target part) of a part's relationships that lie inside the package."""
    name = relations_part(part)
    if name not in package.namelist():
        return {}
    found = {}
    for link in tree(read_part(package, name, path), where=str(path), part=name).iterfind(f"{{{PACKAGE_RELATIONS}}}*"):
        if link.get("TargetMode") != "External":
            found[link.get("Id")] = (link.get("Type", ""), resolve(part, link.get("Target", "")))
    return found


def relations_part(part: str) -> str:
    """Return the name of the part that holds a part's relationships."""
    folder, name = posixpath.split(part)
    return posixpath.join(folder, "_rels", name + ".rels")


def resolve(part: str, target: str) -> str:
    """Return the part a relationship's target names.

    >>> resolve("xl/worksheets/sheet1.xml", "../tables/table1.xml")
    'xl/tables/table1.xml'
    """
    if target.startswith("/"):
        return target[1:]
    return posixpath.normpath(posixpath.join(posixpath.dirname(part), target))


def area(ref: str) -> tuple[int, int, int, int]:
    """Return (top, left, bottom, right) from 0 of a reference such as `B3:H203`.

    >>> area("$B$3:H203")
    (2, 1, 202, 7)
    """
    first, _, last = ref.partition(":")
    top, left = cell_place(first)
    bottom, right = cell_place(last or first)
    return top, left, bottom, right


def cell_place(ref: str) -> tuple[int, int]:
    """Return (row, column) from 0 of a reference such as `B3`."""
    match = _CELL.fullmatch(ref)
    if not match:
        raise ValueError(f"no cell: {ref!r}")
    return int(match[2]) - 1, column_number(match[1])


@lru_cache(maxsize=4096)
def column_number(letters: str) -> int:
    """Return the column, from 0, that letters name.

    >>> column_number("AB")
    27
    """
    total = 0
    for letter in letters:
        total = total * 26 + ord(letter) - 64
    return total - 1


def _workbook_part(package: zipfile.ZipFile, path: Path) -> str:
    for kind, target in relations(package, "", path).values():
        if kind.endswith("/officeDocument"):
            if target not in package.namelist():
                break
            return target
    raise error("book_damaged", where=str(path), saw="the package has no workbook")


def _is_1904(root: Any) -> bool:
    properties = root.find(tag("workbookPr"))
    return properties is not None and properties.get("date1904") in ("1", "true")


def _names(root: Any) -> dict[str, str]:
    """Return name, in lower case → address of the whole book's names that stand for fixed cells."""
    found = {}
    for name in root.iterfind(f"{tag('definedNames')}/{tag('definedName')}"):
        if name.get("localSheetId") is None and _FIXED.fullmatch(name.text or ""):
            found[name.get("name", "").lower()] = name.text
    return found


def _asks_to_recalculate(root: Any) -> bool:
    """Return whether stored values may be old: all is to be worked out on opening, or only when a person asks."""
    calc = root.find(tag("calcPr"))
    return calc is not None and (calc.get("fullCalcOnLoad") in ("1", "true") or calc.get("calcMode") == "manual")


def _tables(package: zipfile.ZipFile, path: Path, sheets: Mapping[str, str]) -> dict[str, BookTable]:
    found: dict[str, BookTable] = {}
    for sheet, part in sheets.items():
        for table in _tables_of(package, path, sheet, part):
            found[table.name] = table
    return found


def _tables_of(package: zipfile.ZipFile, path: Path, sheet: str, part: str) -> Iterator[BookTable]:
    for kind, target in relations(package, part, path).values():
        if kind.endswith("/table"):
            root = tree(read_part(package, target, path), where=str(path), part=target)
            columns = list(root.iterfind(f"{tag('tableColumns')}/{tag('tableColumn')}"))
            top, left, bottom, right = area(root.get("ref"))
            yield BookTable(
                name=root.get("displayName") or root.get("name"),
                sheet=sheet, part=target, top=top, left=left, bottom=bottom, right=right,
                heads=tuple(unescaped(column.get("name", "")) for column in columns),
                totals=int(root.get("totalsRowCount", "0")),
                formulas=tuple(column.findtext(tag("calculatedColumnFormula")) or "" for column in columns),
            )  # fmt: skip


def unescaped(text: str) -> str:
    """Return a name with the escapes of the format (`_x000a_`) undone.

    >>> unescaped("Width_x000a_mm")
    'Width\\nmm'
    """
    return _ESCAPED.sub(lambda match: chr(int(match[1], 16)), text) if "_x" in text else text
