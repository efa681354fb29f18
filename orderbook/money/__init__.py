"""Money in whole minor units, exchange rates, postage rules, shares that add up.

No float ever holds money.
"""

from orderbook.money.amounts import Money, minor_digits, rounded
from orderbook.money.exchange import Rate, Rates
from orderbook.money.postage import PostageRule
from orderbook.money.sharing import share

__all__ = ["Money", "PostageRule", "Rate", "Rates", "minor_digits", "rounded", "share"]
