"""Orders a careful restorer would place: near the published practice, and within what the advice allows, on any barrel.

The table of orders was made with a prototype on a coarse grid, outside this project's code; one step of strength either
way is its own error.
"""

from functools import cache
from itertools import pairwise

import numpy as np
import pytest

from orderbook.barrel.barrel import barrel_from_texts
from orderbook.catalogue import Catalogue, read_catalogue
from orderbook.choosing.grading import grade
from orderbook.choosing.limits import ABOUT, WIDE_ENOUGH
from orderbook.choosing.options import Options, SpringAtHand
from orderbook.mechanics import Run, reference_spring, spring_length
from tests.choosing.answered import after_trial
from tests.choosing.choice_lists import DEMO

WATCH = {"bore": "15.6", "arbor": "5.2", "depth": "3.02", "used": "3.5"}
FUSEE_WATCH = WATCH | {"drive": "fusee"}
CLOCK = {"bore": "45", "arbor": "9", "depth": "18.46", "used": "4.97", "movement": "clock"}
FUSEE_CLOCK = {
    "bore": "56.04", "arbor": "18.9", "depth": "38.6", "used": "7.7", "drive": "fusee", "fusee": "9 x 21 x 15",
    "barrel-outside": "60.2", "chain-height": "2.4",
}  # fmt: skip
STEPS = {"watch": (0.1, 0.005), "fusee watch": (0.1, 0.005), "clock": (0.26, 0.02), "fusee clock": (0.28, 0.01)}
BARRELS = {"watch": WATCH, "fusee watch": FUSEE_WATCH, "clock": CLOCK, "fusee clock": FUSEE_CLOCK}
TABLE = [  # barrel, strength that was too weak, order
    ("watch", None, (0.125, 0.145, 0.160)),
    ("watch", 0.13, (0.145, 0.160, 0.175)),
    ("watch", 0.15, (0.160, 0.175, 0.200)),
    ("watch", 0.165, (0.175, 0.190, 0.205)),
    ("fusee watch", 0.15, (0.160, 0.170, 0.180)),
    ("clock", 0.36, (0.40, 0.44, 0.50)),
    ("fusee clock", 0.34, (0.38, 0.41, 0.45)),
    ("fusee clock", 0.36, (0.39, 0.42, 0.45)),
]
LISTS = ("supplier_north_watch.csv", "supplier_north_clock.csv", "supplier_east.csv", "supplier_west.csv")


def barrel(texts, *tried):
    return barrel_from_texts({name: [said] for name, said in texts.items()} | {"tried": list(tried)})[0]


def full_width(texts):
    depth = float(texts["depth"])
    return depth - max(0.12 if depth <= 5 else 0.025 * depth, 0.05)


def half_fill(texts, strength):
    return spring_length(float(texts["bore"]), float(texts["arbor"]), strength, 0.5)


def too_weak(texts, strength):
    return f"{full_width(texts):.2f} x {strength:g} x {float(half_fill(texts, strength)):.0f}: too weak"


def listed(texts, strengths):
    """Half-fill springs of the full width, all of one price."""
    n = len(strengths)
    return Catalogue.of(
        supplier=["Supplier North"] * n, item=[f"S{1000 * e:.0f}" for e in strengths],
        width_mm=np.full(n, full_width(texts) - 1e-6), strength_mm=strengths, length_mm=half_fill(texts, strengths),
        currency=["GBP"] * n, price_minor=np.full(n, 1000),
    )  # fmt: skip


@pytest.mark.parametrize(("name", "weak", "expected"), TABLE)
def test_orders_within_one_step_of_the_table(name, weak, expected):
    texts, (first, step) = BARRELS[name], STEPS[name]
    springs = listed(texts, np.round(first + step * np.arange(40), 4))
    answer = grade(barrel(texts, *([too_weak(texts, weak)] if weak else [])), springs)
    found = [stage["strength_mm"] for stage in answer.stage_dicts()]
    assert found == pytest.approx(expected, abs=step * 1.01)


@cache
def demo_lists():
    return read_catalogue([DEMO / name for name in LISTS])


def a_barrel(seed):
    """Any barrel that the demo's lists may serve, half of them with a spring in it that was too weak."""
    dice = np.random.default_rng([14, seed])
    if dice.random() < 0.4:
        bore, depth = dice.uniform(13, 20), dice.uniform(2.0, 4.0)
    else:
        bore, depth = dice.uniform(30, 58), dice.uniform(14, 40)
    texts = {"bore": f"{bore:.2f}", "arbor": f"{bore * dice.uniform(0.27, 0.36):.2f}", "depth": f"{depth:.2f}"}
    texts |= {"used": f"{dice.uniform(3.0, 6.0):.2f}", "drive": "fusee" if dice.random() < 0.4 else "going"}
    if dice.random() < 0.5:
        texts["end"] = "hole"
    if dice.random() < 0.5:
        return texts, ()
    run = Run(float(texts["used"]), texts["drive"])
    strongest = reference_spring(bore, float(texts["arbor"]), full_width(texts), run).strength_mm
    return texts, (too_weak(texts, round(strongest * dice.uniform(0.55, 0.85), 3)),)


@cache
def answered(seed):
    texts, tried = a_barrel(seed)
    return texts, tried, grade(barrel(texts, *tried), demo_lists(), Options(currency="GBP"))


def codes(answer):
    return {found.code for found in answer.findings}


BATCH = 12
STEP = 1.12  # of the strength of one that was too weak


@pytest.mark.slow
@pytest.mark.parametrize("batch", range(10))
def test_on_any_barrel_the_order_keeps_to_the_advice_or_says_so(batch):
    served = 0
    for seed in range(BATCH * batch, BATCH * (batch + 1)):
        _texts, tried, answer = answered(seed)
        c, order, told = answer.considered, answer.order, codes(answer)
        served += bool(order)
        fits, springs = c.offer.fits, c.offer.springs
        for row in order:
            above = fits.strength_mm[row] > c.reference.strength_mm * (1 + 1e-9) or fits.load_index[row] > 100 + 1e-6
            assert not above or "only_above_the_strongest" in told, seed
            narrow = fits.width_share[row] < WIDE_ENOUGH
            assert not narrow or "width_given_up" in told, seed
            if narrow:  # nothing wider of about its drive can be had
                wide = fits.width_share >= WIDE_ENOUGH
                near = np.abs(np.log(fits.drive_index / fits.drive_index[row])) <= ABOUT
                assert not (wide & near).any(), seed
        kinds = {c.offer.ends[row] for row in order} - {""}
        assert len(kinds) <= 1 or "ends_are_mixed" in told, seed
        assert not any(springs.stops[row] for row in order[:-1]), seed
        if tried and order:
            failed = c.tried[0].spring.strength_mm
            first = fits.strength_mm[order[0]]
            steps = fits.strength_mm[(fits.strength_mm > failed) & (fits.width_share >= WIDE_ENOUGH)]
            if (steps <= STEP * failed).any():
                assert first <= STEP * failed, (seed, failed, first)
    assert served > BATCH / 3


@pytest.mark.slow
@pytest.mark.parametrize("seed", [0, 13, 19, 26, 40, 59, 60, 75, 76, 90])
def test_no_stage_that_was_sold_is_then_not_to_be_fitted(seed):
    """Each stage in its turn is too weak; the next one that has come is always the next to fit."""
    texts, tried, answer = answered(seed)
    stages = answer.stage_dicts()
    assert len(stages) > 1, seed
    at_hand = {
        one["item"]: SpringAtHand(
            one["item"], one["width_mm"], one["strength_mm"], one["length_mm"], is_new=True, place="received"
        )
        for one in stages
    }
    known = barrel(texts, *tried)
    for now, following in pairwise(stages):
        del at_hand[now["item"]]
        length = now["trim_to_mm"] or now["length_mm"]
        known = known.tried(f"{now['width_mm']} x {now['strength_mm']} x {length}", "too weak")
        told = after_trial(known, demo_lists(), Options(currency="GBP"), in_hand=tuple(at_hand.values()))
        assert told.action == "fit", (seed, told.next_action)
        assert told.grading.stage_dicts()[0]["item"] == following["item"], (seed, told.next_action)
