"""The springs that go in, with what each would cost: one list of candidates from suppliers and drawer."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from orderbook.barrel.springs_seen import spring_said
from orderbook.catalogue import Catalogue
from orderbook.choosing.bench import NEW_FLOW_STRESS, OLD_FLOW_STRESS, Bench
from orderbook.choosing.evidence import Evidence
from orderbook.choosing.fitting import Fits, Strips, Unfit, Yardstick, fit, strips_of
from orderbook.choosing.options import PLACES, Options, SpringAtHand
from orderbook.choosing.postage import DRAWER, Terms
from orderbook.choosing.springs import Springs, springs
from orderbook.choosing.supplier_terms import counted_as, in_suppliers_money, terms_of
from orderbook.choosing.weights import Weights, default_weights
from orderbook.errors import Finding, OrderbookError, error, finding
from orderbook.measures.exchange import Rates
from orderbook.measures.money import Money

DRAWER_NAME = "drawer"
TRIED = "tried"  # why a spring is not offered: it drives no more than one that was too weak
SAME_DRIVE = 1e-3  # of the logarithm of the index: a cell of the grid


@dataclass(frozen=True, slots=True)
class Offer:
    """Candidates: the list (drawer springs at its end), which rows go in, and their prices in the book's currency.

    `price` has one entry a spring that goes in, Money or None where it is assumed; `springs` and `terms` are the
    same for the choice, `names` the suppliers in the order of `terms`.
    """

    catalogue: Catalogue
    fits: Fits
    unfit: tuple[Unfit, ...]
    springs: Springs
    terms: tuple[Terms, ...]
    names: tuple[str, ...]
    lead_days: tuple[float, ...]
    price: tuple[Money | None, ...]
    currency: str
    median_price: float
    findings: tuple[Finding, ...]
    at_hand: tuple[SpringAtHand, ...] = ()

    def row(self, spring: int) -> dict[str, Any]:
        """The list row of a candidate."""
        return self.catalogue.row(int(self.fits.row[spring]))

    def is_owned(self, spring: int) -> bool:
        """Whether a candidate need not be ordered: it lies in the drawer, or has come and was not tried."""
        return bool(self.springs.owned[spring])

    def owned(self, spring: int) -> SpringAtHand | None:
        """The spring at hand that a candidate is, or None for one of a list."""
        if not self.is_owned(spring):
            return None
        return self.at_hand[int(self.fits.row[spring]) - (len(self.catalogue) - len(self.at_hand))]

    def found_in(self, spring: int) -> str:
        """Where a candidate is: list, drawer or received."""
        one = self.owned(spring)
        return one.place if one else "list"


def offer_of(
    bench: Bench, catalogue: Catalogue, options: Options, yardstick: Yardstick, failed: Evidence | None = None
) -> Offer:
    """Sort the list into what goes in and what does not, and price what does.

    `failed` is the strongest spring that was too weak: none that drives no more is offered, unless it is asked for.
    Raises: OrderbookError(code="never_from_all" | "currency_not_known" | …).
    """
    whole, owned = _with_drawer(catalogue, options)
    fits, unfit = fit(bench, _strips(whole, options, owned), yardstick)
    currency, findings = _currency(whole.take(fits.row), options)
    rates = options.rates or Rates(currency)
    rates = Rates(currency, rates.rates)
    prices, no_rate = _prices(whole, fits.row, currency, rates, options)
    can_be_had, reasons = _can_be_had(whole, fits.row, owned, no_rate, options, rates)
    if failed is not None and not options.even_so:
        weaker = _no_stronger(whole, fits, failed, options) & can_be_had
        verdict = "never ran" if failed.kind == "never ran" else "was too weak"
        says = f"drives no more than {spring_said(failed.what)}, which {verdict}"
        reasons += [Unfit(row, TRIED, 0.0, "", says, float("inf")) for row in fits.row[weaker].tolist()]
        can_be_had &= ~weaker
    unfit = tuple(sorted([*unfit, *reasons], key=lambda u: (u.far, u.row)))
    findings += _never_from_nobody(whole, options)
    if no_rate.any():
        findings += (_without_rate(whole, fits.row[no_rate], currency, everything=not can_be_had.any()),)
    fits = _taken(fits, can_be_had)
    had = tuple(price for price, kept in zip(prices, can_be_had, strict=True) if kept)
    return _priced(whole, owned, fits, unfit, had, currency, rates, options, findings)


def weights_of(offer: Offer, options: Options) -> Weights:
    """The weights in money: the usual multiples of the median price, or what the user says."""
    given = {("overpower" if name == "lambda" else name): value for name, value in options.weights.items()}
    if not options.weights_currency:
        return default_weights(offer.median_price, **given)
    usual = default_weights(offer.median_price)
    rates = Rates(offer.currency, options.rates.rates if options.rates else ())
    money = {
        name: value if name == "kept" else float(_converted(value, options.weights_currency, rates))
        for name, value in given.items()
    }
    return Weights(**({name: getattr(usual, name) for name in Weights.__slots__} | money))


def limit_of(offer: Offer, options: Options) -> float:
    """Most this order may cost, in minor units; infinite if nothing was said."""
    if not options.at_most:
        return float("inf")
    if not offer.currency:
        raise error("at_most_without_prices", where="⟨at_most⟩", saw=options.at_most)
    amount, _, currency = options.at_most.strip().partition(" ")
    money = Money.parse(amount, currency.strip() or offer.currency, where="⟨at_most⟩")
    rates = Rates(offer.currency, options.rates.rates if options.rates else ())
    return float(rates.convert(money, where="⟨at_most⟩").minor)


def must_of(offer: Offer, options: Options) -> tuple[int, ...]:
    """Candidates that must be in the order, by item, or by supplier and item where several sell one of that name.

    An item alone is the one in the drawer, else the cheapest.

    Raises: OrderbookError(code="must_not_there") where one is not among the springs that go in.
    """
    if not options.must:
        return ()
    rows = [offer.row(i) for i in range(len(offer.fits))]
    found = []
    for wanted in options.must:
        meant = [i for i, row in enumerate(rows) if is_meant(wanted, str(row["supplier"]), str(row["item"]))]
        if not meant:
            raise error("must_not_there", where=f"⟨must {wanted}⟩", saw=_where_it_is(offer, wanted))
        found.append(min(meant, key=lambda i: (not offer.is_owned(i), float(offer.springs.price[i]))))
    return tuple(dict.fromkeys(found))


def is_meant(wanted: str, supplier: str, item: str) -> bool:
    """Whether a spring is the one asked for: by its item, or by supplier and item.

    >>> is_meant("NW-1", "Supplier North", "NW-1"), is_meant("supplier north  NW-1", "Supplier North", "NW-1")
    (True, True)
    >>> is_meant("Supplier West NW-1", "Supplier North", "NW-1")
    False
    """
    said = " ".join(wanted.casefold().split())
    return said in (" ".join(name.casefold().split()) for name in (item, f"{supplier} {item}"))


def _where_it_is(offer: Offer, wanted: str) -> str:
    for unfit in offer.unfit:
        if is_meant(wanted, str(offer.catalogue.supplier[unfit.row]), str(offer.catalogue.item[unfit.row])):
            return f"it does not go in: {unfit.says}"
    return "no spring of that item in the lists"


def _converted(value: float, currency: str, rates: Rates) -> int:
    return rates.convert(Money.parse(f"{value:.6f}".rstrip("0").rstrip("."), currency), where="weights").minor


def _with_drawer(catalogue: Catalogue, options: Options) -> tuple[Catalogue, NDArray[np.bool_]]:
    drawer = options.drawer
    own = Catalogue.of(
        supplier=[d.place for d in drawer],
        item=[d.label for d in drawer],
        width_mm=[d.width_mm for d in drawer],
        strength_mm=[d.strength_mm for d in drawer],
        length_mm=[d.length_mm for d in drawer],
        price_minor=[d.price.minor if d.price else -1 for d in drawer],
        currency=[d.price.currency if d.price else "" for d in drawer],
    )
    owned = np.concatenate([np.zeros(len(catalogue), bool), np.ones(len(own), bool)])
    return Catalogue.concat([catalogue, own]), owned


def _strips(whole: Catalogue, options: Options, owned: NDArray[np.bool_]) -> Strips:
    strips = strips_of(whole)
    old = np.zeros(len(whole), dtype=bool)
    old[owned] = [not one.is_new for one in options.drawer]
    strips.flow_stress_u[:] = np.where(old, OLD_FLOW_STRESS, NEW_FLOW_STRESS)
    return strips


def _currency(fitting: Catalogue, options: Options) -> tuple[str, tuple[Finding, ...]]:
    """The book's currency: as given, else the commonest among the springs that go in."""
    if options.currency:
        return options.currency.upper(), ()
    priced = [c for c, p in zip(fitting.currency, fitting.price_minor.tolist(), strict=True) if c and p >= 0]
    kinds = sorted(set(priced), key=lambda c: (-priced.count(c), c))
    if len(kinds) < 2:
        return (kinds[0] if kinds else ""), ()
    return kinds[0], (finding("currency_assumed", where="⟨currency⟩", saw=f"prices in {', '.join(kinds)}"),)


def _prices(
    whole: Catalogue, rows: NDArray[np.intp], currency: str, rates: Rates, options: Options
) -> tuple[list[Money | None], NDArray[np.bool_]]:
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


def _converted_if_rated(money: Money, rates: Rates) -> Money | None:
    try:
        return rates.convert(money)
    except OrderbookError as problem:
        if problem.code != "rate_missing":
            raise
        return None


def _can_be_had(
    whole: Catalogue,
    rows: NDArray[np.intp],
    owned: NDArray[np.bool_],
    no_rate: NDArray[np.bool_],
    options: Options,
    rates: Rates,
) -> tuple[NDArray[np.bool_], list[Unfit]]:
    never = {name.strip().casefold() for name in options.never_from}
    keep, reasons = np.ones(len(rows), bool), []
    too_small = _least_order_out_of_reach(whole, rows, options, rates)
    suppliers, stock = whole.supplier[rows].tolist(), whole.stock[rows].tolist()
    names = {supplier: supplier.casefold() for supplier in set(suppliers)}
    for place, row in enumerate(rows.tolist()):
        supplier = suppliers[place]
        if names[supplier] in never and not owned[row]:
            keep[place] = False
            reasons.append(Unfit(row, "supplier", 1.0, "", f"never from {supplier}, as you asked", 0.0))
        elif stock[place] == 0:
            keep[place] = False
            reasons.append(Unfit(row, "stock", 1.0, "", "goes in, but none in stock", 0.0))
        elif (name := names[supplier]) in too_small:
            keep[place] = False
            says = f"goes in, but {options.most} springs stay below the least order of {too_small[name]}"
            reasons.append(Unfit(row, "least order", 1.0, "", says, 0.0))
        elif no_rate[place]:
            keep[place] = False
            reasons.append(Unfit(row, "price", 1.0, "", f"goes in, but no rate for {whole.currency[row]}", 0.0))
    return keep, reasons


def _no_stronger(whole: Catalogue, fits: Fits, failed: Evidence, options: Options) -> NDArray[np.bool_]:
    """Which springs drive no more than the one that failed, and were not asked for by name."""
    names = [(str(whole.supplier[row]), str(whole.item[row])) for row in fits.row.tolist()] if options.must else []
    named = np.zeros(len(fits.row), dtype=bool)
    named[: len(names)] = [any(is_meant(one, *name) for one in options.must) for name in names]
    return np.asarray((np.log(fits.drive_index / 100) <= failed.at + SAME_DRIVE) & ~named)


def _least_order_out_of_reach(
    whole: Catalogue, rows: NDArray[np.intp], options: Options, rates: Rates
) -> dict[str, Money]:
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


def _without_rate(whole: Catalogue, rows: NDArray[np.intp], currency: str, *, everything: bool) -> Finding:
    who = sorted({f"{whole.supplier[r]} ({whole.currency[r]})" for r in rows.tolist()})
    code = "no_rate_for_any" if everything else "no_rate_for_supplier"
    saw = f"{len(rows)} springs of {', '.join(who)} go in but have no price in {currency}"
    return finding(code, where="⟨rates⟩", saw=saw)


def _never_from_nobody(whole: Catalogue, options: Options) -> tuple[Finding, ...]:
    """Suppliers to leave out whom no list and no terms name: most likely misspelt."""
    there = sorted({str(name) for name in whole.supplier} - {"", *PLACES})
    known = {name.casefold() for name in there} | set(options.suppliers)
    return tuple(
        finding(
            "never_from_not_there", where=f"⟨never_from {name}⟩", saw=f"the lists are of {', '.join(there) or 'nobody'}"
        )
        for name in options.never_from
        if name.strip().casefold() not in known
    )


def _taken(fits: Fits, rows: NDArray[np.bool_]) -> Fits:
    return Fits(*(getattr(fits, name)[rows] for name in Fits.__slots__))


def _priced(
    whole: Catalogue,
    owned: NDArray[np.bool_],
    fits: Fits,
    unfit: tuple[Unfit, ...],
    prices: tuple[Money | None, ...],
    currency: str,
    rates: Rates,
    options: Options,
    findings: tuple[Finding, ...],
) -> Offer:
    mine = owned[fits.row]
    known = np.array([p.minor for p, o in zip(prices, mine, strict=True) if p is not None and not o], dtype=float)
    median = float(np.median(known)) if len(known) and np.median(known) > 0 else 1.0
    if not len(known):  # costs are multiples of a median that is not known: what the drawer cost cannot be compared
        prices = (None,) * len(prices)
    paid = np.array([median if p is None else float(p.minor) for p in prices])
    names = tuple(dict.fromkeys(str(s) for s in whole.supplier[fits.row][~mine]))
    terms, lead, about_terms = terms_of(names, rates, options, known_prices=len(known) > 0)
    numbers = {name: i for i, name in enumerate(names)}
    supplier = [len(names) if o else numbers[str(s)] for s, o in zip(whole.supplier[fits.row], mine, strict=True)]
    listed = _listed(whole, fits.row, paid, currency, options, rates)
    if assumed := sum(p is None for p in prices):
        findings += (finding("price_assumed", where="price", saw=f"{assumed} of {len(fits)} springs have no price"),)
    made = springs(
        fits.drive_index,
        fits.load_index,
        paid,
        listed=listed,
        supplier=supplier,
        pieces=whole.pack[fits.row],
        owned=mine,
    )
    reachable = (_reachable(one, made.listed[made.supplier == i], options.most) for i, one in enumerate(terms))
    return Offer(
        whole,
        fits,
        unfit,
        made,
        (*reachable, DRAWER),
        (*names, DRAWER_NAME),
        (*(lead_of if lead_of is not None else 7.0 for lead_of in lead), 0.0),
        prices,
        currency if len(known) else "",
        median,
        findings + about_terms,
        options.drawer,
    )


def _listed(
    whole: Catalogue, rows: NDArray[np.intp], paid: NDArray[np.float64], currency: str, options: Options, rates: Rates
) -> NDArray[np.float64]:
    """What each spring counts towards a supplier's thresholds; one without a price counts as what is assumed for it."""
    listed = in_suppliers_money(whole, rows, options, rates)
    for place in np.flatnonzero(np.isnan(listed)).tolist():
        terms = options.supplier(str(whole.supplier[rows[place]]))
        listed[place] = paid[place]
        if currency and terms:
            listed[place] = counted_as(terms.currency, Money(round(paid[place]), currency), rates)
    return listed


def _reachable(terms: Terms, listed: NDArray[np.float64], most: int) -> Terms:
    dearest = float(np.sort(listed)[-most:].sum())
    return terms.within_reach(float(listed.min()), dearest)
