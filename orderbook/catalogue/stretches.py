"""A list as stretches of rows under their headings, one after the other, however long it is.

A `Head` is a heading row with what stands above it; a `Stretch` is as many rows below one as are held at a time.
Another
heading row, or a remark that changes how rows are read (`Clock springs, sizes in inches`), begins another head. Text,
sheets, Parquet and data frames all come as stretches; from there on there is one way.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field, replace

from orderbook.catalogue.blocks import Block, Cell, block, shown
from orderbook.catalogue.context import hints_of
from orderbook.catalogue.opening import Limits
from orderbook.catalogue.sizes import pieces
from orderbook.catalogue.springs import Reject
from orderbook.catalogue.tables import Found, header_score, is_unit_line, may_be_header, remark_of, trimmed
from orderbook.catalogue.words import Words
from orderbook.errors import error

MANY_SHORT = 0.2  # when so many rows leave out the same last cells, the list means it
TOGETHER = 20_000  # rows of cells made into columns at a time


@dataclass(frozen=True, slots=True)
class ListRow:
    """One row: its line, its cells, and what is wrong with it ("" if nothing is)."""

    line: int
    cells: Sequence[Cell]
    trouble: str = ""
    raw: str = ""


@dataclass(frozen=True, slots=True)
class Head:
    """A heading row of a list: which one it is, its cells, its line (0: the list has none), the line of units below it.

    titles: lines above the list; above: lines between an earlier table and this heading, which go before; section:
    remarks since then that change how rows are read; unsure: such a remark, where a later title leaves open whether it
    still holds.
    """

    number: int
    file: str
    header: tuple[str, ...]
    line: int
    cells: int
    units: tuple[str, ...] = ()
    titles: tuple[str, ...] = ()
    above: tuple[str, ...] = ()
    section: tuple[str, ...] = ()
    unsure: str = ""

    @property
    def width(self) -> int:
        """How many columns have a heading."""
        return len(self.header)


@dataclass(frozen=True, slots=True)
class Stretch:
    """Rows below one heading: those that fit it, as columns, and those that do not, as rejects."""

    head: Head
    block: Block
    rejects: tuple[Reject, ...] = ()
    repeated: tuple[int, ...] = ()
    short: Counter[int] = field(default_factory=Counter)  # rows that leave out their last cells, by how many they have

    @property
    def rows(self) -> int:
        """How many rows there are, those that do not fit with them."""
        return len(self.block) + len(self.rejects)


@dataclass(slots=True)
class Walk:
    """Where one is in a list: the head that holds, and remarks since the last row of a spring."""

    head: Head
    words: Words
    known: frozenset[str] = frozenset()
    score: float = 12.0
    padded: bool = False  # a spreadsheet leaves out blank cells at the end of a row
    meant: dict[int, int] = field(default_factory=dict)  # short rows that are meant, by the number of their head
    fresh: bool = True  # nothing but the heading was met: a line of units may follow
    remarks: list[str] = field(default_factory=list)
    titled: bool = False  # a title that says nothing was met after a remark that said something
    heads: int = 1
    plain: frozenset[int] = frozenset()  # columns in which hardly a cell stands twice

    @property
    def footers(self) -> tuple[str, ...]:
        """Remarks below the last spring, when all rows were met."""
        return tuple(self.remarks)


def first_head(
    found: Found, above: Sequence[ListRow], line: int, file: str, limits: Limits
) -> tuple[Head, list[Reject]]:
    """Make the first head of a list; rows of springs above it are rejects.

    Raises: OrderbookError(too_many_columns).
    """
    header = trimmed(found.cells)
    if len(header) > limits.columns:
        raise error("too_many_columns", where=file, saw=f"{len(header):,} columns")
    titles, rejects = [], []
    for row in above:
        texts = [text for cell in row.cells if (text := shown(cell))]
        numbers = sum(text[:1].isdigit() for text in texts)
        if (len(texts) > 2 and numbers > 1) or (len(texts) > 1 and any(len(pieces(text)) > 2 for text in texts)):
            reason = "it stands above the headings"
            rejects.append(Reject(file, row.line, "", " | ".join(texts), reason, "Move it below the headings."))
        elif texts:
            titles.append(" ".join(texts))
    return Head(0, file, header, line, len(found.cells), titles=tuple(titles)), rejects


def stretches_of(rows: Iterable[ListRow], walk: Walk, complete: bool = True) -> Iterator[Stretch]:
    """Put rows below their heads, some thousands at a time.

    Parameters: complete, whether the last row ends with a line end.
    """
    body: list[ListRow] = []
    repeated: list[int] = []
    for row in rows:
        if not any(not isinstance(cell, str) or cell.strip() for cell in row.cells):
            continue
        if not row.trouble and may_be_header(row.cells):
            if walk.head.line and trimmed(row.cells[: walk.head.width]) == walk.head.header:
                repeated.append(row.line)
                continue
            if header_score(row.cells, walk.words, walk.known) > 0.5 * min(walk.score, 12):
                yield from _stretch(walk, body, repeated, complete=True)
                body, repeated = [], []
                _begin_table(walk, row)
                continue
        if walk.fresh and not row.trouble and is_unit_line(row.cells, walk.head.header, walk.words):
            walk.head = replace(walk.head, units=tuple(shown(cell) for cell in row.cells))
            walk.fresh = False
            continue
        walk.fresh = False
        if remark := remark_of(row.cells):
            _note(walk, remark)
        elif _begins_section(walk):
            yield from _stretch(walk, body, repeated, complete=True)
            body, repeated = [], []
            _begin_section(walk)
        else:
            walk.remarks.clear()
        body.append(row)
        if len(body) >= TOGETHER:
            yield from _stretch(walk, body, repeated, complete=True)
            body, repeated = [], []
    yield from _stretch(walk, body, repeated, complete)


def note_remark(walk: Walk, remark: str) -> bool:
    """Take in a remark; return whether it may change how later rows are read."""
    _note(walk, remark)
    return bool(walk.remarks) or walk.titled


def _note(walk: Walk, remark: str) -> None:
    if hints_of(remark, walk.words).says_something:
        walk.remarks.append(remark)
        walk.titled = False
    elif walk.head.section and len(remark) > 2:
        walk.titled = True


def _begins_section(walk: Walk) -> bool:
    return bool(walk.remarks) or walk.titled


def _begin_section(walk: Walk) -> None:
    """From here on rows are read as the last remarks say."""
    unsure = walk.head.section[-1] if walk.titled and not walk.remarks else ""
    section = () if unsure else (*walk.head.section, *walk.remarks)
    walk.head = replace(walk.head, number=walk.heads, section=section, unsure=unsure)
    walk.heads += 1
    walk.remarks, walk.titled = [], False


def _begin_table(walk: Walk, row: ListRow) -> None:
    nothing_below = (" ".join(walk.head.header),) if walk.fresh and walk.head.line else ()  # a title, after all
    titles = (*walk.head.titles, *nothing_below)
    header = trimmed(row.cells)
    walk.head = Head(
        walk.heads, walk.head.file, header, row.line, len(row.cells), titles=titles, above=tuple(walk.remarks)
    )
    walk.heads += 1
    walk.remarks, walk.titled, walk.fresh = [], False, True


def _stretch(walk: Walk, body: list[ListRow], repeated: list[int], complete: bool) -> Iterator[Stretch]:
    if not body and not repeated:
        return
    head, kept, rejects = walk.head, [], []
    width = head.width
    short = Counter(len(row.cells) for row in body if not row.trouble and len(row.cells) < width and not walk.padded)
    meant = walk.meant.get(head.number, 0)
    for number, row in enumerate(body):
        cells = list(row.cells)
        if len(cells) < width and (walk.padded or (len(cells) == meant and (complete or number < len(body) - 1))):
            cells += [""] * (width - len(cells))
        fitting = None if row.trouble else fitted(cells, width)
        if fitting is None:
            rejects.append(misfit(row, head))
        else:
            kept.append((row.line, fitting))
    made = block([line for line, _ in kept], [cells for _, cells in kept], width)
    yield Stretch(head, made, tuple(rejects), tuple(repeated), short)


def meant_short(lengths: Counter[int], rows: int) -> int:
    """How many cells a row has that leaves out its last ones on purpose; 0 if too few rows do.

    >>> meant_short(Counter({4: 30, 2: 1}), 100), meant_short(Counter({4: 3}), 100)
    (4, 0)
    """
    if not lengths or lengths.total() < MANY_SHORT * rows:
        return 0
    return lengths.most_common(1)[0][0]


def fitted(cells: list[Cell], width: int) -> list[Cell] | None:
    """Return the cells of a row that has `width` of them, or only blank ones beyond; else None.

    >>> fitted(["a", "b", ""], 2), fitted(["a"], 2)
    (['a', 'b'], None)
    """
    if len(cells) > width and not any(shown(cell) for cell in cells[width:]):
        return cells[:width]
    return cells if len(cells) == width else None


def misfit(row: ListRow, head: Head) -> Reject:
    """Make the reject of a row that does not fit the header."""
    texts = [shown(cell) for cell in row.cells]
    filled = [text for text in texts if text]
    text = row.raw or " | ".join(texts)
    if row.trouble:
        return Reject(head.file, row.line, "", text, row.trouble, "Mend the quotes of this line.")
    if len(filled) == 1:
        return Reject(head.file, row.line, "", text, "a title or remark: one cell only", "Nothing to do if so.")
    reason = f"the row has {len(row.cells)} cells, the header {head.width}"
    return Reject(head.file, row.line, "", text, reason, "Look for a mark too many or too few, or a missing quote.")
