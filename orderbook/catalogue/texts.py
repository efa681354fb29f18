"""Text lists as stretches: cut piece by piece, many rows at a time where they are regular, else row by row.

The answer is the same either way: a piece that holds anything but plain rows of its heading is read row by row.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import BinaryIO

import numpy as np

from orderbook.catalogue.blocks import Block, Coded
from orderbook.catalogue.bulk import cut_rows
from orderbook.catalogue.cutting import Dialect, Lines, Record, lines_of, records
from orderbook.catalogue.headings import SIZES, heading
from orderbook.catalogue.letters import Letters, letters_of, utf8_pieces
from orderbook.catalogue.naming import columns_not_found
from orderbook.catalogue.opening import MEGABYTE, Limits
from orderbook.catalogue.springs import Reject
from orderbook.catalogue.stretches import (
    Head,
    ListRow,
    Stretch,
    Walk,
    first_head,
    fitted,
    misfit,
    note_remark,
    stretches_of,
)
from orderbook.catalogue.tables import (
    LOOKED_AT,
    find_header,
    guess_dialect,
    header_score,
    remark_of,
    trimmed,
)
from orderbook.catalogue.words import Words
from orderbook.errors import error

PIECE = 8 * MEGABYTE
LARGE = 200_000  # bytes of a piece that is worth cutting many rows at a time
FIRST = 200_000  # bytes in which the headings must stand
FEW = 0.1  # of the rows may be irregular
ENOUGH_ROWS = 50  # to tell whether the cells of a column are mostly different
LONGEST_CELL = MEGABYTE
Progress = Callable[[int, int], None]


@dataclass(frozen=True, slots=True)
class Wanted:
    """What the user said that the cutting depends on: headings of the map, a delimiter, whether there are headings."""

    known: frozenset[str] = frozenset()
    delimiter: str = ""
    headings: bool = True
    places: int = 0


@dataclass(frozen=True, slots=True)
class TextList:
    """A text list that can be walked through again and again."""

    file: str
    where: str
    open: Callable[[], BinaryIO]
    size: int
    letters: Letters
    dialect: Dialect
    head: Head
    above: tuple[Reject, ...]
    offset: int  # bytes of UTF-8 before the first row
    score: float
    words: Words
    limits: Limits
    known: frozenset[str]
    piece_bytes: int
    progress: Progress | None

    def stretches(self, meant: Mapping[int, int]) -> Iterator[tuple[Stretch | None, Walk]]:
        """Yield every stretch with the walk so far; None at the end."""
        walk = Walk(self.head, self.words, self.known, self.score, meant=dict(meant), fresh=bool(self.head.line))
        if self.above:
            yield Stretch(self.head, no_rows(self.head.width), self.above), walk
        for piece, line, last in _pieces(self):
            for stretch in _stretches_of_piece(piece, line, last, self, walk):
                yield stretch, walk
        yield None, walk


def text_list(
    file: str, where: str, open_stream: Callable[[], BinaryIO], size: int, words: Words, limits: Limits, wanted: Wanted,
    piece_bytes: int = PIECE, progress: Progress | None = None,
) -> TextList:  # fmt: skip
    """Find letters, dialect and headings of a text list.

    Raises: OrderbookError(list_not_readable | list_damaged | list_empty | columns_not_found | line_too_long |
    too_many_columns).
    """
    letters = letters_of(open_stream, where)
    text, whole = _first_text(open_stream, letters, where)
    lines = lines_of(text, limits, file)
    dialect = guess_dialect(lines, words, wanted.known, wanted.delimiter)
    cut = [record for record, _ in zip(records(lines, dialect), range(3 * LOOKED_AT), strict=False)]
    if not wanted.headings:
        width = max([wanted.places, *(len(record.cells) for record in cut[:LOOKED_AT])])
        above: list[Reject] = []
        head, offset, score = Head(0, file, ("",) * width, 0, width), 0, 12.0
    else:
        found = find_header([record.cells for record in cut], words, wanted.known)
        if found is None:
            widest = trimmed(max((record.cells for record in cut[:LOOKED_AT]), key=len, default=[]))
            raise columns_not_found(("item", *SIZES), widest, file)
        rows = [ListRow(record.line, record.cells) for record in cut[: found.at]]
        head, above = first_head(found, rows, cut[found.at].line, file, limits)
        following = cut[found.at + 1].line if found.at + 1 < len(cut) else len(lines.lines) + 1
        offset, score = _bytes_of_lines(text, following - 1, whole), found.score
    return TextList(
        file, where, open_stream, size, letters, dialect, head, tuple(above), offset, score, words, limits,
        wanted.known, piece_bytes, progress,
    )  # fmt: skip


def _first_text(open_stream: Callable[[], BinaryIO], letters: Letters, where: str) -> tuple[str, bool]:
    """The first lines of a list, and whether they are all of it."""
    data = b""
    with open_stream() as stream:
        for piece in utf8_pieces(stream, letters, where, FIRST):
            data += piece
            if len(data) > FIRST and b"\n" in data:
                return data[: data.rfind(b"\n") + 1].decode("utf-8"), False
            if len(data) > 8 * MEGABYTE:
                break
    if not data.strip(b"\n\t \x00"):
        raise error("list_empty", where=where, saw="nothing in it")
    return data.decode("utf-8", errors="replace"), True


def _bytes_of_lines(text: str, count: int, whole: bool) -> int:
    lines = text.split("\n")
    if count >= len(lines):
        return len(text.encode())
    return len("\n".join(lines[:count]).encode()) + (1 if count else 0)


def _pieces(source: TextList) -> Iterator[tuple[bytes, int, bool]]:
    """Yield pieces of whole rows, each with its first line and whether it is the last."""
    done, line, skip = 0, 1, source.offset
    with source.open() as stream:
        data, first = b"", True
        for more in utf8_pieces(stream, source.letters, source.where, source.piece_bytes):
            done += len(more)
            if done > source.limits.size_bytes:
                saw = f"more than {source.limits.size_bytes // MEGABYTE} MB"
                raise error("list_too_large", where=source.where, saw=saw)
            if skip:
                line += more.count(b"\n", 0, skip)
                more, skip = more[skip:], max(0, skip - len(more))
            if source.progress and not first:
                source.progress(min(done, source.size), source.size)
            first = False
            if len(data) > source.piece_bytes // 2:
                end = _closed_end(data)
                end = len(data) if not end and len(data) > source.piece_bytes + LONGEST_CELL else end
                if end:
                    yield data[:end], line, False
                    line += data.count(b"\n", 0, end)
                    data = data[end:]
                    _refuse_many(line, source)
            data = data + more if data else more
        if data:
            _refuse_many(line + data.count(b"\n"), source)
            yield data, line, True
        if source.progress:
            source.progress(source.size, source.size)


def _refuse_many(line: int, source: TextList) -> None:
    if line > source.limits.rows + 1:
        raise error("list_too_large", where=source.where, saw=f"more than {source.limits.rows:,} rows")


def _closed_end(data: bytes) -> int:
    """The last line end at which all quotes are closed."""
    end = data.rfind(b"\n") + 1
    if data.count(b'"', 0, end) % 2 == 0:
        return end
    at = end
    while at and end - at < LONGEST_CELL:
        at = data.rfind(b"\n", 0, at - 1) + 1
        if data.count(b'"', at, end) % 2:
            return at
    return end


def _stretches_of_piece(piece: bytes, line: int, last: bool, source: TextList, walk: Walk) -> Iterator[Stretch]:
    if walk.fresh and len(piece) > LARGE:  # a line of units may follow the headings
        end = _closed_end(piece[:20_000])
        if end:
            for stretch in _carefully(piece[:end], line, False, source, walk):
                walk.plain = mostly_different(stretch.block)
                yield stretch
            line += piece.count(b"\n", 0, end)
            piece = piece[end:]
    fast = many_at_a_time(piece, line, source, walk)
    if fast is not None:
        yield fast
    elif len(piece) > 4 * LARGE and (end := _closed_end(piece[: len(piece) // 4])):
        # what needs a closer look stands in a part of it
        yield from _stretches_of_piece(piece[:end], line, False, source, walk)
        yield from _stretches_of_piece(piece[end:], line + piece.count(b"\n", 0, end), last, source, walk)
    else:
        yield from _carefully(piece, line, last, source, walk)


def _carefully(piece: bytes, line: int, last: bool, source: TextList, walk: Walk) -> Iterator[Stretch]:
    lines = lines_of(piece.decode("utf-8", errors="replace"), source.limits, source.file)
    complete = lines.complete or not last
    cut = records(replace(lines, first=line), source.dialect, walk.head.width)
    rows = (ListRow(record.line, record.cells, record.trouble, record.raw) for record in cut)
    yield from stretches_of(rows, walk, complete)


def many_at_a_time(piece: bytes, line: int, source: TextList, walk: Walk) -> Stretch | None:
    """Cut a piece of plain rows; None where a row of it needs a closer look."""
    head, dialect = walk.head, source.dialect
    if len(piece) < LARGE or dialect.quote != '"' or dialect.escape or walk.remarks or walk.titled or not head.width:
        return None
    rows = cut_rows(piece, 0, dialect.delimiter, head.cells, walk.plain)
    if rows is None or any(cell for column in rows.columns[head.width :] for cell in column.cells):
        return None
    columns = rows.columns[: head.width]
    block = _block(columns, rows.irregular, line)
    filled = [(at, cells) for at, cells in rows.irregular if any(cell.strip() for cell in cells)]
    if len(filled) > FEW * len(block) or any(fitted(list(cells), head.width) is not None for _, cells in filled):
        return None
    meant = walk.meant.get(head.number, 0)
    if any(len(cells) == meant or header_score(cells, walk.words, walk.known) for _, cells in filled):
        return None
    if _another_heading(columns, head.header, walk.words):
        return None
    block, remarks = _without_blank_rows(block)
    texts = [*remarks, *(text for _, cells in filled if (text := remark_of(cells)))]
    if any(_changes(walk, text) for text in texts):
        return None
    walk.fresh = False
    rejects = tuple(misfit(ListRow(line + at, cells), head) for at, cells in filled)
    short = Counter(len(cells) for _, cells in filled if len(cells) < head.width)
    return Stretch(head, block, rejects, short=short)


def mostly_different(block: Block) -> frozenset[int]:
    """The columns of some first rows in which hardly a cell stands twice."""
    if len(block) < ENOUGH_ROWS:
        return frozenset()
    return frozenset(i for i, column in enumerate(block.columns) if len(column.cells) > 0.8 * len(block))


def _changes(walk: Walk, remark: str) -> bool:
    found = note_remark(walk, remark)
    walk.remarks, walk.titled = [], False
    return found


def _block(columns: Sequence[Coded], irregular: list[tuple[int, list[str]]], line: int) -> Block:
    count = len(columns[0].codes) + len(irregular) if columns else 0
    lines = np.arange(line, line + count, dtype=np.int64)
    return Block(np.delete(lines, [at for at, _ in irregular]), tuple(columns))


def _another_heading(columns: Sequence[Coded], header: tuple[str, ...], words: Words) -> bool:
    """Whether some distinct cell of a size column is itself a heading, but not the column's own."""
    for column, own in zip(columns, header, strict=True):
        if heading(own, words).meaning not in (*SIZES, "sizes", "gauge") or len(column.cells) > 200_000:
            continue
        for cell in column.cells:
            text = str(cell).strip()
            if text[:1].isalpha() and text != own and heading(text, words).meaning in (*SIZES, "sizes", "gauge"):
                return True
    return False


def _without_blank_rows(block: Block) -> tuple[Block, list[str]]:
    """Leave blank rows out; and the texts of the rows with one or two cells."""
    filled = np.zeros(len(block), dtype=np.int16)
    for column in block.columns:
        filled += ~column.blank[column.codes] if column.blank.any() else np.ones(len(block), dtype=bool)
    remarks = []
    for row in np.flatnonzero((filled > 0) & (filled <= 2)).tolist():
        if text := remark_of([column.cells[column.codes[row]] for column in block.columns]):
            remarks.append(text)
    blank = filled == 0
    return (block.take(~blank) if blank.any() else block), remarks


def no_rows(width: int) -> Block:
    """A block without rows."""
    none = np.zeros(0, dtype=np.int32)
    return Block(np.zeros(0, dtype=np.int64), tuple(Coded(none, []) for _ in range(width)))


__all__ = ["PIECE", "Lines", "Progress", "Record", "TextList", "Wanted", "text_list"]
