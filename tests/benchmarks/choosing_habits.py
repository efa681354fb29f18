"""The graded order against common habits, on real barrels: simulated restorers pay what is due.

Run: `python -m tests.benchmarks.choosing_habits` (about four minutes); writes a page under docs/reference/benchmarks.
"""

from __future__ import annotations

from collections import defaultdict
from dataclasses import replace
from pathlib import Path
from sys import stderr

import numpy as np

from orderbook.choosing.chain import account, chain
from orderbook.choosing.reasons import cheapest_orders
from orderbook.choosing.restorers import no_doubt, restorers
from orderbook.choosing.rounds import Rule, best_plan
from tests.choosing.habits import BARRELS, HABITS, PRICE, scaled, situations

ROOT = Path(__file__).resolve().parents[2]
OUT = ROOT / "docs" / "reference" / "benchmarks" / "choosing_habits.md"
LAMBDAS = (0.25, 0.5, 1.0, 2.0, 4.0)


def main() -> None:
    exact, soft, calibration, counts = run()
    lines = [
        "# The graded order against common habits",
        "",
        "Made by `python -m tests.benchmarks.choosing_habits`; costs in median prices. Barrels: "
        f"{', '.join(b.name for b in BARRELS)}; lists in fine and coarse steps; a fitted spring at drive 40, 55, 70, "
        "85 that was too weak, never ran or stopped, or none; the need begins where practice does. The habits are "
        "ours, put as fairly as we could (common practice, no source).",
        "",
        "## Springs exactly as listed",
        "",
        *compared(exact),
        "",
        "## Springs as they are",
        "",
        "Every spring differs from its list by its own ±, all of a barrel by the common flow stress. "
        "*Or the one it names*: where another of the twenty cheapest plans does better in a simulation, the answer "
        "names it in a finding; here the restorer takes that one (chosen on other draws than it is judged on).",
        "",
        *compared(soft),
        "",
        "## Predicted and seen",
        "",
        "Chance that the first order holds a spring that is strong enough, all situations, springs as listed.",
        "",
        *calibration,
        "",
        "## Overpower against money as λ moves",
        "",
        *frontier(),
        "",
        "## How many springs the best first order holds",
        "",
        *counts,
        "",
        *weights_table(),
        "",
    ]
    OUT.write_text("\n".join(lines), encoding="utf-8")
    print("\n".join(lines))


def run():
    exact, soft, chances, counts = [], [], [], defaultdict(int)
    for number, situation in enumerate(situations()):
        plan = best_plan(situation.choice)
        orders = {"graded order": chain(plan, plan.order)}
        orders |= {name: habit(situation) for name, habit in HABITS.items()}
        none = no_doubt(len(situation.choice.offered))
        exact.append({name: restorers(situation.choice, order, none) for name, order in orders.items()})
        if orders["graded order"]:
            told = account(situation.choice, orders["graded order"])
            chances.append((told.chance_of_a_fit[0], exact[-1]["graded order"].fits_first_order))
        counts[len(plan.order)] += 1
        if number % 2 == 0:
            doubt = situation.doubt
            picked = pick(plan, doubt)
            orders = {"graded order": orders["graded order"], "or the one it names": picked} | orders
            soft.append({name: restorers(situation.choice, order, doubt) for name, order in orders.items()})
        print(f"\r{number + 1}", end="", file=stderr)
    told = ", ".join(f"{n}: {times}" for n, times in sorted(counts.items()))
    return exact, soft, calibrated(chances), [f"In the situations above, springs: times. {told}."]


def pick(plan, doubt):
    """The plan, or the one of the cheapest twenty that does better on draws of its own."""

    def cost(order):
        return restorers(plan.table.choice, chain(plan, order), doubt, draws=6000, seed=7).cost

    return chain(plan, min([plan.order, *(order for _, order in cheapest_orders(plan, Rule(), 20))], key=cost))


def compared(found):
    """Mean cost of each way, against the best single habit; and where a habit did better by over 3 standard errors."""
    names = list(found[0])
    mean = {name: float(np.mean([seen[name].cost for seen in found])) / PRICE for name in names}
    best = min(mean[name] for name in HABITS)
    rows = ["| way | mean cost | against the best single habit | a habit better by over 3 standard errors |"]
    rows += ["| --- | --- | --- | --- |"]
    for name in names:
        worse = "" if name in HABITS else f"{sum(beaten(seen, name) for seen in found)} of {len(found)} situations"
        rows.append(f"| {name} | {mean[name]:.2f} | {100 * (mean[name] / best - 1):+.1f} % | {worse} |")
    return rows


def beaten(seen, name):
    """Whether any habit does better than a way by more than three standard errors of the difference."""
    for habit in HABITS:
        more = seen[name].costs - seen[habit].costs
        error = float(more.std()) / np.sqrt(len(more))
        if more.mean() > 3 * error + 1e-9:
            return True
    return False


def calibrated(chances):
    rows = ["| predicted | seen | situations |", "| --- | --- | --- |"]
    told = np.array(chances)
    for low in np.arange(0, 1, 0.1):
        here = (told[:, 0] >= low) & (told[:, 0] < low + 0.1)
        if here.any():
            predicted, seen = 100 * told[here].mean(axis=0)
            rows.append(f"| {predicted:.1f} % | {seen:.1f} % | {here.sum()} |")
    return rows


def frontier():
    """Mean overpower of the kept spring against mean money, exactly, as λ varies; each habit's point beside it."""
    points = defaultdict(list)
    for situation in situations(verdicts=("too weak",)):
        for factor in LAMBDAS:
            moved = scaled(situation, **{"lambda": factor})
            plan = best_plan(moved.choice)
            points[factor].append(point(situation, chain(plan, plan.order)))
        for name, habit in HABITS.items():
            points[name].append(point(situation, habit(situation)))
    mean = {name: np.mean(found, axis=0) for name, found in points.items()}
    rows = ["| way | overpower, mean over all movements | money, median prices | dominated by λ × |"]
    rows += ["| --- | --- | --- | --- |"]
    for name, (over, money) in mean.items():
        by = [f"{f:g}" for f in LAMBDAS if name in HABITS and mean[f][0] <= over and mean[f][1] <= money]
        label = name if name in HABITS else f"graded order, λ × {name:g}"
        rows.append(f"| {label} | {100 * over:.1f} % | {money:.2f} | {', '.join(by)} |")
    return rows


def point(situation, orders):
    told = account(situation.choice, orders)
    over = sum(stage.mean_overpower for stage in told.stages)
    return over, (told.cost - told.parts["overpower"]) / PRICE


def weights_table():
    """How many springs the best first order holds when one weight at a time moves."""
    chosen = [
        s
        for s in situations(BARRELS[:2], drives=(55,), verdicts=("too weak",))
        if s.steps == "fine" and s.seen != "nothing fitted"
    ]
    rows = ["A spring at drive 55 was too weak, fine steps; one weight moved at a time.", ""]
    rows += ["| weight | " + " | ".join(f"× {f:g}" for f in LAMBDAS) + " |", "| --- |" + " --- |" * len(LAMBDAS)]
    for situation in chosen:
        for weight in ("lambda", "delay", "trial", "give_up", "kept"):
            cells = []
            for factor in LAMBDAS:
                factor = min(factor, 2.0) if weight == "kept" else factor
                cells.append(str(len(best_plan(scaled(situation, **{weight: factor}).choice).order)))
            rows.append(f"| {situation.barrel.name}: {weight} | " + " | ".join(cells) + " |")
    rows += ["", "The kept share is at most one, so its columns × 2 and × 4 are both a share of one."]
    rows += [fusee_note(chosen)]
    return rows


def fusee_note(chosen):
    both = [len(best_plan(replace(s.choice, most=5)).order) for s in chosen]
    return f"\nAllowed up to five springs, the best orders hold {' and '.join(map(str, both))}."


if __name__ == "__main__":
    main()
