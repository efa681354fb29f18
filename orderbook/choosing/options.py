"""What the user wants of the choice: how many, weights, money, suppliers, the drawer, and what must or must not be."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from typing import Any

from orderbook.errors import error
from orderbook.measures import length_mm, number
from orderbook.measures.exchange import Rates
from orderbook.measures.money import Money
from orderbook.measures.postage import PostageRule

MOST = 3  # springs an order where the number is left to the tool: the common practice is two or three, no source
WEIGHTS = ("trial", "delay", "lambda", "kept", "give_up")


@dataclass(frozen=True, slots=True)
class Supplier:
    """One supplier's terms, in the supplier's currency."""

    name: str
    currency: str
    postage: PostageRule
    lead_days: float | None = None


@dataclass(frozen=True, slots=True)
class Owned:
    """A spring in the drawer."""

    label: str
    width_mm: float
    strength_mm: float
    length_mm: float
    price: Money | None = None
    state: str = ""


@dataclass(frozen=True, slots=True)
class Wishes:
    """What the user wants; every part may be left out.

    `count` is how many springs the order must hold, None to let the cost decide (at most three). `weights` are
    multiples of the median price, or money where `weights_currency` is given. `at_most` bounds what this order
    costs, postage included. `sent_before` says that an order has been sent for already. `even_so` shows an order
    although what was tried speaks against one.
    """

    count: int | None = None
    top: int = 10
    spread: float | None = None
    weights: Mapping[str, float] = field(default_factory=dict)
    weights_currency: str = ""
    currency: str = ""
    rates: Rates | None = None
    suppliers: Mapping[str, Supplier] = field(default_factory=dict)
    drawer: tuple[Owned, ...] = ()
    must: tuple[str, ...] = ()
    never_from: tuple[str, ...] = ()
    at_most: str = ""
    even_so: bool = False
    sent_before: bool = False

    def __post_init__(self) -> None:
        """Refuse a count that no order has and a top that shows nothing."""
        if self.count is not None and not 1 <= self.count <= 5:
            raise error("count_not_sensible", where="--count", saw=f"{self.count}")
        if self.top < 1:
            raise error("top_not_sensible", where="--top", saw=f"{self.top}")

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
        raise error("count_not_sensible", where="--count", saw=repr(text)) from None
    if not 1 <= count <= 5:
        raise error("count_not_sensible", where="--count", saw=text)
    return count


def suppliers_from_rows(rows: Iterable[Mapping[str, str]], *, where: str = "suppliers") -> dict[str, Supplier]:
    """Terms from rows with supplier, currency, postage, free_above, minimum_order and lead_days (all text).

    Postage by the order's value is written in tiers: `0: 4.50; 30: 6.00; 100: 9.00`.

    Raises: OrderbookError naming the row.

    >>> rows = [{"supplier": "North", "currency": "GBP", "postage": "4.50", "free_above": "75", "lead_days": "4"}]
    >>> suppliers_from_rows(rows)["north"].postage.free_above.text
    '75.00'
    """
    found: dict[str, Supplier] = {}
    rows_of: dict[str, int] = {}
    for line, row in enumerate(rows, 1):
        place = f"{where}, row {line}"
        name = _cell(row, "supplier")
        if not name:
            raise error("supplier_without_name", where=place, saw="no name")
        currency = _cell(row, "currency").upper()
        if not currency:
            raise error("supplier_without_currency", where=place, saw=f"{name} has no currency")
        if name.casefold() in rows_of:
            saw = f"{name} stands in row {rows_of[name.casefold()]} and in row {line}"
            raise error("supplier_twice", where=place, saw=saw)
        rows_of[name.casefold()] = line
        lead = _lead_days(row, place)
        found[name.casefold()] = Supplier(name, currency, _postage(row, currency, place), lead)
    return found


def drawer_from_rows(rows: Iterable[Mapping[str, str]], *, where: str = "drawer") -> tuple[Owned, ...]:
    """Springs of the drawer from rows with label, width_mm, strength_mm, length_mm, price, currency and state.

    A price may be left out; it is then taken as the median of the lists', and that is said.
    Raises: OrderbookError naming the row.

    >>> drawer_from_rows([{"label": "D-0004", "width_mm": "2.9", "strength_mm": "0.17", "length_mm": "500"}])[0].label
    'D-0004'
    """
    return tuple(_owned(row, f"{where}, row {line}") for line, row in enumerate(rows, 1))


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


def _postage(row: Mapping[str, str], currency: str, where: str) -> PostageRule:
    free, least = (_amount(row, name, currency, where) for name in ("free_above", "minimum_order"))
    return PostageRule.read(_cell(row, "postage"), currency, free_above=free, minimum_order=least, where=where)


def _lead_days(row: Mapping[str, str], where: str) -> float | None:
    text = _cell(row, "lead_days")
    days = number(text, where=f"{where}, lead_days") if text else None
    if days is not None and days < 0:
        raise error("lead_days_negative", where=f"{where}, lead_days", saw=text)
    return days


def _amount(row: Mapping[str, str], name: str, currency: str, where: str) -> Money | None:
    text = _cell(row, name)
    return Money.parse(text, currency, where=f"{where}, {name}") if text else None


def _owned(row: Mapping[str, str], where: str) -> Owned:
    width, strength, length = (
        length_mm(_cell(row, name), where=f"{where}, {name}") for name in ("width_mm", "strength_mm", "length_mm")
    )
    price, currency = _cell(row, "price"), _cell(row, "currency").upper()
    if price and not currency:
        raise error("drawer_price_without_currency", where=where, saw=f"{_cell(row, 'label')} cost {price}")
    paid = Money.parse(price, currency, where=f"{where}, price") if price else None
    return Owned(_cell(row, "label"), width, strength, length, paid, _cell(row, "state").casefold())


def _cell(row: Mapping[str, str], name: str) -> str:
    return str(row.get(name) or "").strip()
