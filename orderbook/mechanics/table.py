"""The torque of many springs at many turns: tabulated once, then read off."""

from __future__ import annotations

from dataclasses import dataclass, fields
from typing import Any

import numpy as np
import numpy.typing as npt

from orderbook.mechanics.arithmetic import COLUMNS
from orderbook.mechanics.strip import Winding
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
        springs, points = self.turns.shape
        last = self.turns[:, -1:]
        shelf = np.arange(springs)[:, None] * 2.0
        place = np.searchsorted((shelf + self.turns / last).ravel(), (shelf + np.clip(turns / last, 0, 1)).ravel())
        right = place.reshape(turns.shape) - np.arange(springs)[:, None] * points
        right = np.clip(right, 1, points - 1)
        rows = np.arange(springs)[:, None]
        x0, x1 = self.turns[rows, right - 1], self.turns[rows, right]
        y0, y1 = self.torque_nmm[rows, right - 1], self.torque_nmm[rows, right]
        part = np.clip((turns - x0) / np.maximum(x1 - x0, 1e-300), 0.0, 1.0)
        return np.asarray(y0 + (y1 - y0) * part)


def tabulate(strip: Winding, points: int = POINTS) -> TorqueTable:
    """Tabulate the torque of every spring from where it begins to fully wound, closer towards the top."""
    part = np.linspace(0.0, 1.0, points)
    begins = np.maximum(strip.least, 0.0)
    moment = begins[:, None] + (strip.most - begins)[:, None] * part
    rows = max(1, PIECE // points)
    pieces = [
        turns_at(rows_of(strip, slice(at, at + rows)), moment[at : at + rows], COLUMNS)[0]
        for at in range(0, len(moment), rows)
    ]
    turns = np.concatenate(pieces) - strip.slack[:, None]
    return TorqueTable(np.maximum(turns, 0.0), moment * strip.stiffness[:, None])


def rows_of(strip: Winding, which: slice) -> Winding:
    """Return some strips, as columns beside which their points can lie."""
    values: dict[str, Any] = {f.name: getattr(strip, f.name)[which, None] for f in fields(Winding)}
    return Winding(**values)
