"""Simulated benches: needs drawn from a truth that the learning does not know, springs tried from the weak side."""

from __future__ import annotations

import math
from dataclasses import dataclass

from numpy.random import Generator

from orderbook.barrel.practice import Share
from orderbook.learning.pieces import Group, Piece, Told

GOING = Group("clock", "going", "going")
CLOCKS = Share(55.0, 0.40)
RUNG = 0.12  # step of drive between springs that can be had
U = 0.05  # how well a spring's drive is known


@dataclass(frozen=True)
class Truth:
    """How needs lie: median of all, spread of groups' medians about it, spread of pieces within a group."""

    middle: float = math.log(0.55)
    between: float = 0.33
    within: float = 0.22

    def group(self, rng: Generator) -> float:
        return float(rng.normal(self.middle, self.between))

    def needs(self, middle: float, count: int, rng: Generator) -> list[float]:
        return rng.normal(middle, self.within, count).tolist()


def tried(
    need: float, rng: Generator, *, wrong: float = 0.0, first: float | None = None, group: Group = GOING
) -> Piece:
    """What trials say of one need: rungs from the weak side until one runs well; `first` is the drive begun with."""
    drive = first if first is not None else float(rng.normal(math.log(0.45), 0.15))
    weak: list[Told] = []
    while True:
        told = Told(drive + float(rng.normal(0, U)), U)
        is_weak = (need > drive) != (rng.random() < wrong)
        if not is_weak:
            return Piece(group, tuple(weak), (told,))
        weak.append(told)
        drive += RUNG
        if drive > math.log(2.5):
            return Piece(group, tuple(weak))


def brought(
    truth: Truth, middle: float, count: int, rng: Generator, *, failures: bool = False, wrong: float = 0.0,
    group: Group = GOING,
) -> list[Piece]:  # fmt: skip
    """Pieces that a bench brings: all there are, or only those in which the first spring was too weak."""
    pieces: list[Piece] = []
    while len(pieces) < count:
        piece = tried(truth.needs(middle, 1, rng)[0], rng, wrong=wrong, group=group)
        if piece.too_weak or not failures:
            pieces.append(piece)
    return pieces
