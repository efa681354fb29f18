"""What comes before money, and what an order says of itself: set-up, the length as fitted, fallbacks, near ties."""

import re

import numpy as np
import pytest

from orderbook.barrel.barrel import barrel_from_texts
from orderbook.catalogue import Catalogue
from orderbook.choosing.grading import grade
from orderbook.choosing.options import Options, SpringAtHand
from orderbook.measures.money import Money
from tests.choosing.choice_lists import steps, watch
from tests.choosing.test_careful_orders import barrel, codes, listed

FINE = np.arange(0.10, 0.2601, 0.005)
CLOCK_STEPS = np.round(0.30 + 0.01 * np.arange(20), 3)


STRIKING = {"bore": "54.08", "arbor": "18.21", "depth": "37.41", "used": "7.2", "drive": "fusee"}


def clock(set_up_turns):
    texts = STRIKING | {"ratchet-teeth": "12"}
    return barrel(texts).tried("36.4 x 0.38 x 2650", "too weak", set_up_turns=set_up_turns)


def test_more_clicks_come_before_money_and_say_what_they_change():
    answer = grade(clock(0.5), listed(STRIKING, CLOCK_STEPS))
    first = answer.as_dict(reasons=False)["first"]
    assert answer.first_action.startswith("First, it costs nothing: set up ")
    assert first["clicks_then"] > first["clicks_now"] == 6
    # nothing beyond the usual 1¾ turns of a ratchet of 12 teeth
    assert first["clicks_then"] <= 21
    assert first["drive_then"] > 1.03 * first["drive_now"]
    assert f"drive {first['drive_now']:.0f} → {first['drive_then']:.0f} %" in answer.next_action
    assert re.search(r"evenness [\d.]+ → [\d.]+", answer.next_action)
    assert "If it is still too weak: " in answer.next_action
    # what would then be ordered is stronger than that spring with all its set-up
    assert all(stage["drive_index"] > first["drive_then"] for stage in answer.stage_dicts())


def test_where_the_usual_set_up_is_given_already_nothing_comes_before_the_order():
    answer = grade(clock(1.7), listed(STRIKING, CLOCK_STEPS))
    assert answer.first_action == ""
    assert answer.as_dict(reasons=False)["first"] is None
    assert answer.fittings


def test_a_verdict_is_about_the_length_that_was_fitted():
    whole, cut = (grade(watch(tried=f"2.9 x 0.17 x {length}: too weak"), steps(FINE)) for length in (620, 430))
    drive = [answer.considered.tried[0].drive for answer in (whole, cut)]
    need = [answer.considered.weighed.belief.median_index for answer in (whole, cut)]
    assert abs(drive[0] - drive[1]) > 1
    assert (drive[0] < drive[1]) == (need[0] < need[1])


def test_an_original_speaks_and_a_later_spring_does_not():
    alone = grade(watch(), steps(FINE)).considered.start
    weak, strong = (grade(watch(original=f"2.9 x {e} x 560"), steps(FINE)).considered.start for e in (0.13, 0.17))
    assert weak.median < alone.median < strong.median
    assert "the original" in weak.says
    assert weak.spread < alone.spread


@pytest.mark.parametrize("said", [{"need": 80.0}, {"need": 80.0, "spread": 20.0}, {"spread": 0.3}])
def test_the_start_is_as_the_user_says(said):
    start = grade(watch(), steps(FINE), Options(**said)).considered.start
    assert start.median == said.get("need", 65)
    spread = said.get("spread", 0.25)
    assert start.spread == pytest.approx(spread / 100 if spread > 1 else spread)
    assert "as you say" in start.says


def test_one_spring_alone_says_why_and_what_would_change_it():
    answer = grade(watch(tried="2.9 x 0.15 x 560: too weak"), steps([0.165]))
    (found,) = [f for f in answer.findings if f.code == "one_spring_alone"]
    assert "none stronger may be proposed" in found.saw
    assert found.try_this
    assert "fewer_than_asked" in codes(grade(watch(), steps([0.15]), Options(count=3)))


def test_a_thin_list_is_said():
    assert "list_is_thin" in codes(grade(watch(tried="2.9 x 0.13 x 620: too weak"), steps([0.14, 0.19])))
    assert "list_is_thin" not in codes(grade(watch(tried="2.9 x 0.13 x 620: too weak"), steps(FINE)))


def test_springs_at_hand_alone_answer_with_a_limit_on_money_and_their_price_is_not_assumed():
    drawer = tuple(
        SpringAtHand(f"D-{n}", 2.9, e, 85 / e, is_new=True, price=Money(500, "GBP"))
        for n, e in enumerate((0.15, 0.165, 0.18))
    )
    answer = grade(watch(), Catalogue.concat([]), Options(drawer=drawer, at_most="1.00", currency="GBP"))
    assert answer.fittings
    assert answer.to_pay == (0.0, 0.0)
    assert "price_assumed" not in codes(answer)
    assert answer.next_action.startswith("Fit D-")


def test_an_end_is_known_under_every_word_for_it():
    listed_ends = [steps([0.15, 0.165, 0.18], end=[word] * 3) for word in ("hole", "Loch", "trou")]
    told = [grade(watch(end="hole"), made) for made in listed_ends]
    assert all("end_of_another_kind" not in codes(one) for one in told)
    other = grade(watch(end="hole"), steps([0.15, 0.165, 0.18], end=["loop"] * 3))
    assert "end_of_another_kind" in codes(other)
    assert other.account.parts["end"] > 0


WATCH = {"bore": 15.6, "arbor": 5.2, "depth": 3.1, "used": 3.5}


@pytest.mark.parametrize(("name", "by"), [("depth", 0.0034), ("used", 0.007), ("bore", 0.0034), ("arbor", 0.0034)])
def test_a_reading_that_moves_by_a_tenth_of_its_doubt_turns_no_order_over_without_a_word(name, by):
    orders = []
    for sign in (-1, 0, 1):
        texts = {key: [f"{value + (sign * by if key == name else 0):.4f}"] for key, value in WATCH.items()}
        answer = grade(barrel_from_texts(texts | {"tried": ["2.9 x 0.15 x 560: too weak"]})[0], steps(FINE, width=2.9))
        orders.append(([stage["item"] for stage in answer.stage_dicts()], "near_tie" in codes(answer)))
    for order, tie in orders:
        assert order == orders[1][0] or tie or orders[1][1]


@pytest.mark.parametrize("row", [7, 11, 12, 13, 15])
def test_a_price_that_moves_a_little_turns_no_order_over_without_a_word(row):
    orders = []
    for more in (-5, 0, 5):
        price = np.full(len(FINE), 1000)
        price[row] += more
        answer = grade(watch(tried="2.9 x 0.15 x 560: too weak"), steps(FINE, price=price))
        orders.append(([stage["item"] for stage in answer.stage_dicts()], "near_tie" in codes(answer)))
    for order, tie in orders:
        assert order == orders[1][0] or tie or orders[1][1]
