"""A supplier's column map: what each heading means, kept as TOML and used before any guess."""

from __future__ import annotations

import json
import re
import tomllib
from collections.abc import Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from orderbook.catalogue.springs import CatalogueReading, ColumnTaken
from orderbook.catalogue.units import known_unit
from orderbook.catalogue.words import MEANINGS
from orderbook.errors import error

ENTRY_KEYS = ("meaning", "unit", "whole_numbers", "order", "decimal", "pack", "each")
MAP_KEYS = ("supplier", "currency", "delimiter", "gauge", "sheet", "headings", "columns")
TEXT_KEYS = MAP_KEYS[:5]
BESIDE = ".map.toml"  # a list's map has its name with this behind it
QUESTION = "?"
_PLACE = re.compile(r"#([1-9][0-9]{0,3})(?:\s+(.+))?")


@dataclass(frozen=True, slots=True)
class MapEntry:
    """What one heading means ("" or 0: not said).

    unit: of bare numbers; of a price, "pence" or "cent". whole_numbers: another unit for numbers without decimals, as
    in a column of mm and hundredths. order: of several numbers in one cell, such as "barrel x width x strength x
    length". decimal: the mark. pack: pieces a price is for; each: the price is for one piece of the pack beside it.
    """

    meaning: str
    unit: str = ""
    decimal: str = ""
    pack: int = 0
    each: bool = False
    whole_numbers: str = ""
    order: str = ""


@dataclass(frozen=True, slots=True)
class ColumnMap:
    """How one supplier's list is read; a column is named by its heading, or by its place (`#3`, `#3 Width`)."""

    columns: dict[str, MapEntry] = field(default_factory=dict)
    supplier: str = ""
    currency: str = ""
    delimiter: str = ""
    gauge: str = ""
    sheet: str = ""
    headings: bool = True
    source: str = ""  # the file it was read from

    @property
    def known(self) -> frozenset[str]:
        """The headings the map speaks of."""
        return frozenset(heading for name in self.columns if (heading := _place(name)[1]))

    def places(self, header: Sequence[str], file: str) -> dict[int, MapEntry]:
        """Which column has which entry.

        Raises: OrderbookError(map_does_not_fit) for a heading that is not there, or there twice.
        """
        found: dict[int, MapEntry] = {}
        for name, entry in self.columns.items():
            number, text = _place(name)
            at = [i for i, head in enumerate(header) if (not number or i == number - 1) and text in (head, "")]
            if len(at) != 1:
                there = "stands there twice; name it by its place, such as #3" if at else "is not there"
                listed = ", ".join(repr(head) for head in header if head)
                raise error(
                    "map_does_not_fit", where=file, saw=f"the map speaks of {name!r}, which {there}; headings: {listed}"
                )
            found[at[0]] = entry
        return found

    @property
    def last_place(self) -> int:
        """The highest place the map names, for a list without headings."""
        return max((_place(name)[0] for name in self.columns), default=0)


def map_beside(path: str | Path) -> Path | None:
    """Find the map that lies beside a list, `LIST.map.toml`; None if there is none, or it still asks something.

    >>> map_beside("no-such-list.csv") is None
    True
    """
    place = beside(path)
    if not place.is_file():
        return None
    try:
        table = tomllib.loads(place.read_text(encoding="utf-8-sig"))
    except (tomllib.TOMLDecodeError, UnicodeDecodeError):
        return place  # reading it says what is wrong
    return None if _asks(table) else place


def find_map(path: str | Path, named: str | Path = "", near: Path | None = None) -> Path | None:
    """Find the map of a list: the one that is named (as in the book's Suppliers), else the one beside the list.

    Parameters: named, a file, looked for as it stands, beside the list, and in the folder `near` (the book's).
    Raises: OrderbookError(map_not_read) for a named map that is nowhere.
    """
    if not str(named).strip():
        return map_beside(path)
    for place in (Path(named), Path(path).with_name(str(named)), *([near / named] if near is not None else [])):
        if place.is_file():
            return place
    raise error("map_not_read", where=str(named), saw="no such file")


def beside(path: str | Path) -> Path:
    """Where the map of a list is looked for."""
    return Path(path).with_name(Path(path).name + BESIDE)


def read_map(path: str | Path) -> ColumnMap:
    """Read a column map; a gauge table it names is looked for beside it.

    Raises: OrderbookError(map_not_read | map_not_finished) naming the entry; OSError if the file cannot be opened.
    """
    where = str(path)
    try:
        table = tomllib.loads(Path(path).read_text(encoding="utf-8-sig"))
    except (tomllib.TOMLDecodeError, UnicodeDecodeError) as problem:
        raise error("map_not_read", where=where, saw=str(problem)) from problem
    _only(table, MAP_KEYS, where)
    columns = table.get("columns", {})
    if not isinstance(columns, dict) or not columns:
        raise error("map_not_read", where=where, saw="no [columns]")
    for key in TEXT_KEYS:
        if not isinstance(table.get(key, ""), str):
            raise error("map_not_read", where=where, saw=f"{key} is not a text")
        _finished(table.get(key, ""), where, key)
    if not isinstance(table.get("headings", True), bool):
        raise error("map_not_read", where=where, saw="headings is neither true nor false")
    entries = {" ".join(name.split()): _entry(entry, f"{where} [{name}]") for name, entry in columns.items()}
    rest = {key: table.get(key, "") for key in TEXT_KEYS}
    if rest["gauge"] and Path(path).with_name(rest["gauge"]).is_file():
        rest["gauge"] = str(Path(path).with_name(rest["gauge"]))
    return ColumnMap(columns=entries, headings=table.get("headings", True), source=where, **rest)


def map_text(columns: ColumnMap, remarks: dict[str, str] | None = None, head: Sequence[str] = ()) -> str:
    """Write a column map as TOML; remarks stand behind their column's line, `head` above everything.

    >>> print(map_text(ColumnMap({"Breite": MapEntry("width", "mm", ",")}, supplier="Supplier East")))
    # How the list of Supplier East is read. meaning: one of supplier, item, width, ...
    supplier = "Supplier East"
    <BLANKLINE>
    [columns]
    "Breite" = { meaning = "width", unit = "mm", decimal = "," }
    <BLANKLINE>
    """
    lines = [f"# {line}" for line in head]
    lines.append(
        f"# How the list of {columns.supplier or 'this supplier'} is read. meaning: one of {', '.join(MEANINGS)}."
    )
    lines += [f"{key} = {_text(getattr(columns, key))}" for key in TEXT_KEYS if getattr(columns, key)]
    lines += [] if columns.headings else ["headings = false"]
    lines += ["", "[columns]"]
    for heading, entry in columns.columns.items():
        said = {key: getattr(entry, key) for key in ENTRY_KEYS if getattr(entry, key)}
        remark = (remarks or {}).get(heading, "")
        line = f"{_text(heading)} = {{ {', '.join(f'{key} = {_text(value)}' for key, value in said.items())} }}"
        lines.append(line + (f"  # {remark}" if remark else ""))
    return "\n".join(lines) + "\n"


def write_map(columns: ColumnMap, path: Path) -> None:
    """Write a column map as TOML: whole, or not at all."""
    write_text(map_text(columns), path)


def write_text(text: str, path: Path) -> None:
    """Write a file whole, or not at all."""
    beside = path.with_name(f".{path.name}.part")
    try:
        beside.write_text(text, encoding="utf-8")
        beside.replace(path)
    finally:
        beside.unlink(missing_ok=True)


def map_of(reading: CatalogueReading) -> ColumnMap:
    """Make the column map of one list from what was guessed; a heading that is there twice is named by its place."""
    first = [(column.file, column.table) for column in reading.columns[:1]]
    own = [column for column in reading.columns if (column.file, column.table) in first]
    headings = [column.header for column in own]
    named = {
        column.header
        if column.header and headings.count(column.header) == 1
        else f"#{at} {column.header}".strip(): column
        for at, column in enumerate(own, start=1)
        if column.header or column.meaning != "unused"
    }
    suppliers = set(reading.catalogue.supplier.tolist())
    entries = {name: _guessed(column) for name, column in named.items()}
    return ColumnMap(columns=entries, supplier=suppliers.pop() if len(suppliers) == 1 else "")


def _guessed(column: ColumnTaken) -> MapEntry:
    unit = column.unit if column.meaning in ("width", "strength", "length", "sizes") else ""
    decimal = column.decimal if column.meaning != "unused" else ""
    return MapEntry(column.meaning, unit, decimal, column.pack, column.each)


def _place(name: str) -> tuple[int, str]:
    """The place a name says (0: none), and the heading."""
    match = _PLACE.fullmatch(name)
    return (int(match[1]), match[2] or "") if match else (0, name)


def _text(value: str | int | bool) -> str:
    return json.dumps(value, ensure_ascii=False).replace("\x7f", "\\u007f")  # a JSON string is a TOML basic string


def _entry(entry: Any, where: str) -> MapEntry:
    entry = {"meaning": entry} if isinstance(entry, str) else entry
    for key, value in entry.items() if isinstance(entry, dict) else ():
        _finished(value, where, key)
    if not isinstance(entry, dict) or entry.get("meaning") not in MEANINGS:
        raise error("map_not_read", where=where, saw=f"{entry!r} has no known meaning")
    _only(entry, ENTRY_KEYS, where)
    texts = [entry.get(key, "") for key in ("unit", "whole_numbers", "order")]
    if entry.get("decimal", "") not in ("", ".", ",", "mixed") or not all(isinstance(text, str) for text in texts):
        raise error("map_not_read", where=where, saw=f"{entry!r}")
    if not isinstance(entry.get("pack", 0), int) or not isinstance(entry.get("each", False), bool):
        raise error("map_not_read", where=where, saw=f"{entry!r}")
    if entry["meaning"] != "price":
        for unit in filter(None, texts[:2]):
            if known_unit(unit) is None:
                saw = f"{unit!r} is not a unit of length"
                raise error(
                    "map_not_read", where=where, saw=saw, expected="Expected a unit such as mm, cm, in, 1/100 mm."
                )
    return MapEntry(**entry)


def _asks(table: Any) -> bool:
    """Whether a question mark stands where an answer is due."""
    return any(map(_asks, table.values())) if isinstance(table, dict) else table == QUESTION


def _finished(value: Any, where: str, key: str) -> None:
    if value == QUESTION:
        raise error("map_not_finished", where=where, saw=f'{key} = "?"')


def _only(table: dict[str, Any], keys: tuple[str, ...], where: str) -> None:
    if unknown := [key for key in table if key not in keys]:
        raise error(
            "map_not_read", where=where, saw=f"the word {unknown[0]!r}", expected=f"Expected {', '.join(keys)}."
        )
