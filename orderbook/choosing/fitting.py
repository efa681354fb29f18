"""Which springs of a list go into a barrel, cut to what length, and what drive and load each would have."""

from __future__ import annotations

from dataclasses import dataclass, fields, replace

import numpy as np
from numpy.typing import NDArray

from orderbook.catalogue import Catalogue
from orderbook.choosing.belief import Floats, cell_middles
from orderbook.choosing.bench import NEW_FLOW_STRESS, TOLERANCE_MM, Bench, TriedStrip
from orderbook.mechanics import (
    DriveAndLoad,
    Reference,
    SufficientLoad,
    Yardstick,
    drive_and_load,
    index_spread,
    reference_spring,
    spring_length,
    sufficient_load,
    yardstick,
)

FULLEST, EMPTIEST = 0.60, 0.40  # fill that is left whole, and least fill a spring is cut to: common practice, no source
NARROWEST = 0.92  # of the widest strip: a narrower one wanders between floor and cover; common practice, no source
LACKS_FROM = 0.5  # per cent of the widest strip, up to which a narrower one lacks nothing; common practice, no source


@dataclass(frozen=True, slots=True)
class Strips:
    """Springs as columns: sizes and the relative standard uncertainty of each one's own flow stress."""

    width_mm: Floats
    strength_mm: Floats
    length_mm: Floats
    flow_stress_u: Floats

    def __len__(self) -> int:
        """Number of springs."""
        return len(self.width_mm)

    def take(self, rows: NDArray[np.generic]) -> Strips:
        """Return some rows."""
        return Strips(*(getattr(self, f.name)[rows] for f in fields(self)))


@dataclass(frozen=True, slots=True)
class Unfit:
    """A spring that does not go in: the one measure that fails, by how much, and how near it is to going in."""

    row: int
    measure: str
    by: float
    unit: str
    says: str
    far: float


@dataclass(frozen=True, slots=True)
class Fits:
    """The springs that go in, one entry each: which row of the list, and what it would do.

    `trim_to_mm` is nan where the spring is left whole; `set_up_turns` is counted from where its torque begins.
    `lacks` is what it is narrower than it could be, in per cent beyond the first half. Indices are in per cent of the
    reference; `own_u` and `common_u` are standard uncertainties of ln drive: the spring's own, and, with its sign, the
    part all springs share.
    """

    row: NDArray[np.intp]
    trim_to_mm: Floats
    strength_mm: Floats
    width_share: Floats
    delivered_turns: Floats
    set_up_turns: Floats
    fill: Floats
    drive_index: Floats
    load_index: Floats
    own_u: Floats
    common_u: Floats
    load_own_u: Floats
    load_common_u: Floats

    def __len__(self) -> int:
        """Number of springs that go in."""
        return len(self.row)

    @property
    def drive_index_u(self) -> Floats:
        """Standard uncertainty of the drive index, own and common parts together."""
        return np.asarray(self.drive_index * np.hypot(self.own_u, self.common_u))

    @property
    def load_index_u(self) -> Floats:
        """Standard uncertainty of the load index."""
        return np.asarray(self.load_index * np.hypot(self.load_own_u, self.load_common_u))

    @property
    def lacks(self) -> Floats:
        """Per cent of the widest strip that each is narrower, beyond the first half."""
        return np.maximum(100 * (1 - self.width_share) - LACKS_FROM, 0.0)

    def take(self, rows: NDArray[np.generic]) -> Fits:
        """Return some of them."""
        return Fits(*(getattr(self, f.name)[rows] for f in fields(self)))


@dataclass(frozen=True, slots=True)
class Scale:
    """What springs of a barrel are measured by: its strongest useful spring, and just-sufficient strips below it."""

    yardstick: Yardstick
    enough: SufficientLoad

    @property
    def reference(self) -> Reference:
        """The strongest useful spring."""
        return self.yardstick.reference

    def needed_load(self) -> Floats:
        """ln of the load of the just-sufficient strip at each cell of the belief, against the reference's load."""
        return np.asarray(np.log(self.enough.at(100 * np.exp(cell_middles())) / self.reference.load_nmm))


def scale_of(bench: Bench) -> Scale:
    """The strongest useful spring of the barrel, its movement with the common flow stress, and what is sufficient.

    Raises: OrderbookError(code="run_not_possible") where no spring can give the turns.
    """
    steel = {"flow_stress_mpa": bench.flow_stress_mpa, "modulus_mpa": bench.modulus_mpa}
    sizes = (bench.bore_mm, bench.arbor_mm)
    best = reference_spring(*sizes, bench.widest_mm, bench.run, bench.fill, **steel)
    of = yardstick(*sizes, best, bench.run, common_flow_stress_u=bench.flow_stress_u, **steel)
    return Scale(of, sufficient_load(*sizes, best, bench.run, bench.fill, **steel))


def strips_of(catalogue: Catalogue) -> Strips:
    """The springs of a list as new strips."""
    return Strips(
        catalogue.width_mm, catalogue.strength_mm, catalogue.length_mm, np.full(len(catalogue), NEW_FLOW_STRESS)
    )


def strip_of(spring: TriedStrip) -> Strips:
    """A spring that was seen, as a column of one."""
    sizes = (spring.width_mm, spring.strength_mm, spring.length_mm, spring.flow_stress_u)
    return Strips(*(np.array([value]) for value in sizes))


def fit(bench: Bench, strips: Strips, of: Yardstick) -> tuple[Fits, tuple[Unfit, ...]]:
    """Sort springs into those that go in and those that do not, nearest first.

    Width must leave the clearance and not wander; a spring is left whole while its fill is at most 0.60 and its
    turns suffice, else cut to the length between fill 0.40 and 0.60 that gives the greatest drive.
    """
    found = sift(bench, strips)
    went = found.goes
    made = replace(strips.take(went), length_mm=found.length_mm[went])
    cut = np.where(made.length_mm < strips.length_mm[went], made.length_mm, np.nan)
    fits = fits_of(bench, made, np.flatnonzero(went), cut, of)
    out = np.flatnonzero(~went)
    order = out[np.argsort(found.far[out], kind="stable")].tolist()
    return fits, tuple(_unfit(bench, row, float(found.by_width[row]), float(found.short_by[row])) for row in order)


@dataclass(frozen=True, slots=True)
class Sift:
    """Which springs go in, one entry a spring, the length each is used at, and by how much the others fail.

    `by_width` in mm, nan where the width does; `short_by` in turns, infinite where there is no torque over the run;
    `far` is 0 for what goes in, else how far it is from going in, as a share of the width or of the turns.
    """

    goes: NDArray[np.bool_]
    length_mm: Floats
    by_width: Floats
    short_by: Floats
    far: Floats


def sift(bench: Bench, strips: Strips) -> Sift:
    """Sort springs by whether they go in; each distinct size is worked out once."""
    by_width = _width_fails(bench, strips)
    rows = np.flatnonzero(np.isnan(by_width))
    once, back = _distinct(strips.take(rows))
    lengths = _lengths(bench, once)
    found = _drive_and_load(bench, replace(once, length_mm=lengths))
    goes, length_mm, short_by = np.zeros(len(strips), bool), strips.length_mm.copy(), np.zeros(len(strips))
    goes[rows] = (found.eligible & (found.drive_nmm > 0))[back]
    length_mm[rows] = lengths[back]
    short_by[rows] = np.nan_to_num(found.short_by_turns, nan=np.inf)[back]
    far = np.where(np.isnan(by_width), short_by / bench.run.used_turns, np.abs(by_width) / bench.widest_mm)
    return Sift(goes, length_mm, by_width, short_by, np.where(goes, 0.0, far))


def _distinct(strips: Strips) -> tuple[Strips, NDArray[np.intp]]:
    """The distinct strips, and for each strip which of them it is."""
    columns = np.column_stack([getattr(strips, f.name) for f in fields(strips)])
    _, first, back = np.unique(columns, axis=0, return_index=True, return_inverse=True)
    return strips.take(first), np.asarray(back).reshape(-1)


def index_and_doubt(bench: Bench, strips: Strips, of: Yardstick) -> tuple[Floats, ...]:
    """Drive index, load index and how well their logarithms are known: own, common; own, common.

    The common part has a sign, as `mechanics.index_spread` says.
    """
    found = index_spread(
        bench.bore_mm,
        bench.arbor_mm,
        strips.width_mm,
        strips.strength_mm,
        strips.length_mm,
        bench.run,
        of,
        strength_u_mm=TOLERANCE_MM / 3**0.5,
        own_flow_stress_u=strips.flow_stress_u,
        flow_stress_mpa=bench.flow_stress_mpa,
        modulus_mpa=bench.modulus_mpa,
    )
    return tuple(getattr(found, f.name) for f in fields(found))


def _drive_and_load(bench: Bench, strips: Strips) -> DriveAndLoad:
    sizes = (bench.bore_mm, bench.arbor_mm, strips.width_mm, strips.strength_mm, strips.length_mm)
    steel = {"flow_stress_mpa": bench.flow_stress_mpa, "modulus_mpa": bench.modulus_mpa}
    return drive_and_load(*sizes, bench.run, **steel)


def _width_fails(bench: Bench, strips: Strips) -> Floats:
    over = strips.width_mm - bench.widest_mm
    under = strips.width_mm - NARROWEST * bench.widest_mm
    return np.where(over > 1e-9, over, np.where(under < -1e-9, under, np.nan))


def _lengths(bench: Bench, strips: Strips) -> Floats:
    """Length each spring is used at, whole millimetres where it is cut."""
    whole = _drive_and_load(bench, strips)
    cut = ~((whole.fill <= FULLEST) & whole.eligible) & (whole.fill > EMPTIEST)
    lengths = strips.length_mm.copy()
    rows = np.flatnonzero(cut)
    if not len(rows):
        return lengths
    fills = np.linspace(EMPTIEST, FULLEST, 21)
    thick = strips.strength_mm[rows, None]
    tried = np.floor(np.asarray(spring_length(bench.bore_mm, bench.arbor_mm, thick, fills[None, :])))
    tried = np.minimum(tried, strips.length_mm[rows, None])
    width, strength, u = (c[rows, None] for c in (strips.width_mm, strips.strength_mm, strips.flow_stress_u))
    found = _drive_and_load(bench, Strips(*np.broadcast_arrays(width, strength, tried, u)))
    worth = np.where(found.eligible, found.drive_nmm, -1.0 - np.nan_to_num(found.short_by_turns, nan=1e9))
    lengths[rows] = np.take_along_axis(tried, worth.argmax(axis=1)[:, None], axis=1)[:, 0]
    return lengths


def fits_of(bench: Bench, strips: Strips, rows: NDArray[np.intp], trim_to_mm: Floats, of: Yardstick) -> Fits:
    """What springs of these lengths do in the barrel; each distinct size is worked out once."""
    once, back = _distinct(strips)
    here = _drive_and_load(bench, once)
    columns = (here.delivered_turns, here.set_up_turns, here.fill, *index_and_doubt(bench, once, of))
    sizes = (strips.strength_mm, strips.width_mm / bench.widest_mm)
    return Fits(rows, trim_to_mm, *sizes, *(np.asarray(column)[back] for column in columns))


def _unfit(bench: Bench, row: int, by_width: float, short_by: float) -> Unfit:
    return _too_few_turns(bench, row, short_by) if np.isnan(by_width) else _too_wide_or_narrow(bench, row, by_width)


def _too_wide_or_narrow(bench: Bench, row: int, by: float) -> Unfit:
    word = "wide" if by > 0 else "narrow"
    return Unfit(row, "width", abs(by), "mm", f"{abs(by):.2f} mm too {word}", abs(by) / bench.widest_mm)


def _too_few_turns(bench: Bench, row: int, short: float) -> Unfit:
    many = f"{short:.1f}" if short >= 0.05 else "less than 0.1"
    says = f"{many} turns too few" if np.isfinite(short) else "gives no torque over the run"
    return Unfit(row, "delivered turns", short, "turns", says, short / bench.run.used_turns)
