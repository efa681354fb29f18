"""A restorer's cost worked out the slow way: every order from every state, every integral cell by cell."""

from functools import cache
from itertools import combinations, pairwise

import numpy as np

from orderbook.choosing.belief import cell_middles


def least_cost(choice, must=(), counts=None, limit=np.inf, never=()):
    """Least cost over all rounds, and for each spring the least cost of plans whose first spring it is."""
    firsts = np.full(len(choice.offered), np.inf)
    for cost, order in every_first_order(choice, must, counts, limit, never):
        firsts[order[0]] = min(firsts[order[0]], cost)
    return min(choice.weights.give_up, float(firsts.min(initial=np.inf))), firsts


def every_first_order(choice, must=(), counts=None, limit=np.inf, never=()):
    """Every first order with its cost over all rounds, what follows being the best of all that could follow."""
    offered, weights, terms = choice.offered, choice.weights, choice.terms
    p, x = choice.belief.p, cell_middles()
    edge = [int(e) for e in offered.edge]
    rows = sorted(range(len(offered)), key=lambda r: edge[r])

    @cache
    def above(e):
        return 1.0 if e == 0 else float(p[e:].sum())

    @cache
    def over(row, e):
        cells = slice(e, edge[row])
        per_cell = weights.overpower * np.maximum(np.exp(offered.load[row] - x[cells]) - 1, 0)
        return float((np.minimum(per_cell, weights.give_up) * p[cells]).sum())

    def order_cost(state, order, sent_before):
        total, u, values = 0.0, state, {}
        for row in order:
            price, kept = float(offered.price[row]), weights.kept
            total += 0 if offered.owned[row] else price * (1 - kept) * above(state)
            total += (weights.trial + price * kept / offered.pieces[row]) * above(u) + over(row, u)
            values[int(offered.supplier[row])] = values.get(int(offered.supplier[row]), 0.0) + offered.listed[row]
            u = edge[row]
        for supplier, value in values.items():
            total += float(terms[supplier].charge(value)) * above(state)
        waits = any(terms[s].waits for s in values)
        total += weights.delay * above(state) if waits and sent_before else 0.0
        return total, u, sent_before or waits

    def outlay(order):
        worth = {}
        for row in order:
            s = int(offered.supplier[row])
            worth[s] = worth.get(s, 0.0) + offered.listed[row]
        prices = sum(offered.price[r] for r in order if not offered.owned[r])
        return prices + sum(float(terms[s].charge(v)) for s, v in worth.items())

    def orders(state, counts):
        for count in counts:
            for order in combinations(rows, count):
                steps = [state, *(edge[r] for r in order)]
                if all(a < b for a, b in pairwise(steps)):
                    yield order

    @cache
    def to_go(state, sent_before):
        best = weights.give_up * above(state)
        for order in orders(state, range(1, choice.most + 1)):
            cost, u, sent = order_cost(state, order, sent_before)
            if cost < best:
                best = min(best, cost + to_go(u, sent))
        return best

    found = []
    for order in orders(0, counts or range(1, choice.most + 1)):
        if set(must) <= set(order) and not set(never) & set(order) and outlay(order) <= limit:
            cost, u, sent = order_cost(0, order, False)
            if np.isfinite(cost):
                found.append((cost + to_go(u, sent), order))
    return found
