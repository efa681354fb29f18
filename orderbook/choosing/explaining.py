"""All that recomputes a ranking or a graded order outside: every number the objective takes, and what came out."""

from __future__ import annotations

from typing import Any

import numpy as np

from orderbook.choosing.belief import cell_middles
from orderbook.choosing.chain import chain
from orderbook.choosing.considering import Considered
from orderbook.choosing.more_clicks import MoreClicks
from orderbook.choosing.objective import Choice, parts_due, share_kept, waiting
from orderbook.choosing.said import reference_dict
from orderbook.measures.money import minor_digits


def explained(c: Considered) -> dict[str, Any]:
    """Return belief, evidence, candidates, suppliers, weights, the cost to go and the plan, under their JSON keys.

    Amounts are in the book's currency (multiples of the median price where no list has a price), not rounded. Springs
    stand at the nearest `edge` of the grid of the belief; what is due of each is in `terms`, by when it is due. Where
    more set-up comes first, belief and candidates are those that follow if it does not do.
    """
    choice, table = c.choice, c.plan.table
    unit = 10.0 ** minor_digits(c.offer.currency, where="currency") if c.offer.currency else 1.0
    reference = c.reference
    return {
        "belief": {
            "x": cell_middles(),
            "p": choice.belief.p,
            "just_sufficient_load_nmm": np.exp(choice.enough) * reference.load_nmm,
        },
        "evidence": [{"kind": e.kind, "x": e.at, "x_u": e.spread, "what": e.what} for e in c.seen],
        "candidates": [_candidate(c, spring, unit) for spring in range(len(c.offer))],
        "suppliers": [_supplier(choice, number, c.offer.names[number], unit) for number in range(len(choice.terms))],
        "weights": {
            name: value if name in ("kept", "kept_cut") else value / unit for name, value in c.weights.values.items()
        }
        | {"median_price": c.offer.median_price / unit},
        "reference": reference_dict(reference),
        "springs_an_order": choice.most,
        "cost_to_go": {
            "edge": table.edges,
            "least": c.plan.to_go.least / unit,
            "chance": table.above,
            "stops": table.stops,
        },
        "plan": {
            "cost": c.plan.cost / unit,
            "least_cost": c.plan.least / unit,
            "orders": [list(order) for order in chain(c.plan, c.plan.order)],
        },
    }


def _candidate(c: Considered, spring: int, unit: float) -> dict[str, Any]:
    choice, rows = c.choice, np.array([spring])
    row, offered, reference = c.offer.row(spring), choice.offered, c.reference
    terms = {
        name: float(value[0]) / unit for name, value in parts_due(choice, "fitted", rows).items() if name != "price"
    }
    return {
        "supplier": row["supplier"],
        "item": row["item"],
        "drive_nmm": float(np.exp(offered.drive[spring]) * reference.drive_nmm),
        "load_nmm": float(np.exp(offered.load[spring]) * reference.load_nmm),
        "edge": int(offered.edge[spring]),
        "price": float(offered.price[spring]) / unit,
        "listed": float(offered.listed[spring]),
        "pieces": int(offered.pieces[spring]),
        "keeps": float(share_kept(choice, rows)[0]),
        "terms": terms,
        "owned": bool(offered.owned[spring]),
        "stops": bool(offered.stops[spring]),
        "begins": bool(offered.begins[spring]),
        "comes_from": int(offered.supplier[spring]),
    }


def _supplier(choice: Choice, number: int, name: str, unit: float) -> dict[str, Any]:
    terms, used = choice.terms[number], np.arange(len(choice.terms)) == number
    return {
        "supplier": name,
        "postage": terms.postage / unit,
        "tiers": [[reached, charge / unit] for reached, charge in terms.tiers],
        "free_from": terms.free_from,
        "minimum": terms.minimum,
        "days": terms.days,
        "wait": float(waiting(choice, used, None)) / unit,
    }


def first_dict(first: MoreClicks | None) -> dict[str, Any] | None:
    """More set-up for a spring that was too weak, as JSON keys; None where nothing of it comes first."""
    if first is None:
        return None
    told: dict[str, Any] = {"what": first.says, "spring": first.spring.label or first.spring.said, "teeth": first.teeth}
    for name in ("clicks", "turns", "drive", "load", "evenness"):
        before, after = getattr(first, name)
        told |= {f"{name}_now": before, f"{name}_then": after}
    return told
