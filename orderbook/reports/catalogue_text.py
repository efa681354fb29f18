"""What was understood of suppliers' lists, for a person to read."""

from __future__ import annotations

from collections.abc import Sequence

from orderbook.catalogue import CatalogueReading, ColumnTaken, Reject
from orderbook.catalogue.springs import SpringAsRead
from orderbook.errors import Finding
from orderbook.reports.tables import TextColumn, table, wrapped

SHOWN = 12
WIDTH = 80  # characters of a line: what an old terminal has
TABLES = 3  # of a list whose springs and columns are shown
LETTERS = 34  # of a heading or a cell that are shown


def catalogue_text(reading: CatalogueReading) -> str:
    """Write three springs as they were understood, what became of the rows, each column, and what should be known."""
    tables = list(dict.fromkeys((column.file, column.table) for column in reading.columns))
    parts = []
    for file, number in tables[:TABLES]:
        if shown := [one for one in reading.shown if (one.file, one.table) == (file, number)]:
            parts.append(f"{_as_understood(file, shown)}\n")
    counts = reading.counts()
    parts.append(
        f"{counted(counts['rows_in'], 'row')}: {counted(counts['rows_kept'], 'spring')} kept, "
        f"{counts['rows_rejected']:,} rejected, {counted(counts['rows_duplicate'], 'duplicate')}."
    )
    for file, number in tables[:TABLES]:
        columns = [column for column in reading.columns if (column.file, column.table) == (file, number)]
        parts.append(f"\n{file}\n{_columns_table(columns)}")
    if len(tables) > TABLES:
        parts.append(f"\n… and {counted(len(tables) - TABLES, 'further table')}, read in the same way.")
    if reading.rejects:
        parts.append(f"\n{_rejects_table(reading.rejects, reading.rows_rejected)}")
    if reading.findings:
        parts.append("")
    return "\n".join([*parts, *(wrapped(_finding_line(finding), WIDTH) for finding in reading.findings)])


def _as_understood(file: str, shown: Sequence[SpringAsRead]) -> str:
    """Three springs in mm, each above the text it came from."""
    lines = [f"{file}: three springs as they were understood. Are they right?"]
    room = max(len(_short(one.item, 16)) for one in shown)
    for one in shown:
        sizes = f"{one.width_mm:.4g} mm wide, {one.strength_mm:.4g} mm strong, {one.length_mm:.5g} mm long"
        head = f"{_short(one.item, 16):{room}}  {sizes}"
        lines.append(f"{head}, {one.price}" if one.price else head)
        said = " · ".join(f"{_short(name, 24)}: {_short(text, LETTERS)}" for name, text in one.said)
        lines.append(wrapped(said, WIDTH, set_in=" " * (room + 2)))
    return "\n".join(lines)


def _columns_table(columns: Sequence[ColumnTaken]) -> str:
    used = [column for column in columns if column.meaning != "unused"]
    rows = [
        [_short(c.header, LETTERS), c.meaning, _unit(c), " · ".join(_short(s, 24) for s in c.samples)] for c in used
    ]
    heads = (TextColumn("heading", wraps=True), "taken for", "unit", TextColumn("for example", wraps=True))
    text = table(heads, rows, width=WIDTH)
    if unused := [repr(_short(c.header, 30)) for c in columns if c.meaning == "unused" and c.header]:
        text += "\n" + wrapped(f"Not used: {', '.join(unused[:SHOWN])}{' …' if len(unused) > SHOWN else ''}", WIDTH)
    guessed = [(c.header, part) for c in used for part in c.why.split("; ") if "could be" in part or "unit" in part]
    return text + "".join("\n" + wrapped(f"{_short(header, LETTERS)}: {part}.", WIDTH) for header, part in guessed)


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
        [f"{reject.file} {reject.line}" if several else str(reject.line), _short(reject.text, LETTERS), reject.reason]
        for reject in rejects[:SHOWN]
    ]
    more = f"\n… and {count - SHOWN:,} more" if count > SHOWN else ""
    return (
        table([TextColumn("line", "right"), "text", TextColumn("why it cannot be used", wraps=True)], rows, width=WIDTH)
        + more
    )


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
