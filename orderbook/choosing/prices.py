"""What springs cost in the book's currency, what may be spent, and what things weigh against it."""

from __future__ import annotations

import numpy as np

from orderbook.catalogue import Catalogue
from orderbook.choosing.belief import Floats
from orderbook.choosing.options import Options
from orderbook.choosing.postage import in_suppliers_money
from orderbook.choosing.springs import Flags, Whole
from orderbook.choosing.weights import WEIGHTS, Weights, usual_weights
from orderbook.errors import Finding, OrderbookError, error, finding
from orderbook.measures.exchange import Rates
from orderbook.measures.money import Money


def currency_of(fitting: Catalogue, options: Options) -> tuple[str, tuple[Finding, ...]]:
    """The book's currency: as given, else the commonest among the springs that go in."""
    if options.currency:
        return options.currency.upper(), ()
    priced = [c for c, p in zip(fitting.currency, fitting.price_minor.tolist(), strict=True) if c and p >= 0]
    kinds = sorted(set(priced), key=lambda c: (-priced.count(c), c))
    if len(kinds) < 2:
        return (kinds[0] if kinds else ""), ()
    return kinds[0], (finding("currency_assumed", where="⟨currency⟩", saw=f"prices in {', '.join(kinds)}"),)


def prices_of(
    whole: Catalogue, rows: Whole, currency: str, rates: Rates, options: Options
) -> tuple[list[Money | None], Flags]:
    """Price of each row in the book's currency, None if missing; and which have a price but no rate."""
    known: dict[tuple[str, int, str], tuple[Money | None, bool]] = {}  # each supplier's price, converted once
    found = zip(
        whole.supplier[rows].tolist(), whole.price_minor[rows].tolist(), whole.currency[rows].tolist(), strict=True
    )
    each = [
        known[key] if key in known else known.setdefault(key, _one_price(*key, currency, rates, options))
        for key in found
    ]
    return [price for price, _ in each], np.array([no_rate for _, no_rate in each], dtype=bool)


def _one_price(
    supplier: str, minor: int, own: str, currency: str, rates: Rates, options: Options
) -> tuple[Money | None, bool]:
    """A price in the book's currency, None if missing; and whether there is a price but no rate."""
    terms = options.supplier(supplier)
    own = own or (terms.currency if terms else currency)
    if minor < 0 or not own:
        return None, False
    price = _converted_if_rated(Money(minor, own), rates)
    return price, price is None


def without_rate(whole: Catalogue, rows: Whole, currency: str, *, everything: bool) -> Finding:
    """Say whose springs go in but have no price in the book's currency."""
    who = sorted({f"{whole.supplier[r]} ({whole.currency[r]})" for r in rows.tolist()})
    code = "no_rate_for_any" if everything else "no_rate_for_supplier"
    saw = f"{len(rows)} springs of {', '.join(who)} go in but have no price in {currency}"
    return finding(code, where="⟨rates⟩", saw=saw)


def least_order_out_of_reach(whole: Catalogue, rows: Whole, options: Options, rates: Rates) -> dict[str, Money]:
    """Suppliers whose least order even the dearest springs that go in do not make up."""
    found: dict[str, Money] = {}
    listed = in_suppliers_money(whole, rows, options, rates)
    for name in dict.fromkeys(str(s) for s in whole.supplier[rows]):
        terms = options.supplier(name)
        least = terms.postage.minimum_order if terms else None
        prices = np.sort(listed[whole.supplier[rows] == name])[-options.most :]
        if least is not None and not np.isnan(prices).any() and prices.sum() < least.minor:
            found[name.casefold()] = least
    return found


def weights_of(median_price: float, currency: str, options: Options) -> Weights:
    """The weights in money: the usual multiples of the median price, or what the user says.

    Raises: OrderbookError(weight_not_known | weight_not_sensible | rate_missing).
    """
    if not options.weights_currency:
        return usual_weights(median_price, **options.weights)
    rates = Rates(currency, options.rates.rates if options.rates else ())
    shares = {weight.name for weight in WEIGHTS if weight.is_share}
    money = {
        name: value if name in shares else float(_converted(value, options.weights_currency, rates))
        for name, value in options.weights.items()
    }
    return Weights({**usual_weights(median_price).values, **money})


def limit_of(currency: str, options: Options, *, all_owned: bool) -> float:
    """Most this order may cost, in minor units; infinite if nothing was said, or nothing is to be paid.

    Raises: OrderbookError(at_most_without_prices), or of the money that cannot be read.
    """
    if not options.at_most or all_owned:
        return float("inf")
    if not currency:
        raise error("at_most_without_prices", where="⟨at_most⟩", saw=options.at_most)
    amount, _, own = options.at_most.strip().partition(" ")
    money = Money.parse(amount, own.strip() or currency, where="⟨at_most⟩")
    rates = Rates(currency, options.rates.rates if options.rates else ())
    return float(rates.convert(money, where="⟨at_most⟩").minor)


def paid_for(prices: list[Money | None], owned: Flags) -> tuple[Floats, float, bool]:
    """What each spring counts at, the median price, and whether any list has a price.

    A price that is missing counts as the median. Where no list has one, costs are multiples of a median that is not
    known, and what a spring at hand cost cannot be compared: it counts as one too.
    """
    listed = np.array(
        [p.minor for p, mine in zip(prices, owned, strict=True) if p is not None and not mine], dtype=float
    )
    own = np.array([p.minor for p, mine in zip(prices, owned, strict=True) if p is not None and mine], dtype=float)
    known = listed if len(listed) else own if owned.all() else listed
    median = float(np.median(known)) if len(known) and np.median(known) > 0 else 1.0
    counted = [median if p is None or not len(known) else float(p.minor) for p in prices]
    return np.array(counted), median, len(known) > 0


def _converted(value: float, currency: str, rates: Rates) -> int:
    return rates.convert(Money.parse(f"{value:.6f}".rstrip("0").rstrip("."), currency), where="weights").minor


def _converted_if_rated(money: Money, rates: Rates) -> Money | None:
    try:
        return rates.convert(money)
    except OrderbookError as problem:
        if problem.code != "rate_missing":
            raise
        return None
