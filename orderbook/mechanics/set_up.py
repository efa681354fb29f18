"""Set-up as a remedy that costs nothing: what each whole click of it gives, drive, load and evenness."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from orderbook.mechanics.drive import Run
from orderbook.mechanics.fusee import LEAST_SET_UP_TURNS, Profile, torque_at_fusee
from orderbook.mechanics.strip import flattened
from orderbook.mechanics.table import TorqueTable, tabulate
from orderbook.mechanics.torque import FLOW_STRESS_MPA, MODULUS_MPA, ready

Array = npt.NDArray[np.float64]
QUARTERS = 4  # of a turn, where no ratchet was counted
AT_THE_BARREL = Profile(np.array([0.0, 1.0]), np.array([1.0, 1.0]))  # the same arm all along


@dataclass(frozen=True, slots=True)
class SetUpChoices:
    """What one spring gives at each set-up, least first: columns of turns, whole clicks, N·mm and max/min.

    Clicks are quarter turns where no ratchet was counted (`teeth` is then 4).
    """

    teeth: int
    clicks: npt.NDArray[np.int64]
    turns: Array
    drive_nmm: Array
    load_nmm: Array
    evenness: Array

    def __len__(self) -> int:
        """Number of set-ups."""
        return len(self.clicks)


def set_up_choices(
    bore_mm: float,
    arbor_mm: float,
    width_mm: float,
    strength_mm: float,
    length_mm: float,
    run: Run,
    *,
    least_turns: float = LEAST_SET_UP_TURNS,
    flow_stress_mpa: float = FLOW_STRESS_MPA,
    modulus_mpa: float = MODULUS_MPA,
) -> SetUpChoices:
    """Drive, load and evenness of one spring at every whole click of set-up that leaves the reserve.

    T over θ0 + s … θ0 + s + used, with a fusee M·r_f/R_c, for s = clicks/teeth from `least_turns` on, and
    θ0 + s + used + reserve ≤ N.

    Parameters: lengths in mm; the run, with a fusee or stop-work, and its ratchet's teeth (quarter turns without);
    least_turns, to begin below the usual ½ turn; MPa. Set-up is counted in barrel turns from where the run ends.
    Returns: columns, least set-up first; empty where not even the first leaves the reserve, or nothing is set up: a
    going barrel without stop-work.
    Raises: as `spring_torque`.
    Source: definition of this project; the torque as `spring_torque`.

    >>> found = set_up_choices(15.6, 5.2, 2.9, 0.165, 514.8, Run(3.5, drive="fusee", ratchet_teeth=20))
    >>> [(int(c), round(float(d), 1), round(float(e), 2)) for c, d, e in
    ...  zip(found.clicks[::4], found.drive_nmm[::4], found.evenness[::4])][:3]
    [(10, 6.9, 2.14), (14, 8.8, 1.73), (18, 10.5, 1.51)]
    """
    given = (bore_mm, arbor_mm, width_mm, strength_mm, length_mm, flow_stress_mpa, modulus_mpa)
    strip, used = flattened(ready(*given)[0]), float(run.used_turns)
    most = float(strip.turns[0] - strip.slack[0]) - used - run.reserve if run.from_run_down else -1.0
    profile = run.cone.profile() if run.drive == "fusee" else AT_THE_BARREL
    return choices_between(tabulate(strip), profile, used, (least_turns, most), run.ratchet_teeth or QUARTERS)


def choices_between(
    table: TorqueTable, profile: Profile, used: float, turns: tuple[float, float], teeth: int
) -> SetUpChoices:
    """As `set_up_choices`, of the first spring of a table: every whole click between the least and the most turns."""
    clicks = np.arange(math.ceil(max(turns[0], 0.0) * teeth - 1e-9), math.floor(turns[1] * teeth + 1e-9) + 1)
    first = TorqueTable(table.turns[:1], table.torque_nmm[:1])
    torque = torque_at_fusee(first, profile, np.array([used]), clicks[:, None] / teeth)[:, 0]
    drive, load = torque.min(axis=-1), torque.max(axis=-1)
    uneven = np.divide(load, drive, out=np.full(drive.shape, np.inf), where=drive > 0)
    return SetUpChoices(teeth, clicks, clicks / teeth, drive, load, uneven)


__all__ = ["SetUpChoices", "choices_between", "set_up_choices"]
