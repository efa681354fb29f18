"""The exchange file of pieces: barrels, springs, verdicts and groups of a bench, and nothing that says whose they are.

One row a closed barrel. What is reckoned with are its drives and their ±; sizes and springs stand beside them so that a
person can see what was tried. A row is told from others by `piece`, a number made of the barrel's name and sizes that
cannot be turned back into them: so the same piece in two files counts once, the first that is read.

`above` is the strongest spring that was too weak, `below` the weakest that was strong enough; `weaker` are the other
springs that were too weak, `stronger` the others that were strong enough, several in one cell with "; " between them.
"""

from __future__ import annotations

import csv
import hashlib
import math
import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from orderbook.barrel.barrel import Barrel
from orderbook.barrel.words import DRIVES, MOVEMENTS, TRAINS
from orderbook.errors import Finding, error, finding
from orderbook.learning.chances import TOGETHER
from orderbook.learning.evidence import is_turned
from orderbook.learning.model import Sums, joined, sums_of
from orderbook.learning.pieces import Group, Piece, Told, plain_label

if TYPE_CHECKING:
    import pandas as pd

COLUMNS = (
    "piece", "bench", "movement", "drive", "train", "group", "bore_mm", "arbor_mm", "depth_mm", "used_turns", "springs",
    "above_percent", "above_u_percent", "below_percent", "below_u_percent", "about_percent", "about_u_percent",
    "weaker_percent", "weaker_u_percent", "stronger_percent", "stronger_u_percent",
)  # fmt: skip
OTHERS = ("weaker", "stronger")
SEVERAL = "; "
MOST_SPRINGS = 12  # of one kind in one barrel; more is no record of trying
NEEDED = ("movement", "drive", "train", "above_percent", "below_percent", "about_percent")
LEFT_OUT = "owners, pieces in words, numbers of pieces and orders, suppliers, items, prices, dates and notes"
SHOWN = 20  # refused rows that are told one by one
PERCENT, U_PERCENT = (5.0, 330.0), (0.1, 100.0)  # what a drive and its ± can be
BORE_MM = (1.0, 400.0)


@dataclass(frozen=True, slots=True)
class ReadPieces:
    """What files of pieces came to: sums by group and bench, and what was not used.

    `refused` says of the first rows that cannot be right why; `why` counts all of them by reason.
    """

    sums: Sums
    rows: int = 0
    pieces: int = 0
    duplicates: int = 0
    refused: tuple[Finding, ...] = ()
    why: Mapping[str, int] = field(default_factory=dict)
    columns_left: tuple[str, ...] = ()


def piece_number(bench: str, name: str, barrel: Barrel) -> str:
    """Return the number of a piece: sixteen hexadecimal digits of a hash of its name, its sizes and its bench.

    >>> piece_number("", "R-001-B1", Barrel(bore=45, arbor=9)) == piece_number("", "R-001-B1", Barrel(bore=45, arbor=9))
    True
    """
    sizes = [f"{one.value:.2f}" if one else "" for one in (barrel.bore, barrel.arbor, barrel.depth)]
    text = "|".join([bench, name, *sizes, barrel.drive, barrel.train])
    return hashlib.blake2b(text.encode(), digest_size=8).hexdigest()


def shared_row(name: str, barrel: Barrel, piece: Piece, bench: str = "", names: Sequence[str] = ()) -> dict[str, str]:
    """Return a piece as a row of the exchange file; a label that holds one of `names` (of owners) is left out.

    >>> from orderbook.learning.evidence import piece_of
    >>> barrel = Barrel(bore=45, arbor=9, depth=18.8, used=4.97, tried=["18 x 0.36 x 1650: too weak, of Mr N. N."])
    >>> row = shared_row("R-001-B1", barrel, piece_of("R-001-B1", barrel))
    >>> row["springs"], row["above_percent"], row["below_percent"]
    ('18 x 0.36 x 1650: too weak', '58.56', '')
    """
    label = piece.group.label
    row = {
        "piece": piece_number(bench, name, barrel),
        "bench": "" if _names_someone(bench, names) else bench,
        "movement": piece.group.movement,
        "drive": piece.group.drive,
        "train": piece.group.train,
        "group": "" if _names_someone(label, names) else label,
        "bore_mm": _size(barrel.bore),
        "arbor_mm": _size(barrel.arbor),
        "depth_mm": _size(barrel.depth),
        "used_turns": _size(barrel.used),
        "springs": "; ".join(_spring(one) for one in barrel.trials),
    }
    return row | told_columns(piece)


def told_columns(piece: Piece) -> dict[str, str]:
    """Return the drives of a piece as columns of the exchange file.

    >>> told_columns(Piece(Group("clock", "going", "going"), (Told(-0.8, 0.05), Told(-0.7, 0.05))))["weaker_percent"]
    '44.93'
    """
    columns: dict[str, Sequence[Told | None]] = {
        "above": [piece.above],
        "below": [piece.below],
        "about": [piece.at],
        "weaker": piece.weaker,
        "stronger": piece.stronger,
    }
    row = {}
    for word, told in columns.items():
        springs = [one for one in told if one]
        row[f"{word}_percent"] = SEVERAL.join(f"{one.percent:.2f}" for one in springs)
        row[f"{word}_u_percent"] = SEVERAL.join(f"{100 * one.u:.2f}" for one in springs)
    return row


def _names_someone(text: str, names: Sequence[str]) -> bool:
    """Whether a text has a word of four letters or more in common with one of the names."""
    words = {word for name in names for word in re.findall(r"\w{4,}", name.casefold())}
    return any(word in text.casefold() for word in words)


def _size(measured: Any) -> str:
    return f"{measured.value:.2f}" if measured else ""


def _spring(one: Any) -> str:
    sizes = " x ".join("?" if size is None else f"{size:g}" for size in (one.width_mm, one.strength_mm, one.length_mm))
    after = f" after {one.after_turns:g} turns" if one.after_turns is not None else ""
    return f"{sizes}: {one.verdict}{after}"


def written(rows: Iterable[Mapping[str, str]], path: Path) -> int:
    """Write rows as CSV into a new file, and return how many there are.

    Raises: OrderbookError(file_exists).
    """
    if path.exists():
        raise error("file_exists", where=str(path), saw="there is such a file already")
    rows = list(rows)
    with path.open("w", encoding="utf-8", newline="") as out:
        table = csv.DictWriter(out, COLUMNS, lineterminator="\r\n")
        table.writeheader()
        table.writerows(rows)
    return len(rows)


def read_pieces(paths: Iterable[Path | str], known: Iterable[str] = ()) -> ReadPieces:
    """Read files of pieces (CSV or Parquet), one row at a time, whatever their length.

    Parameters: paths; known, numbers of pieces that are counted already (one's own).
    Returns: ReadPieces; rows that cannot be right are refused one by one, each with its line and why.
    Raises: OrderbookError(pieces_without_columns | pieces_not_found | parquet_needs_pyarrow).
    """
    account = _Account(known)
    total: Sums = {}
    for path in map(Path, paths):
        bench = path.stem
        pieces = account.pieces_of(_rows_of(path), str(path), bench)
        total = joined(total, sums_of(pieces))
    return account.told(total)


def sums_of_frame(frame: pd.DataFrame, bench: str = "shared") -> Sums:
    """What the pieces of a data frame come to: for a partition of a dask frame; join the parts with `joined`.

    Rows that cannot be right are left out, as `read_pieces` leaves them out. A piece that stands twice in one frame
    counts once; between partitions drop_duplicates("piece") sees to it first.
    """
    told = frame.astype(object).where(frame.notna(), None)
    rows = ((n, dict(zip(told.columns, row, strict=True))) for n, row in enumerate(told.itertuples(index=False), 2))
    return sums_of(_Account(()).pieces_of(rows, "frame", bench))


class _Refused(Exception):  # noqa: N818 - a row is refused; the error a user meets is an OrderbookError
    def __init__(self, column: str, why: str, saw: str) -> None:
        super().__init__(why)
        self.column, self.why, self.saw = column, why, saw


class _Account:
    """Counts what became of rows while pieces pass through."""

    def __init__(self, known: Iterable[str]) -> None:
        self._met = _Numbers(known)
        self._rows = self._pieces = self._twice = 0
        self._refused: list[Finding] = []
        self._why: dict[str, int] = {}
        self._left: dict[str, None] = {}

    def pieces_of(self, rows: Iterable[tuple[int, Mapping[str, Any]]], file: str, bench: str) -> Iterator[Piece]:
        for line, row in rows:
            if self._rows == 0 or line == 2:
                self._left |= dict.fromkeys(str(key) for key in row if key and key not in COLUMNS)
            self._rows += 1
            try:
                piece = piece_from(row, bench)
            except _Refused as refused:
                self._why[refused.why] = self._why.get(refused.why, 0) + 1
                if len(self._refused) < SHOWN:
                    where = f"{file}, line {line}, {refused.column}"
                    saw = f"{refused.why}: {refused.saw}"
                    self._refused.append(finding("piece_not_used", where=where, saw=saw))
                continue
            if self._met.again(_text(row.get("piece")) or _number_of(row, piece)):
                self._twice += 1
                continue
            self._pieces += 1
            yield piece

    def told(self, sums: Sums) -> ReadPieces:
        return ReadPieces(
            sums, self._rows, self._pieces, self._twice, tuple(self._refused), dict(self._why), tuple(self._left)
        )


class _Numbers:
    """The numbers of pieces met, eight bytes each: sorted ones, and a few new ones not sorted in yet."""

    def __init__(self, known: Iterable[str]) -> None:
        self._sorted: NDArray[np.uint64] = np.unique(np.array([_as_number(one) for one in known], dtype=np.uint64))
        self._new: set[int] = set()

    def again(self, number: str) -> bool:
        one = _as_number(number)
        if one in self._new:
            return True
        at = int(np.searchsorted(self._sorted, np.uint64(one)))
        if at < len(self._sorted) and int(self._sorted[at]) == one:
            return True
        self._new.add(one)
        if len(self._new) >= 50 * TOGETHER:
            self._sorted = np.union1d(self._sorted, np.array(sorted(self._new), dtype=np.uint64))
            self._new.clear()
        return False


def _as_number(text: str) -> int:
    try:
        return int(text, 16) % 2**64
    except ValueError:
        return int.from_bytes(hashlib.blake2b(text.encode(), digest_size=8).digest())


def _number_of(row: Mapping[str, Any], piece: Piece) -> str:
    """A number for a row that has none: of all it says."""
    text = "|".join(_text(row.get(column)) for column in COLUMNS[2:]) + piece.bench
    return hashlib.blake2b(text.encode(), digest_size=8).hexdigest()


def piece_from(row: Mapping[str, Any], bench: str) -> Piece:
    """Return the piece of a row; `bench` is whose it is where the row does not say.

    Raises: _Refused, with the column and why.
    """
    group = Group(
        _word(row, "movement", MOVEMENTS),
        _word(row, "drive", DRIVES),
        _word(row, "train", TRAINS),
        plain_label(_text(row.get("group"))),
    )
    _barrel_can_be(row)
    above, below, at, weaker, stronger = (_told(row, word) for word in ("above", "below", "about", *OTHERS))
    bench = _text(row.get("bench")) or bench
    piece = Piece(group, (*weaker, *above), (*below, *stronger), next(iter(at), None), bench)
    if not (piece.too_weak or piece.enough or at):
        raise _Refused("above_percent", "it says nothing of the need", "no drive above, below or about it")
    if is_turned(piece):
        raise _Refused("above_percent", "its verdicts turned round", piece.in_words)
    return piece


def _barrel_can_be(row: Mapping[str, Any]) -> None:
    bore, arbor = (_number(row, name) for name in ("bore_mm", "arbor_mm"))
    if bore is not None and not BORE_MM[0] <= bore <= BORE_MM[1]:
        raise _Refused("bore_mm", "no barrel is of such a size", f"{bore:g} mm")
    if bore is not None and arbor is not None and not 0 < arbor < bore:
        raise _Refused("arbor_mm", "no barrel is of such a size", f"arbor {arbor:g} in a bore of {bore:g} mm")


def _word(row: Mapping[str, Any], column: str, words: Sequence[str]) -> str:
    said = " ".join(_text(row.get(column)).casefold().split())
    if said not in words:
        raise _Refused(column, f"{column} is none of {', '.join(words)}", repr(_text(row.get(column))))
    return said


def _told(row: Mapping[str, Any], word: str) -> list[Told]:
    """Return the springs that two columns tell of: one, or of the others as many as there are."""
    percents, us = (_numbers(row, f"{word}_{kind}", word in OTHERS) for kind in ("percent", "u_percent"))
    if out := [percent for percent in percents if not PERCENT[0] <= percent <= PERCENT[1]]:
        raise _Refused(f"{word}_percent", "a drive must lie from 5 to 330 %", f"{out[0]:g}")
    if not percents:
        return []
    needs = "a drive needs its ±, from 0.1 to 100 %"
    if len(us) != len(percents):
        saw = f"{len(us)} for {len(percents)} drives" if us else "nothing"
        raise _Refused(f"{word}_u_percent", needs, saw)
    if out := [u for u in us if not U_PERCENT[0] <= u <= U_PERCENT[1]]:
        raise _Refused(f"{word}_u_percent", needs, f"{out[0]:g}")
    return [Told(math.log(percent / 100), u / 100) for percent, u in zip(percents, us, strict=True)]


def _numbers(row: Mapping[str, Any], column: str, several: bool) -> list[float]:
    text = _text(row.get(column))
    parts = text.split(SEVERAL.strip()) if several else [text]
    if len(parts) > MOST_SPRINGS:
        raise _Refused(column, f"more springs than {MOST_SPRINGS} in one barrel", f"{len(parts)}")
    return [_read(part.strip(), column) for part in parts] if text else []


def _number(row: Mapping[str, Any], column: str) -> float | None:
    text = _text(row.get(column))
    return _read(text, column) if text else None


def _read(text: str, column: str) -> float:
    try:
        value = float(text)
    except ValueError:
        raise _Refused(column, "a number is not readable", repr(text)) from None
    if not math.isfinite(value):
        raise _Refused(column, "a number is not readable", repr(text))
    return value


def _text(value: Any) -> str:
    if value is None or (isinstance(value, float) and math.isnan(value)):
        return ""
    return str(value).strip()


def _rows_of(path: Path) -> Iterator[tuple[int, Mapping[str, Any]]]:
    if not path.exists():
        raise error("pieces_not_found", where=str(path), saw="no such file")
    return _rows_of_parquet(path) if path.suffix.casefold() == ".parquet" else _rows_of_csv(path)


def _rows_of_csv(path: Path) -> Iterator[tuple[int, Mapping[str, Any]]]:
    with path.open(encoding="utf-8-sig", errors="replace", newline="") as lines:
        table = csv.DictReader(lines)
        _must_have(table.fieldnames or (), path)
        for row in table:
            yield table.line_num, row


def _rows_of_parquet(path: Path) -> Iterator[tuple[int, Mapping[str, Any]]]:
    try:
        import pyarrow.parquet as pq
    except ImportError as problem:
        raise error("parquet_needs_pyarrow", where=str(path), saw="pyarrow is not installed") from problem
    with pq.ParquetFile(path) as file:
        _must_have(file.schema_arrow.names, path)
        line = 2
        for batch in file.iter_batches(batch_size=TOGETHER):
            for row in batch.to_pylist():
                yield line, row
                line += 1


def _must_have(columns: Sequence[str], path: Path) -> None:
    if missing := [name for name in NEEDED if name not in columns]:
        raise error("pieces_without_columns", where=str(path), saw=f"no column {', '.join(missing)}")


__all__ = ["COLUMNS", "LEFT_OUT", "ReadPieces", "read_pieces", "shared_row", "sums_of_frame", "written"]
