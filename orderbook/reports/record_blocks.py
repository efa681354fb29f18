"""What the pages of the record are made of: sections, and in them facts, words, tables, parts, pictures, room to sign.

The template knows these kinds and nothing of restorations; every text in them is escaped there.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal
from typing import Any, ClassVar


@dataclass(frozen=True, slots=True)
class Facts:
    """Names with what is said of each; those of which nothing is said are left out."""

    kind: ClassVar[str] = "facts"
    rows: tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True)
class Paragraphs:
    """Paragraphs; `look` is plain, note, caution or trouble."""

    kind: ClassVar[str] = "words"
    said: tuple[str, ...]
    look: str = "plain"


@dataclass(frozen=True, slots=True)
class RowsShown:
    """A table: heads, of which some stand over numbers, rows, and a last row with the sums."""

    kind: ClassVar[str] = "rows"
    heads: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    caption: str = ""
    numbers: tuple[str, ...] = ()
    bold: tuple[int, ...] = ()
    foot: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class PartDecided:
    """One part with its story: a title, what was decided, what was done, and facts in a line."""

    kind: ClassVar[str] = "part"
    title: str
    decision: str
    said: tuple[str, ...]
    done: tuple[str, ...]
    facts: tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True)
class Drawing:
    """A picture of ours (SVG) and the words for who cannot see it."""

    kind: ClassVar[str] = "drawing"
    svg: str
    words: str


@dataclass(frozen=True, slots=True)
class Photograph:
    """A photograph to stand in the page: its data, what it shows, and its file's name."""

    data_uri: str
    file: str
    words: str = ""


@dataclass(frozen=True, slots=True)
class Photographs:
    """Photographs side by side."""

    kind: ClassVar[str] = "photographs"
    pictures: tuple[Photograph, ...]


@dataclass(frozen=True, slots=True)
class Signatures:
    """Room to sign, a line for each who signs."""

    kind: ClassVar[str] = "signatures"
    names: tuple[tuple[str, str], ...]


Block = Facts | Paragraphs | RowsShown | PartDecided | Drawing | Photographs | Signatures


@dataclass(frozen=True, slots=True)
class Section:
    """A part of the page under one title."""

    title: str
    blocks: tuple[Block, ...] = field(default=())


def section(title: str, *blocks: Block | None) -> Section | None:
    """Return a section of the blocks that say something; nothing where none does."""
    told = tuple(block for block in blocks if block is not None)
    return Section(title, told) if told else None


def facts(rows: Iterable[tuple[str, Any]]) -> Facts | None:
    """Return the facts of which something is said."""
    said = tuple((name, shown(value)) for name, value in rows if shown(value))
    return Facts(said) if said else None


def words(said: Iterable[str], look: str = "plain") -> Paragraphs | None:
    """Return the paragraphs that are not empty."""
    told = tuple(text for text in said if text)
    return Paragraphs(told, look) if told else None


def table(
    heads: Sequence[str], rows: Iterable[Sequence[str]], *, caption: str = "", numbers: Sequence[str] = (),
    bold: Sequence[int] = (), foot: Sequence[str] = (),
) -> RowsShown | None:  # fmt: skip
    """Return a table without the columns in which nothing stands; nothing where there is no row."""
    listed = [tuple(row) for row in rows]
    if not listed:
        return None
    kept = [i for i in range(len(heads)) if any(row[i] for row in listed) or i == 0]
    return RowsShown(
        tuple(heads[i] for i in kept), tuple(tuple(row[i] for i in kept) for row in listed), caption,
        tuple(head for head in numbers if head in [heads[i] for i in kept]), tuple(bold),
        tuple(foot[i] for i in kept) if foot else (),
    )  # fmt: skip


def shown(value: Any) -> str:
    """Return a value as it is printed: a day in words, a number without a tail, nothing for nothing.

    >>> shown(date(2026, 3, 4)), shown(Decimal("7.0")), shown(None), shown("oil dry")
    ('4 Mar 2026', '7', '', 'oil dry')
    """
    if value is None:
        return ""
    if isinstance(value, date):
        return f"{value.day} {value:%b %Y}"
    if isinstance(value, Decimal):
        return f"{value.normalize():f}"
    return str(value)
