"""One order from the start as an integer program: a path of springs, the suppliers it uses, HiGHS to solve it.

Written from the definition of the cost, cell by cell; it shares with the code only the cost to go at the end.
"""

import numpy as np
from scipy.optimize import Bounds, LinearConstraint, milp
from scipy.sparse import csr_array

from orderbook.choosing.belief import cell_middles


def one_round(choice, plan, seconds=120.0):
    """Least cost and rows of the best first order; raises TimeoutError if HiGHS does not finish."""
    offered, weights, n = choice.offered, choice.weights, len(choice.offered)
    edge = offered.edge
    to_go = {int(e): f for e, f in zip(plan.table.edges, plan.to_go.later, strict=True)}
    arcs = [(-1, j) for j in range(n)] + [(i, j) for i in range(n) for j in range(n) if edge[i] < edge[j]]
    # variables: an arc (i, j) = j is fitted next after i; end[j] = j is the last; use[s] = supplier s is paid for
    cost = [_arc(choice, i, j) for i, j in arcs]
    cost += [to_go[int(edge[j])] for j in range(n)]
    cost += [terms.postage for terms in choice.terms]
    ends, uses = len(arcs), len(arcs) + n
    entries, low, high = [], [], []

    def row(terms, least, most):
        entries.extend((len(low), column, value) for column, value in terms)
        low.append(least)
        high.append(most)

    row([(k, 1.0) for k, (i, _) in enumerate(arcs) if i < 0], 1.0, 1.0)
    into, out = [[] for _ in range(n)], [[] for _ in range(n)]
    for k, (i, j) in enumerate(arcs):
        into[j].append(k)
        if i >= 0:
            out[i].append(k)
    for j in range(n):
        row([(k, 1.0) for k in into[j]] + [(k, -1.0) for k in out[j]] + [(ends + j, -1.0)], 0.0, 0.0)
        row([(k, 1.0) for k in into[j]] + [(uses + int(offered.supplier[j]), -1.0)], -np.inf, 0.0)
    row([(k, 1.0) for k in range(len(arcs))], 1.0, float(choice.most))
    at = np.array([(r, c) for r, c, _ in entries]).T
    matrix = csr_array(([v for _, _, v in entries], (at[0], at[1])), shape=(len(low), len(cost)))
    scale = weights.give_up
    found = milp(
        np.array(cost) / scale,
        constraints=LinearConstraint(matrix, low, high),
        bounds=Bounds(0, 1),
        integrality=np.ones(len(cost)),
        options={"time_limit": seconds, "mip_rel_gap": 0.0},
    )
    if found.status != 0:
        raise TimeoutError(found.message)
    taken = np.flatnonzero(found.x[: len(arcs)] > 0.5)
    rows = sorted((arcs[k][1] for k in taken), key=lambda j: edge[j])
    exact = float(np.array(cost) @ np.rint(found.x))
    return min(exact, scale), tuple(rows) if exact < scale else ()


def _arc(choice, i, j):
    offered, weights = choice.offered, choice.weights
    p, x = choice.belief.p, cell_middles()
    start = 0 if i < 0 else int(offered.edge[i])
    reached = 1.0 if i < 0 else float(p[start:].sum())
    cells = slice(start, int(offered.edge[j]))
    over = weights.overpower * np.maximum(np.exp(offered.load[j] - x[cells]) - 1, 0)
    price = float(offered.price[j])
    return (
        price * (1 - weights.kept)
        + (weights.trial + weights.kept * price) * reached
        + float((np.minimum(over, weights.give_up) * p[cells]).sum())
    )
