"""Read suppliers' lists and keep what was read: rejects, springs as a tidy CSV or in a book, a column map."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any, ClassVar

from orderbook.answers.choice import Watch, unwatched
from orderbook.book.into_book import brought_in
from orderbook.book.list_files import ListFiles
from orderbook.catalogue import CatalogueReading, fit_in_one_go, map_of, write_map
from orderbook.catalogue.account import together
from orderbook.errors import Finding, error
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
    there, else written from what was guessed; progress, as for `grade`; every_spring, whether of a long list that is
    read in pieces every spring is kept to be told of, and not the counts alone; ways, as `read_catalogue`.
    Raises: OrderbookError(map_for_one_list | into_not_a_list | file_is_not_ours), and as `read_catalogue`.
    """
    known_map = map_file if map_file is not None and map_file.exists() else None
    if map_file is not None and known_map is None and len(lists) > 1:
        raise error("map_for_one_list", where="⟨map⟩", saw=f"{map_file} is not there, and there are {len(lists)} lists")
    if into is not None and into.suffix.lower() not in (".csv", *BOOKS):
        raise error("into_not_a_list", where="⟨into⟩", saw=f"{into.name} is neither a CSV file nor a book")
    is_book = into is not None and into.suffix.lower() in BOOKS
    with progress(lists) as told, ListFiles(lists, None if is_book else into) as files:
        reading = _read(lists, ways | {"column_map": known_map}, files, every_spring or is_book, told)
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


def _brief(piece: CatalogueReading) -> CatalogueReading:
    """The piece with the rejects that are shown, and one spring of each supplier."""
    one = {name: at for at, name in enumerate(piece.catalogue.supplier.tolist())}
    return replace(piece, catalogue=piece.catalogue.take([*one.values()]), rejects=piece.rejects[:SHOWN])
