"""The torque of many springs at many turns: tabulated once, then read off."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from orderbook.mechanics.arithmetic import COLUMNS
from orderbook.mechanics.strip import Winding, part_of
from orderbook.mechanics.winding import turns_at

Array = npt.NDArray[np.float64]
POINTS = 193
PIECE = 16_384  # numbers in a column that fit the near memory of a processor


@dataclass(frozen=True, slots=True)
class TorqueTable:
    """Turns above slack and torque of each spring, both rising: shape (springs, points)."""

    turns: Array
    torque_nmm: Array

    def torque(self, turns: Array) -> Array:
        """Torque at these turns above slack, of shape (springs, any), by straight lines between the points."""
        rows = zip(turns, self.turns, self.torque_nmm, strict=True)
        return np.array([np.interp(at, known, torque) for at, known, torque in rows])


def tabulate(strip: Winding, points: int = POINTS) -> TorqueTable:
    """Tabulate the torque of every spring from where it begins to fully wound, closer towards the top."""
    part = np.linspace(0.0, 1.0, points)
    begins = np.maximum(strip.least, 0.0)
    moment = begins[:, None] + (strip.most - begins)[:, None] * part
    rows = max(1, PIECE // points)
    pieces = [
        turns_at(part_of(strip, (slice(at, at + rows), None)), moment[at : at + rows], COLUMNS)[0]
        for at in range(0, len(moment), rows)
    ]
    turns = np.concatenate(pieces) - strip.slack[:, None]
    return TorqueTable(np.maximum(turns, 0.0), moment * strip.stiffness[:, None])
