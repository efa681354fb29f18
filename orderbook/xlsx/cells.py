"""Changes cells of a sheet part without touching the bytes of any row that does not change.

Rows are found in the bytes; only the rows that change become a tree, and rows that are new are written out straight.
"""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from decimal import Decimal
from html import escape
from typing import Any

from orderbook.errors import error
from orderbook.xlsx.page import Formula, Place, letters
from orderbook.xlsx.sheet_reading import CellError
from orderbook.xlsx.xml_parts import tag, tree

_ROW = re.compile(rb"<(?:(\w+):)?(row|sheetData)\b([^>]*?)(/?)>")
_NUMBER = re.compile(rb"\sr=[\"'](\d+)[\"']")
_ILLEGAL = re.compile(r"[\x00-\x08\x0b\x0c\x0e-\x1f\ufffe\uffff]|_(?=x[0-9A-Fa-f]{4}_)")
_UNSAFE = re.compile(r"[&<>_\x00-\x1f\ufffe\uffff]")
# stand for a row's number and its height in the frame that rows share; no cell can hold them
_ROW_NUMBER, _HIGH = "\0", "\1"
LONGEST_TEXT = 32767
EPOCHS = {False: dt.date(1899, 12, 30), True: dt.date(1904, 1, 1)}


@dataclass(frozen=True, slots=True)
class Stored:
    """A new stored value for a formula that stays as it is."""

    value: Any


@dataclass(frozen=True, slots=True)
class Computed:
    """A formula together with the value it comes to."""

    text: str
    value: Any


@dataclass(frozen=True, slots=True)
class SheetEdit:
    """What changes on one sheet: cells by place (from 0); column → (first and last new row, style of its cells).

    `heights` are those of rows with sentences, in points; a row whose height somebody set keeps it.
    """

    cells: Mapping[Place, Any]
    styles: Mapping[int, tuple[int, int, str]] = field(default_factory=dict)
    heights: Mapping[int, float] = field(default_factory=dict)
    tail: Callable[[Any], None] | None = None
    date1904: bool = False
    where: str = "book"

    def style(self, row: int, col: int) -> str:
        """Return the style of a cell that is not in the part yet; empty for none."""
        first, last, style = self.styles.get(col, (0, -1, ""))
        return style if first <= row <= last else ""

    def row(self, number: int, cells: Mapping[int, Any]) -> Mapping[int, Any]:
        """Return the cells of a row with the empty ones that have a style among them."""
        return {col: None for col, (first, last, _) in self.styles.items() if first <= number <= last} | dict(cells)


def edit_sheet(edit: SheetEdit) -> Callable[[Iterator[bytes]], Iterable[bytes | memoryview]]:
    """Return the function that makes the new part from the pieces of the old.

    A part is held as bytes, never as one tree. Raises (when run): OrderbookError where a formula is in the way.
    """

    def run(pieces: Iterator[bytes]) -> Iterator[bytes | memoryview]:
        data = bytearray()
        for piece in pieces:
            data += piece
        if b"<!--" in data or b"<![CDATA[" in data:
            data = bytearray(_plain(bytes(data), edit.where))
        yield from _edited(data, edit)

    return run


def _plain(data: bytes, where: str) -> bytes:
    """Return a part without comments and CDATA sections, which hand-made books may hold."""
    from lxml import etree

    root = tree(data, where=where, part="sheet")
    etree.strip_tags(root, etree.Comment)
    plain: bytes = etree.tostring(root, xml_declaration=True, encoding="UTF-8", standalone=True)
    return plain


def _edited(data: bytearray, edit: SheetEdit) -> Iterator[bytes | memoryview]:
    kept = memoryview(data)  # what stays is handed on without a copy
    rows: dict[int, dict[int, Any]] = {}
    for (row, col), value in edit.cells.items():
        rows.setdefault(row, {})[col] = value
    begin, end = _sheet_data(data, edit.where)
    prefix = begin[1] + b":" if begin[1] else b""
    head = bytes(data[: begin.start()])
    frame = Frame(head, prefix, edit)
    copied = begin.start()
    yield _with_dimension(head, edit)
    if begin[4]:  # <sheetData/>
        yield frame.open_tag() + b"".join(frame.new_row(row, rows[row]) for row in sorted(rows)) + frame.close_tag()
        copied = end
    else:
        for first, last, made in _changed_spans(data, begin.end(), end, rows, frame):
            yield kept[copied:first]
            yield made
            copied = last
    close = data.find(b"</" + prefix + b"sheetData>", copied) if not begin[4] else copied
    yield kept[copied:close]
    yield frame.tail(bytes(data[close:]))


def _sheet_data(data: bytearray, where: str) -> tuple[re.Match[bytes], int]:
    for match in _ROW.finditer(data):
        if match[2] == b"sheetData":
            if match[4]:
                return match, match.end()
            end = data.find(b"</" + (match[1] + b":" if match[1] else b"") + b"sheetData>", match.end())
            if end >= 0:
                return match, end
        break
    raise error("book_damaged", where=where, saw="a sheet has no cells part")


def _changed_spans(
    data: bytearray, begin: int, end: int, rows: dict[int, dict[int, Any]], frame: Frame
) -> Iterator[tuple[int, int, bytes]]:
    """Yield (first byte, last byte, new bytes) of each stretch that changes."""
    todo, number = sorted(rows, reverse=True), -1
    held: list[tuple[int, int, int]] = []
    for match in _ROW.finditer(data, begin, end):
        if not todo and not held:
            return
        given = _NUMBER.search(match[3])
        number = int(given[1]) - 1 if given else number + 1
        last = match.end() if match[4] else frame.end_of_row(data, match.end())
        if held and (not todo or number != todo[-1] or len(held) >= 256 or held[-1][1] != match.start()):
            yield held[0][0], held[-1][1], frame.changed(data, held, rows)
            held = []
        new = []
        while todo and todo[-1] < number:
            new.append(frame.new_row(todo[-1], rows[todo.pop()]))
        if new:
            yield match.start(), match.start(), b"".join(new)
        if todo and todo[-1] == number:
            held.append((match.start(), last, todo.pop()))
    if held:
        yield held[0][0], held[-1][1], frame.changed(data, held, rows)
    if todo:
        yield end, end, b"".join(frame.new_row(row, rows[row]) for row in reversed(todo))


class Frame:
    """What surrounds the rows of a part: its root, its prefix, and where the model rows lie."""

    def __init__(self, head: bytes, prefix: bytes, edit: SheetEdit) -> None:
        """Keep the root's start tag, so that rows can be parsed with its namespaces."""
        name = re.escape(prefix) + b"worksheet"
        match = re.search(b"<" + name + rb"\b[^>]*>", head)
        if not match:
            raise error("book_damaged", where=edit.where, saw="a sheet has no worksheet element")
        self.root, self.end = match[0], b"</" + prefix + b"worksheet>"
        self.prefix, self.edit = prefix, edit
        self.grown = sorted({(first, last) for first, last, _ in edit.styles.values()})
        self.models: dict[Any, list[tuple[str, int]]] = {}

    def end_of_row(self, data: bytearray, begin: int) -> int:
        """Return where a row that begins before `begin` ends."""
        close = b"</" + self.prefix + b"row>"
        at = data.find(close, begin)
        if at < 0:
            raise error("book_damaged", where=self.edit.where, saw="a row of a sheet does not end")
        return at + len(close)

    def open_tag(self) -> bytes:
        """Return <sheetData>."""
        return b"<" + self.prefix + b"sheetData>"

    def close_tag(self) -> bytes:
        """Return </sheetData>."""
        return b"</" + self.prefix + b"sheetData>"

    def changed(self, data: bytearray, held: list[tuple[int, int, int]], rows: dict[int, dict[int, Any]]) -> bytes:
        """Return neighbouring rows with their cells changed; only these become a tree."""
        from lxml import etree

        stretch = bytes(data[held[0][0] : held[-1][1]])
        root = tree(
            self.root + self.open_tag() + stretch + self.close_tag() + self.end, where=self.edit.where, part="row"
        )
        for row, (_, _, number) in zip(root[0], held, strict=True):
            change_row(row, number, self.edit.row(number, rows[number]), self.edit)
        made: bytes = etree.tostring(root)
        begin = made.index(self.open_tag()) + len(self.open_tag())
        return made[begin : made.rindex(self.close_tag())]

    def new_row(self, number: int, cells: Mapping[int, Any]) -> bytes:
        """Return a row that is not in the part yet; rows with the same columns share their frame."""
        key = tuple(cells), *((first, last) for first, last in self.grown if first <= number <= last)
        if key not in self.models:
            self.models[key] = self._model(number, cells)
        made = []
        height = self.edit.heights.get(number)
        high = "" if height is None else f' ht="{height:g}"'
        for before, col in self.models[key]:
            made.append(before)
            if col >= 0:
                made.append(_rest_of_cell(self.prefix.decode(), cells[col], self.edit))
        return "".join(made).replace(_ROW_NUMBER, str(number + 1)).replace(_HIGH, high, 1).encode()

    def _model(self, number: int, cells: Mapping[int, Any]) -> list[tuple[str, int]]:
        """Return what stands before each cell that is given, its column, and at last what ends the row."""
        p, made, text = self.prefix.decode(), [], f'<{self.prefix.decode()}row r="{_ROW_NUMBER}"{_HIGH}>'
        for col in sorted(self.edit.row(number, cells)):
            style = self.edit.style(number, col)
            text += f'<{p}c r="{letters(col)}{_ROW_NUMBER}"' + (f' s="{style}"' if style else "")
            if col in cells:
                made.append((text, col))
                text = ""
            else:
                text += "/>"
        return [*made, (f"{text}</{p}row>", -1)]

    def tail(self, data: bytes) -> bytes:
        """Return what follows the cells, changed if validations or highlights grow."""
        if self.edit.tail is None:
            return data
        from lxml import etree

        data = data[len(self.close_tag()) :] if data.startswith(self.close_tag()) else data
        root = tree(self.root + data, where=self.edit.where, part="sheet")
        self.edit.tail(root)
        made: bytes = etree.tostring(root, encoding="UTF-8")
        return self.close_tag() + made[made.index(b">") + 1 :]


def change_row(row: Any, number: int, cells: Mapping[int, Any], edit: SheetEdit) -> None:
    """Change cells of a row's element; cells stay in order."""
    from orderbook.xlsx.anatomy import column_number

    row.attrib.pop("spans", "")
    if number in edit.heights and row.get("customHeight") not in ("1", "true"):
        row.set("ht", f"{edit.heights[number]:g}")
    there: dict[int, Any] = {}
    col = -1
    for cell in row.iterchildren(tag("c")):
        ref = cell.get("r")
        col = column_number(ref.rstrip("0123456789")) if ref else col + 1
        there[col] = cell
    for col, value in cells.items():
        if col not in there:
            there[col] = _new_cell(row, f"{letters(col)}{number + 1}", there, col)
            if style := edit.style(number, col):
                there[col].set("s", style)
        change_cell(there[col], value, edit)


def _new_cell(row: Any, ref: str, there: Mapping[int, Any], col: int) -> Any:
    from lxml import etree

    cell = etree.Element(tag("c"), {"r": ref})
    after = [c for c in there if c > col]
    if after:
        there[min(after)].addprevious(cell)
    elif there:
        there[max(there)].addnext(cell)
    else:
        row.insert(0, cell)
    return cell


def change_cell(cell: Any, value: Any, edit: SheetEdit) -> None:
    """Give a cell's element a new value, formula or stored value.

    Raises: OrderbookError where a value would take the place of a formula.
    """
    from lxml import etree

    formula = cell.find(tag("f"))
    keeps = isinstance(value, Stored)
    if formula is not None and not keeps and not isinstance(value, (Computed, Formula)):
        raise error(
            "book_formula_in_the_way", where=f"{edit.where}, cell {cell.get('r')}", saw=f"={formula.text or ''}"
        )
    for child in list(cell):
        if child.tag != tag("f") or not keeps:
            cell.remove(child)
    if isinstance(value, (Computed, Formula)):
        formula = etree.SubElement(cell, tag("f"))
        formula.text = value.text.lstrip("=")
    plain = value.value if isinstance(value, (Stored, Computed)) else None if isinstance(value, Formula) else value
    kind, text = cell_value(plain, edit, formula is not None)
    cell.attrib.pop("t", "")
    if kind:
        cell.set("t", kind)
    if kind == "inlineStr":
        words = etree.SubElement(etree.SubElement(cell, tag("is")), tag("t"))
        words.set("{http://www.w3.org/XML/1998/namespace}space", "preserve")
        words.text = text
    elif text is not None:
        etree.SubElement(cell, tag("v")).text = text


def _rest_of_cell(p: str, value: Any, edit: SheetEdit) -> str:
    """Return what follows the name and style of a new cell; what nearly every cell holds goes first."""
    if type(value) is float or type(value) is int:
        return f"><{p}v>{_number(value)}</{p}v></{p}c>"
    if type(value) is str and value and len(value) <= LONGEST_TEXT and not _UNSAFE.search(value):
        return f' t="inlineStr"><{p}is><{p}t xml:space="preserve">{value}</{p}t></{p}is></{p}c>'
    formula = ""
    if isinstance(value, (Computed, Formula)):
        formula = f"<{p}f>{escape(value.text.lstrip('='), quote=False)}</{p}f>"
        value = value.value if isinstance(value, Computed) else None
    elif isinstance(value, Stored):
        value = value.value
    kind, text = cell_value(value, edit, bool(formula))
    if kind == "inlineStr":
        words = escape(text or "", quote=False)
        return f' t="inlineStr"><{p}is><{p}t xml:space="preserve">{words}</{p}t></{p}is></{p}c>'
    typed = f' t="{kind}"' if kind else ""
    shown = f"<{p}v>{escape(text, quote=False)}</{p}v>" if text is not None else ""
    return f"{typed}>{formula}{shown}</{p}c>" if formula or shown else f"{typed}/>"


def cell_value(value: Any, edit: SheetEdit, formula: bool) -> tuple[str, str | None]:
    """Return the type and the text by which a cell holds a value."""
    if value is None or (value == "" and not formula):
        return "", None
    if isinstance(value, bool):
        return "b", str(int(value))
    if isinstance(value, CellError):
        return "e", str(value)
    if isinstance(value, str):
        return ("str" if formula else "inlineStr"), legal_text(value, edit.where)
    if isinstance(value, dt.date):
        return "", _number(serial(value, edit.date1904))
    if isinstance(value, (int, float, Decimal)) or hasattr(value, "__float__"):
        return "", str(value) if isinstance(value, (int, Decimal)) else _number(float(value))
    raise TypeError(f"a cell cannot hold {type(value).__name__}")


def serial(day: dt.date, date1904: bool) -> float:
    """Return a day (or a moment) as a sheet's number, in either date system.

    >>> serial(dt.date(2026, 3, 12), False), serial(dt.date(2026, 3, 12), True)
    (46093.0, 44631.0)
    """
    if isinstance(day, dt.datetime):
        since = day.replace(tzinfo=None) - dt.datetime.combine(EPOCHS[date1904], dt.time())
        return since / dt.timedelta(days=1)
    return float((day - EPOCHS[date1904]).days)


def _number(value: float) -> str:
    text = repr(value)
    if text[-1] in "fn":  # inf, nan
        raise ValueError("a cell cannot hold a number that is not finite")
    return text.removesuffix(".0")


def legal_text(text: str, where: str) -> str:
    """Return text with what XML cannot hold written as the format writes it.

    >>> legal_text("a\\x07b", "book")
    'a_x0007_b'
    """
    if len(text) > LONGEST_TEXT:
        raise error("book_text_too_long", where=where, saw=f"a text of {len(text)} letters")
    return _ILLEGAL.sub(lambda match: f"_x{ord(match[0]):04X}_", text)


def _with_dimension(head: bytes, edit: SheetEdit) -> bytes:
    """Widen <dimension> if cells lie outside it; it is only a hint, but a wrong one misleads readers."""
    from orderbook.xlsx.anatomy import area
    from orderbook.xlsx.page import address

    match = re.search(rb"(<(?:\w+:)?dimension\b[^>]*\sref=[\"'])([A-Z0-9:]+)", head)
    if not match or not edit.cells:
        return head
    top, left, bottom, right = area(match[2].decode())
    rows, cols = [r for r, _ in edit.cells], [c for _, c in edit.cells]
    new = (min(top, *rows), min(left, *cols), max(bottom, *rows), max(right, *cols)) if len(edit.cells) else None
    if new is None or new == (top, left, bottom, right):
        return head
    ref = f"{address(new[0], new[1], fixed=False)}:{address(new[2], new[3], fixed=False)}"
    return head[: match.start(2)] + ref.encode() + head[match.end(2) :]
