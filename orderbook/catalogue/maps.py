"""A supplier's column map: what each heading means, kept as TOML and used before any guess."""

from __future__ import annotations

import json
import tomllib
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from orderbook.catalogue.springs import CatalogueReading, ColumnTaken
from orderbook.catalogue.words import MEANINGS
from orderbook.errors import error

ENTRY_KEYS = ("meaning", "unit", "decimal", "pack", "each")
MAP_KEYS = ("supplier", "currency", "delimiter", "gauge", "columns")


@dataclass(frozen=True, slots=True)
class MapEntry:
    """What one heading means; unit of bare numbers, decimal mark, pieces a price is for ("" or 0: not said)."""

    meaning: str
    unit: str = ""
    decimal: str = ""
    pack: int = 0
    each: bool = False


@dataclass(frozen=True, slots=True)
class ColumnMap:
    """How one supplier's list is read."""

    columns: dict[str, MapEntry] = field(default_factory=dict)
    supplier: str = ""
    currency: str = ""
    delimiter: str = ""
    gauge: str = ""

    @property
    def headings(self) -> frozenset[str]:
        """The headings the map speaks of."""
        return frozenset(self.columns)


def read_map(path: str | Path) -> ColumnMap:
    """Read a column map.

    Raises: OrderbookError(map_not_read) naming the entry; OSError if the file cannot be opened.
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
    for key in ("supplier", "currency", "delimiter", "gauge"):
        if not isinstance(table.get(key, ""), str):
            raise error("map_not_read", where=where, saw=f"{key} is not a text")
    entries = {" ".join(name.split()): _entry(entry, f"{where} [{name}]") for name, entry in columns.items()}
    rest = {key: table.get(key, "") for key in MAP_KEYS if key != "columns"}
    return ColumnMap(columns=entries, **rest)


def map_text(columns: ColumnMap) -> str:
    """Write a column map as TOML.

    >>> print(map_text(ColumnMap({"Breite": MapEntry("width", "mm", ",")}, supplier="Supplier East")))
    # How the list of Supplier East is read. meaning: one of supplier, item, width, ...
    supplier = "Supplier East"
    <BLANKLINE>
    [columns]
    "Breite" = { meaning = "width", unit = "mm", decimal = "," }
    <BLANKLINE>
    """
    known = ", ".join(MEANINGS)
    lines = [f"# How the list of {columns.supplier or 'this supplier'} is read. meaning: one of {known}."]
    lines += [f"{key} = {_text(getattr(columns, key))}" for key in MAP_KEYS[:4] if getattr(columns, key)]
    lines += ["", "[columns]"]
    for heading, entry in columns.columns.items():
        said = {key: getattr(entry, key) for key in ENTRY_KEYS if getattr(entry, key)}
        lines.append(f"{_text(heading)} = {{ {', '.join(f'{key} = {_text(value)}' for key, value in said.items())} }}")
    return "\n".join(lines) + "\n"


def write_map(columns: ColumnMap, path: Path) -> None:
    """Write a column map as TOML: whole, or not at all."""
    beside = path.with_name(f".{path.name}.part")
    try:
        beside.write_text(map_text(columns), encoding="utf-8")
        beside.replace(path)
    finally:
        beside.unlink(missing_ok=True)


def map_of(reading: CatalogueReading) -> ColumnMap:
    """Make the column map of one list from what was guessed.

    A heading that stands there twice cannot be told apart in a map and is left out.
    """
    headings = [column.header for column in reading.columns]
    once = [column for column in reading.columns if column.header and headings.count(column.header) == 1]
    suppliers = set(reading.catalogue.supplier.tolist())
    entries = {column.header: _guessed(column) for column in once}
    return ColumnMap(columns=entries, supplier=suppliers.pop() if len(suppliers) == 1 else "")


def _guessed(column: ColumnTaken) -> MapEntry:
    unit = column.unit if column.meaning in ("width", "strength", "length", "sizes") else ""
    decimal = column.decimal if column.meaning != "unused" else ""
    return MapEntry(column.meaning, unit, decimal, column.pack, column.each)


def _text(value: str | int | bool) -> str:
    return json.dumps(value, ensure_ascii=False).replace("\x7f", "\\u007f")  # a JSON string is a TOML basic string


def _entry(entry: Any, where: str) -> MapEntry:
    entry = {"meaning": entry} if isinstance(entry, str) else entry
    if not isinstance(entry, dict) or entry.get("meaning") not in MEANINGS:
        raise error("map_not_read", where=where, saw=f"{entry!r} has no known meaning")
    _only(entry, ENTRY_KEYS, where)
    if entry.get("decimal", "") not in ("", ".", ",", "mixed") or not isinstance(entry.get("unit", ""), str):
        raise error("map_not_read", where=where, saw=f"{entry!r}")
    if not isinstance(entry.get("pack", 0), int) or not isinstance(entry.get("each", False), bool):
        raise error("map_not_read", where=where, saw=f"{entry!r}")
    return MapEntry(**entry)


def _only(table: dict[str, Any], keys: tuple[str, ...], where: str) -> None:
    if unknown := [key for key in table if key not in keys]:
        raise error(
            "map_not_read", where=where, saw=f"the word {unknown[0]!r}", expected=f"Expected {', '.join(keys)}."
        )
