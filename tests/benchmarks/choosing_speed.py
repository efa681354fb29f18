"""How fast the optimum over all rounds is found: `python -m tests.benchmarks.choosing_speed`."""

from __future__ import annotations

import statistics
import sys
import time

from orderbook.choosing.rounds import Plan, Rule, best_plan, first_orders
from tests.benchmarks.side_by_side import growth_table, markdown, ratios, write
from tests.choosing.test_milp import a_list

SCIPY = ["-c", "import scipy.optimize"]
SEED = 9
LIMIT = 60.0  # seconds HiGHS is given


def main() -> None:
    """Time whole processes against importing scipy.optimize, one round against HiGHS, and growth."""
    module = ["-m", "tests.benchmarks.choosing_speed"]
    peer = 'python -c "import scipy.optimize"'
    whole = [
        ("10,000 springs, 10 suppliers", peer, 15.0, ratios(SCIPY, [*module, "10000", "10"], 5)),
        ("100 springs, 4 suppliers", peer, 7.5, ratios(SCIPY, [*module, "100", "4"], 7)),
    ]
    page = [
        "Whole processes, all rounds, three springs an order, start-up and reading nothing:",
        "",
        markdown(whole),
        "",
        "## One round with the cost to go given, against HiGHS",
        "",
        *against_highs(),
        "",
        "## Growth",
        "",
        *growth(),
        "",
        "## What the wider grid loses",
        "",
        *loss(),
    ]
    write("choosing_speed", "Finding the best order", "python -m tests.benchmarks.choosing_speed", "\n".join(page))


def against_highs() -> list[str]:
    """Time one round both ways on the same lists, as large as HiGHS finishes."""
    from tests.choosing.integer_program import one_round

    rows = [
        "| springs, suppliers | ours, ms | HiGHS, s | HiGHS / ours | same cost |",
        "| --- | --- | --- | --- | --- |",
    ]
    for n, suppliers in ((40, 3), (100, 4), (200, 4)):
        choice = a_list(n, suppliers, SEED)
        plan = best_plan(choice, exact=10_000)
        ours = statistics.median(_timed(lambda p=plan: one_of_ours(p)) for _ in range(7))
        began = time.perf_counter()
        try:
            cost, _ = one_round(choice, plan, LIMIT)
        except TimeoutError:
            rows.append(f"| {n}, {suppliers} | {1000 * ours:.1f} | not in {LIMIT:.0f} s | – | – |")
            break
        took = time.perf_counter() - began
        same = f"{abs(cost / plan.cost - 1):.0e}"
        rows.append(f"| {n}, {suppliers} | {1000 * ours:.1f} | {took:.1f} | {took / ours:,.0f} × | differs by {same} |")
    return rows


def one_of_ours(plan: Plan) -> float:
    """Find the best first order, the cost to go given."""
    cost, order_of = first_orders(plan.table, plan.to_go, Rule())
    order_of(int(cost.argmin()))
    return float(cost.min())


def growth() -> list[str]:
    """Seconds of the whole optimum as the list and the suppliers grow."""
    rows = ["| springs | 1 supplier, s | 4 suppliers, s | 10 suppliers, s |", "| --- | --- | --- | --- |"]
    for n in (30, 100, 300, 1000, 3000, 10_000):
        cells = [f"{_timed(lambda n=n, s=s: best_plan(a_list(n, s, SEED))):.2f}" for s in (1, 4, 10)]
        rows.append(f"| {n:,} | {' | '.join(cells)} |")
    sizes = (500, 1000, 2000, 4000, 8000)
    took = [statistics.median(_timed(lambda n=n: best_plan(a_list(n, 4, SEED))) for _ in range(3)) for n in sizes]
    return [*rows, "", growth_table("springs, 4 suppliers", sizes, took)]


def loss() -> list[str]:
    """Cost with the later orders on the 1 % grid, against the full resolution."""
    rows = ["| springs, suppliers | full resolution | 1 % grid for later orders | loss |", "| --- | --- | --- | --- |"]
    for n, suppliers in ((160, 1), (160, 4), (300, 4), (500, 4)):
        choice = a_list(n, suppliers, SEED)
        full, wide = best_plan(choice, exact=10_000).cost, best_plan(choice, exact=0).cost
        rows.append(f"| {n}, {suppliers} | {full:.2f} | {wide:.2f} | {100 * (wide / full - 1):.4f} % |")
    return rows


def _timed(work: object) -> float:
    began = time.perf_counter()
    work()  # type: ignore[operator]
    return time.perf_counter() - began


if __name__ == "__main__":
    if len(sys.argv) == 3:
        best_plan(a_list(int(sys.argv[1]), int(sys.argv[2]), SEED))
    else:
        main()
