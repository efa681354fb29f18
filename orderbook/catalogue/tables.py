"""From rows to tables: which delimiter, where the header is, and a second table in the same file."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, field, replace

from orderbook.catalogue.blocks import Block, Cell, block, shown
from orderbook.catalogue.cutting import DELIMITERS, Dialect, Lines, Record, records
from orderbook.catalogue.opening import Limits
from orderbook.catalogue.sizes import written
from orderbook.catalogue.springs import Reject
from orderbook.catalogue.words import Words, heading
from orderbook.errors import error

LOOKED_AT = 60  # lines above which a header must be
NEEDED = ("width", "strength", "length", "sizes", "gauge", "item")
NUMBER_STARTS = frozenset("0123456789.,£€$")
PLAIN_SIZE = re.compile(r"[0-9][0-9.,]*\s*(?:mm|cm|in|thou|\"|″|‴)?")
MANY_SHORT = 0.2  # when so many rows leave out the same last cells, the list means it


@dataclass(frozen=True, slots=True)
class Found:
    """A header row: where it is, its cells, how strongly it reads as one."""

    at: int
    cells: tuple[Cell, ...]
    score: float


@dataclass(frozen=True, slots=True)
class Table:
    """One table of a list: header, rows that fit it, rows that do not, and lines set aside."""

    file: str
    header: tuple[str, ...]
    header_line: int
    block: Block
    rejects: tuple[Reject, ...]
    repeated: tuple[int, ...] = ()
    short: Counter[int] = field(default_factory=Counter)  # rows that leave out their last cells, by how many they have


def guess_dialect(lines: Lines, words: Words, known: frozenset[str], fixed: str = "") -> Dialect:
    """Find how a text is cut: by which delimiter its header reads best as a spring list's.

    Where no delimiter makes a header of it, clevercsv's opinion is taken, so that the error can show the columns.
    """
    sample = Lines(lines.lines[: 3 * LOOKED_AT])
    quote, escape = _quote(sample.lines)
    tried = [Dialect(mark, quote, escape) for mark in ([fixed] if fixed else DELIMITERS)]
    scores = [_reads_as_list(sample, dialect, words, known) for dialect in tried]
    best = max(range(len(tried)), key=scores.__getitem__)
    if scores[best] > 0 or fixed:
        return tried[best]
    from clevercsv import Sniffer

    try:
        sniffed = Sniffer().sniff("\n".join(sample.lines)[:20_000])
        return Dialect((sniffed.delimiter if sniffed else "") or ",", quote, escape)
    except Exception:  # its own error class is not exported everywhere; any failure means "no opinion"
        return tried[0]


def find_header(rows: Sequence[Sequence[Cell]], words: Words, known: frozenset[str] = frozenset()) -> Found | None:
    """Find the row that reads most like a spring list's header among the first rows; the earlier of equals."""
    best: Found | None = None
    for at, cells in enumerate(rows[:LOOKED_AT]):
        score = header_score(cells, words, known)
        if score > (best.score if best else 0):
            best = Found(at, tuple(cells), score)
    return best


def header_score(cells: Sequence[Cell], words: Words, known: frozenset[str] = frozenset()) -> float:
    """How strongly a row reads as a header: 0 unless it names two columns, one of them needed.

    `known` are headings of the user's map, which count most.
    """
    texts = [shown(cell) for cell in cells]
    mapped = sum(text in known for text in texts)
    if mapped >= 2:
        return 100.0 + mapped
    if sum(PLAIN_SIZE.fullmatch(text) is not None for text in texts) > 1:
        return 0.0  # a header has no numbers; seen here at once for nearly all rows
    read = [heading(text, words) for text in texts if 0 < len(text) <= 80]
    claims = {h.meaning: h for h in read if h.meaning and h.meaning != "unused"}
    if len(claims) < 2 or not any(meaning in claims for meaning in NEEDED):
        return 0.0
    if sum(map(_numeric, texts)) > 1:
        return 0.0
    return sum(h.score for h in claims.values()) + 2 * sum(meaning in claims for meaning in NEEDED)


def tables_of(
    found: Found,
    rows: Sequence[Record],
    file: str,
    words: Words,
    limits: Limits,
    known: frozenset[str] = frozenset(),
    complete: bool = True,
    meant: int | None = None,
) -> list[Table]:
    """Cut records after the header into tables: blank rows left out, repeated headers set aside.

    A row that reads as another header begins another table. `meant` is how many cells a row has that leaves out its
    last ones on purpose (0: none); it is found from the rows if it is not given.
    Raises: OrderbookError(too_many_columns).
    """
    header = trimmed(found.cells)
    if len(header) > limits.columns:
        raise error("too_many_columns", where=file, saw=f"{len(header):,} columns")
    body, repeated, following = [], [], None
    for at, record in enumerate(rows[found.at + 1 :], start=found.at + 1):
        if not any(cell.strip() for cell in record.cells):
            continue
        if not record.trouble and _may_be_header(record.cells):
            if [c.strip() for c in record.cells[: len(header)]] == list(header):
                repeated.append(record.line)
                continue
            if header_score(record.cells, words, known) > 0.5 * min(found.score, 12):
                following = Found(at, tuple(record.cells), found.score)
                break
        body.append(record)
    table = _table(header, rows[found.at].line, body, file, complete or following is not None, meant)
    first = replace(table, repeated=tuple(repeated))
    if following is None:
        return [first]
    return [first, *tables_of(following, rows, file, words, limits, known, complete)]


def trimmed(cells: Sequence[Cell]) -> tuple[str, ...]:
    """Return header cells as text, without blank ones at the end."""
    texts = [" ".join(shown(cell).split()) for cell in cells]
    while texts and not texts[-1]:
        texts.pop()
    return tuple(texts)


def _table(
    header: tuple[str, ...], line: int, body: list[Record], file: str, complete: bool, meant: int | None
) -> Table:
    width, kept, rejects = len(header), [], []
    lengths = Counter(len(record.cells) for record in body if not record.trouble and len(record.cells) < width)
    meant = meant_short(lengths, len(body)) if meant is None else meant
    for number, record in enumerate(body):
        cells = record.cells
        if meant and len(cells) == meant and (complete or number < len(body) - 1):
            cells = cells + [""] * (width - len(cells))
        fitting = None if record.trouble else fitted(cells, width)
        if fitting is None:
            rejects.append(misfit(record, width, file))
        else:
            kept.append((record.line, fitting))
    made = block([row[0] for row in kept], [row[1] for row in kept], width)
    return Table(file, header, line, made, tuple(rejects), short=lengths)


def meant_short(lengths: Counter[int], rows: int) -> int:
    """How many cells a row has that leaves out its last ones on purpose; 0 if too few rows do.

    >>> meant_short(Counter({4: 30, 2: 1}), 100), meant_short(Counter({4: 3}), 100)
    (4, 0)
    """
    if not lengths or lengths.total() < MANY_SHORT * rows:
        return 0
    return lengths.most_common(1)[0][0]


def fitted(cells: list[str], width: int) -> list[str] | None:
    """Return the cells of a row that has `width` of them, or only blank ones beyond; else None.

    >>> fitted(["a", "b", ""], 2), fitted(["a"], 2)
    (['a', 'b'], None)
    """
    if len(cells) > width and not any(cell.strip() for cell in cells[width:]):
        return cells[:width]
    return cells if len(cells) == width else None


def misfit(record: Record, width: int, file: str) -> Reject:
    """Make the reject of a row that does not fit the header."""
    filled = [cell.strip() for cell in record.cells if cell.strip()]
    text = record.raw or " | ".join(cell.strip() for cell in record.cells)
    if record.trouble:
        return Reject(file, record.line, "", text, record.trouble, "Mend the quotes of this line.")
    if len(filled) == 1:
        return Reject(file, record.line, "", text, "a title or remark: one cell only", "Nothing to do if so.")
    reason = f"the row has {len(record.cells)} cells, the header {width}"
    return Reject(file, record.line, "", text, reason, "Look for a mark too many or too few, or a missing quote.")


def _may_be_header(cells: Sequence[str]) -> bool:
    """Whether hardly a cell begins like a number; cheap, because it is asked of every row."""
    numbers = 0
    for cell in cells:
        if cell.lstrip()[:1] in NUMBER_STARTS and cell:
            numbers += 1
            if numbers > 1:
                return False
    return sum(bool(cell.strip()) for cell in cells) >= 3


def _numeric(text: str) -> bool:
    return bool(text[:1]) and (text.strip()[:1].isdigit() or text.strip()[:1] in ".,") and written(text) is not None


def _quote(lines: list[str]) -> tuple[str, str]:
    text = "\n".join(lines)
    if text.count("'") > 2 * len(lines) and text.count('"') < len(lines) // 4 and _between_marks(text, "'"):
        return "'", ""
    return '"', "\\" if '\\"' in text else ""


def _between_marks(text: str, quote: str) -> bool:
    return sum(text.count(quote + mark + quote) for mark in DELIMITERS) > text.count("\n")


def _reads_as_list(sample: Lines, dialect: Dialect, words: Words, known: frozenset[str]) -> float:
    rows = [record.cells for record in records(sample, dialect) if not record.trouble]
    found = find_header(rows, words, known)
    if found is None:
        return 0.0
    fitting = sum(len(row) == len(found.cells) for row in rows[found.at + 1 :])
    return found.score * (0.5 + fitting / max(1, len(rows) - found.at - 1))
