"""What a supplier charges for sending an order."""

from __future__ import annotations

from dataclasses import dataclass

from orderbook.money.amounts import Money


@dataclass(frozen=True, slots=True)
class PostageRule:
    """Postage of one supplier: flat, or in tiers by the order's value, free above an amount; a minimum order.

    tiers: (order value from which it holds, postage), rising. All amounts are of one currency.

    >>> rule = PostageRule(flat=Money(450, "GBP"), free_above=Money(5000, "GBP"))
    >>> rule.charge(Money(1200, "GBP")).text, rule.charge(Money(6000, "GBP")).text
    ('4.50', '0.00')
    """

    flat: Money
    tiers: tuple[tuple[Money, Money], ...] = ()
    free_above: Money | None = None
    minimum_order: Money | None = None

    def charge(self, order_value: Money) -> Money:
        """Return the postage for an order of this value."""
        if self.free_above is not None and self.free_above <= order_value:
            return Money(0, order_value.currency)
        reached = [postage for from_value, postage in self.tiers if from_value <= order_value]
        return reached[-1] if reached else self.flat

    def below_minimum(self, order_value: Money) -> bool:
        """Say whether the supplier would refuse an order of this value."""
        return self.minimum_order is not None and order_value < self.minimum_order
