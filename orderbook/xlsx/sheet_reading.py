"""Reads the cells of a sheet part: values, formulas, styles; nothing is guessed about formats."""

from __future__ import annotations

import re
import zipfile
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from orderbook.errors import error
from orderbook.xlsx.anatomy import column_number, unescaped
from orderbook.xlsx.package import read_part
from orderbook.xlsx.xml_parts import refuse_entities, tag, tree

_BUILT_IN = {**dict.fromkeys(("14", "15", "16", "17", "22"), "day"),
             **dict.fromkeys(("18", "19", "20", "21", "45", "46", "47"), "time")}  # fmt: skip
_NOT_LETTERS = re.compile(r'"[^"]*"|\\.|_.|\*.|\[(?![hms]+\])[^\]]*\]|general', re.IGNORECASE)
_V, _F, _IS = tag("v"), tag("f"), tag("is")


class CellError(str):
    """An error shown in a cell, such as #DIV/0!."""

    __slots__ = ()


@dataclass(frozen=True, slots=True)
class SheetCell:
    """One cell as the file holds it; `formula` is None where there is none."""

    row: int
    col: int
    value: Any
    formula: str | None = None
    array: str | None = None
    shared: str | None = None
    moment: str = ""  # "day" or "time" where a number is shown as one


def shared_strings(package: zipfile.ZipFile, part: str | None, path: Path) -> list[str]:
    """Return the shared strings of a book, in order."""
    if part is None:
        return []
    root = tree(read_part(package, part, path), where=str(path), part=part)
    return [_rich_text(item) for item in root.iterfind(tag("si"))]


def moments_of(package: zipfile.ZipFile, part: str | None, path: Path) -> dict[str, str]:
    """Return style → "day" or "time" of the cell styles that show a number as one."""
    if part is None:
        return {}
    root = tree(read_part(package, part, path), where=str(path), part=part)
    own = {e.get("numFmtId"): e.get("formatCode", "") for e in root.iterfind(f"{tag('numFmts')}/{tag('numFmt')}")}
    formats = [e.get("numFmtId", "0") for e in root.iterfind(f"{tag('cellXfs')}/{tag('xf')}")]
    kinds = {name: _BUILT_IN.get(name) or moment_of(own.get(name, "")) for name in set(formats)}
    return {str(n): kinds[name] for n, name in enumerate(formats) if kinds[name]}


def moment_of(code: str) -> str:
    """Say whether a number format shows a day or a time of day.

    >>> moment_of("d mmm yyyy"), moment_of("[h]:mm"), moment_of('0.00" mm"'), moment_of("#,##0.00")
    ('day', 'time', '', '')
    """
    bare = _NOT_LETTERS.sub("", code.partition(";")[0]).lower()
    if "y" in bare or "d" in bare:
        return "day"
    return "time" if "h" in bare or "s" in bare else "day" if "m" in bare else ""


def cells_of(
    package: zipfile.ZipFile, part: str, strings: list[str], path: Path, moments: Mapping[str, str] | None = None
) -> Iterator[SheetCell]:
    """Yield every cell of a sheet that holds a value or a formula; the sheet is streamed.

    `moments` tells which styles show a number as a day or a time; see `moments_of`.
    """
    from lxml import etree

    with package.open(part) as file:
        refuse_entities(file.read(4096), where=str(path), part=part)
    with package.open(part) as file:
        try:
            walk = etree.iterparse(file, tag=tag("row"), resolve_entities=False, no_network=True, load_dtd=False)
            number = -1
            for _, row in walk:
                number = int(row.get("r", number + 2)) - 1
                yield from _cells_of_row(row, number, strings, moments or {})
                row.clear()
                while row.getprevious() is not None:
                    del row.getparent()[0]
        except (etree.XMLSyntaxError, zipfile.BadZipFile, ValueError, IndexError) as problem:
            raise error("book_damaged", where=str(path), saw=f"its part {part} is broken ({problem})") from None


def _cells_of_row(row: Any, number: int, strings: list[str], moments: Mapping[str, str]) -> Iterator[SheetCell]:
    """Yield the cells of a row that hold something; most are empty and only bear a style, so their names wait."""
    col, named = -1, ""
    for cell in row:
        ref = cell.get("r")
        if ref is None:
            col, named = (_column_of(named) if named else col) + 1, ""
        else:
            named = ref
        if len(cell):
            col = _column_of(named) if named else col
            if (found := _cell(cell, number, col, strings, moments)) is not None:
                yield found


def _column_of(ref: str) -> int:
    return column_number(ref.rstrip("0123456789"))


def _cell(cell: Any, row: int, col: int, strings: list[str], moments: Mapping[str, str]) -> SheetCell | None:
    """Read one cell; its few children are looked at once, for a book has tens of thousands of cells."""
    formula = text = inline = None
    for child in cell:
        name = child.tag
        if name == _V:
            text = child.text or ""
        elif name == _F:
            formula = child
        elif name == _IS:
            inline = child
    value = _value(cell.get("t", "n"), text, inline, strings)
    if formula is None:
        if type(value) is float and moments and (shown_as := moments.get(cell.get("s", ""))):
            return SheetCell(row, col, value, moment=shown_as)
        return None if value is None else SheetCell(row, col, value)
    kind = formula.get("t")
    if kind is None:
        return SheetCell(row, col, value, formula.text or "")
    return SheetCell(
        row, col, value, formula.text or "",
        formula.get("ref") if kind == "array" else None,
        formula.get("si") if kind == "shared" else None,
    )  # fmt: skip


def _value(kind: str, text: str | None, inline: Any, strings: list[str]) -> Any:
    if kind == "inlineStr":
        return None if inline is None else _rich_text(inline)
    if text is None or (not text and kind != "str"):
        return None
    if kind == "n":
        return float(text)
    if kind == "str":
        return unescaped(text)
    if kind == "s":
        return strings[int(text)]
    if kind == "b":
        return text.strip() in ("1", "true")
    return CellError(text) if kind == "e" else (text if kind == "d" else float(text))


def _rich_text(item: Any) -> str:
    """Return the words of a rich text, without the reading help of eastern scripts."""
    parts = [item.findtext(tag("t")) or ""] if item.find(tag("t")) is not None else []
    parts += [run.findtext(tag("t")) or "" for run in item.iterfind(tag("r"))]
    return unescaped("".join(parts))


_ROW = re.compile(rb"<(?:\w+:)?row\b[^>]*?\sr=[\"'](\d+)[\"'][^>]*>")
_STYLED = re.compile(rb"<(?:\w+:)?c\b([^>]*?)/?>")
_AT = re.compile(rb"\sr=[\"']([A-Z]+)\d+[\"']")
_STYLE = re.compile(rb"\ss=[\"'](\d+)[\"']")


def styles_of_row(package: zipfile.ZipFile, part: str, number: int, path: Path) -> dict[int, str]:
    """Return column → style of the cells of one row (from 0)."""
    data = read_part(package, part, path)
    found = {}
    for row in _ROW.finditer(data):
        if int(row[1]) != number + 1:
            continue
        end = data.find(b"row>", row.end())
        for cell in _STYLED.finditer(data, row.end(), end if end >= 0 else len(data)):
            at, style = _AT.search(cell[1]), _STYLE.search(cell[1])
            if at and style:
                found[column_number(at[1].decode())] = style[1].decode()
        break
    return found
