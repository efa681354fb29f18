"""Rules of ECMA-376 that a spreadsheet program repairs a book for, as a list of what breaks them."""

from __future__ import annotations

import posixpath
import re
import zipfile
from pathlib import Path

from lxml import etree

M = "{http://schemas.openxmlformats.org/spreadsheetml/2006/main}"
T = "{http://schemas.openxmlformats.org/package/2006/content-types}"
L = "{http://schemas.openxmlformats.org/package/2006/relationships}"


def broken(path: Path) -> list[str]:
    """Return every rule the book breaks."""
    with zipfile.ZipFile(path) as package:
        if bad := package.testzip():
            return [f"{bad}: wrong checksum"]
        names = package.namelist()
        parts = {name: package.read(name) for name in names}
    found = [f"{name} twice" for name in {n for n in names if names.count(n) > 1}]
    trees = {name: etree.fromstring(data) for name, data in parts.items() if name.endswith((".xml", ".rels"))}
    found += _types(trees["[Content_Types].xml"], names)
    for name, tree in trees.items():
        if name.endswith(".rels"):
            found += _links(name, tree, names)
    styles = len(trees["xl/styles.xml"].find(f"{M}cellXfs")) if "xl/styles.xml" in trees else 1
    strings = len(trees["xl/sharedStrings.xml"]) if "xl/sharedStrings.xml" in trees else 0
    tables: list[tuple[str, str]] = []
    for name, tree in trees.items():
        if tree.tag == f"{M}worksheet":
            found += [f"{name}: {what}" for what in _sheet(tree, styles, strings)]
            found += [f"{name}: {what}" for what in _tables_of(name, tree, trees, tables)]
    for kind, values in (("id", [i for i, _ in tables]), ("name", [n.lower() for _, n in tables])):
        found += [f"two tables of one {kind}: {v}" for v in set(values) if values.count(v) > 1]
    return found


def _types(types: etree._Element, names: list[str]) -> list[str]:
    known = {e.get("PartName", "")[1:] for e in types.iter(f"{T}Override")}
    endings = {e.get("Extension", "").lower() for e in types.iter(f"{T}Default")}
    found = [f"no content type: {n}" for n in names if n not in known and n.rpartition(".")[2].lower() not in endings]
    return [f for f in found if "[Content_Types]" not in f] + [f"a type for no part: {n}" for n in known - set(names)]


def _links(name: str, tree: etree._Element, names: list[str]) -> list[str]:
    folder = posixpath.dirname(posixpath.dirname(name))
    found, ids = [], [e.get("Id") for e in tree.iter(f"{L}Relationship")]
    for link in tree.iter(f"{L}Relationship"):
        target = link.get("Target", "")
        if link.get("TargetMode") != "External":
            whole = target[1:] if target.startswith("/") else posixpath.normpath(posixpath.join(folder, target))
            found += [] if whole in names else [f"{name}: no part {whole}"]
    return found + [f"{name}: {i} twice" for i in set(ids) if ids.count(i) > 1]


def _sheet(tree: etree._Element, styles: int, strings: int) -> list[str]:
    found, last_row = [], 0
    for row in tree.iter(f"{M}row"):
        number = int(row.get("r", last_row + 1))
        found += [] if number > last_row else [f"row {number} after {last_row}"]
        last_row, last_col = number, 0
        for cell in row.iter(f"{M}c"):
            ref = cell.get("r", "")
            col = _col(ref) if ref else last_col + 1
            found += [] if col > last_col else [f"cell {ref} out of order"]
            found += [] if not ref or int(re.sub(r"\D", "", ref)) == number else [f"cell {ref} in row {number}"]
            last_col = col
            found += _cell(cell, ref, styles, strings)
    for name in ("dataValidations", "mergeCells", "tableParts"):
        block = tree.find(f"{M}{name}")
        if block is not None and block.get("count") not in (None, str(len(block))):
            found.append(f"{name} count")
    return found


def _cell(cell: etree._Element, ref: str, styles: int, strings: int) -> list[str]:
    found = [] if int(cell.get("s", 0)) < styles else [f"{ref}: no style {cell.get('s')}"]
    value, kind = cell.findtext(f"{M}v"), cell.get("t", "n")
    if kind == "s" and not 0 <= int(value or -1) < strings:
        found.append(f"{ref}: no shared string {value}")
    if kind == "inlineStr" and cell.find(f"{M}is") is None:
        found.append(f"{ref}: inline text without text")
    if kind == "n" and value:
        try:
            float(value)
        except ValueError:
            found.append(f"{ref}: {value!r} is no number")
    return found


def _col(ref: str) -> int:
    total = 0
    for letter in re.sub(r"\d", "", ref):
        total = total * 26 + ord(letter) - 64
    return total


def _tables_of(
    name: str, tree: etree._Element, trees: dict[str, etree._Element], tables: list[tuple[str, str]]
) -> list[str]:
    links = trees.get(posixpath.join(posixpath.dirname(name), "_rels", posixpath.basename(name) + ".rels"))
    found: list[str] = []
    for link in links.iter(f"{L}Relationship") if links is not None else ():
        if not link.get("Type", "").endswith("/table"):
            continue
        target = link.get("Target", "")
        part = (
            target[1:]
            if target.startswith("/")
            else posixpath.normpath(posixpath.join(posixpath.dirname(name), target))
        )
        table = trees[part]
        tables.append((table.get("id", ""), table.get("displayName", "")))
        first, _, last = table.get("ref", "").partition(":")
        row, left = int(re.sub(r"\D", "", first)), _col(first)
        columns = [c.get("name", "") for c in table.iter(f"{M}tableColumn")]
        if _col(last) - left + 1 != len(columns):
            found.append(f"{part}: {len(columns)} columns in {table.get('ref')}")
        shown = _row_texts(tree, trees, row)
        for n, column in enumerate(columns):
            if shown.get(left + n) != column:
                found.append(f"{part}: header {column!r}, cell {shown.get(left + n)!r}")
        if len({c.lower() for c in columns}) < len(columns):
            found.append(f"{part}: a header twice")
        filtered = table.find(f"{M}autoFilter")
        if filtered is not None and not table.get("totalsRowCount") and filtered.get("ref") != table.get("ref"):
            found.append(f"{part}: filter {filtered.get('ref')} on {table.get('ref')}")
    return found


def _row_texts(tree: etree._Element, trees: dict[str, etree._Element], number: int) -> dict[int, str]:
    shared = trees.get("xl/sharedStrings.xml")
    strings = ["".join(t.text or "" for t in si.iter(f"{M}t")) for si in shared] if shared is not None else []
    found = {}
    for row in tree.iter(f"{M}row"):
        if row.get("r") == str(number):
            for cell in row.iter(f"{M}c"):
                text = "".join(t.text or "" for t in cell.iter(f"{M}t"))
                if cell.get("t") == "s":
                    text = strings[int(cell.findtext(f"{M}v") or 0)]
                found[_col(cell.get("r", ""))] = text.replace("\n", "_x000a_")
    return found
