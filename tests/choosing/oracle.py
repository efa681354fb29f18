"""A restorer's cost worked out the slow way: every order from every state, what is kept cell by cell.

It asks the one objective what each moment costs, and does the rest itself: which orders there are, with what chance
each moment comes, what follows. That the objective's own terms are right is tested apart, against their definitions.
"""

from functools import cache
from itertools import combinations, pairwise

import numpy as np

from orderbook.choosing.objective import fitted, given_up, kept_at, ordered, outlay, sent, used_by


def least_cost(choice, must=(), counts=None, limit=np.inf, never=()):
    """Least cost over all rounds, and for each spring the least cost of plans whose first spring it is."""
    firsts = np.full(len(choice.offered), np.inf)
    for cost, order in every_first_order(choice, must, counts, limit, never):
        firsts[order[0]] = min(firsts[order[0]], cost)
    return min(given_up(choice), float(firsts.min(initial=np.inf))), firsts


def every_first_order(choice, must=(), counts=None, limit=np.inf, never=()):
    """Every first order with its cost over all rounds, what follows being the best of all that could follow."""
    offered, p = choice.offered, choice.belief.p
    edge = [int(e) for e in offered.edge]
    rows = sorted(range(len(offered)), key=lambda r: edge[r])
    stopping = {edge[r] for r in rows if offered.stops[r]}

    @cache
    def above(e):
        return 1.0 if e == 0 else float(p[e:].sum())

    @cache
    def over(row, e):
        cells = np.arange(e, edge[row])
        return float((kept_at(choice, cells, np.full(len(cells), offered.load[row])) * p[cells]).sum())

    @cache
    def bench(row):
        one = np.array([row])
        return float(ordered(choice, one)[0]), float(fitted(choice, one)[0])

    def order_cost(state, order):
        total = float(sent(choice, *used_by(choice, order))) * above(state)
        u = state
        for row in order:
            bought, fitting = bench(row)
            total += bought * above(state) + fitting * above(u) + over(row, u)
            u = edge[row]
        return total, u

    def orders(state, counts):
        for count in counts:
            for order in combinations(rows, count):
                steps = [state, *(edge[r] for r in order)]
                if all(a < b for a, b in pairwise(steps)) and not set(steps[:-1]) & stopping:
                    yield order

    @cache
    def to_go(state):
        best = given_up(choice) * above(state)
        for order in orders(state, range(1, choice.most + 1)):
            cost, u = order_cost(state, order)
            if cost < best:
                best = min(best, cost + to_go(u))
        return best

    found = []
    # where none of those that may come first is left, another does
    begins = offered.begins | (bool(never) and not np.delete(offered.begins, list(never)).any())
    for order in orders(0, counts or range(1, choice.most + 1)):
        if not begins[order[0]]:
            continue
        if set(must) <= set(order) and not set(never) & set(order) and outlay(choice, order) <= limit:
            cost, u = order_cost(0, order)
            if np.isfinite(cost):
                found.append((cost + to_go(u), order))
    return found
