"""Learn from the closed barrels of one's books, and from other benches' pieces, where the next need will lie."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from pathlib import Path
from typing import Any

from orderbook.answers.learned import LearnedBook
from orderbook.answers.taught import (
    Taught,
    groups_of,
    one_decimal,
    own_numbers,
    practice_start,
    says,
    shared_rows,
    starts,
    taught_by,
    who_says,
)
from orderbook.book.opened import Opened, opened
from orderbook.errors import Finding, finding
from orderbook.learning.exchange import LEFT_OUT, ReadPieces, read_pieces, written
from orderbook.learning.model import NINE_IN_TEN, Learned, Sums
from orderbook.learning.pieces import Group, Piece, plain_label
from orderbook.records.index import index
from orderbook.records.rows import Append, Change, Clear, Put

MANY = 5  # pieces of a group, from which on it is said that in all of them a spring was too weak
LEARNED = "Learned"  # the page of the book


def learn(
    books: Sequence[Path], *, with_pieces: Iterable[Path | str] = (), into: Path | None = None, start: str = "learned"
) -> LearnedBook:
    """Work out what the closed barrels of books teach, and store with each barrel where its need is to be expected.

    Parameters: books, one's own, of one bench; with_pieces, files of other benches' pieces; into, a new file for one's
    own pieces; start, "practice" to take the learned starts out of the books again.
    Raises: OrderbookError as `read_pieces`, and if a book cannot be read or saved, or the file exists.
    """
    open_books = [opened(path) for path in books]
    taught = [taught_by(one.books) for one in open_books]
    mine = [number for one, told in zip(open_books, taught, strict=True) for number in own_numbers(one.books, told)]
    others = read_pieces(with_pieces, mine)
    others_sums: Sums = dict(others.sums)
    groups = groups_of(taught, others_sums)
    findings = [*_about_own(taught), *others.refused, *_about(others)]
    stored = 0
    for at, one in enumerate(open_books):
        from_the_rest = [told for n, told in enumerate(taught) if n != at]
        stored += _store(one, taught[at], from_the_rest, others_sums, start, groups)
    if into is not None:
        rows = [row for one, told in zip(open_books, taught, strict=True) for row in shared_rows(one.books, told)]
        count = written(rows, into)
        saw = f"{count} {'piece' if count == 1 else 'pieces'}; left out: {LEFT_OUT}"
        findings.append(finding("pieces_shared", where=str(into), saw=saw))
    return LearnedBook(
        groups,
        tuple(one for told in taught for one in told.pieces.items()),
        tuple(one for told in taught for one in told.left_out),
        others,
        stored,
        into,
        tuple(findings),
    )


def _store(
    book: Opened, taught: Taught, rest: Sequence[Taught], others: Sums, start: str, groups: Sequence[Learned]
) -> int:
    """Put each barrel's start into its row, and the groups on their page; return how many starts changed."""
    is_off = "practice" in (start, book.books.setting("start").casefold())
    told = {} if is_off else starts(taught, rest, others)
    changes: list[Change] = []
    for row in index(book.books).barrels.values():
        one = told.get(row.barrel)
        values: dict[str, Any] = dict.fromkeys(("learned_need", "learned_spread", "learned_from"))
        if one is not None and one.taught:
            need, spread = one_decimal(one.median), one_decimal(100 * one.spread)
            values = {"learned_need": need, "learned_spread": spread, "learned_from": says(one)}
        if any((getattr(row, key) or None) != value for key, value in values.items()):
            changes.append(Put("Barrels", row.row.place.row, values))
    stored = len(changes)
    changes += _page(book, () if is_off else groups)
    if changes:
        book.save(changes)
    return stored


def _page(book: Opened, groups: Sequence[Learned]) -> list[Change]:
    """Return what makes the page Learned show these groups; nothing where it does, or where an old book has no page."""
    if LEARNED not in book.books.tables:
        return []
    typed = {plain_label(row.group): row.group for row in book.books.barrels if row.group}
    rows = [_row(one, typed.get(one.group.label, "")) for one in groups if one.taught]
    there = book.books.tables[LEARNED]
    changes: list[Change] = []
    for row, values in zip(there, rows, strict=False):
        if any((row.get(key) or None) != (value or None) for key, value in values.items()):
            changes.append(Put(LEARNED, row.place.row, values))
    changes += [Append(LEARNED, values) for values in rows[len(there) :]]
    return changes + [Clear(LEARNED, row.place.row) for row in there[len(rows) :]]


def _row(one: Learned, typed: str) -> dict[str, Any]:
    """Lay out a group, its label as it was typed."""
    practice = practice_start(one.group)
    low, high = (one.median * math.exp(side * NINE_IN_TEN * one.spread) for side in (-1, 1))
    return {
        "movements": str(one.group._replace(label=typed or one.group.label)),
        "pieces": one.own, "others": one.others, "need": one_decimal(one.median),
        "low": one_decimal(low), "high": one_decimal(high), "spread": one_decimal(100 * one.spread),
        "practice_need": one_decimal(practice.median), "practice_spread": one_decimal(100 * practice.spread),
        "says": who_says(one),
    }  # fmt: skip


def _about_own(taught: Sequence[Taught]) -> list[Finding]:
    """Say where all pieces of a group began with a spring that was too weak."""
    groups: dict[Group, list[Piece]] = {}
    for piece in (piece for one in taught for piece in one.pieces.values()):
        groups.setdefault(piece.group, []).append(piece)
    return [
        finding("only_failures_taught", where=str(group), saw=f"in all {len(pieces)} pieces a spring was too weak")
        for group, pieces in sorted(groups.items())
        if len(pieces) >= MANY and all(piece.too_weak for piece in pieces)
    ]


def _about(others: ReadPieces) -> list[Finding]:
    """Say what was not used of others' files."""
    told = []
    if others.duplicates:
        told.append(finding("pieces_met_twice", where="⟨with⟩", saw=f"{others.duplicates} of {others.rows} rows"))
    if others.why:
        saw = "; ".join(f"{count} rows: {why}" for why, count in others.why.items())
        told.append(finding("pieces_refused", where="⟨with⟩", saw=saw))
    if others.columns_left:
        told.append(finding("pieces_columns_left", where="⟨with⟩", saw=", ".join(others.columns_left)))
    return told
