"""Read suppliers' lists whole: every row is kept, rejected with its reason, or counted as a duplicate."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field, replace
from itertools import islice
from pathlib import Path

from orderbook.catalogue.blocks import block
from orderbook.catalogue.cutting import Record, lines_of, records
from orderbook.catalogue.duplicates import about_items_that_differ, all_items_differ, first_of_each, lines_text
from orderbook.catalogue.gauges import GaugeTable, gauge_table
from orderbook.catalogue.large import large_table
from orderbook.catalogue.letters import decode
from orderbook.catalogue.maps import ColumnMap, read_map
from orderbook.catalogue.naming import Column, columns_not_found, name_columns
from orderbook.catalogue.opening import Limits, Opened, open_list
from orderbook.catalogue.plan import Plan, decided
from orderbook.catalogue.rows import Converted, convert
from orderbook.catalogue.sheets import Sheet, read_parquet, read_sheets
from orderbook.catalogue.springs import Catalogue, CatalogueReading, ColumnTaken, Reject
from orderbook.catalogue.tables import Table, find_header, guess_dialect, tables_of, trimmed
from orderbook.catalogue.words import Words, is_currency, shipped_words
from orderbook.errors import Finding, error, finding

SAMPLES = 3
SHOWN = 5


@dataclass(frozen=True, slots=True)
class Ways:
    """How lists are to be read: what the user said, and what is assumed."""

    words: Words
    supplier: str = ""
    column_map: ColumnMap = field(default_factory=ColumnMap)
    gauge: GaugeTable | None = None
    sheet: str | None = None
    currency: str = ""
    limits: Limits = field(default_factory=Limits)


def read_catalogue(
    paths: str | Path | Iterable[str | Path],
    *,
    supplier: str | None = None,
    column_map: ColumnMap | str | Path | None = None,
    gauge: str | Path | None = None,
    sheet: str | None = None,
    currency: str | None = None,
    words: str | Path | None = None,
    limits: Limits | None = None,
) -> CatalogueReading:
    """Read one or several suppliers' lists as one catalogue.

    Parameters: supplier, for lists that do not say it; column_map, a TOML file or a ColumnMap, used before any
    guess; gauge, a CSV `gauge,number,mm` or the name of a shipped one; currency, of prices that do not say it; words,
    a TOML file of further heading words; limits, what is refused as too large.
    Returns: springs in mm and minor units, rejects, what each column was taken for, row counts, findings.
    Raises: OrderbookError if a list cannot be read, or can be read in two ways; OSError if it cannot be opened.

    >>> from orderbook.locate import data_folder
    >>> reading = read_catalogue(data_folder("demo_catalog") / "supplier_west.csv")
    >>> reading.counts()
    {'rows_in': 255, 'rows_kept': 255, 'rows_rejected': 0, 'rows_duplicate': 0}
    >>> round(float(reading.catalogue.strength_mm[0]), 5)  # 0.0031 in
    0.07874
    """
    ways = ways_of(
        supplier=supplier, column_map=column_map, gauge=gauge, sheet=sheet, currency=currency, words=words,
        limits=limits,
    )  # fmt: skip
    files = [paths] if isinstance(paths, (str, Path)) else list(paths)
    parts = [part for path in files for part in read_list(Path(path), ways)]
    return joined(parts)


def ways_of(
    *,
    supplier: str | None = None,
    column_map: ColumnMap | str | Path | None = None,
    gauge: str | Path | None = None,
    sheet: str | None = None,
    currency: str | None = None,
    words: str | Path | None = None,
    limits: Limits | None = None,
) -> Ways:
    """Gather what the user said about the lists.

    Raises: OrderbookError(currency_not_known) and what reading a map, a gauge table or a word file raises.
    """
    known = read_map(column_map) if isinstance(column_map, (str, Path)) else column_map or ColumnMap()
    code = (currency or known.currency).upper()
    if code and not is_currency(code):
        raise error("currency_not_known", where="currency", saw=code)
    table = gauge or known.gauge
    return Ways(
        words=shipped_words(words),
        supplier=supplier or known.supplier,
        column_map=known,
        gauge=gauge_table(table) if table else None,
        sheet=sheet,
        currency=code,
        limits=limits or Limits(),
    )


@dataclass(frozen=True, slots=True)
class Part:
    """One table, read."""

    converted: Converted
    columns: tuple[ColumnTaken, ...]
    misfits: tuple[Reject, ...]
    findings: tuple[Finding, ...]


def joined(parts: Sequence[Part]) -> CatalogueReading:
    """Join the tables of all lists: duplicates are dropped and counted, and the account of rows is drawn up."""
    springs = Catalogue.concat([part.converted.catalogue for part in parts])
    unique = all_items_differ(springs)
    kept = springs if unique else springs.take(first_of_each(springs))
    rejects = sorted(
        (reject for part in parts for reject in (*part.misfits, *part.converted.rejects)),
        key=lambda reject: (reject.file, reject.line),
    )
    return CatalogueReading(
        catalogue=kept,
        rejects=tuple(rejects),
        columns=tuple(column for part in parts for column in part.columns),
        rows_in=sum(part.converted.rows_in + len(part.misfits) for part in parts),
        rows_kept=len(kept),
        rows_rejected=len(rejects),
        rows_duplicate=len(springs) - len(kept),
        findings=tuple(_findings(parts, kept, len(rejects), unique)),
    )


def read_list(path: Path, ways: Ways) -> list[Part]:
    """Read the tables of one list.

    Raises: as `read_catalogue`.
    """
    opened = open_list(path, ways.limits)
    if opened.kind == "text":
        tables, findings = _tables_of_text(opened, path.name, ways)
    else:
        tables, findings = _tables_of_sheet(opened, path.name, ways)
    named, said = named_after_file(path, ways, tables[0].header)
    parts = [part_of(table, named) for table in tables]
    return [replace(parts[0], findings=(*findings, *said, *parts[0].findings)), *parts[1:]]


def part_of(table: Table, ways: Ways) -> Part:
    """Read one table: name its columns, decide how they are read, read its rows."""
    plan = decided(draft(table.header, table.file, ways), table.block.columns)
    converted = convert(table.block, plan)
    said = sorted(set(converted.catalogue.currency.tolist()) - {""})
    columns = tuple(taken(column, table, plan, " ".join(said)) for column in plan.columns)
    return Part(converted, columns, table.rejects, tuple(_set_aside(table, converted)))


def draft(header: Sequence[str], file: str, ways: Ways) -> Plan:
    """Name the columns of a table; units and marks are still open."""
    columns = name_columns(header, file, ways.words, ways.column_map)
    return Plan(file, tuple(header), columns, ways.words, ways.supplier, ways.currency, ways.gauge)


def _tables_of_text(opened: Opened, file: str, ways: Ways) -> tuple[list[Table], tuple[Finding, ...]]:
    known = ways.column_map.headings
    large = large_table(opened.data, file, ways.words, ways.limits, known, ways.column_map.delimiter)
    if large is not None:
        return [large], ()
    letters = decode(opened.data, file)
    lines = lines_of(letters.text, ways.limits, file)
    dialect = guess_dialect(lines, ways.words, known, ways.column_map.delimiter)
    start = [record for record, _ in zip(records(lines, dialect), range(80), strict=False)]
    found = find_header([record.cells for record in start], ways.words, known)
    if found is None:
        raise columns_not_found(("item", "width", "strength", "length"), _widest(start), file)
    cut = list(records(lines, dialect, len(trimmed(found.cells))))
    found = find_header([record.cells for record in cut], ways.words, known) or found
    return tables_of(found, cut, file, ways.words, ways.limits, known, lines.complete), letters.findings


def _tables_of_sheet(opened: Opened, file: str, ways: Ways) -> tuple[list[Table], tuple[Finding, ...]]:
    """The named sheet, or the first one in which a header is found."""
    known = ways.column_map.headings
    for sheet in _sheets(opened, file, ways):
        if (found := find_header(sheet.rows, ways.words, known)) is not None:
            return [_sheet_table(sheet, found.at, trimmed(found.cells), file)], ()
    raise columns_not_found(("item", "width", "strength", "length"), (), file)


def _sheets(opened: Opened, file: str, ways: Ways) -> Iterable[Sheet]:
    if opened.kind == "parquet":
        return [read_parquet(opened.data, file, ways.limits)]
    return read_sheets(opened.data, file, ways.limits, ways.sheet)


def _sheet_table(sheet: Sheet, at: int, header: tuple[str, ...], file: str) -> Table:
    width = len(header)
    body = [(n, row) for n, row in enumerate(sheet.rows[at + 1 :], start=at + 2) if any(c != "" for c in row)]
    wide = [(n, row) for n, row in body if any(cell != "" for cell in row[width:])]
    rejects = tuple(
        Reject(file, n, "", " | ".join(str(c) for c in row), "cells beyond the header", "Give the column a heading.")
        for n, row in wide
    )
    lines = {n for n, _ in wide}
    kept = [(n, (row + [""] * width)[:width]) for n, row in body if n not in lines]
    return Table(file, header, at + 1, block([n for n, _ in kept], [row for _, row in kept], width), rejects)


def _widest(rows: Sequence[Record]) -> tuple[str, ...]:
    return trimmed(max((record.cells for record in rows), key=len, default=[]))


def named_after_file(path: Path, ways: Ways, header: Sequence[str]) -> tuple[Ways, list[Finding]]:
    """A list that does not say its supplier is named after its file, and says so."""
    columns = draft(header, path.name, ways).columns
    if ways.supplier or any(column.meaning == "supplier" for column in columns):
        return ways, []
    name = path.name.split(".")[0]
    saw = f"no supplier; called {name!r}"
    return replace(ways, supplier=name), [finding("supplier_from_file_name", where=path.name, saw=saw)]


def taken(column: Column, table: Table, plan: Plan, currencies: str) -> ColumnTaken:
    """Say what a column was taken for, with samples."""
    texts = table.block.columns[column.index].texts
    samples = tuple(islice((text for text in texts if text and text != column.header), SAMPLES))
    unit = column.unit
    if column.meaning == "price":
        unit = currencies or column.currency
    return ColumnTaken(
        column.header, column.meaning, unit, samples, plan.file, column.decimal, column.why, column.pack, column.each
    )


def _set_aside(table: Table, converted: Converted) -> list[Finding]:
    repeated = sorted((*table.repeated, *converted.repeated))
    if not repeated:
        return []
    return [finding("header_repeated", where=table.file, saw=f"the header stands again in line {lines_text(repeated)}")]


def _findings(parts: Sequence[Part], kept: Catalogue, rejected: int, unique: bool) -> list[Finding]:
    findings = [found for part in parts for found in part.findings]
    for part in parts:
        findings += _about_prices(part)
    if not unique:
        findings += about_items_that_differ(kept)
    if not len(kept):
        findings.append(finding("no_row_kept", where="catalogue", saw=f"{rejected} rows, none of them a spring"))
    return findings


def _about_prices(part: Part) -> list[Finding]:
    file = part.columns[0].file if part.columns else ""
    found = []
    if part.converted.prices_unread:
        count = sum(part.converted.prices_unread.values())
        shown = ", ".join(repr(text) for text in list(part.converted.prices_unread)[:SHOWN])
        found.append(finding("price_is_words", where=file, saw=f"{shown} for a price, {_times(count)}"))
    if part.converted.currency_unsaid:
        saw = f"{part.converted.currency_unsaid} prices do not say their currency"
        found.append(finding("price_currency_not_said", where=file, saw=saw))
    return found


def _times(count: int) -> str:
    return "once" if count == 1 else f"{count} times"
