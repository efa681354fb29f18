"""From text to rows: the csv module for whatever is regular, and care where quotes are damaged."""

from __future__ import annotations

import csv
import re
from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, NamedTuple

from orderbook.catalogue.opening import ListLimits
from orderbook.errors import error

if TYPE_CHECKING:
    from _csv import Reader as CsvReader

DELIMITERS = (",", ";", "\t", "|")
QUOTE_OPEN = "a quote is opened and not closed, or the other way round"
_ENDS = re.compile(r"\r\n|\n|\r")


@dataclass(frozen=True, slots=True)
class Dialect:
    """How a text is cut: the mark between cells, the quote, and what escapes a quote ("" for doubling it)."""

    delimiter: str = ","
    quote: str = '"'
    escape: str = ""


class Record(NamedTuple):
    """One row of the text: its first line, its cells, and what is wrong with it ("" if nothing is)."""

    line: int
    cells: list[str]
    trouble: str = ""
    raw: str = ""


@dataclass(slots=True)
class Lines:
    """A text as numbered lines."""

    lines: list[str]
    first: int = 1
    complete: bool = field(default=True)  # whether the last line ends with a line end


def lines_of(text: str, limits: ListLimits, where: str) -> Lines:
    """Cut a text into lines at any line end.

    Raises: OrderbookError(line_too_long | list_too_large).
    """
    lines = text.split("\n") if "\r" not in text else _ENDS.split(text)
    complete = lines[-1] == ""
    if complete:
        lines.pop()
    if max(map(len, lines), default=0) > limits.line_letters:
        raise error("line_too_long", where=where, saw=f"a line of more than {limits.line_letters:,} letters")
    if len(lines) > limits.rows:
        raise error("list_too_large", where=where, saw=f"more than {limits.rows:,} rows")
    return Lines(lines, complete=complete)


def records(lines: Lines, dialect: Dialect, width: int = 0) -> Iterator[Record]:
    """Cut lines into records.

    A record may run over several lines inside quotes. Where one of the lines it swallows is a whole row of `width`
    cells by itself, a quote is damaged: the first line becomes a record with its trouble, the others are read again.
    """
    at, total = 0, len(lines.lines)
    while at < total:
        reader = _reader(lines.lines, at, dialect)
        start = at
        while start < total:
            cells, trouble = _next(reader)
            end = at + reader.line_num if not trouble else start + 1
            if not trouble and end - start > 1 and _swallowed(lines.lines[start:end], cells, dialect, width):
                trouble = QUOTE_OPEN
            if trouble:
                raw = lines.lines[start]
                yield Record(lines.first + start, [raw], trouble, raw)
                at = start + 1
                break
            yield Record(lines.first + start, cells)
            start = end
        else:
            return


def _reader(lines: list[str], at: int, dialect: Dialect) -> CsvReader:
    return csv.reader(
        (lines[i] + "\n" for i in range(at, len(lines))),
        delimiter=dialect.delimiter,
        quotechar=dialect.quote,
        escapechar=dialect.escape or None,
        doublequote=not dialect.escape,
    )


def _next(reader: CsvReader) -> tuple[list[str], str]:
    try:
        return next(reader), ""
    except StopIteration:
        return [], "the text breaks off"
    except csv.Error as problem:
        return [], QUOTE_OPEN if "field larger" in str(problem) else str(problem)


def _swallowed(lines: list[str], cells: list[str], dialect: Dialect, width: int) -> bool:
    """Whether a record of several lines ate whole rows: lines with enough cells, all their quotes closed."""
    if width and len(cells) != width:
        return True
    enough = max(width, 3)
    return any(line.count(dialect.delimiter) + 1 >= enough and line.count(dialect.quote) % 2 == 0 for line in lines[1:])
