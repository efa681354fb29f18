"""What the closed barrels of a book teach, and where the belief about the need of one of its barrels begins.

`learn` works the starts out and stores them with the barrels, each without the barrel's own piece; whoever asks about a
barrel takes its start from there, so that an answer says the same until `learn` has run again.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Decimal

from orderbook.answers.answer import asked_barrel
from orderbook.barrel.barrel import Barrel
from orderbook.barrel.practice import Share, start_of
from orderbook.barrel.verdicts import verdict_in
from orderbook.errors import OrderbookError
from orderbook.learning.evidence import group_of, piece_of
from orderbook.learning.exchange import piece_number, shared_row
from orderbook.learning.model import Learned, Sums, joined, learned, sums_of
from orderbook.learning.pieces import OWN, Group, LeftOut, Piece
from orderbook.records.books import Books
from orderbook.records.index import index
from orderbook.records.tables import BarrelRow

BENCH = "bench"  # the setting that names the bench in the pieces it shares


@dataclass(frozen=True, slots=True)
class Taught:
    """The closed barrels of a book that teach, by name, those that do not, and the group of every barrel."""

    barrels: Mapping[str, Barrel]
    pieces: Mapping[str, Piece]
    groups: Mapping[str, Group]
    left_out: tuple[LeftOut, ...]


def taught_by(books: Books) -> Taught:
    """Gather what the closed barrels of a book teach.

    A barrel is closed when its piece is, or when the last spring tried in it ran well. One whose fault was not the
    strength stays out, and so does whatever cannot be read: each with its reason.
    """
    barrels: dict[str, Barrel] = {}
    pieces: dict[str, Piece] = {}
    groups: dict[str, Group] = {}
    left_out: list[LeftOut] = []
    for row in books.barrels:
        if not row.barrel or row.barrel in groups:
            continue
        try:
            barrel = asked_barrel(books, row.barrel)
        except OrderbookError as problem:
            left_out.append(LeftOut(row.barrel, "its readings do not do", f"{problem.where}: {problem.saw}"))
            continue
        groups[row.barrel] = group_of(barrel, row.group)
        found = _piece(books, row, barrel)
        if isinstance(found, LeftOut):
            left_out.append(found)
        else:
            barrels[row.barrel], pieces[row.barrel] = barrel, found
    return Taught(barrels, pieces, groups, tuple(left_out))


def _piece(books: Books, row: BarrelRow, barrel: Barrel) -> Piece | LeftOut:
    trials = [trial for trial in books.trials if trial.barrel == row.barrel and verdict_in(trial.verdict)]
    if not trials and not barrel.rods:
        return LeftOut(row.barrel, "no verdict and no rod test")
    piece = index(books).restorations.get(row.restoration)
    last = verdict_in(trials[-1].verdict) if trials else None
    if not (piece and piece.state == "closed") and not (last and last.side == "kept"):
        return LeftOut(row.barrel, "not closed yet")
    if row.fault and row.fault != "strength":
        return LeftOut(row.barrel, "the strength was not the fault", row.fault)
    if len(barrel.trials) < len(trials):
        saw = f"{len(trials) - len(barrel.trials)} of {len(trials)} trials"
        return LeftOut(row.barrel, "springs without a strength", saw)
    return piece_of(row.barrel, barrel, row.group)


def starts(taught: Taught, rest: Iterable[Taught], others: Sums) -> dict[str, Learned]:
    """What is to be expected of each barrel of a book, its own piece left out.

    `rest` are other books of the same bench, `others` what other benches' pieces come to.
    """
    whole = joined(sums_of(taught.pieces.values()), *(sums_of(one.pieces.values()) for one in rest), others)
    found: dict[Group, Learned] = {}
    told = {}
    for name, group in taught.groups.items():
        practice = practice_start(group)
        piece = taught.pieces.get(name)
        if piece is not None:
            told[name] = learned({**whole, (group, OWN): whole[group, OWN].without(piece)}, group, practice)
        else:
            if group not in found:
                found[group] = learned(whole, group, practice)
            told[name] = found[group]
    return told


def groups_of(taught: Iterable[Taught], others: Sums) -> tuple[Learned, ...]:
    """What is to be expected of the next piece of every group there is."""
    taught = list(taught)
    whole = joined(*(sums_of(one.pieces.values()) for one in taught), others)
    names = {group for group, _ in whole} | {group for one in taught for group in one.groups.values()}
    return tuple(learned(whole, group, practice_start(group)) for group in sorted(names))


def practice_start(group: Group) -> Share:
    """Where practice alone begins."""
    start = start_of(group.movement, group.drive, group.train)
    return Share(start.median, start.spread)


def says(told: Learned) -> str:
    """Say where a learned start comes from, and what it would be without.

    >>> going = Group("clock", "going", "going")
    >>> says(learned({}, going, Share(55.0, 0.40)))
    'the published pieces: 55, 40 %'
    """
    numbers = f"{whole(told.median)}, {whole(100 * told.spread)} %"
    if not told.taught:
        return f"the published pieces: {numbers}"
    practice = practice_start(told.group)
    without = f"{practice.median:.0f}, {100 * practice.spread:.0f} %"
    return f"{who_says(told)}: {numbers} (by the published ones alone {without})"


def one_decimal(percent: float) -> Decimal:
    """Return a per cent as a book keeps it."""
    return Decimal(f"{percent:.1f}")


def whole(percent: float) -> str:
    """Say a per cent in whole ones, as the page shows what a book keeps: halves go up.

    >>> whole(61.47), whole(61.44)
    ('62', '61')
    """
    return f"{one_decimal(percent).quantize(Decimal(1), ROUND_HALF_UP)}"


def who_says(told: Learned) -> str:
    """Say which pieces speak."""
    counts = [_pieces(told.own, "of yours")] if told.own else []
    counts += [f"{_pieces(told.others, 'of others')} ({_benches(told.benches)})"] if told.others else []
    counts += [f"{_pieces(told.kin, 'of other groups')}"] if told.kin else []
    return f"{', '.join(counts)} and the published ones"


def _pieces(count: int, whose: str) -> str:
    return f"{count:,} piece{'' if count == 1 else 's'} {whose}"


def _benches(count: int) -> str:
    return f"{count} bench{'' if count == 1 else 'es'}"


def shared_rows(books: Books, taught: Taught) -> list[dict[str, str]]:
    """Return the pieces of a book as rows of the exchange file, without anything that says whose they are."""
    names = [books.setting("your name"), *(one.owner_reference for one in books.restorations)]
    bench = books.setting(BENCH)
    return [
        shared_row(name, taught.barrels[name], piece, bench, [n for n in names if n])
        for name, piece in taught.pieces.items()
    ]


def own_numbers(books: Books, taught: Taught) -> list[str]:
    """Return the numbers of a book's own pieces: in a shared file they are met again."""
    return [piece_number(books.setting(BENCH), name, taught.barrels[name]) for name in taught.pieces]
