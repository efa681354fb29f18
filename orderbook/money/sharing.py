"""Sharing an amount over lines so that the shares add up to the minor unit."""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction


def share(total: int, weights: Sequence[int | Fraction]) -> tuple[int, ...]:
    """Share whole minor units in proportion to weights by the largest remainder.

    Each share is ⌊total·wᵢ/Σw⌋; what is left goes one by one to the largest remainders, the earlier line first.
    A negative total is shared as its opposite. All weights zero count as equal.
    Source: Hamilton's method of apportionment.

    >>> share(44, [21878, 9713, 4167, 3252, 1065])
    (24, 11, 5, 3, 1)
    >>> share(-100, [1, 1, 1])
    (-34, -33, -33)
    """
    if not weights:
        raise ValueError("nothing to share over")
    if any(weight < 0 for weight in weights):
        raise ValueError("a weight is negative")
    if total < 0:
        return tuple(-part for part in share(-total, weights))
    fair = [Fraction(weight) for weight in weights] if any(weights) else [Fraction(1)] * len(weights)
    quotas = [total * weight / sum(fair) for weight in fair]
    floors = [quota.numerator // quota.denominator for quota in quotas]
    by_remainder = sorted(range(len(fair)), key=lambda i: (floors[i] - quotas[i], i))
    lucky = set(by_remainder[: total - sum(floors)])
    return tuple(floor + (i in lucky) for i, floor in enumerate(floors))
