"""The fusee: its cone, and the torque it gives from the torque of the barrel."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any, Literal

import numpy as np
import numpy.typing as npt

from orderbook.errors import error
from orderbook.mechanics.arithmetic import TINY
from orderbook.mechanics.given import Number, above_zero, as_given
from orderbook.mechanics.strip import flattened
from orderbook.mechanics.table import TorqueTable, tabulate
from orderbook.mechanics.torque import FLOW_STRESS_MPA, MODULUS_MPA, ready

Array = npt.NDArray[np.float64]
RESERVE_TURNS = 0.75  # beyond what the chain needs: Spon, *Workshop Receipts*, 4th series, 1885
# set-up that is usual, in turns: 1 to 1¾, ¾ to 1½ and ½ to ¾ are told of clocks (two threads of watch and clock repair
# message boards: "Fusee mainspring tension", "Pre-tension a fusee"; trust low to medium). Below ½ a chain goes slack.
USUAL_SET_UP_TURNS = (LEAST_SET_UP_TURNS, MOST_SET_UP_TURNS) = (0.5, 1.75)
AS_EVEN = 1.001  # times the least max/min: what nobody can feel
FEWEST_TEETH, MOST_TEETH = 4, 400  # of a set-up ratchet
USUAL_RATIO = 1.66  # largest over smallest effective radius where the cone was not measured; ours, no source


@dataclass(frozen=True, slots=True)
class Profile:
    """A cone at points along the run: share of the barrel's turns run off (0 … 1), and r_f/R_c there.

    Of shape (points,), or (springs, points) where each spring has a cone of its own.
    """

    run_off: Array
    arm: Array


@dataclass(frozen=True, slots=True)
class Cone:
    """A fusee: effective radii (to the chain's middle) along its turns from the small, wound end.

    Parameters: fusee turns from the small end (rising from 0); radius_mm there; barrel_radius_mm = R_c, to the
    chain's middle. Between them the radius runs straight.
    """

    turns: tuple[float, ...]
    radius_mm: tuple[float, ...]
    barrel_radius_mm: float

    def radius_at(self, fusee_turn: Any) -> Any:
        """Effective radius in mm at a turn of the fusee from the small end."""
        return np.interp(fusee_turn, self.turns, self.radius_mm)

    def run_off_at(self, fusee_turn: Any) -> Any:
        """Barrel turns run off when the fusee has made so many turns from fully wound: ∫ r_f dα / R_c, exactly."""
        at, radius = np.asarray(self.turns), np.asarray(self.radius_mm)
        areas = np.concatenate([[0.0], np.cumsum((radius[1:] + radius[:-1]) / 2 * np.diff(at))])
        piece = np.clip(np.searchsorted(at, fusee_turn, side="right") - 1, 0, len(at) - 2)
        into = fusee_turn - at[piece]
        return (areas[piece] + into * (radius[piece] + self.radius_at(fusee_turn)) / 2) / self.barrel_radius_mm

    @property
    def barrel_turns(self) -> float:
        """Turns of the barrel that the chain on the cone stands for: ∫ r_f dα / R_c."""
        return float(self.run_off_at(self.turns[-1]))

    def until(self, fusee_turn: float) -> Cone:
        """The part of the cone that a run of so many fusee turns from fully wound uses; all of it from its end on."""
        if fusee_turn >= self.turns[-1]:
            return self
        kept = sum(turn < fusee_turn for turn in self.turns)
        radius = (*self.radius_mm[:kept], float(self.radius_at(fusee_turn)))
        return Cone((*self.turns[:kept], float(fusee_turn)), radius, self.barrel_radius_mm)

    def profile_turns(self, points: int = 33) -> Array:
        """Fusee turns of the points of `profile`: even, and every groove that was measured."""
        return np.union1d(np.linspace(0.0, self.turns[-1], points), self.turns)

    def profile(self, points: int = 33) -> Profile:
        """Return the cone at points along the run, the small end first."""
        at = self.profile_turns(points)
        return Profile(self.run_off_at(at) / self.barrel_turns, self.radius_at(at) / self.barrel_radius_mm)


def cone(
    turns: Sequence[float],
    groove_radius_mm: Sequence[float],
    barrel_outside_mm: float,
    chain_height_mm: float,
    *,
    law: Literal["straight", "inverse_square"] = "straight",
) -> Cone:
    """Cone from groove radii and the chain: effective radii r_f = groove + h/2 and R_c = D_outside/2 + h/2.

    Two radii are joined straight in the fusee angle, or so that 1/r² is straight (an even fusee for a straight spring).
    Parameters: turns from the small end, rising; radii, diameter and chain height in mm.
    Raises: OrderbookError(cone_does_not_grow | length_not_sensible).
    Source: geometry; the 1/r² law by derivation (for M linear in turns, an even fusee has 1/r² linear in its angle).

    >>> cone([0, 8], [6.5, 11.0], 40.0, 1.2).barrel_turns.__round__(3)
    3.631
    """
    at, groove = np.asarray(turns, dtype=float), np.asarray(groove_radius_mm, dtype=float)
    above_zero(barrel_outside=float(barrel_outside_mm), chain_height=float(chain_height_mm), groove_radius=groove)
    if len(at) < 2 or np.any(np.diff(at) <= 0) or np.any(np.diff(groove) <= 0):
        raise error("cone_does_not_grow", where="fusee", saw=f"radii {', '.join(f'{r:g}' for r in groove)} mm")
    radius = groove + chain_height_mm / 2
    if law == "inverse_square":
        fine = np.union1d(np.linspace(at[0], at[-1], 129), at)
        at, radius = fine, 1 / np.sqrt(np.interp(fine, at, 1 / radius**2))
    return Cone(tuple(at - at[0]), tuple(radius), (barrel_outside_mm + chain_height_mm) / 2)


def usual_cone() -> Cone:
    """Return the cone taken where none was measured: large over small radius 1.66; ours, no source."""
    return Cone((0.0, 1.0), (1 / USUAL_RATIO, 1.0), 1.0)


def torque_at_fusee(strip: TorqueTable, profile: Profile, used: Any, set_up: Any) -> Array:
    """Torque at the fusee along the run, wound end first, of shape (…, springs, points of the cone).

    T_f = M(θ)·r_f/R_c without friction, with θ counted from where the torque begins.
    Parameters: used in barrel turns, one per spring; set_up likewise, or rows of one per spring.
    """
    run_off = np.asarray(used)[..., None] * (1.0 - profile.run_off)
    turns = np.asarray(set_up)[..., None] + run_off
    side_by_side = np.moveaxis(turns, -2, 0)
    torque = strip.torque(side_by_side.reshape(len(side_by_side), -1)).reshape(side_by_side.shape)
    return np.asarray(np.moveaxis(torque, 0, -2) * profile.arm)


def evenness_at(strip: TorqueTable, profile: Profile, used: Any, set_up: Any) -> Array:
    """Greatest over least torque at the fusee over the run; infinite where the torque falls to nothing."""
    torque = torque_at_fusee(strip, profile, used, set_up)
    least = torque.min(axis=-1)
    uneven: Array = np.divide(torque.max(axis=-1), least, out=np.full(least.shape, np.inf), where=least > 0)
    return uneven


def best_set_up(
    strip: TorqueTable, profile: Profile, used: Any, most: Any, usual: tuple[float, float] = USUAL_SET_UP_TURNS
) -> Array:
    """Set-up, in turns from where the torque begins, that evens the torque at the fusee best.

    The least one whose max/min of T_f is within 0.1 % of the least, over the usual ½ … 1¾ turns and up to `most`, which
    leaves the reserve: a hard limit. Evenness often hardly changes over a turn, and then the least of its values would
    jump from one end of that to the other for a hair's difference between two springs.
    Parameters: used and most in barrel turns, one per spring; usual, between what set-ups is searched.
    """
    high = np.minimum(np.asarray(most, dtype=float), usual[1])
    low = np.minimum(usual[0], high)

    def even(set_up: Array) -> Array:
        torque = torque_at_fusee(strip, profile, used, set_up)
        return np.asarray(torque.min(axis=-1) / np.maximum(torque.max(axis=-1), TINY))

    tried = np.linspace(low, high, 17)
    found = even(tried)
    best, greatest = _greatest_near(even, tried, found)
    wanted = greatest / AS_EVEN
    enough = (found >= wanted) | (tried >= best)
    first = np.argmax(enough, axis=0)
    right = np.minimum(_at(tried, first), best)
    left = _at(tried, np.maximum(first - 1, 0))
    return np.where(first == 0, low, _reached(even, left, right, wanted))


def _greatest_near(of: Callable[[Array], Array], tried: Array, found: Array) -> tuple[Array, Array]:
    """Where a function tried at even steps is greatest, and how great it is there, by closer and closer steps."""
    low, high = tried[0], tried[-1]
    for points in (7, 7, 7, 7):
        step = tried[1] - tried[0]
        best = _at(tried, np.argmax(found, axis=0))
        tried = np.linspace(np.maximum(best - step, low), np.minimum(best + step, high), points)
        found = of(tried)
    at = np.argmax(found, axis=0)
    return _at(tried, at), _at(found, at)


def _reached(of: Callable[[Array], Array], low: Array, high: Array, wanted: Array) -> Array:
    """Where a function that rises between low and high comes to what is wanted."""
    for points in (7, 7):
        tried = np.linspace(low, high, points)
        found = of(tried)
        right = np.maximum(np.argmax(found >= wanted, axis=0), 1)
        low, high = _at(tried, right - 1), _at(tried, right)
        below, above = _at(found, right - 1), _at(found, right)
    part = (wanted - below) / np.maximum(above - below, TINY)
    return np.asarray(low + (high - low) * np.clip(part, 0.0, 1.0))


def _at(rows: Array, which: npt.NDArray[np.intp]) -> Array:
    return np.asarray(np.take_along_axis(rows, which[None], axis=0)[0])


def best_clicks(
    strip: TorqueTable, profile: Profile, used: Any, most: Any, set_up: Any, teeth: int
) -> npt.NDArray[np.int64]:
    """Whole clicks of a set-up ratchet nearest the best set-up that leave the reserve, the more even of the two."""
    below = np.floor(np.asarray(set_up) * teeth + 1e-9)
    above = np.where((below + 1) / teeth <= np.asarray(most) + 1e-9, below + 1, below)
    uneven = [evenness_at(strip, profile, used, clicks / teeth) for clicks in (below, above)]
    return np.where(uneven[1] < uneven[0], above, below).astype(np.int64)


def fusee_set_up(
    bore_mm: Number,
    arbor_mm: Number,
    width_mm: Number,
    strength_mm: Number,
    length_mm: Number,
    used_turns: Number,
    small_radius_mm: Number,
    large_radius_mm: Number,
    barrel_outside_mm: Number,
    chain_height_mm: Number,
    ratchet_teeth: int | None = None,
    reserve: float = RESERVE_TURNS,
) -> Any:
    """Set-up at which a fusee evens its spring best, in barrel turns from where the torque begins.

    The least one within 0.1 % of the least max/min of M(θ)·r_f/R_c over the run, of the usual ½ … 1¾ turns, with
    θ0 + set-up + used + reserve ≤ N as a hard limit.

    Parameters: lengths in mm, groove radii; turns; teeth of the set-up ratchet, for whole clicks (clicks/teeth turns).
    Returns: turns; floats or columns that broadcast.
    Raises: OrderbookError(no_reserve_left) where the spring has too few turns; cone_does_not_grow;
    number_not_sensible for the teeth; as `spring_torque`.
    Source: definition of this project; statics of chain and barrel. Reserve of ¾ turn: Spon, *Workshop Receipts*, 1885.

    >>> round(fusee_set_up(15.6, 5.2, 2.9, 0.165, 514.8, 3.5, 4.0, 7.0, 20.0, 0.8), 2)
    1.74
    """
    cones = (small_radius_mm, large_radius_mm, barrel_outside_mm, chain_height_mm)
    given = (bore_mm, arbor_mm, width_mm, strength_mm, length_mm, used_turns)
    table, profile, used, most, shape = _fitted(given, cones, reserve)
    best = best_set_up(table, profile, used, most)
    if ratchet_teeth is not None:
        if not FEWEST_TEETH <= ratchet_teeth <= MOST_TEETH:
            expected = f"Expected a count of teeth, from {FEWEST_TEETH} to {MOST_TEETH}."
            raise error("number_not_sensible", where="ratchet teeth", saw=f"{ratchet_teeth:g}", expected=expected)
        best = best_clicks(table, profile, used, most, best, ratchet_teeth) / ratchet_teeth
    return float(best[0]) if shape == () else best.reshape(shape)


def fusee_evenness(
    bore_mm: Number,
    arbor_mm: Number,
    width_mm: Number,
    strength_mm: Number,
    length_mm: Number,
    used_turns: Number,
    small_radius_mm: Number,
    large_radius_mm: Number,
    barrel_outside_mm: Number,
    chain_height_mm: Number,
    set_up: Number,
    reserve: float = 0.0,
) -> Any:
    """Greatest over least torque at the fusee over the run, at this set-up: 1 is perfectly even.

    Parameters: as `fusee_set_up`, with the set-up in turns.
    Returns: a ratio, at least 1; infinite where the torque falls to nothing.
    Raises: OrderbookError(no_reserve_left) where set-up, run and reserve are more than the turns delivered.
    Source: as `fusee_set_up`.

    >>> round(fusee_evenness(15.6, 5.2, 2.9, 0.165, 514.8, 3.5, 4.0, 7.0, 20.0, 0.8, 1.76), 2)
    1.13
    """
    cones = (small_radius_mm, large_radius_mm, barrel_outside_mm, chain_height_mm)
    given = (bore_mm, arbor_mm, width_mm, strength_mm, length_mm, used_turns)
    table, profile, used, most, shape = _fitted(given, cones, reserve, set_up)
    (at,) = as_given(set_up=set_up)
    uneven = evenness_at(table, profile, used, np.broadcast_to(at, shape).ravel() if shape else np.atleast_1d(at))
    return float(uneven[0]) if shape == () else uneven.reshape(shape)


def _fitted(
    given: tuple[Any, ...], cones: tuple[Any, ...], reserve: float, set_up: Number = 0.0
) -> tuple[TorqueTable, Profile, Array, Array, tuple[int, ...]]:
    """Check and tabulate springs, each with its cone, and the most set-up that leaves the reserve."""
    names = ("small_radius", "large_radius", "barrel_outside", "chain_height", "turns_used", "set_up")
    more = as_given(**dict(zip(names, (*cones, given[5], set_up), strict=True)))
    shape = np.broadcast_shapes(*(np.shape(value) for value in (*given, *cones, set_up)))
    bore, arbor, width, strength, length = (np.broadcast_to(value, shape or 1) for value in given[:5])
    strip, _, _ = ready(bore, arbor, width, strength, length, FLOW_STRESS_MPA, MODULUS_MPA)
    above_zero(unit="turns", turns_used=more[4])
    small, large, outside, height, used, at = (np.broadcast_to(value, shape).ravel() for value in more)
    rows = zip(small, large, outside, height, strict=True)
    profiles = [cone([0.0, 1.0], [s, g], float(o), float(h)).profile() for s, g, o, h in rows]
    profile = Profile(np.stack([p.run_off for p in profiles]), np.stack([p.arm for p in profiles]))
    flat = flattened(strip)
    most = flat.turns - flat.slack - used - reserve
    if np.any(at > most + 1e-9):
        worst = int(np.argmin(most - at))
        saw = f"{flat.turns[worst] - flat.slack[worst]:.2f} turns delivered, {used[worst]:g} used"
        saw += f", {at[worst]:g} of set-up" if at[worst] else ""
        raise error("no_reserve_left", where="set-up", saw=f"{saw}, {reserve:g} of reserve")
    return tabulate(flat), profile, used, most, shape
