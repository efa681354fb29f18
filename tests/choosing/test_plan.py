"""The graded order is the optimum: brute force over all plans, and laws that must hold."""

from dataclasses import replace
from unittest import mock

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from orderbook.choosing.belief import cell_middles, start_belief
from orderbook.choosing.chain import account, chain
from orderbook.choosing.evidence import Evidence, weigh
from orderbook.choosing.objective import Choice
from orderbook.choosing.postage import DRAWER, Terms
from orderbook.choosing.reasons import cheapest_orders
from orderbook.choosing.rounds import Rule, best_plan
from orderbook.choosing.springs import springs
from orderbook.choosing.table import worth_keeping
from orderbook.choosing.weights import NAMES, Weights, usual_weights
from orderbook.errors import OrderbookError
from tests.choosing.oracle import every_first_order, least_cost


def parcels(rng):
    """Terms that hang on what the order is worth."""
    tiers = tuple((float(v), float(rng.integers(0, 900))) for v in np.sort(rng.integers(500, 5000, rng.integers(0, 3))))
    free_from = float(rng.integers(2000, 9000)) if rng.random() < 0.6 else np.inf
    wait = float(rng.uniform(0, 2))
    return Terms(float(rng.integers(0, 900)), tiers, free_from, float(rng.choice([0, 0, 1500])), wait=wait)


def a_steeper_load(rng):
    """What the just-sufficient strip loads: it rises with the need up to the reference's own, in another unit."""
    return np.minimum(cell_middles() * rng.uniform(0.8, 1.6), 0.0)


@st.composite
def choices(draw, most_springs=7, by_value=False):
    """Small random lists, suppliers, weights and beliefs, with and without a drawer."""
    seed = draw(st.integers(0, 2**32 - 1))
    rng = np.random.default_rng(seed)
    n, suppliers = draw(st.integers(1, most_springs)), draw(st.integers(1, 3))
    drawer = draw(st.booleans())
    whose = rng.integers(0, suppliers + drawer, n)
    drive = rng.uniform(45, 105, n)
    offered = springs(
        drive, drive * rng.uniform(1, 1.4, n), rng.integers(0, 3000, n), supplier=whose,
        pieces=rng.choice([1, 1, 3], n), owned=whose == suppliers, width_mm=rng.choice([2.8, 2.9], n),
        lacks=rng.choice([0, 0, 2.5], n), end=rng.integers(0, 2, n), cut=rng.random(n) < 0.2,
        new_end=rng.random(n) < 0.2, stops=(drive > 90) & (rng.random(n) < 0.7),
        begins=(rng.random(n) < 0.7) | (rng.random() < 0.5),
    )  # fmt: skip
    flat = (Terms(float(rng.integers(0, 900)), wait=float(rng.uniform(0, 2))) for _ in range(suppliers))
    terms = tuple(parcels(rng) for _ in range(suppliers)) if by_value else tuple(flat)
    terms += (DRAWER,) if drawer else ()
    weights = Weights({
        "trial": float(rng.uniform(0, 1500)), "delay": float(rng.uniform(0, 6000)),
        "lambda": float(rng.uniform(0, 60000)), "kept": float(rng.uniform(0, 1)),
        "kept_cut": float(rng.uniform(0, 1)), "give_up": float(rng.uniform(2000, 40000)),
        "width": float(rng.uniform(0, 400)), "cut": float(rng.uniform(0, 900)), "end": float(rng.uniform(0, 900)),
    })  # fmt: skip
    seen = [Evidence("too weak", float(np.log(rng.uniform(0.5, 0.9))), 0.07)] if rng.random() < 0.5 else []
    belief = weigh(start_belief(float(rng.uniform(50, 85)), float(rng.uniform(0.1, 0.4))), seen).belief
    return Choice(belief, offered, terms, weights, draw(st.integers(1, 4)), a_steeper_load(rng))


@settings(max_examples=80, deadline=None)
@given(choices())
def test_equals_brute_force_over_all_plans(choice):
    best, firsts = least_cost(choice)
    plan = best_plan(choice)
    assert plan.least == pytest.approx(best, rel=1e-12, abs=1e-9)
    assert plan.cost_by_first == pytest.approx(firsts, rel=1e-12, abs=1e-9)


@settings(max_examples=80, deadline=None)
@given(choices(by_value=True))
def test_postage_by_value_equals_brute_force(choice):
    best, firsts = least_cost(choice)
    plan = best_plan(choice)
    assert plan.least == pytest.approx(best, rel=1e-12, abs=1e-9)
    assert plan.cost_by_first == pytest.approx(firsts, rel=1e-12, abs=1e-9)


@settings(max_examples=80, deadline=None)
@given(choices(), st.integers(1, 4), st.booleans(), st.one_of(st.just(np.inf), st.floats(500, 8000)), st.data())
def test_what_the_user_demands_equals_brute_force(choice, count, exactly, limit, data):
    one_a_step = np.unique(choice.offered.edge, return_index=True)[1].tolist()
    must = tuple(data.draw(st.lists(st.sampled_from(one_a_step), max_size=2, unique=True)))
    counts = range(count if exactly else 1, count + 1)
    best, firsts = least_cost(choice, must, counts, limit)
    plan = best_plan(choice, Rule(counts, must, limit=limit))
    assert plan.least == pytest.approx(best, rel=1e-12, abs=1e-9)
    assert plan.cost_by_first == pytest.approx(firsts, rel=1e-12, abs=1e-9)


def handiness(choice, order):
    """What a restorer looks at among orders as good as each other, in this order."""
    offered, rows = choice.offered, list(order)
    bought = offered.supplier[rows][~offered.owned[rows]]
    return (
        bool(offered.cut[rows].any()), len(set(offered.end[rows])) > 1, len(set(offered.width_mm[rows])) > 1,
        len(set(bought)) > 1,
    )  # fmt: skip


@settings(max_examples=50, deadline=None)
@given(choices())
def test_the_order_shown_is_the_best_or_a_handier_one_that_costs_a_hundredth_more_at_most(choice):
    exact = best_plan(choice, Rule(near_tie=0.0))
    if exact.order:
        assert exact.order[0] == int(exact.cost_by_first.argmin())
    plan = best_plan(choice)
    if plan.order:
        priced = {order: cost for cost, order in every_first_order(choice)}
        assert plan.cost == pytest.approx(priced[plan.order], rel=1e-12, abs=1e-9)
        assert plan.cost <= 1.01 * exact.cost + 1e-9
        assert handiness(choice, plan.order) <= handiness(choice, exact.order)
    assert all(np.diff(choice.offered.edge[list(plan.order)]) > 0)
    for row in range(len(choice.offered)):
        order = plan.order_of(row)
        assert order[0] == row if np.isfinite(plan.cost_by_first[row]) else order == ()


@settings(max_examples=50, deadline=None)
@given(choices(), st.integers(0, 2**32 - 1))
def test_one_more_spring_never_raises_the_cost(choice, seed):
    rng = np.random.default_rng(seed)
    keep = rng.random(len(choice.offered)) < 0.6
    fewer = replace(choice, offered=choice.offered.take(keep))
    assert best_plan(choice).least <= best_plan(fewer).least + 1e-9


@settings(max_examples=40, deadline=None)
@given(choices())
def test_prices_in_another_money_change_no_choice(choice):
    """All amounts × 150: the same order, as long as no two plans cost the same."""
    w, times = choice.weights, 150.0
    dear = replace(
        choice,
        offered=replace(choice.offered, price=choice.offered.price * times, listed=choice.offered.listed * times),
        terms=tuple(replace(t, postage=t.postage * times) for t in choice.terms),
        weights=w.scaled(**{name: times for name in NAMES if not name.startswith("kept")}),
    )
    exactly = Rule(near_tie=0.0)
    cheap, rich = best_plan(choice, exactly), best_plan(dear, exactly)
    assert rich.cost == pytest.approx(cheap.cost * times, rel=1e-12)
    assert rich.order == cheap.order


@settings(max_examples=40, deadline=None)
@given(choices())
def test_leaving_out_what_is_never_better_changes_nothing(choice):
    thinner = replace(choice, offered=choice.offered.take(worth_keeping(choice)))
    assert best_plan(thinner).least == pytest.approx(best_plan(choice).least, rel=1e-12, abs=1e-9)


@settings(max_examples=40, deadline=None)
@given(choices(by_value=True), st.integers(0, 6))
def test_an_order_without_a_spring_equals_brute_force(choice, row):
    """The first order may not hold the spring, later ones may."""
    row = row % len(choice.offered)
    plan = best_plan(choice, Rule(without=(row,)))
    expected = least_cost(choice, never=(row,))
    assert plan.least == pytest.approx(expected[0], rel=1e-12, abs=1e-9)
    assert plan.cost_by_first == pytest.approx(expected[1], rel=1e-12, abs=1e-9)


@settings(max_examples=40, deadline=None)
@given(choices(by_value=True))
def test_the_cheapest_orders_are_the_cheapest_of_all(choice):
    plan = best_plan(choice)
    found = cheapest_orders(plan, Rule(), 20)
    every = sorted(cost for cost, _ in every_first_order(choice))[:20]
    priced = {order: cost for cost, order in every_first_order(choice)}
    assert [priced[order] for _, order in found] == pytest.approx(every, rel=1e-12, abs=1e-9)
    assert [cost for cost, _ in found] == pytest.approx(every, rel=1e-12, abs=1e-9)


@settings(max_examples=40, deadline=None)
@given(choices(by_value=True))
def test_the_account_adds_up_to_the_cost(choice):
    plan = best_plan(choice)
    for row in np.flatnonzero(np.isfinite(plan.cost_by_first)).tolist():
        told = account(choice, chain(plan, plan.order_of(row)))
        assert told.cost == pytest.approx(plan.cost_by_first[row], rel=1e-9, abs=1e-6)
        assert sum(stage.fits for stage in told.stages) + told.chance_given_up == pytest.approx(1)


def test_two_springs_that_drive_alike_cannot_both_be_demanded():
    choice = Choice(start_belief(77, 0.2), springs([80, 80], [90, 92], [10, 10]), (Terms(),), usual_weights(10.0))
    with pytest.raises(OrderbookError) as refused:
        best_plan(choice, Rule(must=(0, 1)))
    assert refused.value.code == "must_alike"


@pytest.mark.slow
@settings(max_examples=1000, deadline=None)
@given(choices(by_value=True))
def test_thousands_of_lists_by_value_equal_brute_force(choice):
    best, firsts = least_cost(choice)
    plan = best_plan(choice)
    assert plan.least == pytest.approx(best, rel=1e-12, abs=1e-9)
    assert plan.cost_by_first == pytest.approx(firsts, rel=1e-12, abs=1e-9)


@pytest.mark.slow
@settings(max_examples=1000, deadline=None)
@given(choices(most_springs=8))
def test_thousands_of_flat_lists_equal_brute_force(choice):
    best, firsts = least_cost(choice)
    plan = best_plan(choice)
    assert plan.least == pytest.approx(best, rel=1e-12, abs=1e-9)
    assert plan.cost_by_first == pytest.approx(firsts, rel=1e-12, abs=1e-9)


@pytest.mark.slow
@pytest.mark.parametrize("seed", range(4))
def test_longer_lists_by_value_tell_their_gap(seed):
    """Against the exact search without its limit; the gap to the bound covers what is lost."""
    rng = np.random.default_rng(seed)
    n = 230
    drive = rng.uniform(55, 101, n)
    offered = springs(
        drive, drive * rng.uniform(0.8, 1.05, n), rng.integers(500, 2500, n), supplier=rng.integers(0, 3, n)
    )
    terms = tuple(Terms(float(p), free_from=5000.0) for p in rng.integers(300, 900, 3))
    choice = Choice(start_belief(77, 0.2), offered, terms, usual_weights(1200.0))
    near = best_plan(choice)
    with mock.patch("orderbook.choosing.rounds.BY_VALUE", 10_000):
        exact = best_plan(choice)
    assert exact.gap == 0
    assert exact.least - 1e-6 <= near.cost <= exact.least + near.gap + 1e-6
    assert near.cost <= 1.02 * exact.least
    assert np.isfinite(near.cost_by_first).all()
    assert account(choice, chain(near, near.order)).cost == pytest.approx(near.cost, rel=1e-9)


@pytest.mark.slow
@settings(max_examples=10, deadline=None)
@given(choices(most_springs=12))
def test_twelve_springs_all_rounds_equal_brute_force(choice):
    assert best_plan(choice).least == pytest.approx(least_cost(choice)[0], rel=1e-12, abs=1e-9)
