"""What drive the movement needs: the usual guess, and rod tests where they were made."""

from __future__ import annotations

import math

from orderbook.barrel.barrel import Barrel
from orderbook.barrel.modelling import Model
from orderbook.barrel.rods import rod_need
from orderbook.errors import Finding, finding
from orderbook.measures import Measured

MEDIAN_NEED, NEED_SPREAD = 100 / 1.3, 0.20  # the maker left a margin of 30 %; common practice, no source


def needed_drive(barrel: Barrel, model: Model) -> tuple[Measured, tuple[Finding, ...]]:
    """Return the drive index the movement needs, in per cent, with its ±; rod tests sharpen the usual guess.

    ln(need) is the mean of ln 77 ± 0.20 and of the rod tests, each weighted by 1/u².
    """
    usual = Measured(MEDIAN_NEED, NEED_SPREAD * MEDIAN_NEED, "the maker left a margin")
    tested = _by_rods(barrel, model)
    if tested is None:
        return usual, ()
    logs = [(math.log(m.value), (m.value / m.u) ** 2) for m in (usual, tested)]
    whole = sum(weight for _, weight in logs)
    value, share = math.exp(sum(log * weight for log, weight in logs) / whole), whole**-0.5
    saw = f"{tested.value:.0f} ± {2 * tested.u:.0f} % of the strongest useful spring's drive, by {tested.source}"
    found = [finding("rod_test_says", where="⟨rod⟩", saw=saw)]
    if tested.value - 2 * tested.u > 100:
        found.append(finding("need_above_strongest", where="⟨rod⟩", saw=saw))
    return Measured(value, share * value, f"rod tests and the usual margin ({tested.source})"), tuple(found)


def _by_rods(barrel: Barrel, model: Model) -> Measured | None:
    told = rod_need(barrel, model)
    if told is None:
        return None
    need = 100 * told.need_nmm / model.reference.drive_nmm
    return Measured(need, told.u * need, told.source)
