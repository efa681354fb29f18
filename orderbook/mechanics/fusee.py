"""The fusee: its cone, and the torque it gives from the torque of the barrel."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, Literal

import numpy as np
import numpy.typing as npt

from orderbook.errors import error
from orderbook.mechanics.given import above_zero
from orderbook.mechanics.table import TorqueTable

Array = npt.NDArray[np.float64]
USUAL_RATIO = 1.66  # largest over smallest effective radius where the cone was not measured; ours, no source


@dataclass(frozen=True, slots=True)
class Cone:
    """A fusee: effective radii (to the chain's middle) along its turns from the small, wound end.

    Parameters: fusee turns from the small end (rising from 0); radius_mm there; barrel_radius_mm = R_c, to the
    chain's middle. Between them the radius runs straight.
    """

    turns: tuple[float, ...]
    radius_mm: tuple[float, ...]
    barrel_radius_mm: float

    def profile(self, used_turns: float, points: int = 33) -> tuple[Array, Array]:
        """Return, at points along the run, the barrel turns run off (0 … used) and r_f/R_c.

        The barrel turns follow R_c·dθ = r_f·dα and are scaled to `used_turns`, as counted or asked for.
        """
        at = np.union1d(np.linspace(0.0, self.turns[-1], points), self.turns)
        radius = np.interp(at, self.turns, self.radius_mm)
        run_off = np.concatenate([[0.0], np.cumsum((radius[1:] + radius[:-1]) / 2 * np.diff(at))])
        return used_turns * run_off / run_off[-1], radius / self.barrel_radius_mm

    @property
    def barrel_turns(self) -> float:
        """Turns of the barrel that the chain on the cone stands for: ∫ r_f dα / R_c."""
        return float(np.trapezoid(self.radius_mm, self.turns)) / self.barrel_radius_mm


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


def torque_at_fusee(strip: TorqueTable, cone: Cone, used: Any, set_up: Any) -> Array:
    """Torque at the fusee along the run, wound end first, of shape (springs, points of the cone).

    T_f = M(θ)·r_f/R_c without friction, with θ counted from where the torque begins.
    Parameters: used and set_up in barrel turns, one per spring.
    """
    run_off, arm = cone.profile(1.0)
    used, set_up = np.asarray(used)[..., None], np.asarray(set_up)[..., None]
    return strip.torque(set_up + used * (1.0 - run_off)) * arm


def best_set_up(strip: TorqueTable, cone: Cone, used: Any, most: Any, least: float = 0.0) -> Array:
    """Set-up, in turns from where the torque begins, at which the torque at the fusee is most even.

    Least max/min of T_f over `least` … `most`; `most` is what leaves the reserve, a hard limit.
    Parameters: used and most in barrel turns, one per spring.
    """
    low, high = np.broadcast_arrays(np.minimum(least, most), np.asarray(most, dtype=float))
    best = high
    for points in (25, 9, 9, 9):
        tried = np.linspace(low, high, points)
        unevenness = np.stack([_evenness(torque_at_fusee(strip, cone, used, set_up)) for set_up in tried])
        at = np.argmin(unevenness, axis=0)
        best = np.take_along_axis(tried, at[None], axis=0)[0]
        step = (high - low) / (points - 1)
        low, high = np.maximum(best - step, low), np.minimum(best + step, high)
    return np.asarray(best)


def _evenness(torque: Array) -> Array:
    least = torque.min(axis=-1)
    uneven: Array = np.divide(torque.max(axis=-1), least, out=np.full(least.shape, np.inf), where=least > 0)
    return uneven
