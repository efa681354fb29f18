"""Reads the cells of a sheet part: values, formulas, styles; nothing is guessed about formats."""

from __future__ import annotations

import re
import zipfile
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from orderbook.errors import error
from orderbook.xlsx.anatomy import column_number, unescaped
from orderbook.xlsx.package import read_part
from orderbook.xlsx.xml_parts import refuse_entities, tag, tree

_SPLIT = re.compile(r"([A-Z]+)(\d+)")


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


def shared_strings(package: zipfile.ZipFile, part: str | None, path: Path) -> list[str]:
    """Return the shared strings of a book, in order."""
    if part is None:
        return []
    root = tree(read_part(package, part, path), where=str(path), part=part)
    return [_rich_text(item) for item in root.iterfind(tag("si"))]


def cells_of(package: zipfile.ZipFile, part: str, strings: list[str], path: Path) -> Iterator[SheetCell]:
    """Yield every cell of a sheet that holds a value or a formula; the sheet is streamed."""
    from lxml import etree

    with package.open(part) as file:
        refuse_entities(file.read(4096), where=str(path), part=part)
    with package.open(part) as file:
        try:
            walk = etree.iterparse(file, tag=tag("row"), resolve_entities=False, no_network=True, load_dtd=False)
            number = -1
            for _, row in walk:
                number = int(row.get("r", number + 2)) - 1
                yield from _cells_of_row(row, number, strings)
                row.clear()
                while row.getprevious() is not None:
                    del row.getparent()[0]
        except (etree.XMLSyntaxError, zipfile.BadZipFile, ValueError, IndexError) as problem:
            raise error("book_damaged", where=str(path), saw=f"its part {part} is broken ({problem})") from None


def _cells_of_row(row: Any, number: int, strings: list[str]) -> Iterator[SheetCell]:
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
            yield from _cell(cell, number, col, strings)


def _column_of(ref: str) -> int:
    return column_number(_SPLIT.fullmatch(ref)[1])  # type: ignore[index]


def _cell(cell: Any, row: int, col: int, strings: list[str]) -> Iterator[SheetCell]:
    formula = cell.find(tag("f"))
    value = _value(cell, strings)
    if formula is None:
        if value is not None:
            yield SheetCell(row, col, value)
        return
    kind = formula.get("t")
    yield SheetCell(
        row, col, value, formula.text or "",
        formula.get("ref") if kind == "array" else None,
        formula.get("si") if kind == "shared" else None,
    )  # fmt: skip


def _value(cell: Any, strings: list[str]) -> Any:
    kind = cell.get("t", "n")
    if kind == "inlineStr":
        inline = cell.find(tag("is"))
        return None if inline is None else _rich_text(inline)
    text = cell.findtext(tag("v"))
    if text is None or (not text and kind != "str"):
        return None
    if kind == "s":
        return strings[int(text)]
    if kind == "str":
        return unescaped(text)
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
