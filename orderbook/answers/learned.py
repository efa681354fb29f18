"""What was learned from books and files of pieces, as an answer: groups, pieces, what teaches nothing and why."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from pathlib import Path
from typing import Any, ClassVar

from orderbook.answers.taught import practice_start, says
from orderbook.errors import Finding
from orderbook.learning.exchange import ReadPieces
from orderbook.learning.model import Learned
from orderbook.learning.pieces import LeftOut, Piece
from orderbook.shown import Drawn


@dataclass(frozen=True, slots=True, repr=False)
class LearnedBook(Drawn):
    """What was learned: the groups, the pieces of one's own, what teaches nothing and why, what others' files held.

    `stored` is how many barrels have another start now; `into` the file of pieces that was written.
    """

    groups: tuple[Learned, ...]
    pieces: tuple[tuple[str, Piece], ...]
    left_out: tuple[LeftOut, ...]
    others: ReadPieces
    stored: int
    into: Path | None
    findings: tuple[Finding, ...]

    shown_words: ClassVar[str] = "orderbook.reports.learned_text:learned_text"
    shown_picture: ClassVar[str] = "orderbook.reports.learned_figure:draw"
    shown_key: ClassVar[str] = "groups"
    shown_columns: ClassVar[tuple[str, ...]] = (
        "movement", "drive", "train", "group", "pieces", "others", "median", "spread", "practice_median",
        "practice_spread",
    )  # fmt: skip

    @property
    def why_left_out(self) -> dict[str, int]:
        """How many barrels teach nothing, by reason."""
        return dict(Counter(one.why for one in self.left_out))

    def as_dict(self) -> dict[str, Any]:
        """Return the JSON keys of the command."""
        others = self.others
        return {
            "groups": [group_dict(one) for one in self.groups],
            "pieces": [piece_dict(name, piece) for name, piece in self.pieces],
            "left_out": [{"barrel": one.barrel, "why": one.why, "saw": one.saw} for one in self.left_out],
            "others": {
                "rows": others.rows,
                "pieces": others.pieces,
                "duplicates": others.duplicates,
                "refused": dict(others.why),
            },
            "stored": self.stored,
            "into": None if self.into is None else str(self.into),
            "findings": [found.as_dict() for found in self.findings],
        }


def group_dict(one: Learned) -> dict[str, Any]:
    """The JSON keys of one group."""
    practice = practice_start(one.group)
    return {
        "movement": one.group.movement,
        "drive": one.group.drive,
        "train": one.group.train,
        "group": one.group.label,
        "pieces": one.own,
        "others": one.others,
        "benches": one.benches,
        "median": one.median,
        "spread": one.spread,
        "group_median": one.middle,
        "group_median_low": one.middle_low,
        "group_median_high": one.middle_high,
        "spread_within": one.within,
        "practice_median": practice.median,
        "practice_spread": practice.spread,
        "says": says(one),
    }


def piece_dict(name: str, piece: Piece) -> dict[str, Any]:
    """The JSON keys of one piece; drives in per cent, with the standard uncertainty of their logarithm."""
    found: dict[str, Any] = {"barrel": name, **piece.group._asdict()}
    found["group"] = found.pop("label")
    for word, told in (("above", piece.above), ("below", piece.below), ("about", piece.at)):
        found |= {word: told.percent if told else None, f"{word}_u": told.u if told else None}
    found["weaker"] = [one.percent for one in piece.weaker]
    found["stronger"] = [one.percent for one in piece.stronger]
    return found
