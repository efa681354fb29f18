"""What each set of suppliers costs to send for."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from orderbook.choosing.belief import Floats
from orderbook.choosing.postage import Terms


@dataclass(frozen=True, slots=True)
class Sending:
    """What each set of suppliers costs to send for: postage, and the delay where one of them is waited for."""

    postage: Floats
    waits: NDArray[np.bool_]
    delay: float
    drawer_alone: bool = True
    _known: dict[bytes, Floats] = field(default_factory=dict, repr=False, compare=False)

    def of(self, sets: NDArray[np.int64]) -> Floats:
        """Postage and delay of each set; infinite for the drawer alone where that is reckoned apart."""
        key = sets.tobytes()  # the same few sets come up in every state
        if key not in self._known:
            waited = (self._bits(sets) & self.waits).any(axis=1)
            cost = self.postage_of(sets) + self.delay * waited
            self._known[key] = np.where(waited | self.drawer_alone, cost, np.inf)
        return self._known[key]

    def postage_of(self, sets: NDArray[np.int64]) -> Floats:
        """Postage of each set alone."""
        return np.asarray(self._bits(sets) @ self.postage)

    def _bits(self, sets: NDArray[np.int64]) -> NDArray[np.bool_]:
        return ((sets[:, None] >> np.arange(len(self.postage))) & 1).astype(bool)


def sending(terms: tuple[Terms, ...], delay: float, drawer_alone: bool = True) -> Sending:
    """Sending costs by the least that each supplier can charge: exact for flat postage, a lower bound else."""
    least = np.array([one.least for one in terms])
    return Sending(least, np.array([one.waits for one in terms], dtype=bool), delay, drawer_alone)
