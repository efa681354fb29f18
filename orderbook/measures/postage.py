"""What a supplier charges for sending an order."""

from __future__ import annotations

from dataclasses import dataclass

from orderbook.errors import OrderbookError, error
from orderbook.measures.money import Money


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

    @classmethod
    def read(
        cls,
        text: str,
        currency: str,
        *,
        free_above: Money | None = None,
        minimum_order: Money | None = None,
        where: str = "postage",
    ) -> PostageRule:
        """Read a sum, or tiers by the order's value such as `20: 4.50; 50: 6.50`.

        No postage given counts as none; below the first tier the first sum is charged.
        Raises: OrderbookError(postage_not_read).

        >>> rule = PostageRule.read("0: 3,20; 20: 4.50", "GBP")
        >>> rule.charge(Money(1999, "GBP")).text, rule.charge(Money(2000, "GBP")).text
        ('3.20', '4.50')
        """
        tiers = _tiers(text, currency, where) if ":" in text else ()
        flat = tiers[0][1] if tiers else _sum(text, currency, where) if text else Money(0, currency)
        return cls(flat, tiers, free_above, minimum_order)


def _tiers(text: str, currency: str, where: str) -> tuple[tuple[Money, Money], ...]:
    pairs = [piece.split(":") for piece in text.split(";") if piece.strip()]
    if any(len(pair) != 2 for pair in pairs):
        raise error("postage_not_read", where=where, saw=f"“{text}”")
    tiers = [(_sum(start, currency, where), _sum(charge, currency, where)) for start, charge in pairs]
    return tuple(sorted(tiers, key=lambda tier: tier[0].minor))


def _sum(text: str, currency: str, where: str) -> Money:
    try:
        return Money.parse(text.strip(), currency, where=where)
    except OrderbookError as problem:
        raise error("postage_not_read", where=where, saw=f"“{text.strip()}”") from problem
