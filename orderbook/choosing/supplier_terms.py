"""What each supplier charges for sending, and what the springs count for it: both in the supplier's own currency."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from orderbook.catalogue import Catalogue
from orderbook.choosing.options import Options, Supplier
from orderbook.choosing.postage import Terms
from orderbook.errors import Finding, OrderbookError, finding
from orderbook.measures.exchange import Rates
from orderbook.measures.money import Money


def in_suppliers_money(whole: Catalogue, rows: NDArray[np.intp], options: Options, rates: Rates) -> NDArray[np.float64]:
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


def terms_of(
    names: tuple[str, ...], rates: Rates, options: Options, *, known_prices: bool
) -> tuple[list[Terms], list[float | None], tuple[Finding, ...]]:
    """Terms and lead days of each supplier; what is not known of them, or in money without a rate, is a finding."""
    found = [options.supplier(name) for name in names]
    missing = [name for name, one in zip(names, found, strict=True) if one is None]
    no_rate = [one for one in found if one is not None and known_prices and not _has_rate(one.currency, rates)]
    terms = [Terms() if one is None or one in no_rate or not known_prices else _terms(one, rates) for one in found]
    findings: list[Finding] = []
    if missing:
        findings.append(finding("postage_not_known", where="⟨suppliers⟩", saw=f"no terms for {', '.join(missing)}"))
    if no_rate:
        who = ", ".join(f"{one.name} ({one.currency})" for one in no_rate)
        saw = f"no rate to {rates.book_currency} for the terms of {who}"
        findings.append(finding("postage_without_rate", where="⟨rates⟩", saw=saw))
    return terms, [one.lead_days if one else None for one in found], tuple(findings)


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
