"""After each verdict: the belief moves the right way and the next thing to do is named."""

import numpy as np
import pytest

from orderbook.choosing.options import Options, SpringAtHand
from tests.choosing.answered import after_trial
from tests.choosing.choice_lists import steps, watch

FINE = np.arange(0.10, 0.2601, 0.005)
WEAK = "2.9 x 0.15 x 566: too weak"


def test_too_weak_goes_on_to_the_next_spring_in_hand():
    hand = (SpringAtHand("O-0032", 2.9, 0.18, 471.9, None, True, "received"),)
    answer = after_trial(watch(tried=WEAK), steps(FINE), in_hand=hand)
    assert answer.action == "fit"
    assert "O-0032" in answer.next_action
    assert answer.after.median_index > answer.before.median_index


def test_too_weak_with_nothing_in_hand_orders():
    answer = after_trial(watch(tried=WEAK), steps(FINE))
    assert answer.action == "order"
    assert answer.as_dict()["stages"]


def test_ran_well_is_kept():
    answer = after_trial(watch(tried=[WEAK, "2.9 x 0.18 x 472: ran well"]), steps(FINE))
    assert answer.action == "keep"
    assert answer.next_action.startswith("Keep 2.9 x 0.18 x 472")
    low, high = answer.after.interval_index()
    assert high - low < np.subtract(*answer.before.interval_index()[::-1])


def test_too_strong_turns_to_weaker_springs():
    answer = after_trial(watch(tried="2.9 x 0.2 x 425: too strong"), steps(FINE))
    assert answer.after.median_index < answer.before.median_index
    assert answer.grading.fittings
    assert answer.as_dict()["stages"][0]["strength_mm"] < 0.2


def test_stopped_is_the_most_telling():
    weak = after_trial(watch(tried="2.9 x 0.17 x 500: too weak"), steps(FINE)).after
    stopped = after_trial(watch(tried="2.9 x 0.17 x 500: stopped after 3 turns"), steps(FINE)).after
    width = {name: np.diff(belief.interval_index())[0] for name, belief in (("weak", weak), ("stopped", stopped))}
    assert width["stopped"] < 0.7 * width["weak"]


def test_verdicts_that_contradict_send_elsewhere():
    answer = after_trial(watch(tried=["2.9 x 0.12 x 708: ran well", "2.9 x 0.21 x 404: too weak"]), steps(FINE))
    assert answer.action == "look elsewhere"
    assert "friction" in answer.next_action


def test_nothing_tried_is_a_mistake_of_the_caller():
    with pytest.raises(ValueError, match="tried"):
        after_trial(watch(), steps(FINE), Options())
