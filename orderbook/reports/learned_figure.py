"""A picture of what was learned: each piece's interval under its group, with what is expected of the next one."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

from orderbook.reports.palette import INK, PALE, RUST, STEEL

if TYPE_CHECKING:
    from orderbook.answers.learned import LearnedBook
    from orderbook.learning.pieces import Piece

LEFT, RIGHT = 20.0, 160.0  # per cent of drive that are drawn


def draw(found: LearnedBook, axes: Any) -> None:
    """Draw groups from the top down: a bar for the next need, a line for each piece."""
    from orderbook.answers.taught import practice_start

    lines = len(found.pieces) + 2 * len(found.groups)
    axes.figure.set_size_inches(7.2, 1.4 + 0.22 * max(lines, 4))
    place = 0.0
    for group in found.groups:
        practice = practice_start(group.group)
        _bar(axes, place, practice.median, practice.spread, PALE, "practice alone")
        _bar(axes, place - 0.35, group.median, group.spread, STEEL, "expected of the next piece")
        axes.annotate(str(group.group), (LEFT, place + 0.3), fontsize=8, color=INK, va="bottom")
        place -= 1.1
        for _, piece in found.pieces:
            if piece.group == group.group:
                _piece(axes, place, piece)
                place -= 0.6
        place -= 0.9
    axes.set_xscale("log")
    axes.set(xlim=(LEFT, RIGHT), ylim=(place, 1.4), xlabel="drive needed, % of what the strongest useful spring gives")
    ticks = [20, 30, 40, 50, 60, 80, 100, 150]
    axes.set_xticks(ticks, [str(tick) for tick in ticks])
    axes.minorticks_off()
    axes.set_yticks([])
    for side in ("top", "right", "left"):
        axes.spines[side].set_visible(False)
    handles, labels = axes.get_legend_handles_labels()
    once = dict(zip(labels, handles, strict=True))
    if once:
        axes.legend(once.values(), once.keys(), frameon=False, fontsize=8, loc="upper right")


def _bar(axes: Any, place: float, median: float, spread: float, colour: str, label: str) -> None:
    low, high = median * math.exp(-spread), median * math.exp(spread)
    axes.plot([low, high], [place, place], color=colour, linewidth=4, solid_capstyle="butt", label=label)
    axes.plot([median], [place], marker="|", color=INK, markersize=9, linestyle="none")


def _piece(axes: Any, place: float, piece: Piece) -> None:
    """A line from the spring that was too weak to the one that ran; an open end where one was not seen."""
    low = piece.above.percent if piece.above else LEFT
    high = piece.below.percent if piece.below else RIGHT
    if piece.above or piece.below:
        axes.plot([low, high], [place, place], color=INK, linewidth=1, label="a piece: too weak to ran well")
    for told in (piece.above, piece.below):
        if told:
            axes.plot([told.percent], [place], marker="|", color=INK, markersize=6, linestyle="none")
    if piece.at:
        axes.plot([piece.at.percent], [place], marker="o", color=RUST, markersize=4, linestyle="none", label="measured")
