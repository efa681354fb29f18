"""What practice says a movement was fitted with and needs: drives in per cent of the strongest useful spring's.

Two questions that are not one. *Which spring was in it?* is answered by what makers fitted. *What does it need to keep
running?* is less: makers left a margin, and wear takes some of it back,

    need = fitted ÷ margin × wear,

each of them log-normal and different for a watch and for a clock. What was fitted is worked out from
`fitted_pieces.csv`, published pieces with their sources; margins are judged from the rows of `margins.csv`, which says
where each comes from. The evidence is thin, so the start it gives is rounded, and every answer says which was taken.
"""

from __future__ import annotations

import csv
import math
import tomllib
from collections.abc import Iterable
from dataclasses import dataclass
from functools import cache
from pathlib import Path

from orderbook.barrel.barrel import Barrel
from orderbook.barrel.modelling import Model
from orderbook.barrel.rods import rod_need
from orderbook.errors import Finding, finding
from orderbook.measures import Measured

TRUST = {"good": 1.0, "medium": 0.6, "medium-low": 0.4, "low": 0.2}  # what a published piece counts; ours, no source
WATCH_BORE_MM, WATCH_DEPTH_MM = 24.0, 5.0  # below both a barrel is taken for a watch's; common practice, no source
ROUNDED = 5.0  # per cent, to which a start is known at best
RUN_UNKNOWN = 0.20  # what the spread gains where only a rule of thumb says the turns; common practice, no source


@dataclass(frozen=True, slots=True)
class Share:
    """A log-normal quantity: its median, and the standard deviation of its logarithm."""

    median: float
    spread: float


@dataclass(frozen=True, slots=True)
class Practice:
    """What is known of one kind of movement: drive fitted in per cent, margin left, allowance for wear."""

    movement: str
    fitted: Share
    margin: Share
    wear: Share

    def need_of(self, fitted: Share) -> Share:
        """The need that goes with a fitted drive: ÷ margin × wear."""
        spread = math.hypot(fitted.spread, self.margin.spread, self.wear.spread)
        return Share(fitted.median / self.margin.median * self.wear.median, spread)


@dataclass(frozen=True, slots=True)
class NeedStart:
    """Where a belief about the need begins: median in per cent, spread as a share, and where they come from."""

    median: float
    spread: float
    says: str


@cache
def fitted_pieces() -> tuple[dict[str, str], ...]:
    """The published pieces, one row each as in the file."""
    return _rows("fitted_pieces.csv")


@cache
def practice_of(movement: str) -> Practice:
    """What practice says of a `watch` or a `clock`.

    Fitted: median and spread of ln drive over the pieces that count, weighed by how far each is trusted.
    Raises: KeyError for another word (a mistake of the caller).
    Source: fitted_pieces.csv, margins.csv.

    >>> watch, clock = practice_of("watch"), practice_of("clock")
    >>> round(watch.fitted.median), round(clock.fitted.median)
    (85, 81)
    """
    judged = tomllib.loads((_HERE / "practice.toml").read_text(encoding="utf-8"))[movement]
    rows = [row for row in fitted_pieces() if row["movement"] == movement and row["counts"] == "yes"]
    fitted = _weighed((math.log(float(row["drive_index"])), TRUST[row["trust"]]) for row in rows)
    margin, wear = (Share(judged[name], judged[f"{name}_spread"]) for name in ("margin", "wear"))
    return Practice(movement, fitted, margin, wear)


def movement_of(barrel: Barrel) -> tuple[str, str]:
    """Whether a barrel is a watch's or a clock's, and how that is known.

    As the user says, else a watch's where it is under 24 mm wide and under 5 mm deep.

    >>> movement_of(Barrel(bore=15.6, arbor=5.2, depth=3.1)), movement_of(Barrel(bore=45, arbor=9, movement="clock"))
    (('watch', 'by the size of its barrel'), ('clock', 'as you say'))
    """
    if barrel.movement:
        return barrel.movement, "as you say"
    small = barrel.bore is not None and barrel.bore.value < WATCH_BORE_MM
    flat = barrel.depth is None or barrel.depth.value < WATCH_DEPTH_MM
    return "watch" if small and flat else "clock", "by the size of its barrel"


def start_of(movement: str, drive: str = "going", train: str = "going", group: str = "") -> NeedStart:
    """Where the belief about the need of a movement begins, before anything is known of this one.

    Parameters: watch or clock; the drive, the train and a group of the user's own, by which pieces of one's own may
    tell more: until there are any, the published ones speak for all of them.
    Returns: median and spread, rounded to what they are known to.
    Source: as `practice_of`.

    >>> [(start.median, start.spread) for start in (start_of("watch"), start_of("clock", "fusee", "striking"))]
    [(65.0, 0.25), (55.0, 0.4)]
    """
    practice = practice_of(movement)
    need = practice.need_of(practice.fitted)
    median, spread = ROUNDED * round(need.median / ROUNDED), ROUNDED / 100 * round(100 * need.spread / ROUNDED)
    pieces = sum(row["movement"] == movement and row["counts"] == "yes" for row in fitted_pieces())
    kind = "watches" if movement == "watch" else "clocks"
    return NeedStart(median, spread, f"what makers fitted to {kind}, less their margin ({pieces} published pieces)")


def start_from_original(movement: str, drive: Share) -> NeedStart:
    """Where the belief begins when the spring that the maker fitted survives: its own drive stands for the fitted one.

    Parameters: the original's drive in per cent, and how well its logarithm is known.
    Returns: what makers fitted and what this one shows, weighed by 1/spread², ÷ margin × wear.

    >>> round(start_from_original("watch", Share(70.0, 0.05)).median)
    56
    """
    practice = practice_of(movement)
    fitted = _together(practice.fitted, drive)
    need = practice.need_of(fitted)
    return NeedStart(need.median, need.spread, f"the original, of drive {drive.median:.0f} %, less the usual margin")


def start_with_original(start: NeedStart, movement: str, drive: Share) -> NeedStart:
    """A learned start, where the spring that the maker fitted survives too: both speak of the need.

    Returns: the start and the original's own drive ÷ margin × wear, weighed by 1/spread².

    >>> both = start_with_original(NeedStart(60.0, 0.15, "14 pieces of yours"), "watch", Share(70.0, 0.05))
    >>> round(both.median), round(both.spread, 2)
    (58, 0.12)
    """
    need = _together(Share(start.median, start.spread), practice_of(movement).need_of(drive))
    return NeedStart(need.median, need.spread, f"{start.says}; and the original, of drive {drive.median:.0f} %")


def fitted_drive(barrel: Barrel, model: Model) -> tuple[Measured, tuple[Finding, ...]]:
    """Return the drive that was probably fitted, in per cent with its ±: as makers did, and as rod tests say.

    A rod test tells the need; × margin ÷ wear it tells what was fitted.
    """
    practice = practice_of(movement_of(barrel)[0])
    usual = practice.fitted
    told = rod_need(barrel, model)
    if told is None:
        return _measured(usual, f"what makers fitted to {practice.movement}es and clocks"), ()
    need = 100 * told.need_nmm / model.reference.drive_nmm
    saw = f"{need:.0f} ± {2 * told.u * need:.0f} % of the strongest useful spring's drive, by {told.source}"
    found = [finding("rod_test_says", where="⟨rod⟩", saw=saw)]
    if need * (1 - 2 * told.u) > 100:
        found.append(finding("need_above_strongest", where="⟨rod⟩", saw=saw))
    margin = practice.margin.median / practice.wear.median
    tested = Share(need * margin, math.hypot(told.u, practice.margin.spread, practice.wear.spread))
    return _measured(_together(usual, tested), f"rod tests and what makers fitted ({told.source})"), tuple(found)


def _measured(share: Share, source: str) -> Measured:
    return Measured(share.median, share.spread * share.median, source)


def _together(*shares: Share) -> Share:
    """One quantity told several times: the mean of the logarithms, each weighed by 1/spread²."""
    weights = [share.spread**-2 for share in shares]
    mean = sum(w * math.log(s.median) for w, s in zip(weights, shares, strict=True)) / sum(weights)
    return Share(math.exp(mean), sum(weights) ** -0.5)


def _weighed(logs: Iterable[tuple[float, float]]) -> Share:
    told = list(logs)
    whole = sum(weight for _, weight in told)
    mean = sum(weight * log for log, weight in told) / whole
    spread = math.sqrt(sum(weight * (log - mean) ** 2 for log, weight in told) / whole)
    return Share(math.exp(mean), spread)


_HERE = Path(__file__).resolve().parent


def _rows(name: str) -> tuple[dict[str, str], ...]:
    with (_HERE / name).open(encoding="utf-8", newline="") as lines:
        return tuple(csv.DictReader(lines))
