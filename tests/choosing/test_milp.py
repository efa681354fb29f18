"""One round with the cost to go given, against an integer program solved by HiGHS through scipy."""

from dataclasses import replace

import numpy as np
import pytest

from orderbook.choosing.belief import start_belief
from orderbook.choosing.evidence import Evidence, weigh
from orderbook.choosing.objective import Choice
from orderbook.choosing.postage import Terms
from orderbook.choosing.rounds import Rule, best_plan
from orderbook.choosing.springs import springs
from orderbook.choosing.weights import usual_weights
from tests.choosing.integer_program import one_round


def a_list(n, suppliers, seed, most=3):
    rng = np.random.default_rng(seed)
    drive = rng.uniform(55, 101, n)
    load = drive * (0.7 + 0.35 * (drive - 55) / 46) * rng.uniform(0.97, 1.05, n)
    price = rng.integers(500, 2500, n)
    whose = rng.integers(0, suppliers, n)
    offered = springs(drive, load, price, supplier=whose, begins=drive < 80 if seed % 2 else None)
    days = rng.permutation(np.linspace(0.5, 1.8, suppliers))
    terms = tuple(Terms(float(p), wait=float(d)) for p, d in zip(rng.integers(200, 900, suppliers), days, strict=True))
    belief = weigh(start_belief(77, 0.2), [Evidence("too weak", np.log(0.65), 0.06)]).belief
    return Choice(belief, offered, terms, usual_weights(float(np.median(price))), most)


@pytest.mark.slow
@pytest.mark.parametrize(("n", "suppliers", "seed"), [(8, 1, 0), (12, 3, 1), (20, 2, 2), (30, 4, 3), (40, 3, 4)])
def test_one_round_costs_what_the_integer_program_costs(n, suppliers, seed):
    choice = a_list(n, suppliers, seed)
    plan = best_plan(choice, Rule(near_tie=0.0))
    cost, order = one_round(choice, plan)
    assert cost == pytest.approx(plan.cost, rel=1e-9)
    assert order == plan.order


@pytest.mark.slow
def test_a_longer_list_than_the_exact_limit_loses_next_to_nothing():
    choice = a_list(220, 4, 9)
    exact, wide = best_plan(choice, exact=10_000).least, best_plan(choice).least
    assert exact <= wide <= exact + 0.001 * choice.weights["give_up"]
    thinner = best_plan(replace(choice, offered=choice.offered.take(np.arange(150)))).least
    assert wide <= thinner + 0.001 * choice.weights["give_up"]
