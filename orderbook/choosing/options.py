"""What the user wants of the choice: how many, weights, money, suppliers, the drawer, and what must or must not be."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any, Literal

from orderbook.errors import error
from orderbook.measures import number
from orderbook.measures.exchange import Rates
from orderbook.measures.money import Money
from orderbook.measures.postage import PostageRule

MOST = 3  # springs an order where the number is left to the tool: the common practice is two or three, no source
PLACES = ("drawer", "received")  # where a spring at hand is
WEIGHTS = ("trial", "delay", "lambda", "kept", "give_up")


@dataclass(frozen=True, slots=True)
class Supplier:
    """One supplier's terms, in the supplier's currency.

    >>> from orderbook import Money, PostageRule
    >>> north = Supplier("Supplier North", "GBP", PostageRule.read("4.50", "GBP"), lead_days=4)
    >>> north.postage.charge(Money(1200, "GBP")).text
    '4.50'
    """

    name: str
    currency: str
    postage: PostageRule
    lead_days: float | None = None


@dataclass(frozen=True, slots=True)
class SpringAtHand:
    """A spring that need not be ordered: in the drawer, or come with an order line and not tried yet.

    `label` is its number, `called` what it is; `price` what it could be sold or sent back for, None where that is not
    known; `is_new` tells a new strip, which is known better than an old one.

    >>> SpringAtHand("D-0004", 2.95, 0.17, 560, is_new=True).place
    'drawer'
    """

    label: str
    width_mm: float
    strength_mm: float
    length_mm: float
    price: Money | None = None
    is_new: bool = False
    place: Literal["drawer", "received"] = "drawer"
    called: str = ""
    end: str = ""


@dataclass(frozen=True, slots=True)
class Options:
    """What the user wants; every part may be left out.

    `count` is how many springs the order must hold, None to let the cost decide (at most three). `weights` are
    multiples of the median price, or money where `weights_currency` is given. `at_most` bounds what this order
    costs, postage included. `sent_before` says that an order has been sent for already. `even_so` shows an order
    although what was tried speaks against one.

    >>> Options(count=2, never_from=("Supplier East",)).most
    2
    """

    count: int | None = None
    top: int = 10
    spread: float | None = None
    weights: Mapping[str, float] = field(default_factory=dict)
    weights_currency: str = ""
    currency: str = ""
    rates: Rates | None = None
    suppliers: Mapping[str, Supplier] = field(default_factory=dict)
    drawer: tuple[SpringAtHand, ...] = ()
    must: tuple[str, ...] = ()
    never_from: tuple[str, ...] = ()
    at_most: str = ""
    even_so: bool = False
    sent_before: bool = False

    def __post_init__(self) -> None:
        """Refuse a count that no order has and a top that shows nothing."""
        if self.count is not None and not 1 <= self.count <= 5:
            raise error("count_not_sensible", where="⟨count⟩", saw=f"{self.count}")
        if self.top < 1:
            raise error("top_not_sensible", where="⟨top⟩", saw=f"{self.top}")

    @property
    def most(self) -> int:
        """Most springs of one order."""
        return self.count or MOST

    def supplier(self, name: str) -> Supplier | None:
        """The terms of a supplier, whatever the case of the name."""
        return self.suppliers.get(name.casefold())


def count_from(text: str) -> int | None:
    """Read a count of springs: a number from 1 to 5, or auto.

    >>> count_from("auto"), count_from("2")
    (None, 2)
    """
    if text.strip().casefold() in ("", "auto"):
        return None
    try:
        count = int(text)
    except ValueError:
        raise error("count_not_sensible", where="⟨count⟩", saw=repr(text)) from None
    if not 1 <= count <= 5:
        raise error("count_not_sensible", where="⟨count⟩", saw=text)
    return count


def weights_from_table(table: Mapping[str, Any], *, where: str = "weights") -> tuple[dict[str, float], str]:
    """Weights from a table with trial, delay, lambda, kept and give_up, and the currency they are in, if any.

    Raises: OrderbookError(weight_not_known | weight_not_sensible) naming the weight.

    >>> weights_from_table({"lambda": 20, "kept": 0.4})
    ({'lambda': 20.0, 'kept': 0.4}, '')
    """
    currency = str(table.get("currency", "")).upper()
    weights: dict[str, float] = {}
    for name, value in table.items():
        if name == "currency":
            continue
        if name not in WEIGHTS:
            raise error("weight_not_known", where=where, saw=name)
        amount = number(value if isinstance(value, (int, float)) else str(value), where=f"{where}, {name}")
        if amount < 0 or (name == "kept" and amount > 1):
            raise error("weight_not_sensible", where=f"{where}, {name}", saw=f"{amount:g}")
        weights[name] = amount
    return weights, currency
