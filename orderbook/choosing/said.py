"""A candidate, the reference, the weights and what was left out, as JSON keys and as remarks in words."""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Mapping
from typing import Any

import numpy as np
from numpy.typing import NDArray

from orderbook.barrel.springs_seen import spring_said
from orderbook.barrel.words import end_kind
from orderbook.choosing.considering import Considered
from orderbook.choosing.evidence import TOO_WEAK
from orderbook.choosing.fitting import Unfit
from orderbook.choosing.limits import WIDE_ENOUGH
from orderbook.choosing.weights import WEIGHTS
from orderbook.measures.money import Money
from orderbook.mechanics import Reference


def spring_dict(c: Considered, spring: int) -> dict[str, Any]:
    """What is said of a candidate wherever it is shown."""
    fits, row, price = c.offer.fits, c.offer.row(spring), c.offer.price[spring]
    trim, set_up = float(fits.trim_to_mm[spring]), _set_up(c, spring)
    return {
        "found_in": c.offer.found_in(spring),
        "supplier": row["supplier"],
        "item": row["item"],
        "width_mm": row["width_mm"],
        "strength_mm": row["strength_mm"],
        "length_mm": row["length_mm"],
        "trim_to_mm": None if np.isnan(trim) else trim,
        "end": row["end"],
        "turns_delivered": float(fits.delivered_turns[spring]),
        "fill": float(fits.fill[spring]),
        "set_up_turns": set_up,
        "set_up_clicks": round(set_up * c.bench.run.ratchet_teeth) if set_up and c.bench.run.ratchet_teeth else None,
        "drive_index": float(fits.drive_index[spring]),
        "drive_index_u": float(fits.drive_index_u[spring]),
        "load_index": float(fits.load_index[spring]),
        "load_index_u": float(fits.load_index_u[spring]),
        "price": price.text if price is not None else "",
        "price_assumed": price is None,
        "listed_price": _listed_price(row),
        "listed_currency": row["currency"],
        "pack": row["pack"],
        "currency": c.offer.currency,
        "file": row["file"],
        "line": row["line"],
    }


def _set_up(c: Considered, spring: int) -> float | None:
    """Turns of set-up a candidate is to have, counted with the chain run right down; None where nothing is set up."""
    if c.bench.run.drive != "fusee":
        return None
    return max(0.0, float(c.offer.fits.set_up_turns[spring]) - c.bench.left_on_cone)


def _listed_price(row: Mapping[str, Any]) -> str:
    """The price of a pack as the supplier prints it, in the supplier's currency."""
    known = row["price_minor"] >= 0 and row["currency"]
    return Money(row["price_minor"], row["currency"]).text if known else ""


def unfit_dict(c: Considered, one: Unfit) -> dict[str, Any]:
    """A spring that is left out as JSON keys."""
    row = c.offer.catalogue.row(one.row)
    names = ("supplier", "item", "width_mm", "strength_mm", "length_mm", "file", "line")
    return {name: row[name] for name in names} | {
        "measure": one.measure,
        "by": one.by,
        "unit": one.unit,
        "says": one.says,
    }


def reference_dict(reference: Reference) -> dict[str, float]:
    """The reference spring as JSON keys."""
    names = ("width_mm", "strength_mm", "length_mm", "drive_nmm", "load_nmm")
    return {name: float(getattr(reference, name)) for name in names}


def weights_dict(c: Considered) -> dict[str, Any]:
    """The weights in money as JSON keys; shares as they are."""
    said = {one.name: c.weights[one.name] if one.is_share else c.money(c.weights[one.name]) for one in WEIGHTS}
    return said | {"median_price": c.money(c.offer.median_price)}


def need_dict(c: Considered) -> dict[str, Any]:
    """What is believed of the need, where that began, and for what kind of movement."""
    low, high = c.weighed.belief.interval_index()
    return {
        "need_low": low,
        "need_high": high,
        "need_median": c.weighed.belief.median_index,
        "movement": c.bench.movement,
        "movement_is": c.bench.movement_said,
        "start_median": c.start.median,
        "start_spread": c.start.spread,
        "start_says": c.start.says,
    }


def counts_of(c: Considered) -> dict[str, int]:
    """Rows of the lists, and springs that may be proposed, are left out, can be ranked, and are dominated."""
    offered = c.offer.springs
    return c.row_counts | {
        "springs_that_go_in": len(c.offer),
        "springs_that_do_not": c.do_not_go_in,
        "springs_ranked": int(np.isfinite(c.any_first[0]).sum()),
        "springs_dominated": int(dominated(offered.drive, offered.load, offered.price).sum()),
    }


def remarks(c: Considered, spring: int) -> list[str]:
    """What else to know of a candidate: dominated, tried before, cut, narrow, price assumed, pack, drawer, end."""
    row, said = c.offer.row(spring), []
    if weaker := too_weak_already(c, spring):
        said.append(f"no stronger than {weaker}, which was too weak")
    if stronger := dominated_by(c, spring):
        said.append(f"loads more than {stronger} but drives no more")
    if (share := float(c.offer.fits.width_share[spring])) < WIDE_ENOUGH:
        said.append(f"{100 * share:.0f} % of the width it could have")
    if row["pack"] > 1:
        said.append(f"pack of {row['pack']}")
    if owned := c.offer.owned(spring):
        said.append("in the drawer" if owned.place == "drawer" else f"received: {owned.called}")
    if c.offer.price[spring] is None:
        said.append("price assumed")
    if c.offer.springs.new_end[spring]:
        said.append(f"end is {row['end']}, not {end_kind(c.bench.end)}: it must be made again")
    return said


def too_weak_already(c: Considered, spring: int) -> str:
    """The tried spring reported too weak that this one is no stronger than, if there is one."""
    drive = c.offer.springs.drive[spring]
    stronger = [e for e in c.seen if e.kind in TOO_WEAK and e.at >= drive - 1e-9]
    return spring_said(stronger[0].what) if stronger else ""


def dominated_by(c: Considered, spring: int) -> str:
    """A candidate with no less drive, less load and no higher price, if there is one."""
    offered = c.offer.springs
    better = (
        (offered.drive >= offered.drive[spring])
        & (offered.load < offered.load[spring])
        & (offered.price <= offered.price[spring])
    )
    return str(c.offer.row(int(np.flatnonzero(better)[0]))["item"]) if better.any() else ""


def dominated(drive: NDArray[np.float64], load: NDArray[np.float64], price: NDArray[np.float64]) -> NDArray[np.bool_]:
    """Mark the springs beside which another drives no less, loads less and costs no more.

    From the greatest drive down, the least load to be had up to each price is kept as a staircase, so that a list of
    n springs takes of the order of n log n steps.

    >>> dominated(np.array([90.0, 95.0, 80.0]), np.array([100.0, 99.0, 70.0]), np.array([10.0, 10.0, 10.0])).tolist()
    [True, False, False]
    """
    order = np.lexsort((load, -drive))
    found = np.zeros(len(drive), bool)
    prices: list[float] = []
    loads: list[float] = []
    for one in np.split(order, np.flatnonzero(np.diff(drive[order])) + 1):
        for at in one.tolist():
            _step(prices, loads, float(price[at]), float(load[at]))
        for at in one.tolist():
            step = bisect_right(prices, float(price[at])) - 1
            found[at] = step >= 0 and loads[step] < load[at]
    return found


def _step(prices: list[float], loads: list[float], price: float, load: float) -> None:
    """Put a price and load into the staircase: prices rise, loads fall."""
    at = bisect_right(prices, price)
    if at and loads[at - 1] <= load:
        return
    start = end = bisect_left(prices, price)
    while end < len(loads) and loads[end] >= load:
        end += 1
    prices[start:end], loads[start:end] = [price], [load]
