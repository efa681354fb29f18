"""A piece: what the trials of one closed barrel say of the need, in numbers, and the group it belongs to."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
NARROWEST_U = 0.02  # of ln drive: no spring is known better, so no ± counts as less
OWN = ""  # the bench of the book itself
NOT_TOLD = (math.nan, math.nan)


def plain_label(typed: str) -> str:
    """Return a group's label as groups are told apart: capitals and blanks alone make no other group.

    >>> plain_label("  French  8-day ")
    'french 8-day'
    """
    return " ".join(typed.casefold().split())


class Group(NamedTuple):
    """What is alike enough to learn from each other: movement, drive, train, and a label of the user's own."""

    movement: str
    drive: str
    train: str
    label: str = ""

    @property
    def kind(self) -> Group:
        """The group above: without the label."""
        return self._replace(label="")

    def __str__(self) -> str:
        """Say it in words.

        >>> print(Group("clock", "going", "striking", "French 8-day"))
        clock, going barrel, striking train: French 8-day
        """
        drive = "fusee" if self.drive == "fusee" else "going barrel"
        named = f"{self.movement}, {drive}, {self.train} train"
        return f"{named}: {self.label}" if self.label else named


class Told(NamedTuple):
    """Something told of x = ln(need in per cent of the strongest useful spring's drive / 100), and its standard ±."""

    x: float
    u: float

    @property
    def percent(self) -> float:
        """The drive it speaks of, in per cent."""
        return 100 * math.exp(self.x)


@dataclass(frozen=True, slots=True)
class Piece:
    """One closed barrel: every spring that was too weak, every one that was strong enough, and what was measured.

    Each spring counts, for each verdict may be wrong by itself: five springs that were too weak, one after another,
    are not all wrong. `at` is what "stopped" and rod tests measured. The need lies above `above` and below `below`.

    >>> Piece(Group("clock", "going", "going"), (Told(-0.80, 0.05), Told(-0.65, 0.05)), (Told(-0.46, 0.05),)).in_words
    'above 52 %, below 63 %'
    """

    group: Group
    too_weak: tuple[Told, ...] = ()
    enough: tuple[Told, ...] = ()
    at: Told | None = None
    bench: str = OWN

    @property
    def above(self) -> Told | None:
        """The strongest spring that was too weak."""
        return max(self.too_weak, default=None)

    @property
    def below(self) -> Told | None:
        """The weakest spring that was strong enough."""
        return min(self.enough, default=None)

    @property
    def weaker(self) -> list[Told]:
        """The other springs that were too weak, the weakest first."""
        return sorted(self.too_weak)[:-1]

    @property
    def stronger(self) -> list[Told]:
        """The other springs that were strong enough, the weakest first."""
        return sorted(self.enough)[1:]

    @property
    def in_words(self) -> str:
        """The interval in words."""
        told = (("above", self.above), ("below", self.below), ("about", self.at))
        return ", ".join(f"{word} {one.percent:.0f} %" for word, one in told if one)


class Intervals(NamedTuple):
    """What many pieces say, one row a piece: each verdict's x and ±, a layer a spring; nan where there is none.

    `too_weak` begins with the weakest spring, `enough` with the weakest too; shape (pieces, springs, 2). `at` is of
    shape (pieces, 2).
    """

    too_weak: Floats
    enough: Floats
    at: Floats

    @classmethod
    def of(cls, pieces: Iterable[Piece]) -> Intervals:
        """Put pieces into columns."""
        pieces = list(pieces)
        at = np.array([piece.at or NOT_TOLD for piece in pieces], dtype=float).reshape(-1, 2)
        return cls(_side_by_side([p.too_weak for p in pieces]), _side_by_side([p.enough for p in pieces]), at)

    def take(self, rows: NDArray[np.generic] | slice) -> Intervals:
        """Return some of them."""
        return Intervals(*(column[rows] for column in self))


def _side_by_side(told: list[tuple[Told, ...]]) -> Floats:
    """Lay the springs of each piece beside each other, the weakest first."""
    most = max(map(len, told), default=0)
    rows = [[*sorted(springs), *([NOT_TOLD] * (most - len(springs)))] for springs in told]
    return np.array(rows, dtype=float).reshape(len(told), most, 2)


@dataclass(frozen=True, slots=True)
class LeftOut:
    """A barrel that teaches nothing, and why."""

    barrel: str
    why: str
    saw: str = ""
