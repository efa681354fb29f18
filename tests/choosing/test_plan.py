"""The graded order is the optimum: brute force over all plans, and laws that must hold."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from orderbook.choosing.belief import start_belief
from orderbook.choosing.evidence import Evidence, weigh
from orderbook.choosing.plan import Choice, best_by_first, cost_to_go, costs, layers, only_owned, sending
from orderbook.choosing.postage import DRAWER, Terms
from orderbook.choosing.springs import springs, worth_keeping
from orderbook.choosing.weights import Weights
from tests.choosing.oracle import least_cost


@st.composite
def choices(draw, most_springs=7):
    """Small random lists, suppliers, weights and beliefs, with and without a drawer."""
    seed = draw(st.integers(0, 2**32 - 1))
    rng = np.random.default_rng(seed)
    n, suppliers = draw(st.integers(1, most_springs)), draw(st.integers(1, 3))
    drawer = draw(st.booleans())
    whose = rng.integers(0, suppliers + drawer, n)
    drive = rng.uniform(45, 105, n)
    offered = springs(
        drive, drive * rng.uniform(1, 1.4, n), rng.integers(0, 3000, n), supplier=whose,
        pieces=rng.choice([1, 1, 3], n), owned=whose == suppliers,
    )  # fmt: skip
    terms = tuple(Terms(float(rng.integers(0, 900))) for _ in range(suppliers)) + ((DRAWER,) if drawer else ())
    weights = Weights(
        trial=float(rng.uniform(0, 1500)), delay=float(rng.uniform(0, 6000)), overpower=float(rng.uniform(0, 60000)),
        kept=float(rng.uniform(0, 1)), give_up=float(rng.uniform(2000, 40000)),
    )  # fmt: skip
    seen = [Evidence("too weak", float(np.log(rng.uniform(0.5, 0.9))), 0.07)] if rng.random() < 0.5 else []
    belief = weigh(start_belief(spread=float(rng.uniform(0.1, 0.3))), seen).belief
    return Choice(belief, offered, terms, weights, draw(st.integers(1, 4)))


def first_round(choice):
    table = costs(choice)
    togo = cost_to_go(table)
    return table, togo


@settings(max_examples=150, deadline=None)
@given(choices())
def test_equals_brute_force_over_all_plans(choice):
    table, togo = first_round(choice)
    best, _ = least_cost(choice)
    assert togo.fresh[0] == pytest.approx(best, rel=1e-12, abs=1e-9)


@settings(max_examples=150, deadline=None)
@given(choices())
def test_every_spring_as_the_first_equals_brute_force(choice):
    table, togo = first_round(choice)
    firsts = first_springs(table, togo)
    _, expected = least_cost(choice)
    assert firsts == pytest.approx(expected, rel=1e-12, abs=1e-9)


def first_springs(table, togo):
    """Least cost of each spring as the first of all, an order sent for or one from the drawer."""
    sent = best_by_first(
        table, 0, layers(table, 0, togo.later, table.choice.most - 1), sending(table.choice, 0.0, False)
    )
    own = only_owned(table)
    if own is None:
        return sent.cost
    alone = best_by_first(own, 0, layers(own, 0, togo.fresh, table.choice.most - 1), sending(table.choice, 0.0))
    return np.minimum(sent.cost, alone.cost)


@settings(max_examples=100, deadline=None)
@given(choices(), st.integers(0, 2**32 - 1))
def test_one_more_spring_never_raises_the_cost(choice, seed):
    rng = np.random.default_rng(seed)
    keep = rng.random(len(choice.offered)) < 0.6
    fewer = replace(choice, offered=choice.offered.take(keep))
    assert first_round(choice)[1].fresh[0] <= first_round(fewer)[1].fresh[0] + 1e-9


@settings(max_examples=60, deadline=None)
@given(choices())
def test_prices_in_another_money_change_no_choice(choice):
    """All amounts × 150: the same order, as long as no two plans cost the same."""
    w, times = choice.weights, 150.0
    dear = replace(
        choice,
        offered=replace(choice.offered, price=choice.offered.price * times, listed=choice.offered.listed * times),
        terms=tuple(replace(t, postage=t.postage * times) for t in choice.terms),
        weights=w.scaled(trial=times, delay=times, overpower=times, give_up=times),
    )
    cheap, rich = first_round(choice)[1], first_round(dear)[1]
    assert rich.fresh[0] == pytest.approx(cheap.fresh[0] * times, rel=1e-12)
    assert rich.order_fresh[0] == cheap.order_fresh[0]


@settings(max_examples=60, deadline=None)
@given(choices())
def test_leaving_out_what_is_never_better_changes_nothing(choice):
    thinner = replace(choice, offered=choice.offered.take(worth_keeping(choice.offered)))
    assert first_round(thinner)[1].fresh[0] == pytest.approx(first_round(choice)[1].fresh[0], rel=1e-12, abs=1e-9)
