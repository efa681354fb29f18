"""How well drive and load of many springs are known against the reference: each spring's own part, and the shared one.

A ratio to the reference cancels only what all springs share to the same degree; what is left of the shared part moves
all indices together, so it is given apart.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt

from orderbook.mechanics.barrel import floor_area
from orderbook.mechanics.drive import DriveAndLoad, Reference, Run, drive_and_load, reference_spring
from orderbook.mechanics.torque import FLOW_STRESS_MPA, MODULUS_MPA

Array = npt.NDArray[np.float64]
STRENGTH_TOLERANCE_MM = 0.005  # ± of a strip's strength as sold; common practice, no source
OWN_FLOW_STRESS_SHARE = 0.03  # of one strip against others of its kind (±6 %); from memory
FREE_SHAPE_SHARE = 0.02  # of the torque, for the choice of free shape; ours, no source


@dataclass(frozen=True, slots=True)
class IndexSpread:
    """For each spring, of the logarithm of its indices: own standard uncertainty, and slope in the shared flow stress.

    A relative change δ of the flow stress that all springs share moves ln(drive index) by `drive_common`·δ.
    """

    drive_u: Array
    load_u: Array
    drive_common: Array
    load_common: Array


def index_spread(
    bore_mm: Any,
    arbor_mm: Any,
    width_mm: Any,
    strength_mm: Any,
    length_mm: Any,
    run: Run,
    reference: Reference,
    *,
    strength_u_mm: Any = STRENGTH_TOLERANCE_MM / 3**0.5,
    own_flow_stress_u: Any = OWN_FLOW_STRESS_SHARE,
    common_flow_stress_u: float = 0.06,
    flow_stress_mpa: float = FLOW_STRESS_MPA,
    modulus_mpa: float = MODULUS_MPA,
) -> IndexSpread:
    """Spread of drive and load index of many springs of one barrel, own and shared part apart.

    u² = (∂ln T/∂e·u_e)² + (∂ln T/∂ln σ·u_own)² + u_shape², by central differences of one standard uncertainty;
    shared slope = ∂ln T/∂ln σ of the spring less that of the reference, which is found again in the other steel: at its
    peak its drive does not feel that to first order, its load does.

    Parameters: barrel and springs as `drive_and_load`; strength_u_mm in mm, flow stress parts as shares (0.03 = 3 %).
    Returns: columns; nan where a spring gives no torque over the run.
    Source: JCGM 100:2008, 5.1.3 note 2.

    >>> from orderbook.mechanics.drive import reference_spring
    >>> best = reference_spring(15.6, 5.2, 2.9, Run(3.5))
    >>> spread = index_spread(15.6, 5.2, 2.9, [0.15, 0.21], [566.3, 404.4], Run(3.5), best)
    >>> abs(spread.drive_common).round(2)
    array([0.72, 0.  ])
    """
    strength = np.atleast_1d(np.asarray(strength_mm, dtype=float))
    width, strength, length = np.broadcast_arrays(width_mm, strength, length_mm)
    step = np.broadcast_to(np.asarray(strength_u_mm, dtype=float), strength.shape)
    own = np.broadcast_to(np.asarray(own_flow_stress_u, dtype=float), strength.shape)

    def found(strength: Any, flow_share: Any) -> DriveAndLoad:
        flow = flow_stress_mpa * np.exp(flow_share)
        return drive_and_load(
            bore_mm, arbor_mm, width, strength, length, run, flow_stress_mpa=flow, modulus_mpa=modulus_mpa
        )

    here = found(strength, 0.0)
    thick, thin = found(strength + step, 0.0), found(strength - step, 0.0)
    strong, weak = found(strength, own), found(strength, -own)
    c = common_flow_stress_u
    all_strong, all_weak = found(strength, c), found(strength, -c)
    best = _of_reference(bore_mm, arbor_mm, reference, run, c, flow_stress_mpa, modulus_mpa)
    answer = []
    for which in ("drive_nmm", "load_nmm"):
        by_strength, by_own = _half(here, thick, thin, which), _half(here, strong, weak, which)
        shared = _half(here, all_strong, all_weak, which) / c
        u = np.sqrt(by_strength**2 + by_own**2 + FREE_SHAPE_SHARE**2)
        answer.append((u, shared - best[which]))
    (drive_u, drive_common), (load_u, load_common) = answer
    return IndexSpread(drive_u, load_u, drive_common, load_common)


def _half(here: DriveAndLoad, up: DriveAndLoad, down: DriveAndLoad, which: str) -> Array:
    """Half the change of the logarithm; from one side only where the other gives no torque over the run."""
    with np.errstate(divide="ignore", invalid="ignore"):
        above, below, at = (np.log(getattr(of, which)) for of in (up, down, here))
    half = np.where(np.isfinite(above), np.where(np.isfinite(below), (above - below) / 2, above - at), at - below)
    return np.where(np.isfinite(half), half, np.nan)


def _of_reference(
    bore: Any, arbor: Any, reference: Reference, run: Run, c: float, flow: float, modulus: float
) -> dict[str, Array]:
    """Slopes of the reference, found again in softer and in harder steel: its strength moves, and its load with it."""
    fill = reference.strength_mm * reference.length_mm / floor_area(bore, arbor)
    flows = flow * np.exp([-c, c])
    found = reference_spring(
        bore, arbor, reference.width_mm, run, fill, flow_stress_mpa=flows, modulus_mpa=np.full(2, modulus)
    )
    columns = {which: getattr(found, which) for which in ("drive_nmm", "load_nmm")}
    return {which: np.asarray(np.log(hard / soft) / (2 * c)) for which, (soft, hard) in columns.items()}


__all__ = ["IndexSpread", "index_spread"]
