"""Writes `tables.py`, the typed records of a book, from the one definition: `python -m orderbook.records.make_tables`.

A column is defined once, in `workbook_template/tables/NAME.toml`. Its format says what its cells hold; where it does
not, `reads` names the reader in `cells.py`.
"""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

from orderbook.records.definition import BookDefinition, Column, Table, book_definition

PAGE = Path(__file__).with_name("tables.py")
IDENTIFIERS = ("restoration", "barrel", "need", "order", "drawer", "parcel")
TYPES = {
    "text": ("str", '""'), "identifier": ("str", '""'), "identifiers": ("tuple[str, ...]", "()"),
    "currency": ("str", '""'), "number": ("Decimal | None", "None"),
    "hours": ("Decimal | None", "None"), "whole": ("int | None", "None"),
    "day": ("date | None", "None"), "shown": ("Decimal | None", "None"), "typed": ("Value", "None"),
    "verdict": ("str", '""'),
}  # fmt: skip
HEAD = '''"""Every table of a book as a frozen record; the name of a field is the key of its column.

Made from workbook_template/tables/*.toml by `python -m orderbook.records.make_tables`; change those, not this.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal
from types import MappingProxyType
from typing import Any

from orderbook.records.cells import (
    Reader,
    currency,
    day,
    hours,
    identifier,
    identifiers,
    number,
    one_of,
    shown,
    text,
    typed,
    whole,
)
from orderbook.records.rows import NOWHERE, Row, Value

'''


def tables_code(book: BookDefinition) -> str:
    """Return the whole module: lists of words, a record and its readers for each table, and what names a row."""
    told = [table for table in book.tables.values() if table.record]
    parts = [
        HEAD + "\n".join(_words(book)),
        *(_record(table, book) for table in told),
        _readers(told, book),
        _names(told),
    ]
    return "\n\n".join(parts)


def _words(book: BookDefinition) -> list[str]:
    return [f"{name.upper()} = ({', '.join(map(_quoted, words))})" for name, words in book.lists.items()]


def _record(table: Table, book: BookDefinition) -> str:
    fields = [f"    {c.key}: {' = '.join(TYPES.get(_reads(c, table, book), TYPES['text']))}" for c in _kept(table)]
    own = "    row: Row = field(default=NOWHERE, compare=False, repr=False)"
    body = "\n".join([*fields, own])
    return f'@dataclass(frozen=True, slots=True)\nclass {table.record}:\n    """{table.help}"""\n\n{body}\n'


def _readers(told: list[Table], book: BookDefinition) -> str:
    lines = []
    for table in told:
        lines.append(f"    {table.record}: {{")
        lines += [f"        {_quoted(c.key)}: {_call(_reads(c, table, book), c)}," for c in _kept(table)]
        lines.append("    },")
    return "READERS: Mapping[type[Any], Mapping[str, Reader]] = {\n" + "\n".join(lines) + "\n}\n"


def _names(told: list[Table]) -> str:
    records = "\n".join(f"    {_quoted(t.name)}: {t.record}," for t in told)
    counts = "\n".join(f"    {_quoted(t.name)}: {_quoted(t.counts_when)}," for t in told)
    return (
        f"RECORDS: Mapping[str, type[Any]] = MappingProxyType({{\n{records}\n}})\n"
        f"# the column that makes a row count\nKEYS: Mapping[str, str] = MappingProxyType({{\n{counts}\n}})\n"
    )


def _kept(table: Table) -> list[Column]:
    return [c for c in table.columns if c.kind != "worked" or c.read]


def _reads(column: Column, table: Table, book: BookDefinition) -> str:
    if column.reads:
        return column.reads
    if column.kind == "worked":
        return "shown" if column.format else "text"
    if column.list in book.lists and column.list != "currency":
        return "words"
    if column.key in IDENTIFIERS:
        return "identifier"
    if column.key == "currency":
        return "currency"
    if column.format in ("", "plain_text"):
        return "text"
    return {"date": "day", "whole": "whole", "hours": "hours"}.get(column.format, "number")


def _call(reads: str, column: Column) -> str:
    if reads == "words":
        return f"one_of(*{column.list.upper()})"
    return 'one_of(*VERDICT, begins=("stopped",))' if reads == "verdict" else reads


def _quoted(word: str) -> str:
    return f'"{word}"'


if __name__ == "__main__":
    PAGE.write_text(tables_code(book_definition()), encoding="utf-8")
    for rule in (("format",), ("check", "--select", "I", "--fix"), ("format",)):
        subprocess.run([sys.executable, "-m", "ruff", *rule, "-q", str(PAGE)], check=True)
