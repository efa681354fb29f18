"""What is seen at the bench moves the belief as Bayes' rule says, in any order, and contradictions are heard."""

from itertools import permutations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats

from orderbook.choosing.belief import CELLS, Belief, cell_middles, start_belief
from orderbook.choosing.evidence import KINDS, Evidence, agreement, chi_squared_above, weigh
from orderbook.choosing.normal import normal_below
from orderbook.errors import OrderbookError

ln = np.log


def test_the_start_has_the_quantiles_of_a_log_normal():
    from scipy import stats

    start = start_belief(100 / 1.3, 0.2)
    shares = np.array([0.05, 0.25, 0.5, 0.75, 0.95])
    expected = 100 * np.exp(stats.norm.ppf(shares, ln(1 / 1.3), 0.2))
    assert [start.quantile(s) for s in shares] == pytest.approx(expected, rel=2e-3)


@settings(max_examples=30, deadline=None)
@given(st.lists(st.tuples(st.sampled_from(sorted(KINDS)), st.floats(-0.6, 0.1), st.floats(0.03, 0.2)), max_size=4))
def test_evidence_commutes(rows):
    seen = [Evidence(*row) for row in rows]
    results = [weigh(start_belief(100 / 1.3, 0.2), order) for order in permutations(seen)]
    for result in results:
        assert np.allclose(result.belief.p, results[0].belief.p, rtol=1e-9, atol=1e-15)
        assert result.contradicts == results[0].contradicts


@pytest.mark.parametrize("spread", [0.20, 0.30])
@pytest.mark.parametrize(
    "seen",
    [
        [Evidence("too weak", ln(2 / 1.3), 0.05)],  # twice the start's median
        [Evidence("too weak", ln(0.90), 0.05), Evidence("too strong", ln(0.70), 0.05)],
    ],
    ids=["too weak at twice the median", "too weak at 90, too strong at load 70"],
)
def test_what_cannot_all_be_true_is_heard(seen, spread):
    assert weigh(start_belief(100 / 1.3, spread), seen).contradicts


@pytest.mark.parametrize("kind", sorted(set(KINDS) - {"rod test"}))
def test_one_spring_said_three_times_is_one_spring(kind):
    one, other = Evidence(kind, ln(0.7), 0.05), Evidence(kind, ln(0.72), 0.05)
    once, often = (weigh(start_belief(100 / 1.3, 0.2), [one] * times) for times in (1, 5))
    assert np.array_equal(once.belief.p, often.belief.p)
    assert often.chance_one_is_wrong == once.chance_one_is_wrong
    assert not np.allclose(weigh(start_belief(100 / 1.3, 0.2), [one, other]).belief.p, once.belief.p)


def test_a_rod_test_made_again_says_more():
    rod = Evidence("rod test", ln(0.7), 0.1)
    low, high = weigh(start_belief(100 / 1.3, 0.2), [rod]).belief.interval_index()
    lower, higher = weigh(start_belief(100 / 1.3, 0.2), [rod, rod]).belief.interval_index()
    assert higher - lower < high - low


def about(median, steps, u, kind="stopped"):
    return [Evidence(kind, ln(median) + step * u, u * (1 + 1e-6 * n)) for n, step in enumerate(steps)]


@pytest.mark.parametrize("kind", ["stopped", "rod test"])
@pytest.mark.parametrize("u", [0.05, 0.02, 0.005])
@pytest.mark.parametrize("steps", [(1, -1, 1, -1, 1), (1, -1) * 6, (0,) * 20], ids=["five", "twelve", "twenty alike"])
def test_torques_that_agree_never_contradict_however_narrow_or_many(steps, u, kind):
    after = weigh(start_belief(100 / 1.3, 0.3), about(1 / 1.3, steps, u, kind))
    assert not after.contradicts
    assert after.mass_all_right > 0.05
    assert after.chance_one_is_wrong < 0.5


@pytest.mark.parametrize("u", [0.05, 0.02])
@pytest.mark.parametrize(
    "seen",
    [
        lambda u: about(0.75, (4, -4), u),
        lambda u: about(0.75, (1, -1, 1, 9), u),
        lambda u: about(2.4, (0,), u),
        lambda u: [Evidence("too weak", ln(1.0), u), *about(0.6, (0,), u)],
        lambda u: [Evidence("ran well", ln(0.6), u), *about(0.6 + 14 * u, (0,), u, "rod test")],
    ],
    ids=["two apart", "one far off", "far above all that is usual", "below one too weak", "above one that ran well"],
)
def test_torques_that_cannot_all_be_true_are_heard(seen, u):
    assert weigh(start_belief(100 / 1.3, 0.3), seen(u)).contradicts


def test_the_chance_of_chi_squared_is_that_of_scipy():
    from scipy import stats

    for degrees in range(1, 12):
        for value in (0.0, 0.3, 2.0, 7.7, 30.0):
            assert chi_squared_above(value, degrees) == pytest.approx(stats.chi2.sf(value, degrees), rel=1e-10)


def test_one_torque_far_out_leaves_what_the_normal_law_says():
    """Start and measurement both normal: the ratio of what is left is exp(−d²/2(s² + u²))."""
    left = agreement(start_belief(100 / 1.3, 0.2), [Evidence("rod test", ln(1 / 1.3) + 0.3, 0.1)])
    assert left == pytest.approx(np.exp(-(0.3**2) / 2 / (0.2**2 + 0.1**2)), rel=2e-3)


@pytest.mark.parametrize("at", [0.5, 0.7, 0.85])
def test_one_plain_verdict_is_believed(at):
    after = weigh(start_belief(100 / 1.3, 0.2), [Evidence("too weak", ln(at), 0.05)])
    assert not after.contradicts
    assert after.belief.median_index > start_belief(100 / 1.3, 0.2).median_index


@pytest.mark.slow
@pytest.mark.parametrize("kind", sorted(set(KINDS) - {"stopped", "rod test"}))
def test_equals_a_simulation_of_a_million_movements(kind):
    """Draw needs and true torques, keep the movements whose verdict would have been this one.

    A spring's true torque is its nominal torque times a log-normal error; a wrong verdict says nothing.
    """
    rng = np.random.default_rng(6)
    n, at, spread, wrong = 10**6, ln(0.72), 0.08, 0.03
    need = rng.normal(ln(1 / 1.3), 0.2, n)
    torque = rng.normal(at, spread, n)
    right = {
        "too weak": need > torque,
        "never ran": need > torque,
        "too strong": need < torque - ln(1.25),
        # it leaves no more over than springs of a watch do: a margin of 1.35, 15 %, drawn for each
        "ran well": (need < torque) & (need > at - rng.normal(ln(1.35), 0.15, n)),
    }[kind]
    is_wrong = rng.random(n) < wrong
    seen = 100 * np.exp(need[np.where(is_wrong, True, right)])
    after = weigh(start_belief(100 / 1.3, 0.2), [Evidence(kind, at, spread)], wrong=wrong).belief
    for share in (0.05, 0.25, 0.5, 0.75, 0.95):
        simulated = np.mean(seen < after.quantile(share))
        assert simulated == pytest.approx(share, abs=4 * np.sqrt(share * (1 - share) / len(seen)) + 1e-3)


def test_a_belief_with_no_mass_is_refused():
    with pytest.raises(OrderbookError) as refused:
        Belief(np.zeros(CELLS))
    assert refused.value.code == "belief_without_mass"


def test_certain_verdicts_that_exclude_each_other_leave_nothing():
    with pytest.raises(OrderbookError) as refused:
        weigh(
            start_belief(100 / 1.3, 0.2),
            [Evidence("too weak", 1.1, 1e-3), Evidence("too strong", -1.0, 1e-3)],
            wrong=0.0,
        )
    assert refused.value.code == "belief_without_mass"


def test_the_grid_is_fine_enough():
    width = np.diff(cell_middles())
    assert width.max() < 0.001


def test_the_normal_distribution_is_that_of_an_independent_library():
    z = np.linspace(-37, 12, 100_003)
    assert normal_below(z) == pytest.approx(stats.norm.cdf(z), abs=1e-8, rel=5e-5)
    assert normal_below(np.array([-1e9, 0.0, 1e9])).tolist() == [0.0, 0.5, 1.0]
