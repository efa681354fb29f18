"""One order from the start as an integer program: a path of springs, the suppliers it uses, HiGHS to solve it.

Its arcs ask the one objective what each moment costs, cell by cell; it shares with the search only that and the cost
to go at the end. Suppliers are waited for in classes of equal days, of which the slowest one used is paid.
"""

import numpy as np
from scipy.optimize import Bounds, LinearConstraint, milp
from scipy.sparse import csr_array

from orderbook.choosing.objective import fitted, given_up, kept_at, ordered


def one_round(choice, plan, seconds=120.0):
    """Least cost and rows of the best first order; raises TimeoutError if HiGHS does not finish."""
    offered, n = choice.offered, len(choice.offered)
    edge = offered.edge
    to_go = {int(e): f for e, f in zip(plan.table.edges, plan.to_go.least, strict=True)}
    arcs = [(-1, j) for j in range(n) if offered.begins[j]]
    arcs += [(i, j) for i in range(n) for j in range(n) if edge[i] < edge[j] and not offered.stops[i]]
    # variables: an arc (i, j) = j is fitted next after i; end[j] = j is the last; use[s] = supplier s is paid for;
    # wait = what the slowest of those costs
    cost = [_arc(choice, i, j) for i, j in arcs]
    cost += [to_go[int(edge[j])] for j in range(n)]
    cost += [terms.postage for terms in choice.terms]
    cost += [1.0]
    ends, uses, wait = len(arcs), len(arcs) + n, len(arcs) + n + len(choice.terms)
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
    delay = choice.weights["delay"]
    for s, terms in enumerate(choice.terms):
        row([(uses + s, delay * terms.wait), (wait, -1.0)], -np.inf, 0.0)
    at = np.array([(r, c) for r, c, _ in entries]).T
    matrix = csr_array(([v for _, _, v in entries], (at[0], at[1])), shape=(len(low), len(cost)))
    scale = given_up(choice)
    whole = np.ones(len(cost))
    whole[wait] = 0
    found = milp(
        np.array(cost) / scale,
        constraints=LinearConstraint(matrix, low, high),
        bounds=Bounds(0, np.where(np.arange(len(cost)) == wait, np.inf, 1)),
        integrality=whole,
        options={"time_limit": seconds, "mip_rel_gap": 0.0},
    )
    if found.status != 0:
        raise TimeoutError(found.message)
    taken = np.flatnonzero(found.x[: len(arcs)] > 0.5)
    rows = sorted((arcs[k][1] for k in taken), key=lambda j: edge[j])
    exact = float(np.array(cost[:wait]) @ np.rint(found.x[:wait]) + found.x[wait])
    return min(exact, scale), tuple(rows) if exact < scale else ()


def _arc(choice, i, j):
    offered, p = choice.offered, choice.belief.p
    start = 0 if i < 0 else int(offered.edge[i])
    reached = 1.0 if i < 0 else float(p[start:].sum())
    cells, one = np.arange(start, int(offered.edge[j])), np.array([j])
    over = kept_at(choice, cells, np.full(len(cells), offered.load[j]))
    return float(ordered(choice, one)[0] + fitted(choice, one)[0] * reached + (over * p[cells]).sum())
