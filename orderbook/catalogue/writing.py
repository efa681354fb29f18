"""Springs and rejects as CSV: the canonical columns, and text that looks like a formula kept as text."""

from __future__ import annotations

import csv
from collections.abc import Callable, Iterable, Iterator, Sequence
from contextlib import contextmanager
from functools import cache
from pathlib import Path

from orderbook.catalogue.springs import SIZES, Catalogue, Reject, price_text
from orderbook.errors import error

CANONICAL = (
    "supplier", "item", "width_mm", "strength_mm", "length_mm", "end", "material",
    "price", "currency", "pack", "stock", "note",
)  # fmt: skip
REJECTS = ("file", "line", "column", "text", "reason", "try_this")
AT_ONCE = 20_000  # rows held as texts at a time
FORMULA_SIGNS = ("=", "+", "-", "@", "\t", "\r")


def canonical_rows(springs: Catalogue) -> Iterable[list[str]]:
    """Yield springs as texts of the canonical columns; what is missing is empty.

    >>> one = Catalogue.of(supplier=["S"], item=["=1+1"], width_mm=[2.5], strength_mm=[0.16], length_mm=[340],
    ...                    price_minor=[1250], currency=["GBP"])
    >>> list(canonical_rows(one))
    [['S', '=1+1', '2.5', '0.16', '340', '', '', '12.50', 'GBP', '1', '', '']]
    """
    for at in range(0, len(springs), AT_ONCE):
        yield from map(list, zip(*_columns(springs, slice(at, at + AT_ONCE)), strict=True))


def _columns(springs: Catalogue, rows: slice) -> Iterator[Sequence[str]]:
    """The columns as texts; each distinct number and price is written once."""
    prices = zip(springs.price_minor[rows].tolist(), springs.currency[rows].tolist(), strict=True)
    price, number, count = cache(price_text), cache(_number), cache(_count)
    for name in CANONICAL:
        if name == "price":
            yield [price(*one) for one in prices]
        elif name in SIZES:
            yield [*map(number, getattr(springs, name)[rows].tolist())]
        else:
            values = getattr(springs, name)[rows].tolist()
            yield [*map(count, values)] if name in ("pack", "stock") else values


def write_catalogue(springs: Catalogue, path: Path) -> None:
    """Write springs as a CSV of the canonical columns.

    Raises: OrderbookError(file_is_not_ours) rather than write over a file that is something else.
    """
    with csv_file(path, CANONICAL) as write:
        write(canonical_rows(springs))


def write_rejects(rejects: Sequence[Reject], path: Path) -> None:
    """Write rejects as CSV.

    Raises: OrderbookError(file_is_not_ours) rather than write over a file that is something else.
    """
    with csv_file(path, REJECTS) as write:
        write(reject_rows(rejects))


def reject_rows(rejects: Iterable[Reject]) -> Iterable[list[str]]:
    """Yield rejects as texts of the columns `REJECTS`."""
    return ([str(value) for value in reject.as_dict().values()] for reject in rejects)


def guarded(text: str) -> str:
    """Put a quote before text that a spreadsheet would take for a formula; `read_catalogue` takes it off again.

    >>> guarded("=HYPERLINK(1)"), guarded("NW-1000"), guarded("-")
    ("'=HYPERLINK(1)", 'NW-1000', '-')
    """
    return f"'{text}" if len(text) > 1 and text.startswith(FORMULA_SIGNS) else text


def is_ours(path: Path, columns: Sequence[str]) -> bool:
    """Whether a file begins with exactly these columns, so that it is one we wrote."""
    with path.open(encoding="utf-8-sig", errors="replace", newline="") as stream:
        return stream.readline(1000).strip() == ",".join(columns)


def refuse_others(path: Path, columns: Sequence[str]) -> None:
    """Let nothing be written over a file that is not ours.

    Raises: OrderbookError(file_is_not_ours) if a file is there that does not begin with these columns.
    """
    if path.exists() and not is_ours(path, columns):
        raise error("file_is_not_ours", where=str(path), saw="another file is there already")


@contextmanager
def csv_file(path: Path, columns: Sequence[str]) -> Iterator[Callable[[Iterable[list[str]]], None]]:
    """Write a CSV beside its place and put it there at the end: it is the old file or the new one whole.

    Gives the function that writes rows.
    Raises: OrderbookError(file_is_not_ours) rather than write over a file that is something else.
    """
    refuse_others(path, columns)
    beside = path.with_name(f".{path.name}.part")
    try:
        with beside.open("w", encoding="utf-8", newline="") as stream:
            writer = csv.writer(stream, lineterminator="\n")
            writer.writerow(columns)
            yield lambda rows: writer.writerows([guarded(cell) for cell in row] for row in rows)
        beside.replace(path)
    finally:
        beside.unlink(missing_ok=True)


def _number(value: float) -> str:
    return repr(int(value)) if value == int(value) else repr(value)


def _count(pieces: int) -> str:
    return "" if pieces < 0 else str(pieces)
