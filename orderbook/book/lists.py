"""Read suppliers' lists and keep what was read: rejects, springs as a tidy CSV or in a book, a column map."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any, ClassVar

from orderbook.answers.choice import Watch, unwatched
from orderbook.book.into_book import brought_in
from orderbook.book.list_files import ListFiles
from orderbook.catalogue import CatalogueReading, fit_in_one_go, map_beside, map_of, map_skeleton, write_map
from orderbook.catalogue.account import together
from orderbook.catalogue.maps import beside
from orderbook.errors import Finding, OrderbookError, error
from orderbook.reports.catalogue_text import SHOWN, counted
from orderbook.shown import Shown

BOOKS = (".xlsx", ".xlsm")


@dataclass(frozen=True, slots=True, repr=False)
class ListsRead(Shown):
    """What was read of lists, and what was written, a sentence each."""

    reading: CatalogueReading
    written: tuple[str, ...]

    shown_columns: ClassVar[tuple[str, ...]] = CatalogueReading.shown_columns

    @property
    def findings(self) -> tuple[Finding, ...]:
        """What should be known of the lists."""
        return self.reading.findings

    def as_dict(self) -> dict[str, Any]:
        """Return the JSON keys of the command."""
        return self.reading.as_dict() | {"written": list(self.written)}

    def shown_rows(self) -> list[dict[str, Any]]:
        """Return the springs, a row each."""
        return self.reading.shown_rows()

    def first_rows(self, most: int) -> list[dict[str, Any]]:
        """Return the first springs."""
        return self.reading.first_rows(most)

    def text(self, **_: Any) -> str:
        """Say what was understood and what was written, as the command prints it."""
        return "\n".join([self.reading.text(), *self.written])


def read_lists(
    lists: Sequence[Path],
    *,
    into: Path | None = None,
    map_file: Path | None = None,
    progress: Watch = unwatched,
    every_spring: bool = True,
    **ways: Any,
) -> ListsRead:
    """Read lists; rows that cannot be used go to FILE.rejects.csv in this folder, with the reason of each.

    Parameters: into, a CSV for the springs in mm, or a book; map_file, what each heading means (TOML), used if it is
    there, else written from what was guessed, and without it the map beside the list is used; progress, as for
    `grade`; every_spring, whether of a long list that is read in pieces every spring is kept to be told of, and not
    the counts alone; ways, as `read_catalogue`.
    Raises: OrderbookError(map_for_one_list | into_not_a_list | file_is_not_ours), and as `read_catalogue`; where a map
    can cure a refusal, one that asks what is missing is put beside the list first, and the error says so.
    """
    known_map = map_file if map_file is not None and map_file.exists() else None
    if map_file is not None and known_map is None and len(lists) > 1:
        raise error("map_for_one_list", where="⟨map⟩", saw=f"{map_file} is not there, and there are {len(lists)} lists")
    if into is not None and into.suffix.lower() not in (".csv", *BOOKS):
        raise error("into_not_a_list", where="⟨into⟩", saw=f"{into.name} is neither a CSV file nor a book")
    is_book = into is not None and into.suffix.lower() in BOOKS
    ways["column_map"] = known_map
    try:
        with progress(lists) as told, ListFiles(lists, None if is_book else into) as files:
            reading = _read(lists, ways, files, every_spring or is_book, told)
    except OrderbookError as problem:
        if not (cure := _cure(lists, ways, problem)):
            raise
        where, saw, expected, try_this = problem.finding.marked
        tried = " ".join(filter(None, [try_this, cure]))
        raise error(problem.code, where=where, saw=saw, expected=expected, try_this=tried) from problem
    written = [f"Rows that cannot be used, with their reasons: {place}" for place in files.rejected]
    if map_file is not None and known_map is None:
        write_map(map_of(reading), map_file)
        written.append(f"What each heading means: {map_file}. Look it over; it is used when you name it again.")
    if into is not None and is_book:
        written.append(brought_in(into, reading).said)
    elif into is not None:
        written.append(f"{counted(reading.rows_kept, 'spring')} in mm: {into}")
    return ListsRead(reading, tuple(written))


def _read(
    lists: Sequence[Path], ways: dict[str, Any], files: ListFiles, whole: bool, told: Callable[[int, int], None] | None
) -> CatalogueReading:
    """Read the lists, writing the CSV files meanwhile; of pieces, little more than the counts is kept."""
    from orderbook.catalogue import read_catalogue, read_catalogue_chunks

    if whole or fit_in_one_go(lists):
        reading = read_catalogue(lists, **ways)
        files.take(reading)
        return reading
    kept = []
    for piece in read_catalogue_chunks(lists, progress=told, **ways):
        files.take(piece)
        kept.append(_brief(piece))
    return together(kept)


def _cure(lists: Sequence[Path], ways: dict[str, Any], problem: OrderbookError) -> str:
    """Put a map that asks what is missing beside the list that was refused, and say so; none is written over."""
    path = next((path for path in lists if problem.where.split(": ")[0] in (path.name, str(path))), None)
    if path is None or ways["column_map"] is not None:
        return ""
    place = beside(path)
    if place.exists():
        asks = map_beside(path) is None
        return f'The map {place} still asks: answer each "?" in it, or name another with ⟨map MAP⟩.' if asks else ""
    said = {name: way for name, way in ways.items() if name != "column_map"}
    if (text := map_skeleton(path, problem, **said)) is None:
        return ""
    try:
        with place.open("x", encoding="utf-8") as stream:
            stream.write(text)
    except OSError as refused:
        return f"A map could not be put beside the list ({(refused.strerror or str(refused)).lower()})."
    return f'New: {place}. Answer each "?" in it and read the list again; or name another with ⟨map MAP⟩.'


def _brief(piece: CatalogueReading) -> CatalogueReading:
    """The piece with the rejects that are shown, and one spring of each supplier."""
    one = {name: at for at, name in enumerate(piece.catalogue.supplier.tolist())}
    return replace(piece, catalogue=piece.catalogue.take([*one.values()]), rejects=piece.rejects[:SHOWN])
