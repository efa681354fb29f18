"""The answer to the last verdict of a barrel, from lists and springs at hand without a book."""

from __future__ import annotations

from dataclasses import replace

from orderbook.barrel.barrel import Barrel
from orderbook.catalogue.springs import Catalogue
from orderbook.choosing.advice import AfterTrial, advice_on
from orderbook.choosing.considering import consider
from orderbook.choosing.options import Options, SpringAtHand


def after_trial(
    barrel: Barrel, springs: Catalogue, options: Options | None = None, *, in_hand: tuple[SpringAtHand, ...] = ()
) -> AfterTrial:
    """Answer the last verdict; `in_hand` are springs of the order not tried yet, which count as the drawer's."""
    options = options or Options()
    return advice_on(consider(barrel, springs, replace(options, drawer=(*options.drawer, *in_hand))))
