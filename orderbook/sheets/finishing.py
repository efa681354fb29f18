"""Finishes a book that XlsxWriter wrote: named cell styles, empty results typed as text, rows that fit their text.

XlsxWriter knows only the style "Normal"; the others of `look.toml` let a person restyle the book in one place.
"""

from __future__ import annotations

import copy
import io
import re
import zipfile
from collections.abc import Mapping, Sequence
from typing import Any

_MAIN = "http://schemas.openxmlformats.org/spreadsheetml/2006/main"
_EMPTY_RESULT = re.compile(rb"<c ([^>]*)>(<f>[^<]*</f>)<v></v>")
_HEIGHT = re.compile(rb'(<row r="(\d+)"[^>]*) customHeight="1"')
_PART = "xl/styles.xml"


def finished(book: bytes, indices: Mapping[str, Sequence[int]], fitted: Mapping[int, int]) -> bytes:
    """Return the book with a named style for each name; `indices` are its cell formats, the base first.

    `fitted` tells for the number of a sheet (from 1) the first row (from 0) whose height a program is to fit.
    """
    out = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(book)) as source, zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as target:
        for info in source.infolist():
            data = source.read(info)
            if info.filename == _PART:
                data = _named(data, indices)
            elif info.filename.startswith("xl/worksheets/sheet"):
                data = _EMPTY_RESULT.sub(rb'<c \1 t="str">\2<v></v>', data)
                first = fitted.get(int(re.sub(r"\D", "", info.filename)))
                data = data if first is None else _fitted(data, first)
            target.writestr(info, data, zipfile.ZIP_DEFLATED)
    return out.getvalue()


def _fitted(sheet: bytes, first: int) -> bytes:
    return _HEIGHT.sub(lambda row: row[1] if int(row[2]) > first else row[0], sheet)


def _named(styles: bytes, indices: Mapping[str, Sequence[int]]) -> bytes:
    from lxml import etree

    root = etree.fromstring(styles)
    bases, cells, names = (root.find(f"{{{_MAIN}}}{tag}") for tag in ("cellStyleXfs", "cellXfs", "cellStyles"))
    assert bases is not None
    assert cells is not None
    assert names is not None
    for number, (name, own) in enumerate(indices.items(), 1):
        base = copy.deepcopy(cells[own[0]])
        base.attrib.pop("xfId", "")
        bases.append(base)
        names.append(etree.Element(f"{{{_MAIN}}}cellStyle", {"name": name, "xfId": str(number)}))
        for index in own:
            cells[index].set("xfId", str(number))
            for flag in ("applyFont", "applyFill", "applyBorder"):  # so that restyling reaches the cell
                if _same(cells[index], base, flag):
                    cells[index].attrib.pop(flag, "")
    bases.set("count", str(len(bases)))
    names.set("count", str(len(names)))
    return etree.tostring(root, xml_declaration=True, encoding="UTF-8", standalone=True)


def _same(cell: Any, base: Any, flag: str) -> bool:
    key = {"applyFont": "fontId", "applyFill": "fillId", "applyBorder": "borderId"}[flag]
    return bool(cell.get(key) == base.get(key))
