"""What a plan may hold: the hard limits of the advice, and where it stops.

The plan keeps to what will be said after each trial, so that no spring is sold that nobody would then fit.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from orderbook.barrel.springs_seen import spring_said
from orderbook.choosing.belief import Floats, cell_edges
from orderbook.choosing.evidence import LEAST_MASS, MOST_DOUBT, TOO_WEAK, WRONG, Weighed
from orderbook.choosing.fitting import Fits
from orderbook.choosing.seen import TriedSpring
from orderbook.choosing.springs import Flags
from orderbook.mechanics import Reference

SAME = 1e-3  # of a logarithm: less than a cell of the grid
NEARLY_STRONGEST = 96.0  # drive index from which no spring can drive clearly more: common practice, no source
NO_CURE = 0.8  # chance that the need is above the most a barrel gives, from which nothing is proposed; ours, no source
# the plan takes a trial as exact and the advice does not: it keeps off the advice's bounds by so much
CLEAR = 1.25
WIDE_ENOUGH = 0.97  # of the widest strip: a narrower one is taken where no other of about its drive serves
ABOUT = 0.2  # how far apart in ln drive a wide spring serves for a narrow one, one step of strength; ours, no source


SMALL_STEP = 0.12  # of strength above one that was too weak, within which the next is tried: common practice, no source


@dataclass(frozen=True, slots=True)
class MayPropose:
    """Of springs that go in: which may be proposed, of the others why not, and whether a spring tried says so.

    `only_too_strong`: all that can be had load more than the strongest useful spring.
    """

    may: Flags
    why_not: tuple[str, ...]
    by_trial: Flags
    only_too_strong: bool


def limits(fits: Fits, reference: Reference, tried: tuple[TriedSpring, ...], can_be_had: Flags) -> MayPropose:
    """Which springs a plan may hold, of those that can be had.

    None that drives no more than one that was too weak, or drives or loads as much as one that was too strong, or more
    than one that ran well; none stronger than the strongest useful spring, unless nothing else goes in; none that is
    narrow where a wider one of about its drive serves.
    """
    why = np.full(len(fits), "", dtype=object)
    for bad, says in _ruled_out(fits, tried):
        why[(why == "") & bad] = says
    by_trial = why != ""
    strongest = (fits.strength_mm > reference.strength_mm * (1 + 1e-9)) | (fits.load_index > 100 + 1e-6)
    only_too_strong = bool(can_be_had.any() and strongest[can_be_had].all())
    if not only_too_strong:
        why[(why == "") & strongest] = "loads more than the strongest useful spring of this barrel"
    narrow = (why == "") & can_be_had & (fits.width_share < WIDE_ENOUGH)
    wide = (why == "") & can_be_had & ~narrow
    if narrow.any() and wide.any():
        there = np.sort(np.log(fits.drive_index[wide]))
        here = np.log(fits.drive_index[narrow])
        place = np.searchsorted(there, here)
        near = np.minimum(
            np.abs(here - there[np.clip(place, 0, len(there) - 1)]),
            np.abs(here - there[np.clip(place - 1, 0, len(there) - 1)]),
        )
        share = 100 * (1 - fits.width_share[narrow])
        said = [f"{100 - s:.0f} % of the width; a wider one of about its drive is there" for s in share]
        why[np.flatnonzero(narrow)[near <= ABOUT]] = [s for s, n in zip(said, near, strict=True) if n <= ABOUT]
    return MayPropose(why == "", tuple(why.tolist()), np.asarray(by_trial, dtype=bool), only_too_strong)


def _ruled_out(fits: Fits, tried: tuple[TriedSpring, ...]) -> list[tuple[Flags, str]]:
    """What each spring that was tried rules out, with the words for it."""
    found: list[tuple[Flags, str]] = []
    for one in tried:
        more, as_much = 1 + SAME, 1 - SAME
        said, verdict = spring_said(one.spring.said), one.spring.verdict
        if verdict in TOO_WEAK:
            failed = "never ran" if verdict == "never ran" else "was too weak"
            least = max(one.drive, one.load_as_drive) if verdict == "never ran" else one.drive
            found.append((fits.drive_index <= least * more, f"drives no more than {said}, which {failed}"))
        elif verdict == "too strong":
            bad = (fits.load_index >= one.load * as_much) | (fits.drive_index >= one.drive * as_much)
            found.append((bad, f"as strong as {said}, which was too strong, or stronger"))
        elif verdict == "ran well":
            bad = (fits.drive_index > one.drive * more) | (fits.load_index > one.load * more)
            found.append((bad, f"stronger than {said}, which ran well"))
    return found


def hardest_failed(tried: tuple[TriedSpring, ...]) -> TriedSpring | None:
    """Of the springs that were too weak or never ran, the one that drives the most."""
    failed = [one for one in tried if one.spring.verdict in TOO_WEAK and one.drive > 0]
    return max(failed, key=lambda one: one.drive, default=None)


def may_begin(fits: Fits, tried: tuple[TriedSpring, ...], in_any_case: Flags) -> Flags:
    """Which springs may be the first to be fitted.

    After one that was too weak those of a small step in strength, where one of the full width is there; what is at hand
    already, or was asked for by name (`in_any_case`), may always be. All of them where nothing is so near.
    """
    everything = np.ones(len(fits), bool)
    failed = hardest_failed(tried)
    if failed is None:
        return everything
    near = fits.strength_mm <= (1 + SMALL_STEP) * failed.spring.strength_mm * (1 + 1e-9)
    return near | in_any_case if (near & (fits.width_share >= WIDE_ENOUGH)).any() else everything


def stops(fits: Fits, weighed: Weighed, *, even_so: bool) -> Flags:
    """Which springs end the work if they are too weak: what would then be said is to look for the fault elsewhere.

    One that drives nearly all that any spring can, or loads as much as the strongest useful one; one after whose
    failure no spring is probably the cure; one whose failure would contradict what is known.
    """
    if even_so or not len(fits):
        return np.zeros(len(fits), bool)
    nearly = (fits.drive_index >= NEARLY_STRONGEST) | (fits.load_index >= 100 - 1e-6)
    above = _above(weighed.belief.p, fits.drive_index)
    most = max(100.0, float(fits.drive_index.max()))
    beyond = _above(weighed.belief.p, np.array([most]))[0]
    no_cure = beyond >= NO_CURE / CLEAR**0.5 * np.maximum(above, 1e-300)
    right = _above(weighed.right, fits.drive_index)
    whole = float(weighed.right.sum())
    left = weighed.mass_all_right * right / whole if whole > 0 else 0 * right
    used = (1 - WRONG) * above + WRONG
    sure = (1 - weighed.chance_one_is_wrong) * (1 - WRONG) * right / max(whole, 1e-300)
    doubt = 1 - sure / used
    contradicts = (left < CLEAR * LEAST_MASS) | (doubt > MOST_DOUBT / CLEAR)
    return np.asarray(nearly | no_cure | contradicts)


def _above(p: Floats, drive_index: Floats) -> Floats:
    """Sum of a density above each drive index."""
    edges = cell_edges()
    tail = np.concatenate([np.cumsum(p[::-1])[::-1], [0.0]])
    return np.asarray(np.interp(np.log(drive_index / 100), edges, tail))
