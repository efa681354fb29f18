"""What sending an order costs: each supplier's terms in plain numbers, in money of the supplier and of the book."""

from __future__ import annotations

from dataclasses import dataclass, replace
from statistics import median

import numpy as np
from numpy.typing import ArrayLike, NDArray

from orderbook.catalogue import Catalogue
from orderbook.choosing.belief import Floats
from orderbook.choosing.options import Options, Supplier
from orderbook.errors import Finding, OrderbookError, finding
from orderbook.measures.exchange import Rates
from orderbook.measures.money import Money

USUAL_DAYS = 7.0  # where a supplier's lead time is not known; common practice, no source


@dataclass(frozen=True, slots=True)
class Terms:
    """One supplier's terms: postage in minor units of the book's currency, thresholds in the supplier's own.

    `tiers` are (order value from which it holds, postage), rising; `free_from` the order value from which nothing
    is charged; `minimum` the least order value the supplier takes. `days` is how long an order takes, and `wait` the
    same against the usual days of the suppliers.
    """

    postage: float = 0.0
    tiers: tuple[tuple[float, float], ...] = ()
    free_from: float = np.inf
    minimum: float = 0.0
    days: float = USUAL_DAYS
    wait: float = 1.0

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

    def flat(self, postage: float) -> Terms:
        """The same wait with one postage for everything."""
        return Terms(postage, days=self.days, wait=self.wait)


DRAWER = Terms(days=0.0, wait=0.0)


def terms_of(
    names: tuple[str, ...], rates: Rates, options: Options, *, known_prices: bool
) -> tuple[list[Terms], tuple[Finding, ...]]:
    """Terms of each supplier; what is not known of them, or is in money without a rate, is a finding.

    A supplier's wait is its days over the median of all of these suppliers' days.
    """
    found = [options.supplier(name) for name in names]
    missing = [name for name, one in zip(names, found, strict=True) if one is None]
    no_rate = [one for one in found if one is not None and known_prices and not _has_rate(one.currency, rates)]
    days = [_days(one) for one in found]
    usual = median(days) if days else USUAL_DAYS
    terms = [
        replace(
            Terms() if one is None or one in no_rate or not known_prices else _terms(one, rates),
            days=own,
            wait=own / usual if usual > 0 else 1.0,
        )
        for one, own in zip(found, days, strict=True)
    ]
    findings: list[Finding] = []
    if missing:
        findings.append(finding("postage_not_known", where="⟨suppliers⟩", saw=f"no terms for {', '.join(missing)}"))
    if no_rate:
        who = ", ".join(f"{one.name} ({one.currency})" for one in no_rate)
        saw = f"no rate to {rates.book_currency} for the terms of {who}"
        findings.append(finding("postage_without_rate", where="⟨rates⟩", saw=saw))
    return terms, tuple(findings)


def in_suppliers_money(whole: Catalogue, rows: NDArray[np.intp], options: Options, rates: Rates) -> Floats:
    """What each row counts towards its supplier's free postage, tiers and least order.

    A list may print prices in another money than the one the supplier's terms are in: those are converted.

    Returns: minor units of the currency of the supplier's terms (of the row, where there are no terms); nan where a
    price or a rate is missing.
    """
    listed = np.full(len(rows), np.nan)
    known: dict[tuple[str, int, str], float] = {}  # what each supplier's price counts, reckoned once
    found = zip(
        whole.supplier[rows].tolist(), whole.price_minor[rows].tolist(), whole.currency[rows].tolist(), strict=True
    )
    for place, key in enumerate(found):
        if key not in known:
            supplier, minor, currency = key
            terms = options.supplier(supplier)
            theirs = terms.currency if terms else ""
            own = currency or theirs or rates.book_currency
            counts = minor >= 0 and own
            known[key] = _counts_for(Money(minor, own), theirs or own, rates) if counts else np.nan
        listed[place] = known[key]
    return listed


def counted_as(currency: str, money: Money, rates: Rates) -> float:
    """An assumed price in the currency of a supplier's terms; as it stands without a rate."""
    counts = _counts_for(money, currency, rates)
    return float(money.minor) if np.isnan(counts) else counts


def _days(one: Supplier | None) -> float:
    return USUAL_DAYS if one is None or one.lead_days is None else float(one.lead_days)


def _terms(one: Supplier, rates: Rates) -> Terms:
    rule = one.postage
    return Terms(
        _minor(rates, rule.flat),
        tuple((float(reached.minor), _minor(rates, charge)) for reached, charge in rule.tiers),
        float("inf") if rule.free_above is None else float(rule.free_above.minor),
        0.0 if rule.minimum_order is None else float(rule.minimum_order.minor),
    )


def _counts_for(money: Money, currency: str, rates: Rates) -> float:
    if money.currency == currency:
        return float(money.minor)
    if not (_has_rate(money.currency, rates) and _has_rate(currency, rates)):
        return float("nan")
    return float(rates.convert_to(money, currency).minor)


def _has_rate(currency: str, rates: Rates) -> bool:
    try:
        rates.of(currency)
    except OrderbookError:
        return False
    return True


def _minor(rates: Rates, money: Money) -> float:
    return float(rates.convert(money, where="postage").minor)
