"""What a closed barrel says of the need of its movement: one interval on the scale of drive, or why it says nothing."""

from __future__ import annotations

import math
from dataclasses import replace
from functools import lru_cache

import numpy as np

from orderbook.barrel.barrel import Barrel
from orderbook.barrel.practice import RUN_UNKNOWN, movement_of, start_of
from orderbook.choosing.belief import cell_middles, start_belief
from orderbook.choosing.bench import Bench, bench_of
from orderbook.choosing.evidence import OVERPOWER_MARGIN, TOO_WEAK, Evidence, each_once, weigh
from orderbook.choosing.fitting import Scale, scale_of
from orderbook.choosing.seen import evidence_of, tried_in
from orderbook.errors import OrderbookError
from orderbook.learning.pieces import Floats, Group, LeftOut, Piece, Told, plain_label

TURNED = 2.0  # standard deviations by which "too weak" may lie above "ran well": what the ± of two springs explains


def group_of(barrel: Barrel, label: str = "") -> Group:
    """Return the group of a barrel; labels that differ in capitals or blanks alone are one.

    >>> group_of(Barrel(bore=45, arbor=9, movement="clock", train="striking"), "  French  8-day ")
    Group(movement='clock', drive='going', train='striking', label='french 8-day')
    """
    return Group(movement_of(barrel)[0], barrel.drive, barrel.train, plain_label(label))


def piece_of(name: str, barrel: Barrel, label: str = "") -> Piece | LeftOut:
    """Return what the trials and rod tests of a closed barrel say of its need, or why they say nothing.

    Drive is that of the choice: in per cent of the strongest useful spring's, at the length and the set-up that were
    fitted; each ± is that of the spring, wider where only a rule of thumb says the turns. "Ran well" and "too strong"
    are bounds from above, "too weak" and "never ran" from below, "stopped" and rod tests are measured.

    >>> barrel = Barrel(bore=45, arbor=9, depth=18.8, used=4.97, tried=[
    ...     "18 x 0.36 x 1650: too weak", "18 x 0.40 x 1650: ran well"])
    >>> piece_of("R-001-B1", barrel).in_words
    'above 59 %, below 70 %'
    """
    told = _told_by(barrel)
    if isinstance(told, LeftOut):
        return replace(told, barrel=name)
    return replace(told, group=group_of(barrel, label))


@lru_cache(maxsize=1024)
def _told_by(barrel: Barrel) -> Piece | LeftOut:
    """Return what a barrel says, worked out once: a book asks for all its closed barrels each time it learns."""
    if not any(one.verdict for one in barrel.trials) and not barrel.rods:
        return LeftOut("", "no verdict and no rod test")
    try:
        bench, _ = bench_of(barrel)
        scale = scale_of(bench)
        seen, unsaid = evidence_of(bench, scale, tried_in(bench, scale))
    except OrderbookError as problem:
        return LeftOut("", "its readings do not do", f"{problem.where}: {problem.saw}")
    if not seen:
        saw = "; ".join(found.saw for found in unsaid)
        return LeftOut("", "its springs cannot be compared", saw)
    piece = _piece(group_of(barrel), seen, bench, scale)
    if is_turned(piece):
        return LeftOut("", "its verdicts turned round", f"{piece.in_words}: the weaker ran, the stronger did not")
    start = start_of(bench.movement)
    if weigh(start_belief(start.median, start.spread), seen, scale.needed_load()).contradicts:
        return LeftOut("", "its verdicts contradict each other or all practice", piece.in_words)
    return piece


def is_turned(piece: Piece) -> bool:
    """Whether a spring that was too weak drives more than one that was strong enough, beyond their ±."""
    low, high = piece.above, piece.below
    return low is not None and high is not None and low.x - high.x > TURNED * math.hypot(low.u, high.u)


def _piece(group: Group, seen: tuple[Evidence, ...], bench: Bench, scale: Scale) -> Piece:
    more = 0.0 if bench.run_known else RUN_UNKNOWN
    seen = each_once(seen)
    low = [Told(one.at, math.hypot(one.spread, more)) for one in seen if one.kind in TOO_WEAK]
    high = [Told(one.at, math.hypot(one.spread, more)) for one in seen if one.kind == "ran well"]
    high += [_enough_for(one, scale.needed_load(), more) for one in seen if one.kind == "too strong"]
    measured = [Told(one.at, math.hypot(one.spread, more)) for one in seen if one.kind in ("stopped", "rod test")]
    return Piece(group, tuple(low), tuple(high), _together(measured))


def _enough_for(seen: Evidence, needed_load: Floats, more: float) -> Told:
    """The drive whose just-sufficient strip loads 1/1.25 of a spring that was too strong: the need is below it."""
    most = seen.at - math.log(1 + OVERPOWER_MARGIN)
    below = int(np.clip(np.searchsorted(needed_load, most), 1, len(needed_load) - 1))
    slope = float(needed_load[below] - needed_load[below - 1])
    step = float(cell_middles()[below] - cell_middles()[below - 1])
    per_load = step / slope if slope > 0 else 1.0
    x = float(np.interp(most, needed_load, cell_middles()))
    return Told(x, math.hypot(seen.spread * per_load, more))


def _together(measured: list[Told]) -> Told | None:
    """Return the weighted mean of what was measured, with its own ±."""
    if not measured:
        return None
    weights = [told.u**-2 for told in measured]
    mean = sum(w * told.x for w, told in zip(weights, measured, strict=True)) / sum(weights)
    return Told(mean, sum(weights) ** -0.5)
