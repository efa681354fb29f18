"""The indices for cell by cell use: a barrel's reference spring is worked out once and kept, not once a cell."""

from __future__ import annotations

import math
from functools import lru_cache
from typing import Any

from orderbook import mechanics
from orderbook.mechanics import Reference, Run, reference_spring
from orderbook.mechanics.one_run import ends_of_run

KEPT = 4096  # barrels, and springs in them


def drive_index(**given: Any) -> Any:
    """Return `mechanics.drive_index`, for single numbers from what is kept of the barrel.

    >>> round(drive_index(bore_mm=15.6, arbor_mm=5.2, used_turns=3.5, width_mm=2.9, strength_mm=0.15, length_mm=566.3))
    71
    """
    return _index("drive_nmm", given) if _is_plain(given) else mechanics.drive_index(**given)


def load_index(**given: Any) -> Any:
    """Return `mechanics.load_index`, for single numbers from what is kept of the barrel.

    >>> round(load_index(bore_mm=15.6, arbor_mm=5.2, used_turns=3.5, width_mm=2.9, strength_mm=0.15, length_mm=566.3))
    49
    """
    return _index("load_nmm", given) if _is_plain(given) else mechanics.load_index(**given)


def strongest_useful(**given: Any) -> Any:
    """Return `mechanics.strongest_useful`, for single numbers from what is kept of the barrel.

    >>> round(strongest_useful(bore_mm=15.6, arbor_mm=5.2, used_turns=3.5), 3)
    0.21
    """
    return _strongest(**given) if _is_plain(given) else mechanics.strongest_useful(**given)


_strongest = lru_cache(KEPT)(mechanics.strongest_useful)


def _is_plain(given: dict[str, Any]) -> bool:
    """Whether all are single numbers and the reference is left to the barrel."""
    return set(map(type, given.values())) <= {float, int} and not any(name.startswith("ref_") for name in given)


def _index(which: str, given: dict[str, Any]) -> float:
    barrel = (given["bore_mm"], given["arbor_mm"], given["used_turns"], given["width_mm"], given.get("set_up_turns"))
    reference = getattr(_reference(*barrel), which)  # it also says what is wrong with the barrel
    drive, load = _ends(*barrel, given["strength_mm"], given["length_mm"])
    here = drive if which == "drive_nmm" else load
    return 100 * here / reference if reference > 0 else math.nan  # a run that ends slack has no drive to compare with


@lru_cache(KEPT)
def _reference(bore: float, arbor: float, used: float, width: float, set_up: float | None) -> Reference:
    return reference_spring(bore, arbor, width, Run(used, set_up_turns=set_up))


@lru_cache(KEPT)
def _ends(
    bore: float, arbor: float, used: float, width: float, set_up: float | None, strength: float, length: float
) -> tuple[float, float]:
    return ends_of_run(bore, arbor, width, strength, length, Run(used, set_up_turns=set_up))
