"""What the user wants of the choice: how many, weights, money, suppliers, the drawer, and what must or must not be."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal

from orderbook.barrel.practice import NeedStart
from orderbook.errors import error
from orderbook.measures.exchange import Rates
from orderbook.measures.money import Money
from orderbook.measures.postage import PostageRule

MOST = 3  # springs an order where the number is left to the tool: the common practice is two or three, no source
STARTS = ("learned", "practice")  # where a belief about the need may begin
PLACES = ("drawer", "received")  # where a spring at hand is


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
    known; `is_new` tells a new strip, which is known better than an old one; `order` is the line it came with.

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
    order: str = ""


@dataclass(frozen=True, slots=True)
class Options:
    """What the user wants; every part may be left out.

    `count` is how many springs the order must hold, None to let the cost decide (at most three). `need` in per cent and
    `spread` (a share, or per cent) are what is believed of the need before anything is tried, in place of practice.
    `learned` is where one's own closed pieces say it begins; `start` "practice" leaves that aside.
    `weights` are multiples of the median price, or money where `weights_currency` is given. `at_most` bounds what this
    order costs, postage included. `even_so` shows an order although what was tried speaks against one.

    >>> Options(count=2, never_from=("Supplier East",)).most
    2
    """

    count: int | None = None
    top: int = 10
    need: float | None = None
    spread: float | None = None
    learned: NeedStart | None = None
    start: str = "learned"
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

    def __post_init__(self) -> None:
        """Refuse a count that no order has and a top that shows nothing."""
        if self.count is not None and not 1 <= self.count <= 5:
            raise error("count_not_sensible", where="⟨count⟩", saw=f"{self.count}")
        if self.start not in STARTS:
            raise error("start_not_known", where="⟨start⟩", saw=repr(self.start))
        if self.top < 1:
            raise error("top_not_sensible", where="⟨top⟩", saw=f"{self.top}")
        object.__setattr__(self, "spread", share_from(self.spread))

    @property
    def most(self) -> int:
        """Most springs of one order."""
        return self.count or MOST

    def supplier(self, name: str) -> Supplier | None:
        """The terms of a supplier, whatever the case of the name."""
        return self.suppliers.get(name.casefold())


def share_from(value: float | None) -> float | None:
    """A spread as a share: 20 is 20 %, and 0.2 is too.

    >>> share_from(20), share_from(0.2), share_from(None)
    (0.2, 0.2, None)
    """
    return value / 100 if value is not None and value > 1 else value


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
