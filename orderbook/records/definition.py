"""What the book is: its sheets, tables and columns, read from the template's own files."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cache
from types import MappingProxyType
from typing import Any, Literal

from orderbook.barrel.verdicts import VERDICTS
from orderbook.barrel.words import DRIVES, MOVEMENTS, TRAINS
from orderbook.locate import data_folder

# words that the readings of a barrel and the book share: they stand with the barrel
OF_A_BARREL = {"train": TRAINS, "drive": DRIVES, "movement": MOVEMENTS, "verdict": tuple(VERDICTS)}
PROSE_WIDTH = 110  # dots of a column; what is narrower holds names and numbers
Kind = Literal["input", "brought", "worked", "answer"]
"""Who fills a column: a hand, a supplier's list, a native formula, or `refresh`."""


@dataclass(frozen=True, slots=True)
class Column:
    """One column of a table, as the template defines it.

    `reads` names the reader of its cells where the format does not tell (`tables.py` is made from it); `read` says that
    a worked column is read like a typed one, `answers` that the answers of barrels are made of its cells, `seldom` that
    few rows need it: such columns fold away together.
    """

    key: str
    header: str
    kind: Kind
    width: int
    help: str
    reads: str = ""
    read: bool = False
    unit: str = ""
    format: str = ""
    align: str = ""
    list: str = ""
    formula: str = ""
    source: str = ""
    required: bool = False
    alert: bool = False
    hidden: bool = False
    seldom: bool = False
    answers: bool = False

    @property
    def is_prose(self) -> bool:
        """Say whether sentences stand in the column: they are broken into lines, so that none is cut at its edge.

        >>> orders = book_definition().tables["Orders"]
        >>> [orders.column(key).is_prose for key in ("note", "order", "state", "price")]
        [True, False, False, False]
        """
        plain = not (self.list or self.format or self.hidden or self.align)
        return plain and self.kind in ("input", "brought") and self.width >= PROSE_WIDTH


@dataclass(frozen=True, slots=True)
class Table:
    """One named table: its columns, and the column that says whether a row counts.

    `answers_when` is the test, as a formula, of the rows that the answers of barrels look at; empty for all that count.
    `later` says that books made before the table came may lack it, and are read without.
    """

    name: str
    sheet: str
    help: str
    counts_when: str
    columns: tuple[Column, ...]
    blank_rows: int = 200
    rows: tuple[Mapping[str, Any], ...] = ()
    record: str = ""
    answers_when: str = ""
    later: bool = False

    def column(self, key: str) -> Column:
        """Return the column of a key; KeyError if there is none."""
        for column in self.columns:
            if column.key == key:
                return column
        raise KeyError(f"table {self.name} has no column {key!r}")


@dataclass(frozen=True, slots=True)
class PageMaker:
    """A sheet that a function lays out: `module:function`, and the table it shows one row of, if any."""

    made_by: str
    shows: str = ""


@dataclass(frozen=True, slots=True)
class BookDefinition:
    """The whole book: sheets in order, tables by name, the words the drop-downs offer."""

    sheets: tuple[str, ...]
    tables: Mapping[str, Table]
    side_by_side: Mapping[str, tuple[str, ...]]
    notes: Mapping[str, str]
    pages: Mapping[str, PageMaker]
    lists: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    charts: Mapping[str, str] = field(default_factory=dict)  # below a sheet's table: `module:function`
    hidden: tuple[str, ...] = ()  # sheets that need no hand and no eye

    def on_sheet(self, sheet: str) -> tuple[Table, ...]:
        """Return the tables of a sheet, from left to right."""
        names = self.side_by_side.get(sheet) or tuple(t.name for t in self.tables.values() if t.sheet == sheet)
        return tuple(self.tables[name] for name in names)


@cache
def book_definition() -> BookDefinition:
    """Read the definition from `workbook_template`.

    >>> book_definition().tables["Readings"].column("value").header
    'Value'
    """
    folder = data_folder("workbook_template")
    book = tomllib.loads((folder / "book.toml").read_text(encoding="utf-8"))
    homes = {name: sheet for sheet, names in book["side_by_side"].items() for name in names}
    lists: dict[str, tuple[str, ...]] = {}
    tables = {}
    for path in sorted((folder / "tables").glob("*.toml")):
        raw = tomllib.loads(path.read_text(encoding="utf-8"))
        lists |= {key: tuple(words) for key, words in raw.pop("lists", {}).items()}
        table = _table(raw, homes)
        tables[table.name] = table
    lists |= {name: lists.get(name, ()) or words for name, words in OF_A_BARREL.items()}
    if "Choices" in tables:
        tables["Choices"] = _with_words(tables["Choices"], lists)
    return BookDefinition(
        sheets=tuple(book["sheets"]),
        tables=MappingProxyType(tables),
        side_by_side={sheet: tuple(names) for sheet, names in book["side_by_side"].items()},
        notes=book["notes"],
        pages={sheet: PageMaker(**made) for sheet, made in book["pages"].items()},
        lists=MappingProxyType(lists),
        charts=MappingProxyType(book["charts"]),
        hidden=tuple(book["hidden"]),
    )


def _table(raw: dict[str, Any], homes: Mapping[str, str]) -> Table:
    columns = tuple(Column(**column) for column in raw.pop("columns"))
    rows = tuple(raw.pop("rows", ()))
    return Table(columns=columns, rows=rows, sheet=homes.get(raw["name"], raw["name"]), **raw)


def _with_words(table: Table, lists: Mapping[str, tuple[str, ...]]) -> Table:
    """Lay the lists of words out as the rows of one table, a list a column."""
    longest = max(len(words) for words in lists.values())
    rows = tuple({key: words[i] for key, words in lists.items() if i < len(words)} for i in range(longest))
    return Table(
        name=table.name, sheet=table.sheet, help=table.help, counts_when=table.counts_when,
        columns=table.columns, blank_rows=table.blank_rows, rows=rows,
    )  # fmt: skip
