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
    """One closed barrel: the need lies above `above`, below `below`, and about `at`, each where it was seen.

    `above` is the strongest spring that was too weak, `below` the weakest that was strong enough, `at` what "stopped"
    and rod tests measured.

    >>> Piece(Group("clock", "going", "going"), above=Told(-0.65, 0.05), below=Told(-0.46, 0.05)).in_words
    'above 52 %, below 63 %'
    """

    group: Group
    above: Told | None = None
    below: Told | None = None
    at: Told | None = None
    bench: str = OWN

    @property
    def in_words(self) -> str:
        """The interval in words."""
        told = (("above", self.above), ("below", self.below), ("about", self.at))
        return ", ".join(f"{word} {one.percent:.0f} %" for word, one in told if one)


class Intervals(NamedTuple):
    """The intervals of many pieces as columns; nan where a piece does not have one."""

    above: Floats
    above_u: Floats
    below: Floats
    below_u: Floats
    at: Floats
    at_u: Floats

    @classmethod
    def of(cls, pieces: Iterable[Piece]) -> Intervals:
        """Put pieces into columns."""
        nothing = (math.nan, math.nan)
        rows = [(*(p.above or nothing), *(p.below or nothing), *(p.at or nothing)) for p in pieces]
        return cls(*np.array(rows, dtype=float).reshape(-1, 6).T)

    def take(self, rows: NDArray[np.generic] | slice) -> Intervals:
        """Return some of them."""
        return Intervals(*(column[rows] for column in self))


@dataclass(frozen=True, slots=True)
class LeftOut:
    """A barrel that teaches nothing, and why."""

    barrel: str
    why: str
    saw: str = ""
