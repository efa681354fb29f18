"""The just-sufficient strip: the one that drives a movement's need and no more, and the load that comes with it.

A need is told in per cent of the most a barrel can drive; what is too strong is told by load, and the two are a factor
of two apart in a watch's going barrel. What a movement must bear in any case is the load of the weakest strip that runs
it; a spring overpowers it by as much as it loads above that.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt

from orderbook.mechanics.barrel import spring_length
from orderbook.mechanics.drive import Reference, Run, drive_and_load
from orderbook.mechanics.torque import FLOW_STRESS_MPA, MODULUS_MPA

Array = npt.NDArray[np.float64]
WEAKEST = 0.2  # of the strongest useful strength: below any drive that a movement could run on
STRENGTHS = 161


@dataclass(frozen=True, slots=True)
class SufficientLoad:
    """Load of the just-sufficient strip against its drive: two rising columns, up to the reference itself at 100."""

    drive_index: Array
    load_nmm: Array

    def at(self, drive_index: Any) -> Any:
        """Load in N·mm of the strip whose drive is so many per cent of the reference's; beyond 100 the reference's own.

        Straight between the points in the logarithms, and so beyond the weakest. Floats or arrays above 0.
        """
        drive, load = np.log(self.drive_index), np.log(self.load_nmm)
        wanted = np.log(np.asarray(drive_index, dtype=float))
        below = load[0] + (wanted - drive[0]) * (load[1] - load[0]) / (drive[1] - drive[0])
        found = np.exp(np.where(wanted < drive[0], below, np.interp(wanted, drive, load)))
        return float(found) if found.ndim == 0 else found


def sufficient_load(
    bore_mm: float,
    arbor_mm: float,
    reference: Reference,
    run: Run,
    fill: float = 0.5,
    *,
    flow_stress_mpa: float = FLOW_STRESS_MPA,
    modulus_mpa: float = MODULUS_MPA,
) -> SufficientLoad:
    """L*(x): greatest torque over the run of the strip whose least torque over it is x per cent of the reference's.

    The strip has the reference's width, the full clear one, and this fill; of two strips of the same drive the weaker
    counts. With a fusee both torques are those at the fusee.

    Parameters: lengths in mm; the strongest useful spring over the same run, fill and steel; fill 0…1; MPa.
    Returns: a table to ask by drive index; its loads in N·mm rise with it.
    Raises: as `drive_and_load`.
    Source: definition of this project.

    >>> from orderbook.mechanics.drive import reference_spring
    >>> best = reference_spring(15.6, 5.2, 2.9, Run(3.5))
    >>> enough = sufficient_load(15.6, 5.2, best, Run(3.5))
    >>> enough.at([50.0, 71.1, 100.0, 150.0]).round(1), round(best.load_nmm, 1)
    (array([16.8, 26. , 52.7, 52.7]), 52.7)
    """
    # closer towards the reference, where drive hardly changes with strength
    strength = reference.strength_mm * (1 - (1 - WEAKEST) * np.linspace(1.0, 0.0, STRENGTHS)[:-1] ** 2)
    steel = {"flow_stress_mpa": flow_stress_mpa, "modulus_mpa": modulus_mpa}
    length = spring_length(bore_mm, arbor_mm, strength, fill)
    found = drive_and_load(bore_mm, arbor_mm, reference.width_mm, strength, length, run, **steel)
    drive = 100 * found.drive_nmm / reference.drive_nmm
    # as near to the peak as the search went, a drive may come out above the reference's by its last digits
    known = (drive > 0) & (drive < 100)
    drive = np.append(drive[known], 100.0)
    load = np.append(np.minimum(found.load_nmm[known], reference.load_nmm), reference.load_nmm)
    rises = drive > np.maximum.accumulate(np.append(0.0, drive[:-1]))
    return SufficientLoad(drive[rises], np.maximum.accumulate(load)[rises])


__all__ = ["SufficientLoad", "sufficient_load"]
