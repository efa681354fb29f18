"""`orderbook catalogue`: read suppliers' lists and show what was understood."""

from __future__ import annotations

import json
from collections.abc import Iterator, Sequence
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from orderbook.cli import console
from orderbook.errors import Finding, OrderbookError, error

if TYPE_CHECKING:
    from orderbook.catalogue import CatalogueReading, ColumnTaken, Reject
    from orderbook.catalogue.springs import Shown

SHOWN = 12
TABLES = 3  # of a list whose springs and columns are shown
LETTERS = 34  # of a heading or a cell that are shown
FLAGS = {  # which flag answers what a finding asks
    "price_currency_not_said": "--currency GBP", "price_sign_of_many": "--currency GBP", "sheet_hidden": "--sheet NAME",
    "sheet_not_read": "--sheet NAME", "supplier_from_file_name": "--supplier NAME",
}  # fmt: skip
CURES = FLAGS | {"gauge_not_named": "--gauge TABLE.csv", "sheet_not_found": "--sheet NAME"}
BOOKS = (".xlsx", ".xlsm")
PATH = click.Path(path_type=Path)
MAP_HELP = "What each heading means (TOML): used if it is there, else written. Without it, LIST.map.toml beside the list."
GAUGE_HELP = "Gauge numbers to mm: a CSV file gauge,number,mm, or one of swg, bwg, awg, stubs_steel."


@click.command(name="catalogue", short_help="Read a supplier's list and show what was understood.")
@click.argument("lists", metavar="FILE...", nargs=-1, required=True, type=PATH)
@click.option("--supplier", metavar="NAME", help="Whose list it is, where the list does not say.")
@click.option("--currency", metavar="GBP", help="Currency of prices that do not say theirs.")
@click.option("--map", "map_file", metavar="MAP", type=PATH, help=MAP_HELP)
@click.option("--gauge", metavar="TABLE.csv", help=GAUGE_HELP)
@click.option("--sheet", metavar="NAME", help="Which sheet of a spreadsheet file; else every visible one that holds a list.")
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
    """Read suppliers' lists of springs and show what was understood.

    CSV (any delimiter and encoding, .gz too), .xlsx, .xls, .ods and Parquet. Rows that cannot be used go to
    FILE.rejects.csv in this folder, with the reason of each. A list that leaves a question open is refused, and a map
    with the question is put beside it, to be answered.
    """
    known_map = map_file if map_file is not None and map_file.exists() else None
    _refuse_first(lists, map_file, known_map, into)
    ways = {"supplier": supplier, "gauge": gauge, "sheet": sheet, "currency": currency, "words": words}
    ways |= {"column_map": known_map}
    try:
        return _answered(lists, ways, map_file if known_map is None else None, into, as_json)
    except OrderbookError as problem:
        if not (advice := _cure(lists, ways, problem)):
            raise
        console.say_error(str(problem))
        for line in advice:
            click.echo(line, err=True)
        return 2


def _answered(
    lists: Sequence[Path], ways: dict[str, Any], map_file: Path | None, into: Path | None, as_json: bool
) -> int:
    from orderbook.catalogue import fit_in_one_go

    whole = _is_book(into) or fit_in_one_go(lists)
    into_csv = None if _is_book(into) else into
    if as_json and not whole:
        return _long_json(lists, ways, into_csv, map_file)
    reading, written = _read(lists, ways, into_csv, whole)
    written += _write(reading, map_file, into)
    if as_json:
        console.say_json(_answer(reading, written))
    else:
        _say(reading, written)
    return console.status_of(reading.findings)


def _cure(lists: Sequence[Path], ways: dict[str, Any], problem: OrderbookError) -> list[str]:
    """What cures a refusal: a flag, and a map beside the list that asks what is missing (none is written over)."""
    from orderbook.catalogue import map_beside, map_skeleton
    from orderbook.catalogue.maps import beside

    path = next((path for path in lists if problem.where.split(": ")[0] in (path.name, str(path))), None)
    said = [f"A flag that cures it: {CURES[problem.code]}"] if problem.code in CURES else []
    if path is None:
        return said
    place = beside(path)
    if place.exists() and map_beside(path) is None:
        return [*said, f'The map {place} still asks: answer each "?" in it, or name another with --map MAP.']
    text = map_skeleton(path, problem, **{name: way for name, way in ways.items() if name != "column_map"})
    if text is None or place.exists() or ways["column_map"] is not None:
        return said
    try:
        with place.open("x", encoding="utf-8") as stream:
            stream.write(text)
    except OSError as refused:
        return [*said, f"A map could not be put beside the list ({(refused.strerror or str(refused)).lower()})."]
    return [*said, f'New: {place}. Answer each "?" in it and run the command again; or name another with --map MAP.']


def _refuse_first(lists: Sequence[Path], map_file: Path | None, known_map: Path | None, into: Path | None) -> None:
    if map_file is not None and known_map is None and len(lists) > 1:
        saw = f"{map_file} is not there, and there are {len(lists)} lists"
        raise error("map_for_one_list", where="column map", saw=saw)
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
    return reading, files.told()


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
        from orderbook.desk.into_book import bring_in

        brought, kept = bring_in(reading.catalogue, into)
        said.append(f"{brought} springs are in {into}, sheet Catalogue; {kept} of other suppliers stay as they were.")
    elif into is not None:
        said.append(f"{_number(reading.rows_kept, 'spring')} in mm: {into}")
    return said


def _answer(reading: CatalogueReading, written: list[str]) -> dict[str, Any]:
    return {"springs": _springs(reading), **_account(reading, written)}


def _springs(reading: CatalogueReading) -> list[dict[str, Any]]:
    from orderbook.catalogue.writing import price_text

    springs = [reading.catalogue.row(at) for at in range(len(reading.catalogue))]
    for spring in springs:
        spring["price"] = price_text(spring["price_minor"], spring["currency"]) or None
        spring["price_each"] = price_text(spring["price_each_minor"], spring["currency"]) or None
        spring["stock"] = None if spring["stock"] < 0 else spring["stock"]
        del spring["price_minor"], spring["price_each_minor"]
    return springs


def _account(reading: CatalogueReading, written: list[str]) -> dict[str, Any]:
    return {
        "shown": [shown.as_dict() for shown in reading.shown],
        "columns": [column.as_dict() for column in reading.columns],
        "rejects": [reject.as_dict() for reject in reading.rejects],
        **reading.counts(),
        "written": written,
        "findings": [finding.as_dict() for finding in reading.findings],
    }


def _long_json(lists: Sequence[Path], ways: dict[str, Any], springs: Path | None, map_file: Path | None) -> int:
    """Print the answer about a long list piece by piece, so that it never stands in memory whole."""
    from orderbook.catalogue import read_catalogue_chunks
    from orderbook.catalogue.account import together
    from orderbook.cli.list_files import ListFiles

    kept: list[CatalogueReading] = []

    def pieces(files: ListFiles) -> Iterator[str]:
        for piece in read_catalogue_chunks(lists, **ways):
            files.take(piece)
            kept.append(replace(_brief(piece), rejects=piece.rejects))
            yield from (json.dumps(spring, ensure_ascii=False) for spring in _springs(piece))

    with ListFiles(lists, springs) as files:
        click.echo('{\n  "springs": [', nl=False)
        for number, spring in enumerate(pieces(files)):
            click.echo((",\n    " if number else "\n    ") + spring, nl=False)
    reading = together(kept)
    written = files.told() + _write(reading, map_file, springs)
    rest = json.dumps(_account(reading, written), ensure_ascii=False, indent=2)
    click.echo("\n  ],\n" + rest.removeprefix("{\n"))
    return console.status_of(reading.findings)


def _say(reading: CatalogueReading, written: list[str]) -> None:
    from orderbook.reports.tables import wrapped

    tables = list(dict.fromkeys((column.file, column.table) for column in reading.columns))
    for file, number in tables[:TABLES]:
        if shown := [one for one in reading.shown if (one.file, one.table) == (file, number)]:
            click.echo(f"{_shown_table(file, shown)}\n")
    counts = reading.counts()
    click.echo(
        f"{_number(counts['rows_in'], 'row')}: {_number(counts['rows_kept'], 'spring')} kept, "
        f"{counts['rows_rejected']:,} rejected, {_number(counts['rows_duplicate'], 'duplicate')}."
    )
    for file, number in tables[:TABLES]:
        columns = [column for column in reading.columns if (column.file, column.table) == (file, number)]
        click.echo(f"\n{file}\n{_columns_table(columns)}")
    if len(tables) > TABLES:
        click.echo(f"\n… and {_number(len(tables) - TABLES, 'further table')}; --json shows all.")
    if reading.rejects:
        click.echo(f"\n{_rejects_table(reading.rejects, reading.rows_rejected)}")
    if reading.findings or written:
        click.echo()
    for finding in reading.findings:
        click.echo(wrapped(_finding_line(finding)))
    for line in written:
        click.echo(line)


def _shown_table(file: str, shown: Sequence[Shown]) -> str:
    from orderbook.reports.tables import Column, table

    rows = []
    for one in shown:
        sizes = f"{one.width_mm:.4g} × {one.strength_mm:.4g} × {one.length_mm:.5g}"
        said = " · ".join(f"{_short(name, 24)}: {_short(text, LETTERS)}" for name, text in one.said)
        rows.append([_short(one.item, 16), sizes, one.price, said])
    heads = ["item", "width × strength × length, mm", "price", Column("because the list says", wraps=True)]
    return f"{file}: three springs as they were understood. Are they right?\n{table(heads, rows)}"


def _columns_table(columns: Sequence[ColumnTaken]) -> str:
    from orderbook.reports.tables import Column, table, wrapped

    used = [column for column in columns if column.meaning != "unused"]
    rows = [[_short(c.header, LETTERS), c.meaning, _unit(c), " · ".join(_short(s, 24) for s in c.samples)] for c in used]
    text = table([Column("heading", wraps=True), "taken for", "unit", Column("for example", wraps=True)], rows)
    if unused := [repr(_short(c.header, 30)) for c in columns if c.meaning == "unused" and c.header]:
        text += "\n" + wrapped(f"Not used: {', '.join(unused[:SHOWN])}{' …' if len(unused) > SHOWN else ''}")
    guessed = [(c.header, part) for c in used for part in c.why.split("; ") if "could be" in part or "unit" in part]
    return text + "".join("\n" + wrapped(f"{_short(header, LETTERS)}: {part}.") for header, part in guessed)


def _unit(column: ColumnTaken) -> str:
    unit = column.unit
    if column.meaning in ("width", "strength", "length", "sizes") and not unit:
        unit = "as in each cell"
    if column.meaning == "price" and (column.pack or column.each):
        unit = f"{unit} each" if column.each else f"{unit} per {column.pack}"
    mark = {",": "decimal comma", "mixed": "points and commas"}.get(column.decimal, "")
    return ", ".join(part.strip() for part in (unit, mark) if part)


def _rejects_table(rejects: Sequence[Reject], count: int) -> str:
    from orderbook.reports.tables import Column, table

    several = len({reject.file for reject in rejects}) > 1
    rows = [
        [f"{reject.file} {reject.line}" if several else str(reject.line), _short(reject.text, LETTERS), reject.reason]
        for reject in rejects[:SHOWN]
    ]
    more = f"\n… and {count - SHOWN:,} more" if count > SHOWN else ""
    return table([Column("line", "right"), "text", Column("why it cannot be used", wraps=True)], rows) + more


def _finding_line(finding: Finding) -> str:
    flag = f" Flag: {FLAGS[finding.code]}." if finding.code in FLAGS else ""
    return {"note": "Note: ", "warning": "Warning: ", "error": "Error: "}[finding.severity] + str(finding) + flag


def _short(text: str, letters: int) -> str:
    line = " ".join(text.split())
    return line if len(line) <= letters else line[: letters - 1] + "…"


def _number(count: int, what: str) -> str:
    return f"{count:,} {what}{'' if count == 1 else 's'}"
