"""After a spring that was too weak the next is a small step up, where the list has one."""

from dataclasses import replace

import numpy as np
import pytest

from orderbook.choosing.grading import grade
from orderbook.choosing.limits import SMALL_STEP
from orderbook.choosing.options import Options, SpringAtHand
from orderbook.choosing.ranking import rank
from orderbook.choosing.rounds import anywhere, best_plan
from orderbook.measures.money import Money
from tests.choosing.choice_lists import steps, watch
from tests.choosing.outside import least_cost_outside

WEAK = 0.115  # drives some 45 %, far less than such movements need in the middle: alone it would be stepped over
TRIED = f"2.9 x {WEAK} x 730: too weak"
FINE = np.round(np.arange(0.12, 0.206, 0.005), 3)
NEAREST = WEAK * (1 + SMALL_STEP)


def strengths(answer):
    return [stage["strength_mm"] for stage in answer.stage_dicts()]


def codes(answer):
    return {found.code for found in answer.findings}


def test_the_first_is_at_most_a_small_step_up_and_that_is_said():
    answer = grade(watch(tried=TRIED), steps(FINE))
    assert WEAK < strengths(answer)[0] <= NEAREST
    c = answer.considered
    free = anywhere(c.plan, c.rule)[0]
    assert c.offer.fits.strength_mm[int(free.argmin())] > NEAREST  # where any might be the first it would be another
    (said,) = (found for found in answer.findings if found.code == "small_step_first")
    assert said.saw.startswith("S125 is at most 12 % stronger than 2.9 x 0.115 x 730, which was too weak")


@pytest.mark.parametrize(
    "tried", ["2.9 x 0.13 x 647: too weak", "2.9 x 0.15 x 561: too weak", "2.9 x 0.165 x 510: too weak"]
)
def test_where_the_cheapest_step_is_small_nothing_is_said(tried):
    answer = grade(watch(tried=tried), steps(FINE))
    assert strengths(answer)[0] <= float(tried.split(" x ")[1]) * (1 + SMALL_STEP)
    assert "small_step_first" not in codes(answer)


def test_after_one_that_never_ran_what_drives_less_than_its_greatest_torque_is_no_small_step():
    answer = grade(watch(tried="2.9 x 0.115 x 730: never ran"), steps(FINE))
    c = answer.considered
    assert c.offer.fits.drive_index.min() > c.tried[0].load_as_drive
    assert c.offer.fits.strength_mm.min() > NEAREST
    assert c.offer.springs.begins.all()
    assert "small_step_first" not in codes(answer)


def test_a_list_without_a_near_one_is_taken_as_it_is():
    answer = grade(watch(tried=TRIED), steps([0.14, 0.155, 0.17, 0.185]))
    assert answer.considered.offer.springs.begins.all()
    assert strengths(answer)[0] >= 0.14
    assert "small_step_first" not in codes(answer)


def test_what_is_at_hand_or_named_may_be_the_first():
    owned = SpringAtHand("D-1", 2.9, 0.15, 566, Money(900, "GBP"), True)
    assert grade(watch(tried=TRIED), steps(FINE), Options(drawer=(owned,))).stage_dicts()[0]["item"] == "D-1"
    named = grade(watch(tried=TRIED), steps(FINE), Options(must=("S150",), count=1))
    assert strengths(named) == [0.15]


def test_where_no_near_one_is_within_the_money_another_comes_first():
    dear = np.where(FINE <= NEAREST, 5000, 1000)
    answer = grade(watch(tried=TRIED), steps(FINE, price=dear), Options(at_most="40 GBP"))
    assert strengths(answer)[0] > NEAREST


def test_who_insists_is_not_held():
    free = grade(watch(tried=TRIED), steps(FINE), Options(even_so=True))
    assert free.considered.offer.springs.begins.all()


def test_every_spring_keeps_its_rank_those_to_be_tried_later_come_last():
    ranking = rank(watch(tried=TRIED), steps(FINE), Options(top=50))
    first = [row["strength_mm"] <= NEAREST for row in ranking.as_dict()["springs"]]
    assert len(first) == len(ranking.considered.offer)
    assert first == sorted(first, reverse=True)
    assert ranking.counts["springs_ranked"] == len(first)
    assert first == ["a nearer spring comes first" not in one.why for one in ranking.ranked]


def test_the_optimum_outside_keeps_the_same_limit():
    answer = grade(watch(tried=TRIED), steps([0.12, 0.125, 0.14, 0.15, 0.16, 0.175, 0.19]), Options(count=None))
    told = answer.as_dict(explain=True)
    assert [one["begins"] for one in told["candidates"]] == [True, True, False, False, False, False, False]
    assert told["plan"]["least_cost"] == pytest.approx(least_cost_outside(told), rel=1e-9)
    free = replace(answer.considered.choice.offered, begins=np.ones(7, bool))
    assert best_plan(replace(answer.considered.choice, offered=free)).least < answer.considered.plan.least
