"""The optimum worked out again from what `explain` prints and from nothing else: plain numbers, every plan tried."""

from functools import cache
from itertools import combinations, pairwise


def least_cost_outside(told):
    """Least cost over all rounds, from the keys that `explain` prints."""
    p, enough = told["belief"]["p"], told["belief"]["just_sufficient_load_nmm"]
    springs, suppliers, weights = told["candidates"], told["suppliers"], told["weights"]
    rows = sorted(range(len(springs)), key=lambda r: springs[r]["edge"])

    @cache
    def chance(edge):
        return 1.0 if edge == 0 else sum(p[edge:])

    @cache
    def over(row, edge):
        load = springs[row]["load_nmm"]
        return sum(
            min(weights["lambda"] * max(load / enough[cell] - 1, 0), weights["give_up"]) * p[cell]
            for cell in range(edge, springs[row]["edge"])
        )

    def sending(order):
        worth = {}
        for row in order:
            worth[springs[row]["comes_from"]] = worth.get(springs[row]["comes_from"], 0) + springs[row]["listed"]
        total = max(suppliers[s]["wait"] for s in worth)
        for s, value in worth.items():
            terms = suppliers[s]
            if value < terms["minimum"]:
                return float("inf")
            charge = terms["postage"]
            for reached, tier in terms["tiers"]:
                charge = tier if value >= reached else charge
            total += 0 if terms["free_from"] is not None and value >= terms["free_from"] else charge
        return total

    def cost(edge, order):
        total, before = sending(order) * chance(edge), edge
        for row in order:
            one = springs[row]
            total += 0 if one["owned"] else one["price"] * (1 - one["keeps"]) * chance(edge)
            fitting = sum(one["terms"].values()) + one["keeps"] * one["price"] / one["pieces"]
            total += fitting * chance(before) + over(row, before)
            before = one["edge"]
        return total + to_go(before)

    @cache
    def to_go(edge):
        best = weights["give_up"] * chance(edge)
        if any(one["stops"] and one["edge"] == edge for one in springs):
            return best
        for count in range(1, told["springs_an_order"] + 1):
            for order in combinations(rows, count):
                edges = [edge, *(springs[r]["edge"] for r in order)]
                begins = edge > 0 or springs[order[0]]["begins"]
                rising = all(a < b for a, b in pairwise(edges))
                if begins and rising and not any(springs[r]["stops"] for r in order[:-1]):
                    best = min(best, cost(edge, order))
        return best

    return to_go(0)
