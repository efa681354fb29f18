"""`orderbook catalogue`: read suppliers' lists and show what was understood."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from orderbook.cli import console
from orderbook.errors import Finding, error

if TYPE_CHECKING:
    from orderbook.catalogue import CatalogueReading, ColumnTaken, Reject

SHOWN = 12
BOOKS = (".xlsx", ".xlsm")
PATH = click.Path(path_type=Path)
MAP_HELP = "What each heading means (TOML): used if the file is there, else written from what was guessed."
GAUGE_HELP = "Gauge numbers to mm: a CSV file gauge,number,mm, or one of swg, bwg, awg, stubs_steel."


@click.command(name="catalogue", short_help="Read a supplier's list and show what was understood.")
@click.argument("lists", metavar="FILE...", nargs=-1, required=True, type=PATH)
@click.option("--supplier", metavar="NAME", help="Whose list it is, where the list does not say.")
@click.option("--currency", metavar="GBP", help="Currency of prices that do not say theirs.")
@click.option("--map", "map_file", metavar="MAP", type=PATH, help=MAP_HELP)
@click.option("--gauge", metavar="TABLE.csv", help=GAUGE_HELP)
@click.option("--sheet", metavar="NAME", help="Which sheet of a spreadsheet file; else the first that holds a list.")
@click.option("--words", metavar="WORDS.toml", help="Further words for headings, in the form of the shipped lists.")
@click.option("--into", metavar="FILE", type=PATH, help="Write the springs in mm as one tidy CSV, or into a book.")
@click.option("--json", "as_json", is_flag=True, help="Print the answer as JSON.")
def command(
    lists: tuple[Path, ...],
    supplier: str | None,
    currency: str | None,
    map_file: Path | None,
    gauge: str | None,
    sheet: str | None,
    words: str | None,
    into: Path | None,
    as_json: bool,
) -> int:
    """Read suppliers' lists of springs and show what every column was taken for.

    CSV (any delimiter and encoding, .gz too), .xlsx, .ods and Parquet. Rows that cannot be used go to
    FILE.rejects.csv in this folder, with the reason of each.
    """
    from orderbook.catalogue import fit_in_one_go

    known_map = map_file if map_file is not None and map_file.exists() else None
    _refuse_first(lists, map_file, known_map, into)
    ways = {"supplier": supplier, "gauge": gauge, "sheet": sheet, "currency": currency, "words": words}
    whole = as_json or _is_book(into) or fit_in_one_go(lists)
    reading, written = _read(lists, ways | {"column_map": known_map}, None if _is_book(into) else into, whole)
    written += _write(reading, map_file if known_map is None else None, into)
    if as_json:
        console.say_json(_answer(reading, written))
    else:
        _say(reading, written)
    return console.status_of(reading.findings)


def _refuse_first(lists: Sequence[Path], map_file: Path | None, known_map: Path | None, into: Path | None) -> None:
    if map_file is not None and known_map is None and len(lists) > 1:
        raise error("map_for_one_list", where="--map", saw=f"{map_file} is not there, and there are {len(lists)} lists")
    if into is not None and into.suffix.lower() not in (".csv", *BOOKS):
        saw = f"{into.name} is neither a CSV file nor a book"
        raise error("into_not_a_list", where="--into", saw=saw)


def _is_book(into: Path | None) -> bool:
    return into is not None and into.suffix.lower() in BOOKS


def _read(
    lists: Sequence[Path], ways: dict[str, Any], springs: Path | None, whole: bool
) -> tuple[CatalogueReading, list[str]]:
    """Read the lists, writing the CSV files meanwhile; of pieces, little more than the counts is kept."""
    from orderbook.catalogue import read_catalogue, read_catalogue_chunks
    from orderbook.catalogue.account import together
    from orderbook.cli.list_files import ListFiles
    from orderbook.cli.progress import shown_reading

    with shown_reading(lists) as progress, ListFiles(lists, springs) as files:
        if whole:
            reading = read_catalogue(lists, **ways)
            files.take(reading)
        else:
            kept = []
            for piece in read_catalogue_chunks(lists, progress=progress, **ways):
                files.take(piece)
                kept.append(_brief(piece))
            reading = together(kept)
    return reading, [f"Rows that cannot be used, with their reasons: {place}" for place in files.rejected]


def _brief(piece: CatalogueReading) -> CatalogueReading:
    """The piece with the rejects that are shown, and one spring of each supplier."""
    one = {name: at for at, name in enumerate(piece.catalogue.supplier.tolist())}
    return replace(piece, catalogue=piece.catalogue.take([*one.values()]), rejects=piece.rejects[:SHOWN])


def _write(reading: CatalogueReading, map_file: Path | None, into: Path | None) -> list[str]:
    said = []
    if map_file is not None:
        from orderbook.catalogue import map_of, write_map

        write_map(map_of(reading), map_file)
        said.append(f"What each heading means: {map_file}. Look it over; it is used when you name it again.")
    if into is not None and _is_book(into):
        from orderbook.book.into_book import bring_in

        brought, kept = bring_in(reading.catalogue, into)
        said.append(f"{brought} springs are in {into}, sheet Catalogue; {kept} of other suppliers stay as they were.")
    elif into is not None:
        said.append(f"{_number(reading.rows_kept, 'spring')} in mm: {into}")
    return said


def _answer(reading: CatalogueReading, written: list[str]) -> dict[str, Any]:
    from orderbook.catalogue.writing import price_text

    springs = [reading.catalogue.row(at) for at in range(len(reading.catalogue))]
    for spring in springs:
        spring["price"] = price_text(spring["price_minor"], spring["currency"]) or None
        spring["price_each"] = price_text(spring["price_each_minor"], spring["currency"]) or None
        spring["stock"] = None if spring["stock"] < 0 else spring["stock"]
        del spring["price_minor"], spring["price_each_minor"]
    return {
        "springs": springs,
        "columns": [column.as_dict() for column in reading.columns],
        "rejects": [reject.as_dict() for reject in reading.rejects],
        **reading.counts(),
        "written": written,
        "findings": [finding.as_dict() for finding in reading.findings],
    }


def _say(reading: CatalogueReading, written: list[str]) -> None:
    for name in dict.fromkeys(column.file for column in reading.columns):
        click.echo(f"{name}\n{_columns_table([c for c in reading.columns if c.file == name])}\n")
    counts = reading.counts()
    click.echo(
        f"{_number(counts['rows_in'], 'row')}: {_number(counts['rows_kept'], 'spring')} kept, "
        f"{counts['rows_rejected']:,} rejected, {_number(counts['rows_duplicate'], 'duplicate')}."
    )
    if reading.rejects:
        click.echo(f"\n{_rejects_table(reading.rejects, reading.rows_rejected)}")
    for finding in reading.findings:
        click.echo(_finding_line(finding))
    for line in written:
        click.echo(line)


def _columns_table(columns: Sequence[ColumnTaken]) -> str:
    from orderbook.reports.tables import TextColumn, table

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
    from orderbook.reports.tables import TextColumn, table

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


def _number(count: int, what: str) -> str:
    return f"{count:,} {what}{'' if count == 1 else 's'}"
