"""What was understood of suppliers' lists, for a person to read."""

from __future__ import annotations

from collections.abc import Sequence

from orderbook.catalogue import CatalogueReading, ColumnTaken, Reject
from orderbook.errors import Finding
from orderbook.reports.tables import TextColumn, table

SHOWN = 12


def catalogue_text(reading: CatalogueReading) -> str:
    """Write what each column was taken for, what became of the rows, and what should be known."""
    parts = []
    for name in dict.fromkeys(column.file for column in reading.columns):
        parts.append(f"{name}\n{_columns_table([c for c in reading.columns if c.file == name])}\n")
    counts = reading.counts()
    parts.append(
        f"{counted(counts['rows_in'], 'row')}: {counted(counts['rows_kept'], 'spring')} kept, "
        f"{counts['rows_rejected']:,} rejected, {counted(counts['rows_duplicate'], 'duplicate')}."
    )
    if reading.rejects:
        parts.append(f"\n{_rejects_table(reading.rejects, reading.rows_rejected)}")
    return "\n".join([*parts, *map(_finding_line, reading.findings)])


def _columns_table(columns: Sequence[ColumnTaken]) -> str:
    used = [column for column in columns if column.meaning != "unused"]
    rows = [[c.header, c.meaning, _unit(c), " · ".join(_short(s, 24) for s in c.samples)] for c in used]
    text = table(["heading", "taken for", "unit", TextColumn("for example", wraps=True)], rows)
    if unused := [repr(_short(c.header, 30)) for c in columns if c.meaning == "unused" and c.header]:
        text += f"\nNot used: {', '.join(unused[:SHOWN])}{' …' if len(unused) > SHOWN else ''}"
    guessed = [(c.header, part) for c in used for part in c.why.split("; ") if "could be" in part or "unit" in part]
    return text + "".join(f"\n{header}: {part}." for header, part in guessed)


def _unit(column: ColumnTaken) -> str:
    unit = column.unit
    if column.meaning in ("width", "strength", "length", "sizes") and not unit:
        unit = "as in each cell"
    if column.meaning == "price" and (column.pack or column.each):
        unit = f"{unit} each" if column.each else f"{unit} per {column.pack}"
    mark = {",": "decimal comma", "mixed": "points and commas"}.get(column.decimal, "")
    return ", ".join(part.strip() for part in (unit, mark) if part)


def _rejects_table(rejects: Sequence[Reject], count: int) -> str:
    several = len({reject.file for reject in rejects}) > 1
    rows = [
        [f"{reject.file} {reject.line}" if several else str(reject.line), _short(reject.text, 34), reject.reason]
        for reject in rejects[:SHOWN]
    ]
    more = f"\n… and {count - SHOWN:,} more" if count > SHOWN else ""
    return table([TextColumn("line", "right"), "text", TextColumn("why it cannot be used", wraps=True)], rows) + more


def _finding_line(finding: Finding) -> str:
    return {"note": "Note: ", "warning": "Warning: ", "error": "Error: "}[finding.severity] + str(finding)


def _short(text: str, letters: int) -> str:
    line = " ".join(text.split())
    return line if len(line) <= letters else line[: letters - 1] + "…"


def counted(count: int, what: str) -> str:
    """Write how many there are of a thing.

    >>> counted(1, "row"), counted(1200, "spring")
    ('1 row', '1,200 springs')
    """
    return f"{count:,} {what}{'' if count == 1 else 's'}"
