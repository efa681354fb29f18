"""Money in whole minor units, exchange rates, postage rules, shares that add up.

No float ever holds money.
"""
