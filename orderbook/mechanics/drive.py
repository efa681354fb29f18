"""Drive and load: the least and the greatest torque over the run, and the strongest useful spring of a barrel.

What stops a train is the least torque over the run; what wears it is the greatest. A thicker spring has fewer turns,
so over the same run its least torque rises with strength to a peak and then falls, while its greatest only grows.
"""

from __future__ import annotations

from dataclasses import dataclass, fields, replace
from typing import Any, Literal

import numpy as np
import numpy.typing as npt

from orderbook.errors import error
from orderbook.mechanics.arithmetic import COLUMNS
from orderbook.mechanics.barrel import band_growth, floor_area
from orderbook.mechanics.energy import strain, strain_wound
from orderbook.mechanics.fusee import LEAST_SET_UP_TURNS, Cone, best_set_up, torque_at_fusee, usual_cone
from orderbook.mechanics.given import Number, above_zero, as_given, barrel_is_right, fill_is_right
from orderbook.mechanics.strip import Winding, flattened, part_of
from orderbook.mechanics.table import tabulate
from orderbook.mechanics.torque import FLOW_STRESS_MPA, MODULUS_MPA, ready
from orderbook.mechanics.winding import moment_at, winding

Array = npt.NDArray[np.float64]
RESERVE_TURNS = {
    "going": 0.5,
    "fusee": 0.75,
}  # going: common practice, no source; fusee: Spon, *Workshop Receipts*, 1885
SET_UP_TURNS = 0.5  # with stop-work, where none is given; common practice, no source
TOGETHER = 256  # springs whose tables are kept at a time
THINNEST_MM = 0.03  # no thinner strip is sold for barrels; common practice, no source


@dataclass(frozen=True, slots=True)
class Run:
    """What one winding must do: turns used between windings, and how the barrel is kept within them.

    Set-up and reserve not given are the usual ones; with a fusee each spring then gets its own best set-up of ½ to 1¾
    turns. A set-up that was recorded is that of every spring. It is counted from where the run ends.
    """

    used_turns: Any  # a number, or one for each spring
    drive: Literal["going", "fusee"] = "going"
    set_up_turns: float | None = None
    reserve_turns: float | None = None
    stop_work: bool = False
    fusee: Cone | None = None
    ratchet_teeth: int | None = None

    @property
    def reserve(self) -> float:
        """Turns kept back: as given, else the usual ones."""
        return RESERVE_TURNS[self.drive] if self.reserve_turns is None else self.reserve_turns

    @property
    def least_set_up(self) -> float:
        """Turns of set-up that a spring must leave room for."""
        if self.set_up_turns is not None:
            return self.set_up_turns
        if self.drive == "fusee":
            return LEAST_SET_UP_TURNS
        return SET_UP_TURNS if self.stop_work else 0.0

    @property
    def from_run_down(self) -> bool:
        """Whether the window is counted from the set-up, and not back from fully wound."""
        return self.drive == "fusee" or self.stop_work or self.set_up_turns is not None

    @property
    def cone(self) -> Cone:
        """The cone as measured, else the usual one."""
        return self.fusee or usual_cone()


@dataclass(frozen=True, slots=True)
class DriveAndLoad:
    """For each spring: least, greatest and mean torque over the run (with a fusee: at the fusee), and the turns."""

    drive_nmm: Array
    load_nmm: Array
    mean_nmm: Array
    slack_turns: Array
    delivered_turns: Array
    turns: Array
    fill: Array
    set_up_turns: Array
    eligible: npt.NDArray[np.bool_]
    short_by_turns: Array


@dataclass(frozen=True, slots=True)
class Reference:
    """The strongest useful spring of a barrel: beyond it more load, no more drive."""

    width_mm: Any
    strength_mm: Any
    length_mm: Any
    drive_nmm: Any
    load_nmm: Any


def drive_and_load(
    bore_mm: Number,
    arbor_mm: Number,
    width_mm: Number,
    strength_mm: Number,
    length_mm: Number,
    run: Run,
    *,
    flow_stress_mpa: Number = FLOW_STRESS_MPA,
    modulus_mpa: Number = MODULUS_MPA,
) -> DriveAndLoad:
    """Least and greatest torque of each spring over the run, frictionless.

    Going barrel: M over N − used … N. With set-up: over θ0 + set-up … θ0 + set-up + used, and with a fusee M·r_f/R_c.

    Parameters: lengths in mm, columns that broadcast, barrel dimensions included; MPa.
    Returns: columns; springs that do not go in, or leave too few turns, have nan torque or eligible False.
    Raises: OrderbookError for a barrel or run that makes no sense; a spring never raises.
    Source: definition of this project; the torque as `spring_torque`.

    >>> thin_and_thick = drive_and_load(15.6, 5.2, 2.9, [0.15, 0.21], [566.3, 404.4], Run(3.5))
    >>> thin_and_thick.drive_nmm.round(1), thin_and_thick.load_nmm.round(1)
    (array([18.9, 26.6]), array([26. , 52.7]))
    """
    bore, arbor = as_given(bore=bore_mm, arbor=arbor_mm)
    barrel_is_right(bore, arbor)
    above_zero(unit="turns", turns_used=np.asarray(run.used_turns, dtype=float))
    given = as_given(width=width_mm, strength=strength_mm, length=length_mm, flow=flow_stress_mpa, modulus=modulus_mpa)
    (used,) = as_given(turns_used=run.used_turns)
    columns = [np.atleast_1d(c) for c in np.broadcast_arrays(bore, arbor, *given, used)]
    shape = columns[0].shape
    bore, arbor, width, strength, length, flow, modulus, used = (c.ravel() for c in columns)
    with np.errstate(invalid="ignore", divide="ignore"):
        fill = length * strength / floor_area(bore, arbor)
        fits = (fill > 0) & (fill < 1) & (width > 0) & (strength > 0)
    if not fits.any():
        return _shaped(_nothing(fill), shape)
    kept = [c[fits] for c in (bore / 2, arbor / 2, width, strength, length, flow, modulus)]
    found = _window(winding(COLUMNS, *kept), replace(run, used_turns=used[fits]))
    return _shaped(_put_back(found, fits, fill), shape)


def reference_spring(
    bore_mm: Number,
    arbor_mm: Number,
    width_mm: Number,
    run: Run,
    fill: Number = 0.5,
    *,
    flow_stress_mpa: Number = FLOW_STRESS_MPA,
    modulus_mpa: Number = MODULUS_MPA,
    near_mm: float | None = None,
) -> Reference:
    """The spring of greatest drive in this barrel over this run: the strongest useful one.

    Parameters: lengths in mm, floats or columns; fill 0…1; near_mm, where its strength is about known already.
    Returns: width, strength and length in mm, drive and load in N·mm; floats if all that is given is.
    Raises: OrderbookError(run_not_possible) where no spring can give the turns; in columns nan instead.
    Source: definition of this project.

    >>> best = reference_spring(15.6, 5.2, 2.9, Run(3.5))
    >>> round(best.strength_mm, 3), round(best.drive_nmm, 1)
    (0.21, 26.6)
    """
    bore, arbor, width, fill = as_given(bore=bore_mm, arbor=arbor_mm, width=width_mm, fill=fill)
    barrel_is_right(bore, arbor)
    above_zero(width=width)
    fill_is_right(fill)
    flow, modulus, used = as_given(flow_stress=flow_stress_mpa, modulus=modulus_mpa, turns_used=run.used_turns)
    above_zero(unit="turns", turns_used=used)
    columns = np.broadcast_arrays(bore, arbor, width, fill, flow, modulus, used)
    bore, arbor, width, fill, flow, modulus, used = (np.atleast_1d(c).ravel()[:, None] for c in columns)
    thickest = band_growth(bore, arbor, fill) / (used + run.reserve + run.least_set_up)
    floor = fill * floor_area(bore, arbor)

    def springs(strength: Array) -> tuple[Array, Any]:
        given = (bore / 2, arbor / 2, 1.0, strength, floor / strength, flow, modulus, used)
        *strip, turns = (c.ravel() for c in np.broadcast_arrays(*given))
        drive, able = _least_torque(winding(COLUMNS, *strip), replace(run, used_turns=turns))
        return drive.reshape(strength.shape), able.reshape(strength.shape) & np.asarray(strength >= THINNEST_MM)

    strength = _peak(springs, thickest, near_mm)
    length = floor / strength
    run = replace(run, used_turns=used)
    best = drive_and_load(bore, arbor, width, strength, length, run, flow_stress_mpa=flow, modulus_mpa=modulus)
    if np.isnan(strength).any() and columns[0].shape == ():
        raise _not_possible(run, float(band_growth(bore, arbor, fill).flat[0]))
    answer = (width, strength, length, best.drive_nmm, best.load_nmm)
    shape = columns[0].shape
    return Reference(*(float(a.flat[0]) if shape == () else a.reshape(shape) for a in answer))


def least_torque(
    bore_mm: Any, arbor_mm: Any, strength_mm: Any, length_mm: Any, run: Run, flow_stress_mpa: Any, modulus_mpa: Any
) -> Array:
    """Least torque over the run per mm of width, for columns that are known to go in: the drive alone, in less time.

    >>> least_torque(15.6, 5.2, np.array([0.15, 0.21]), np.array([566.3, 404.4]), Run(3.5), 1700.0, 206000.0).round(2)
    array([6.53, 9.18])
    """
    given = (bore_mm / 2, arbor_mm / 2, 1.0, strength_mm, length_mm, flow_stress_mpa, modulus_mpa, run.used_turns)
    columns = np.broadcast_arrays(*given)
    *strip, used = (c.ravel() for c in columns)
    drive, _ = _least_torque(winding(COLUMNS, *strip), replace(run, used_turns=used))
    return drive.reshape(columns[0].shape)


def torque_after(
    bore_mm: float,
    arbor_mm: float,
    width_mm: float,
    strength_mm: float,
    length_mm: float,
    run: Run,
    turns_run_off: float,
    *,
    flow_stress_mpa: float = FLOW_STRESS_MPA,
    modulus_mpa: float = MODULUS_MPA,
) -> float:
    """Torque of one spring when its barrel has run off so many turns since it was wound; with a fusee, at the fusee.

    Parameters: lengths in mm; barrel turns since the window's wound end; MPa.
    Returns: N·mm; nan where the spring gives fewer turns than the run, and with a fusee beyond the run.
    Raises: as `spring_torque`.
    Source: as `drive_and_load`.

    >>> round(torque_after(15.6, 5.2, 2.9, 0.21, 404.4, Run(3.5), 3.5), 1)
    26.6
    """
    given = (bore_mm, arbor_mm, width_mm, strength_mm, length_mm, flow_stress_mpa, modulus_mpa)
    strip, _, turns = ready(*given, np.array([float(turns_run_off)]))
    strip = flattened(strip)
    here = _window(strip, replace(run, used_turns=np.array([float(run.used_turns)])))
    if run.drive == "fusee":
        profile = run.cone.profile()
        along = torque_at_fusee(tabulate(strip), profile, np.array([run.used_turns]), here.set_up_turns)[0]
        share = turns_run_off / run.used_turns  # beyond the run there is no chain left on the cone
        return float(np.interp(share, profile.run_off, along)) if share <= 1 + 1e-9 else float("nan")
    wound = here.slack_turns + here.set_up_turns + run.used_turns
    return float(np.where(wound <= strip.turns * (1 + 1e-9), _torque(strip, wound - turns), np.nan)[0])


def strongest_useful(bore_mm: Number, arbor_mm: Number, used_turns: Number, fill: Number = 0.5) -> Any:
    """Strength of the strongest useful spring of a going barrel: beyond it more load, no more drive.

    Parameters: bore and arbor in mm; turns used between windings.
    Returns: mm.
    Raises, Source: as `reference_spring`.

    >>> round(strongest_useful(15.6, 5.2, 3.5), 3)
    0.21
    """
    return reference_spring(bore_mm, arbor_mm, 1.0, Run(used_turns), fill).strength_mm


def drive_index(
    bore_mm: Number,
    arbor_mm: Number,
    used_turns: Number,
    width_mm: Number,
    strength_mm: Number,
    length_mm: Number,
    set_up_turns: float | None = None,
    ref_width_mm: Number | None = None,
    ref_strength_mm: Number | None = None,
    ref_length_mm: Number | None = None,
) -> Any:
    """Least torque at the barrel over the run, in per cent of the strongest useful spring's.

    Parameters: lengths in mm; turns; set-up given: over θ0 + set-up … + used, left out: over N − used … N.
    Returns: per cent; nan where the spring does not go in or leaves too few turns.
    Raises: as `drive_and_load`.
    Source: definition of this project.

    >>> round(drive_index(15.6, 5.2, 3.5, 2.9, 0.15, 566.3), 1)
    71.1
    """
    spring = (width_mm, strength_mm, length_mm)
    return _index(
        "drive_nmm", bore_mm, arbor_mm, used_turns, spring, set_up_turns, (ref_width_mm, ref_strength_mm, ref_length_mm)
    )


def load_index(
    bore_mm: Number,
    arbor_mm: Number,
    used_turns: Number,
    width_mm: Number,
    strength_mm: Number,
    length_mm: Number,
    set_up_turns: float | None = None,
    ref_width_mm: Number | None = None,
    ref_strength_mm: Number | None = None,
    ref_length_mm: Number | None = None,
) -> Any:
    """Greatest torque at the barrel over the run, in per cent of the strongest useful spring's: as `drive_index`.

    >>> round(load_index(15.6, 5.2, 3.5, 2.9, 0.15, 566.3), 1)
    49.4
    """
    spring = (width_mm, strength_mm, length_mm)
    return _index(
        "load_nmm", bore_mm, arbor_mm, used_turns, spring, set_up_turns, (ref_width_mm, ref_strength_mm, ref_length_mm)
    )


def _index(
    which: str, bore: Any, arbor: Any, used: Any, spring: tuple[Any, Any, Any], set_up: float | None, reference: Any
) -> Any:
    run = Run(used, set_up_turns=set_up)
    width, strength, length = reference
    if strength is None:
        best = reference_spring(bore, arbor, spring[0] if width is None else width, run)
        of = getattr(best, which)
    else:
        length = length if length is not None else 0.5 * floor_area(bore, arbor) / strength
        of = getattr(drive_and_load(bore, arbor, spring[0] if width is None else width, strength, length, run), which)
    here = drive_and_load(bore, arbor, *spring, run)
    percent = np.where(here.eligible, 100 * getattr(here, which) / of, np.nan)
    return float(percent.flat[0]) if all(np.ndim(v) == 0 for v in (bore, arbor, used, *spring)) else percent


def _window(strip: Winding, run: Run) -> DriveAndLoad:
    used, delivered = run.used_turns, strip.turns - strip.slack
    short = _short_by(strip, run)
    if run.drive == "fusee":
        set_up, torque = _along_fusee(strip, run)
        drive, load, mean = torque.min(axis=-1), torque.max(axis=-1), torque.mean(axis=-1)
    else:
        set_up = _set_up(strip, run)
        drive, load, mean = _at_barrel(strip, set_up, used, run.from_run_down)
    lost = np.where(delivered >= used, 1.0, np.nan)
    return DriveAndLoad(
        drive_nmm=drive * lost,
        load_nmm=load * lost,
        mean_nmm=mean * lost,
        slack_turns=strip.slack,
        delivered_turns=delivered,
        turns=strip.turns,
        fill=strip.room / (strip.core_square + strip.room - strip.arbor_square),
        set_up_turns=set_up,
        eligible=short <= 0,
        short_by_turns=short,
    )


def _least_torque(strip: Winding, run: Run) -> tuple[Array, npt.NDArray[np.bool_]]:
    """Drive of springs that go in, and whether they leave enough turns."""
    if run.drive == "fusee":
        drive = _along_fusee(strip, run)[1].min(axis=-1)
    else:
        drive = _torque(strip, strip.slack + _set_up(strip, run))
    return drive, _short_by(strip, run) <= 0


def _short_by(strip: Winding, run: Run) -> Array:
    asked = run.least_set_up + run.used_turns + run.reserve
    return np.asarray(np.maximum(asked - (strip.turns - strip.slack), 0.0))


def _set_up(strip: Winding, run: Run) -> Array:
    """Turns from where the torque begins to where the window does."""
    delivered = strip.turns - strip.slack
    return np.full_like(delivered, run.least_set_up) if run.from_run_down else np.asarray(delivered - run.used_turns)


def _along_fusee(strip: Winding, run: Run) -> tuple[Array, Array]:
    """Set-up of each spring, as given or else the most even of the usual ones, and its torque along the fusee."""
    parts = [slice(at, at + TOGETHER) for at in range(0, len(strip.turns), TOGETHER)]
    if len(parts) > 1:
        found = [_along_fusee(part_of(strip, part), replace(run, used_turns=run.used_turns[part])) for part in parts]
        set_up, torque = (np.concatenate(column) for column in zip(*found, strict=True))
        return set_up, torque
    table, profile = tabulate(strip), run.cone.profile()
    set_up = _set_up(strip, run)
    if run.set_up_turns is None:
        most = np.maximum(strip.turns - strip.slack - run.used_turns - run.reserve, 0.0)
        set_up = best_set_up(table, profile, run.used_turns, most)
    return set_up, torque_at_fusee(table, profile, run.used_turns, set_up)


def _at_barrel(strip: Winding, set_up: Array, used: Any, from_run_down: bool) -> tuple[Array, Array, Array]:
    """Torque at the two ends of the window, and its mean by the work done between them."""
    low = _torque(strip, strip.slack + set_up)
    if from_run_down:
        high = _torque(strip, strip.slack + set_up + used)
        wound = strain(strip, high / strip.stiffness, COLUMNS)
    else:
        high, wound = strip.most * strip.stiffness, strain_wound(strip, COLUMNS)
    return low, high, (wound - strain(strip, low / strip.stiffness, COLUMNS)) / (2 * np.pi * used)


def _torque(strip: Winding, turns: Array) -> Array:
    turns = np.clip(turns, 0.0, strip.turns)
    moment = strip.stiffness * moment_at(strip, turns, COLUMNS)
    return np.where(turns > strip.slack, np.maximum(moment, 0.0), 0.0)


def _peak(springs: Any, thickest: Array, near: float | None) -> Array:
    """Find the strength of greatest drive: a grid, closer grids around its best point, a parabola through the last."""
    low, high = np.minimum(np.maximum(0.06 * thickest, THINNEST_MM), thickest), thickest
    if near is not None:
        low, high = np.maximum(low, 0.7 * near), np.minimum(high, 1.5 * near)
        high = np.maximum(low, high)
    rounds, at_edge = [33, 13, 13] if near is None else [17, 9, 9], False
    for round_, points in enumerate([*rounds, 9, 9, 9]):
        if round_ >= len(rounds) and not at_edge:
            break
        strength = low + (high - low) * np.linspace(0.0, 1.0, points)
        drive, able = springs(strength)
        drive = np.where(able, drive, -np.inf)
        best = np.argmax(drive, axis=-1)[:, None]
        step = (high - low) / (points - 1)
        here = np.take_along_axis(strength, best, axis=-1)
        low, high = np.maximum(here - step, low), np.minimum(here + step, high)
        # where the next thicker spring has too few turns there is no rounded peak: go on to the edge itself
        at_edge = bool(np.any(~np.take_along_axis(able, np.minimum(best + 1, points - 1), axis=-1)))
    tried = np.concatenate([here, here + step * _aside(drive, best)], axis=-1)
    drive, able = springs(tried)
    drive = np.where(able, drive, -np.inf)
    best = np.argmax(drive, axis=-1)[:, None]
    found = np.isfinite(np.take_along_axis(drive, best, axis=-1))
    return np.asarray(np.where(found, np.take_along_axis(tried, best, axis=-1), np.nan))


def _aside(drive: Array, best: npt.NDArray[np.intp]) -> Array:
    """Where a peak may lie, in steps from the best point: of a parabola, or a ridge on either side of that point.

    A ridge, where two straight slopes meet, is what the reserve makes of a fusee's drive.
    """
    around = best + np.arange(-2, 3)
    inside = (around >= 0) & (around < drive.shape[-1])
    far_left, left, top, right, far_right = np.where(
        inside, np.take_along_axis(drive, np.clip(around, 0, drive.shape[-1] - 1), axis=-1), np.nan
    ).T
    with np.errstate(invalid="ignore", divide="ignore"):
        round_ = 0.5 * (left - right) / (left - 2 * top + right)
        above = (2 * right - far_right - top) / (top - left - far_right + right)
        below = (top - 2 * left + far_left) / (left - far_left - right + top)
        places = np.stack([np.clip(round_, -1, 1), np.clip(above, 0, 1), np.clip(below, -1, 0)], axis=-1)
    return np.where(np.isfinite(places), places, 0.0)


def _not_possible(run: Run, growth: float) -> Exception:
    most = max(growth / THINNEST_MM - run.reserve - run.least_set_up, 0.0)
    used = float(np.max(run.used_turns))
    saw = (
        f"{used:g} turns between windings, {run.reserve:g} of reserve, {run.least_set_up:g} of set-up; "
        f"the thinnest strip of {THINNEST_MM:g} mm leaves at most {most:.1f}, its slack not yet taken off"
    )
    return error("run_not_possible", where="turns used", saw=saw)


def _nothing(fill: Array) -> DriveAndLoad:
    drive, load, mean, slack, delivered, turns, set_up, short = (np.full_like(fill, np.nan) for _ in range(8))
    none = np.zeros(fill.shape, bool)
    return DriveAndLoad(drive, load, mean, slack, delivered, turns, fill, set_up, none, short)


def _put_back(found: DriveAndLoad, fits: npt.NDArray[np.bool_], fill: Array) -> DriveAndLoad:
    """Lay the answers of the springs that go in among those that do not."""
    if fits.all():
        return found
    whole = _nothing(fill)
    for f in fields(DriveAndLoad):
        if f.name != "fill":
            getattr(whole, f.name)[fits] = getattr(found, f.name)
    return whole


def _shaped(found: DriveAndLoad, shape: tuple[int, ...]) -> DriveAndLoad:
    return DriveAndLoad(*(getattr(found, f.name).reshape(shape) for f in fields(DriveAndLoad)))
