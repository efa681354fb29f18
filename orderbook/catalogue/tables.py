"""Headings among rows: which row is one, how strongly, and whether a row is a line of units or a remark."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass

from orderbook.catalogue.blocks import Cell, shown
from orderbook.catalogue.cutting import DELIMITERS, Dialect, Lines, records
from orderbook.catalogue.headings import SIZES, heading
from orderbook.catalogue.sizes import is_missing, written
from orderbook.catalogue.units import said_unit
from orderbook.catalogue.words import Words, fold

LOOKED_AT = 60  # lines above which a header must be
NEEDED = (*SIZES, "sizes", "gauge", "item")
NUMBER_STARTS = frozenset("0123456789.,£€$")
PLAIN_SIZE = re.compile(r"[0-9][0-9.,]*\s*(?:mm|cm|in|thou|\"|″|‴)?")
TIER = re.compile(r"\s*[0-9]{1,5}\s*(?:[-–]\s*[0-9]{1,5}|\+|[^\W\d_][^0-9]*)(?:\s+[^0-9]*)?")  # 10-24, 25+, 10 pcs
AS_GOOD = 0.6  # the first row that reads this well beside the best one is the header


@dataclass(frozen=True, slots=True)
class Found:
    """A header row: where it is, its cells, how strongly it reads as one."""

    at: int
    cells: tuple[Cell, ...]
    score: float


def guess_dialect(lines: Lines, words: Words, known: frozenset[str], fixed: str = "") -> Dialect:
    """Find how a text is cut: by which delimiter its header reads best as a spring list's.

    Where no delimiter makes a header of it, the one is taken that cuts most lines alike, so that the error can show
    the columns.
    """
    sample = Lines(lines.lines[: 3 * LOOKED_AT])
    quote, escape = _quote(sample.lines)
    tried = [Dialect(mark, quote, escape) for mark in ([fixed] if fixed else DELIMITERS)]
    scores = [_reads_as_list(sample, dialect, words, known) for dialect in tried]
    best = max(range(len(tried)), key=scores.__getitem__)
    if scores[best] > 0 or fixed:
        return tried[best]
    return max(tried, key=lambda dialect: _cuts_alike(sample, dialect))


def find_header(rows: Sequence[Sequence[Cell]], words: Words, known: frozenset[str] = frozenset()) -> Found | None:
    """Find the first row that reads like a spring list's header, nearly as well as the best of the first rows."""
    scores = [header_score(cells, words, known) for cells in rows[:LOOKED_AT]]
    if not any(scores):  # headings without a size, so that the error can show them
        scores = [header_score(cells, words, known, sized=False) for cells in rows[:LOOKED_AT]]
    best = max(scores, default=0.0)
    if not best:
        return None
    at = next(
        at for at, score in enumerate(scores) if score >= AS_GOOD * best or (score and _complete(rows[at], words))
    )
    cells = tuple(rows[at])
    if at and not _complete(cells, words) and _complete(both := _one_above_the_other(rows[at - 1], cells), words):
        cells = both
    elif scores[at + 1 : at + 2] > [0.0] and "item" not in _meanings(rows[at + 1], words):
        both = _one_above_the_other(cells, rows[at + 1])
        at, cells = (at + 1, both) if _complete(both, words) else (at, cells)
    return Found(at, cells, scores[at])


def _complete(cells: Sequence[Cell], words: Words) -> bool:
    """Whether a row names all that is needed."""
    claims = _meanings(cells, words)
    return bool(claims & {"item", "description"}) and (
        claims >= {*SIZES} or claims >= {"width", "gauge", "length"} or "sizes" in claims
    )


def _meanings(cells: Sequence[Cell], words: Words) -> set[str]:
    return {heading(shown(cell), words).meaning for cell in cells}


def _one_above_the_other(above: Sequence[Cell], below: Sequence[Cell]) -> tuple[Cell, ...]:
    """Headings of two lines: `Blade` above `width mm`."""
    width = max(len(above), len(below))
    upper, lower = ([shown(cell) for cell in row] + [""] * (width - len(row)) for row in (above, below))
    return tuple(f"{a} {b}".strip() for a, b in zip(upper, lower, strict=True))


def header_score(cells: Sequence[Cell], words: Words, known: frozenset[str] = frozenset(), sized: bool = True) -> float:
    """How strongly a row reads as a header: 0 unless it names two columns, one of them a size (or the item).

    `known` are headings of the user's map, which count most; sized, whether a size must be among them.
    """
    texts = [shown(cell) for cell in cells]
    mapped = sum(" ".join(text.split()) in known for text in texts)
    if mapped >= 2:
        return 100.0 + mapped
    if sum(PLAIN_SIZE.fullmatch(text) is not None for text in texts) > 1:
        return 0.0  # a header has no numbers; seen here at once for nearly all rows
    read = [heading(text, words) for text in texts if 0 < len(text) <= 120]
    claims = {h.meaning: h for h in read if h.meaning and h.meaning != "unused"}
    if len(claims) < 2 or not any(meaning in claims for meaning in (NEEDED[:-1] if sized else NEEDED)):
        return 0.0
    if sum(map(_numeric, texts)) > 1:
        return 0.0
    return sum(h.score for h in claims.values()) + 2 * sum(meaning in claims for meaning in NEEDED)


def trimmed(cells: Sequence[Cell]) -> tuple[str, ...]:
    """Return header cells as text, without blank ones at the end."""
    texts = [" ".join(shown(cell).split()) for cell in cells]
    while texts and not texts[-1]:
        texts.pop()
    return tuple(texts)


def may_be_header(cells: Sequence[Cell]) -> bool:
    """Whether hardly a cell begins like a number; cheap, because it is asked of every row."""
    numbers = filled = 0
    for cell in cells:
        if cell == "" or cell is None:
            continue
        if not isinstance(cell, str) or (cell.lstrip()[:1] in NUMBER_STARTS and not TIER.fullmatch(cell)):
            numbers += isinstance(cell, float) or bool(cell.strip())
            if numbers > 1:
                return False
        filled += not isinstance(cell, str) or bool(cell.strip())
    return filled >= 3


def is_unit_line(cells: Sequence[Cell], header: Sequence[str], words: Words) -> bool:
    """Whether the row below the headings is a line of units, understood or not.

    >>> from orderbook.catalogue.words import shipped_words; words = shipped_words()
    >>> names = ["Item", "Width", "Strength", "Length"]
    >>> is_unit_line(["", "mm", "mm", "frobs"], names, words), is_unit_line(["A-1", "2.5", "0.16", "340"], names, words)
    (True, False)
    """
    texts = [shown(cell) for cell in cells] + [""] * (len(header) - len(cells))
    meanings = [heading(text, words).meaning for text in header]
    sized = [t for t, m in zip(texts, meanings, strict=False) if m in (*SIZES, "sizes", "gauge") and not is_missing(t)]
    if not sized or any(re.search(r"[0-9]", text) and said_unit(text) is None for text in sized):
        return False
    items = [text for text, meaning in zip(texts, meanings, strict=False) if meaning == "item"]
    nameless = not any(fold(text) for text in items)
    if any(said_unit(text) is not None for text in sized):
        return nameless or not any(re.search(r"[0-9]", text) for text in items)
    return nameless


def remark_of(cells: Sequence[Cell]) -> str:
    """The text of a row that is a remark: one or two cells filled, and not with a number; "" for any other row."""
    filled = [shown(cell) for cell in cells if not (isinstance(cell, str) and not cell.strip())]
    if not 0 < len(filled) <= 2:
        return ""
    text = " ".join(filled)
    if len(filled) == 2 and re.search(r"[0-9]", re.sub(r"1/10{1,3}|0[.,]0{0,2}1", "", text)):
        return ""  # an item without its sizes
    return text if any(map(str.isalpha, text)) and not _numeric(text) else ""


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


def _cuts_alike(sample: Lines, dialect: Dialect) -> tuple[int, int]:
    widths = [len(record.cells) for record in records(sample, dialect) if any(record.cells)]
    usual = max(set(widths), key=widths.count, default=0)
    return (widths.count(usual) if usual > 1 else 0, usual)
