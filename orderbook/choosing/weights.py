"""What things weigh against each other: a fitting, a wait, overpower, width, a spring not needed, giving up."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from math import isfinite
from types import MappingProxyType
from typing import Any

from orderbook.errors import error
from orderbook.measures import number


@dataclass(frozen=True, slots=True)
class Weight:
    """One weight: its usual value, a multiple of the median price or a share of 1, and what it weighs."""

    name: str
    usual: float
    says: str
    is_share: bool = False


# multiples of the median price of the springs that go in, so that no currency matters: common practice, no source
WEIGHTS = (
    Weight("trial", 0.8, "one fitting: let down, open, fit, close, run"),
    Weight("delay", 3.3, "waiting for an order, of the usual days"),
    Weight("lambda", 33.0, "the kept spring loading twice what the movement needs; a tenth of it at 10 %"),
    Weight("kept", 0.5, "share of its price that a spring keeps which was not needed", is_share=True),
    Weight("kept_cut", 0.1, "the same of a strip that must be cut: it cannot go back", is_share=True),
    Weight("width", 0.2, "each per cent a fitted strip is narrower than it could be, beyond the first half"),
    Weight("cut", 0.5, "cutting a strip and making its end again"),
    Weight("end", 0.5, "making an end of another kind"),
    Weight("give_up", 22.0, "finding no spring"),
)
NAMES = tuple(weight.name for weight in WEIGHTS)
_SHARES = frozenset(weight.name for weight in WEIGHTS if weight.is_share)


@dataclass(frozen=True, slots=True)
class Weights:
    """The weights in money (minor units of the book's currency), shares as shares.

    >>> usual_weights(1000.0)["delay"], usual_weights(1000.0)["kept"]
    (3300.0, 0.5)
    """

    values: Mapping[str, float]

    def __post_init__(self) -> None:
        """Refuse a weight that is not known, negative, not a number, or a share above one."""
        for name, value in self.values.items():
            if name not in NAMES:
                raise error("weight_not_known", where="weights", saw=name)
            if not isfinite(value) or value < 0 or (name in _SHARES and value > 1):
                raise error("weight_not_sensible", where=f"weight {name}", saw=f"{value:g}")
        whole = {name: float(self.values.get(name, 0.0)) for name in NAMES}
        object.__setattr__(self, "values", MappingProxyType(whole))

    def __getitem__(self, name: str) -> float:
        """Return one weight."""
        return self.values[name]

    def scaled(self, **factors: float) -> Weights:
        """Return the weights with some of them multiplied.

        >>> usual_weights(1000.0).scaled(delay=2)["delay"]
        6600.0
        """
        return Weights({name: value * factors.get(name, 1.0) for name, value in self.values.items()})


def usual_weights(median_price: float, **given: float) -> Weights:
    """Weights as multiples of the median price of the springs that go in; a share is not multiplied.

    Raises: OrderbookError(weight_not_known | weight_not_sensible).
    Source: common practice, no source.

    >>> usual_weights(1000.0, delay=2.0)["delay"]
    2000.0
    """
    multiples = {weight.name: weight.usual for weight in WEIGHTS} | given
    return Weights({n: m if n in _SHARES else m * median_price for n, m in multiples.items()})


def weights_from_table(table: Mapping[str, Any], *, where: str = "weights") -> tuple[dict[str, float], str]:
    """Weights from a table of the names in `objective.WEIGHTS`, and the currency they are in, if any.

    Raises: OrderbookError(weight_not_known | weight_not_sensible) naming the weight.

    >>> weights_from_table({"lambda": 20, "kept": 0.4})
    ({'lambda': 20.0, 'kept': 0.4}, '')
    """
    currency = str(table.get("currency", "")).upper()
    weights: dict[str, float] = {}
    for name, value in table.items():
        if name == "currency":
            continue
        if name not in NAMES:
            raise error("weight_not_known", where=where, saw=name)
        amount = number(value if isinstance(value, (int, float)) else str(value), where=f"{where}, {name}")
        if amount < 0 or (name in _SHARES and amount > 1):
            raise error("weight_not_sensible", where=f"{where}, {name}", saw=f"{amount:g}")
        weights[name] = amount
    return weights, currency
