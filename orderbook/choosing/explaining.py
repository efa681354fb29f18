"""All that recomputes a ranking or a graded order outside."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from orderbook.choosing.belief import cell_middles
from orderbook.choosing.chain import chain

if TYPE_CHECKING:
    from orderbook.choosing.ranking import Considered


def explained(c: Considered) -> dict[str, Any]:
    """Return belief, evidence, weights, candidates, terms and the cost to go, under their JSON keys."""
    offered, table = c.offer.springs, c.plan.table
    columns = ("drive", "load", "price", "listed", "supplier", "pieces", "owned")
    return {
        "belief": {"x": cell_middles(), "p": c.weighed.belief.p},
        "evidence": [{"kind": e.kind, "x": e.at, "x_u": e.spread, "what": e.what} for e in c.seen],
        "weights_minor": {name: getattr(c.weights, name) for name in type(c.weights).__slots__},
        "candidates": [
            {"item": c.offer.row(i)["item"], "edge": int(offered.edge[i])}
            | {name: getattr(offered, name)[i] for name in columns}
            for i in range(len(offered))
        ],
        "terms": [{"supplier": n} | _terms_dict(t) for n, t in zip(c.offer.names, c.offer.terms, strict=True)],
        "springs_an_order": c.choice.most,
        "cost_to_go": {"edge": table.edges, "later": c.plan.to_go.later, "chance": table.above},
        "plan": {"cost": c.plan.cost, "orders": [list(order) for order in chain(c.plan, c.plan.order)]},
    }


def _terms_dict(terms: Any) -> dict[str, Any]:
    return {name: getattr(terms, name) for name in type(terms).__slots__}
