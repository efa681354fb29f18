"""A closed rule for the strength to order: near enough the model to be a sheet's own formula, before any refresh.

The strongest useful spring of a barrel has no closed form. Over barrels at large its turns, run down to wound, follow a
short polynomial in the turns used and in arbor over bore, for the model does not know how large a barrel is; strength
follows from the turns by Rozé's theorem. What makers fitted drives some 83 % of what that spring does, and is weaker by
a share that follows a straight line. Both were fitted to the model; how far off they are is stated and tested.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Literal

from orderbook.mechanics.barrel import band_growth
from orderbook.mechanics.given import Number, as_given, barrel_is_right, fill_is_right

Kept = Literal["going", "stop work", "fusee"]
FITTED_DRIVE = (
    0.83  # of the strongest useful spring's: middle of what makers fitted to watches (85 %) and clocks (81 %)
)
USUAL_SET_UP = 0.5  # turns, with stop work; common practice, no source


@dataclass(frozen=True, slots=True)
class ClosedRule:
    """Coefficients of one way to keep a barrel within its run.

    `turns` goes with 1, u, a, u·a, u², a² and φ − ½; `share` with 1, u and a: u turns used (with stop work and the
    set-up), a arbor over bore, φ fill.
    """

    turns: tuple[float, ...]
    share: tuple[float, ...]


RULES: dict[Kept, ClosedRule] = {
    "going": ClosedRule((8.868, 1.565, -30.75, -1.285, -0.01607, 29.96, -2.814), (0.6807, 0.01247, 0.2209)),
    "stop work": ClosedRule((12.53, 0.511, -50.03, 0.7959, 0.01001, 54.16, -1.318), (1.016, -0.004205, -0.2465)),
    "fusee": ClosedRule((8.458, 0.8303, -16.21, 0.06189, 0.002742, 3.072, -2.511), (0.8926, -0.0004079, 0.1056)),
}
WITHIN = 0.03  # how far off the strengths are in 95 barrels of 100, as a share; fitted and tested


def strongest_by_rule(
    bore_mm: Number, arbor_mm: Number, used_turns: Number, fill: Number = 0.5, kept: Kept = "going"
) -> Any:
    """Strength of the strongest useful spring by the closed rule.

    e = growth(bore, arbor, φ)/N, N = Σ c·(1, u, a, u·a, u², a², φ − ½)

    Parameters: bore and arbor in mm; turns used, with stop work the set-up added; fill 0…1; how the run is kept.
    Returns: mm.
    Raises: OrderbookError for a barrel that makes no sense.
    Source: fitted to `reference_spring` over random barrels of 2.5 to 9 turns and arbor/bore 0.24 to 0.42.

    >>> round(strongest_by_rule(15.6, 5.2, 3.5), 3)
    0.214
    """
    bore, arbor, used, share = as_given(bore=bore_mm, arbor=arbor_mm, turns_used=used_turns, fill=fill)
    barrel_is_right(bore, arbor)
    fill_is_right(share)
    a = arbor / bore
    terms = (1.0, used, a, used * a, used**2, a**2, share - 0.5)
    turns = sum(c * term for c, term in zip(RULES[kept].turns, terms, strict=True))
    found = band_growth(bore, arbor, share) / turns
    return float(found) if found.ndim == 0 else found


def fitted_by_rule(
    bore_mm: Number, arbor_mm: Number, used_turns: Number, fill: Number = 0.5, kept: Kept = "going"
) -> Any:
    """Strength that makers would have fitted, by the closed rule: the one to order by before more is known.

    e = s·strongest, s = Σ c·(1, u, a): it drives about 83 % of what the strongest useful spring does.

    Parameters, Returns, Raises: as `strongest_by_rule`. Source: fitted to `drive_and_load` over the same barrels.

    >>> round(fitted_by_rule(15.6, 5.2, 3.5), 3)
    0.171
    """
    one, by_used, by_arbor = RULES[kept].share
    bore, arbor, used = as_given(bore=bore_mm, arbor=arbor_mm, turns_used=used_turns)
    return strongest_by_rule(bore_mm, arbor_mm, used_turns, fill, kept) * (
        one + by_used * used + by_arbor * arbor / bore
    )


__all__ = ["FITTED_DRIVE", "RULES", "USUAL_SET_UP", "WITHIN", "ClosedRule", "fitted_by_rule", "strongest_by_rule"]
