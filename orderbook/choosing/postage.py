"""What sending an order costs, as the choice sees it: one supplier's terms in plain numbers."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import ArrayLike

from orderbook.choosing.belief import Floats


@dataclass(frozen=True, slots=True)
class Terms:
    """One supplier's terms: postage in minor units of the book's currency, thresholds in the supplier's own.

    `tiers` are (order value from which it holds, postage), rising; `free_from` the order value from which nothing
    is charged; `minimum` the least order value the supplier takes. `waits` is false for the drawer only.
    """

    postage: float = 0.0
    tiers: tuple[tuple[float, float], ...] = ()
    free_from: float = np.inf
    minimum: float = 0.0
    waits: bool = True

    @property
    def is_flat(self) -> bool:
        """Whether the charge is the same whatever the order is worth."""
        return not self.tiers and self.free_from == np.inf and self.minimum <= 0

    @property
    def least(self) -> float:
        """The least this supplier can charge."""
        return 0.0 if self.free_from < np.inf else min([self.postage, *(charge for _, charge in self.tiers)])

    def charge(self, order_value: ArrayLike) -> Floats:
        """Postage for orders of these values; infinite where the order is too small to be taken.

        >>> Terms(450.0, free_from=5000.0, minimum=1000.0).charge([900.0, 1000.0, 5000.0]).tolist()
        [inf, 450.0, 0.0]
        """
        value = np.asarray(order_value, dtype=float)
        charge = np.full(value.shape, self.postage)
        for reached, postage in self.tiers:
            charge = np.where(value >= reached, postage, charge)
        charge = np.where(value >= self.free_from, 0.0, charge)
        return np.where(value < self.minimum, np.inf, charge)

    def within_reach(self, least: float, greatest: float) -> Terms:
        """The same terms without what no order worth from `least` to `greatest` can meet.

        >>> Terms(450.0, free_from=7500.0, minimum=200.0).within_reach(400.0, 1800.0).is_flat
        True
        """
        return replace(
            self,
            tiers=tuple(tier for tier in self.tiers if tier[0] <= greatest),
            free_from=self.free_from if self.free_from <= greatest else np.inf,
            minimum=self.minimum if self.minimum > least else 0.0,
        )


DRAWER = Terms(waits=False)
