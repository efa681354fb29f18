"""The springs that may be proposed, with what each would cost: one list of candidates from suppliers and at hand."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from orderbook.barrel.words import end_kind
from orderbook.catalogue import Catalogue
from orderbook.choosing.belief import Floats
from orderbook.choosing.bench import NEW_FLOW_STRESS, OLD_FLOW_STRESS, Bench
from orderbook.choosing.evidence import TOO_WEAK, Weighed
from orderbook.choosing.fitting import Fits, Scale, Strips, Unfit, fit, strips_of
from orderbook.choosing.limits import MayPropose, limits, may_begin, stops
from orderbook.choosing.options import PLACES, Options, SpringAtHand
from orderbook.choosing.postage import DRAWER, Terms, counted_as, in_suppliers_money, terms_of
from orderbook.choosing.prices import currency_of, least_order_out_of_reach, paid_for, prices_of, without_rate
from orderbook.choosing.seen import TriedSpring
from orderbook.choosing.springs import Flags, Springs, Whole, springs
from orderbook.errors import Finding, error, finding
from orderbook.measures.exchange import Rates
from orderbook.measures.money import Money

DRAWER_NAME = "drawer"
TRIED, LIMIT = "tried", "limit"  # why a spring that goes in is not offered: by what was tried, by the plan's limits
NOT_TO_BE_HAD = ("supplier", "stock", "least order", "price")  # why a spring that goes in cannot be ordered


@dataclass(frozen=True, slots=True)
class Offer:
    """Candidates: the list (springs at hand at its end), which rows go in, and their prices in the book's currency.

    `price` has one entry a spring that may be proposed, Money or None where it is assumed; `springs` and `terms` are
    the same for the choice, `names` the suppliers in the order of `terms`, `ends` the kind of each spring's end.
    `only_too_strong` says that all of them load more than the strongest useful spring.
    """

    catalogue: Catalogue
    fits: Fits
    unfit: tuple[Unfit, ...]
    springs: Springs
    terms: tuple[Terms, ...]
    names: tuple[str, ...]
    price: tuple[Money | None, ...]
    ends: tuple[str, ...]
    currency: str
    median_price: float
    findings: tuple[Finding, ...]
    at_hand: tuple[SpringAtHand, ...] = ()
    only_too_strong: bool = False

    def __len__(self) -> int:
        """Number of springs that may be proposed."""
        return len(self.fits)

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

    def left_out_by(self, measure: str) -> bool:
        """Whether springs that go in are not offered for this reason."""
        return any(one.measure == measure for one in self.unfit)


@dataclass(frozen=True, slots=True)
class Listed:
    """A list with the springs at hand at its end, and which of them go in."""

    whole: Catalogue
    at_hand: tuple[SpringAtHand, ...]
    owned: Flags
    fits: Fits
    unfit: tuple[Unfit, ...]


def listed_in(
    bench: Bench, catalogue: Catalogue, options: Options, scale: Scale, tried: tuple[TriedSpring, ...] = ()
) -> Listed:
    """Sort the list and the springs at hand into what goes in and what does not."""
    at_hand = _not_failed(options, tried)
    whole, owned = _with_drawer(catalogue, at_hand)
    return Listed(whole, at_hand, owned, *fit(bench, _strips(whole, at_hand, owned), scale.yardstick))


def offer_of(
    bench: Bench,
    listed: Listed,
    options: Options,
    scale: Scale,
    weighed: Weighed,
    tried: tuple[TriedSpring, ...] = (),
) -> Offer:
    """Sort what goes in into what may be proposed and what not, and price what may.

    Raises: OrderbookError(code="never_from_all" | "currency_not_known" | …).
    """
    whole, owned, fits, unfit = listed.whole, listed.owned, listed.fits, listed.unfit
    currency, findings = currency_of(whole.take(fits.row), options)
    rates = Rates(currency, options.rates.rates if options.rates else ())
    prices, no_rate = prices_of(whole, fits.row, currency, rates, options)
    can_be_had, reasons = _can_be_had(whole, fits.row, owned, no_rate, options, rates)
    paid, median, is_priced = paid_for(prices, owned[fits.row])
    held = _within_limits(whole, fits, scale, tried, options, can_be_had)
    reasons += [
        Unfit(int(fits.row[place]), TRIED if held.by_trial[place] else LIMIT, 0.0, "", held.why_not[place], np.inf)
        for place in np.flatnonzero(~held.may & can_be_had).tolist()
    ]
    findings += _never_from_nobody(whole, options)
    may = held.may & can_be_had
    if no_rate.any():
        findings += (without_rate(whole, fits.row[no_rate], currency, everything=not can_be_had.any()),)
    unfit = tuple(sorted([*unfit, *reasons], key=lambda u: (u.far, u.row)))
    chosen = np.flatnonzero(may)
    fits, mine = fits.take(chosen), owned[fits.row[chosen]]
    own_price = [prices[i] for i in chosen.tolist()]
    missing = sum(p is None for p in own_price)
    if missing:
        findings += (finding("price_assumed", where="price", saw=f"{missing} of {len(fits)} springs have no price"),)
    names = tuple(dict.fromkeys(str(s) for s in whole.supplier[fits.row][~mine]))
    terms, about_terms = terms_of(names, rates, options, known_prices=is_priced)
    numbers = {name: i for i, name in enumerate(names)}
    supplier = [len(names) if o else numbers[str(s)] for s, o in zip(whole.supplier[fits.row], mine, strict=True)]
    ends = tuple(end_kind(str(text)) for text in whole.end[fits.row])
    made = springs(
        fits.drive_index,
        fits.load_index,
        paid[chosen],
        listed=_listed(whole, fits.row, paid[chosen], currency if is_priced else "", options, rates),
        supplier=supplier,
        pieces=whole.pack[fits.row],
        owned=mine,
        width_mm=np.round(whole.width_mm[fits.row], 2),
        lacks=fits.lacks,
        end=_numbered(ends),
        cut=~np.isnan(fits.trim_to_mm),
        new_end=_of_another_kind(ends, bench.end),
        stops=stops(fits, weighed, even_so=options.even_so),
        begins=may_begin(fits, () if options.even_so else tried, mine | _named(whole, fits, options)),
    )
    reachable = (_reachable(one, made.listed[made.supplier == i], options.most) for i, one in enumerate(terms))
    return Offer(
        whole,
        fits,
        unfit,
        made,
        (*reachable, DRAWER),
        (*names, DRAWER_NAME),
        tuple(own_price),
        ends,
        currency if is_priced else "",
        median,
        findings + about_terms,
        listed.at_hand,
        held.only_too_strong,
    )


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


def _not_failed(options: Options, tried: tuple[TriedSpring, ...]) -> tuple[SpringAtHand, ...]:
    """Springs at hand but those that were too weak here: what more of set-up would give them is told apart."""
    failed = {one.spring.label for one in tried if one.spring.verdict in (*TOO_WEAK, "stopped")} - {""}
    return tuple(d for d in options.drawer if not failed & {d.label, d.order})


def _with_drawer(catalogue: Catalogue, drawer: tuple[SpringAtHand, ...]) -> tuple[Catalogue, Flags]:
    own = Catalogue.of(
        supplier=[d.place for d in drawer],
        item=[d.label for d in drawer],
        width_mm=[d.width_mm for d in drawer],
        strength_mm=[d.strength_mm for d in drawer],
        length_mm=[d.length_mm for d in drawer],
        end=[d.end for d in drawer],
        price_minor=[d.price.minor if d.price else -1 for d in drawer],
        currency=[d.price.currency if d.price else "" for d in drawer],
    )
    owned = np.concatenate([np.zeros(len(catalogue), bool), np.ones(len(own), bool)])
    return Catalogue.concat([catalogue, own]), owned


def _strips(whole: Catalogue, drawer: tuple[SpringAtHand, ...], owned: Flags) -> Strips:
    strips = strips_of(whole)
    old = np.zeros(len(whole), dtype=bool)
    old[owned] = [not one.is_new for one in drawer]
    strips.flow_stress_u[:] = np.where(old, OLD_FLOW_STRESS, NEW_FLOW_STRESS)
    return strips


def _can_be_had(
    whole: Catalogue, rows: Whole, owned: Flags, no_rate: Flags, options: Options, rates: Rates
) -> tuple[Flags, list[Unfit]]:
    never = {name.strip().casefold() for name in options.never_from}
    keep, reasons = np.ones(len(rows), bool), []
    too_small = least_order_out_of_reach(whole, rows, options, rates)
    suppliers, stock = whole.supplier[rows].tolist(), whole.stock[rows].tolist()
    names = {supplier: supplier.casefold() for supplier in set(suppliers)}
    for place, row in enumerate(rows.tolist()):
        supplier = suppliers[place]
        says = ""
        if names[supplier] in never and not owned[row]:
            measure, says = "supplier", f"never from {supplier}, as you asked"
        elif stock[place] == 0:
            measure, says = "stock", "goes in, but none in stock"
        elif (name := names[supplier]) in too_small:
            measure = "least order"
            says = f"goes in, but {options.most} springs stay below the least order of {too_small[name]}"
        elif no_rate[place]:
            measure, says = "price", f"goes in, but no rate for {whole.currency[row]}"
        if says:
            keep[place] = False
            reasons.append(Unfit(row, measure, 1.0, "", says, 0.0))
    return keep, reasons


def _within_limits(
    whole: Catalogue, fits: Fits, scale: Scale, tried: tuple[TriedSpring, ...], options: Options, can_be_had: Flags
) -> MayPropose:
    """The limits of the plan; what was asked for by name is let in, and where the user insists, what was too weak."""
    known = () if options.even_so else tried
    held = limits(fits, scale.reference, known, can_be_had)
    return replace(held, may=held.may | _named(whole, fits, options))


def _named(whole: Catalogue, fits: Fits, options: Options) -> Flags:
    """Which springs were asked for by name."""
    if not options.must:
        return np.zeros(len(fits), bool)
    names = [(str(whole.supplier[row]), str(whole.item[row])) for row in fits.row.tolist()]
    return np.array([any(is_meant(one, *name) for one in options.must) for name in names], dtype=bool)


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


def _numbered(ends: tuple[str, ...]) -> list[int]:
    kinds = {kind: number for number, kind in enumerate(sorted(set(ends)))}
    return [kinds[kind] for kind in ends]


def _of_another_kind(ends: tuple[str, ...], wanted: str) -> list[bool]:
    """Which ends must be made anew: of a kind that is told, and is not the one the barrel wants."""
    kind = end_kind(wanted)
    return [bool(kind) and bool(end) and end != kind for end in ends]


def _listed(whole: Catalogue, rows: Whole, paid: Floats, currency: str, options: Options, rates: Rates) -> Floats:
    """What each spring counts towards a supplier's thresholds; one without a price counts as what is assumed for it."""
    listed = in_suppliers_money(whole, rows, options, rates)
    for place in np.flatnonzero(np.isnan(listed)).tolist():
        terms = options.supplier(str(whole.supplier[rows[place]]))
        listed[place] = paid[place]
        if currency and terms:
            listed[place] = counted_as(terms.currency, Money(round(paid[place]), currency), rates)
    return listed


def _reachable(terms: Terms, listed: Floats, most: int) -> Terms:
    if not len(listed):
        return terms
    dearest = float(np.sort(listed)[-most:].sum())
    return terms.within_reach(float(listed.min()), dearest)
