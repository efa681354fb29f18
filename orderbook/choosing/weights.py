"""What things weigh against each other, in money: a fitting, a wait, overpower, a spring not needed, giving up."""

from __future__ import annotations

from dataclasses import asdict, dataclass, replace

import numpy as np

from orderbook.errors import error

# multiples of the median price of the springs that go in, so that no currency matters: common practice, no source
TRIAL, DELAY, OVERPOWER, KEPT, GIVE_UP = 0.8, 3.3, 33.0, 0.5, 22.0


@dataclass(frozen=True, slots=True)
class Weights:
    """The weights in money (minor units of the book's currency), `kept` as a share of the price.

    `trial` is the bench time of one fitting, `delay` the wait for another order, `overpower` (λ) what running
    at twice the torque needed would cost (a tenth of it at 10 %), `give_up` the loss when no spring is found,
    `kept` the share of its price that a spring not needed keeps.
    """

    trial: float
    delay: float
    overpower: float
    kept: float
    give_up: float

    def __post_init__(self) -> None:
        """Refuse a weight that is negative, not a number, or a kept share above one."""
        for name, value in asdict(self).items():
            if not np.isfinite(value) or value < 0 or (name == "kept" and value > 1):
                raise error("weight_not_sensible", where=f"weight {name}", saw=f"{value:g}")

    def scaled(self, **factors: float) -> Weights:
        """Return the weights with some of them multiplied.

        >>> default_weights(1000.0).scaled(delay=2).delay
        6600.0
        """
        return replace(self, **{name: getattr(self, name) * factor for name, factor in factors.items()})


def default_weights(median_price: float, **multiples: float) -> Weights:
    """Weights as multiples of the median price of the springs that go in; `kept` is a share and is not scaled.

    Source: common practice, no source.

    >>> default_weights(1000.0, delay=2.0)
    Weights(trial=800.0, delay=2000.0, overpower=33000.0, kept=0.5, give_up=22000.0)
    """
    of = {"trial": TRIAL, "delay": DELAY, "overpower": OVERPOWER, "give_up": GIVE_UP} | multiples
    kept = of.pop("kept", KEPT)
    return Weights(kept=kept, **{name: multiple * median_price for name, multiple in of.items()})
