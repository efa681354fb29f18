"""The examples of the function table against what they claim to come from: search, integration, exact relations."""

import math

import numpy as np
import pytest
from scipy.integrate import quad

from orderbook import mechanics
from orderbook.functions.call import answer
from orderbook.functions.indices import drive_index, load_index, strongest_useful
from orderbook.functions.table import FUNCTIONS

BORE, ARBOR, STRENGTH, LENGTH, WIDTH = 15.6, 5.2, 0.21, 404.4, 2.9
FLOW, MODULUS = 1700.0, 206_000.0


def integrated_turns(moment, strength=STRENGTH, length=LENGTH):
    """Turns from run down at a moment: curvature of each piece of the strip, added up along it by quadrature.

    A strip wound on the arbor takes a set; its free curvature is what springback leaves (elastic, perfectly plastic).
    """
    R, r, e = BORE / 2, ARBOR / 2, strength
    stiffness = MODULUS * WIDTH * e**3 / 12

    def turned(s):
        wound = 1 / math.sqrt(r**2 + s * e / math.pi)
        on_wall = 1 / math.sqrt(R**2 - (length - s) * e / math.pi)
        yields_at = 2 * FLOW / (MODULUS * e)
        if wound > yields_at:
            core = yields_at / wound  # share of the thickness that is still elastic
            moment_wound = stiffness * yields_at * (1.5 - 0.5 * core**2)
            free = wound - moment_wound / stiffness
        else:
            free = 0.0
        return min(max(free + moment / stiffness, on_wall), wound) - on_wall

    return quad(turned, 0, length, limit=400, epsabs=1e-9)[0] / (2 * math.pi)


def test_slack_is_where_the_torque_begins():
    example = FUNCTIONS["SPRING_SLACK"].example
    assert example.arguments == (BORE, ARBOR, STRENGTH, LENGTH)
    assert integrated_turns(0.0) == pytest.approx(example.answer, abs=0.006)
    assert answer("SPRING_SLACK", example.arguments) == pytest.approx(integrated_turns(0.0), abs=2e-3)


def test_torque_gives_back_its_turns():
    *_, turns = FUNCTIONS["SPRING_TORQUE"].example.arguments
    torque = answer("SPRING_TORQUE", FUNCTIONS["SPRING_TORQUE"].example.arguments)
    assert integrated_turns(torque) == pytest.approx(turns, abs=2e-3)


def test_strongest_useful_by_search():
    """Of half-filled springs: the one whose torque after the turns used, from fully wound, is greatest."""
    bore, arbor, used = FUNCTIONS["STRONGEST_USEFUL"].example.arguments

    def drive(strength):
        length = math.pi * (bore**2 - arbor**2) / 8 / strength
        turns = answer("SPRING_TURNS", [bore, arbor, strength, length])
        return answer("SPRING_TORQUE", [bore, arbor, 1.0, strength, length, turns - used]) if turns > used else 0.0

    strengths = np.arange(0.15, 0.30, 0.0005)
    best = strengths[np.argmax([drive(float(e)) for e in strengths])]
    assert best == pytest.approx(FUNCTIONS["STRONGEST_USEFUL"].example.answer, abs=0.002)


def test_best_set_up_by_search():
    example = FUNCTIONS["FUSEE_SET_UP"].example
    evenness = {float(s): answer("FUSEE_EVENNESS", [*example.arguments, float(s)]) for s in np.arange(0.3, 2.5, 0.02)}
    numbers = {s: value for s, value in evenness.items() if isinstance(value, float)}
    assert min(numbers, key=numbers.get) == pytest.approx(example.answer, abs=0.05)


@pytest.mark.parametrize("scale", [0.5, 2.0])
def test_indices_go_with_the_width(scale):
    barrel, spring = [15.6, 5.2, 3.5], [0.16, 520.0]
    for name in ("DRIVE_INDEX", "LOAD_INDEX"):
        one, other = (answer(name, [*barrel, w, *spring, None, 2.9, 0.21, 404.4]) for w in (2.0, 2.0 * scale))
        assert other == pytest.approx(scale * one, rel=1e-9)


def test_what_is_kept_of_a_barrel_is_what_mechanics_gives():
    for strength, length, set_up in [(0.15, 566.3, None), (0.18, 470.0, None), (0.15, 566.3, 1.0), (0.4, 500.0, None)]:
        given = {"bore_mm": 15.6, "arbor_mm": 5.2, "used_turns": 3.5, "width_mm": 2.9, "strength_mm": strength,
                 "length_mm": length, "set_up_turns": set_up}  # fmt: skip
        given = {key: value for key, value in given.items() if value is not None}
        for ours, theirs in ((drive_index, mechanics.drive_index), (load_index, mechanics.load_index)):
            assert ours(**given) == pytest.approx(theirs(**given), rel=1e-12, nan_ok=True)
    assert strongest_useful(bore_mm=15.6, arbor_mm=5.2, used_turns=3.5) == mechanics.strongest_useful(15.6, 5.2, 3.5)


def test_what_does_not_go_in_says_so():
    said = "#it does not go in, leaves too few turns, or runs slack"
    assert answer("DRIVE_INDEX", [15.6, 5.2, 3.5, 2.9, 0.4, 900.0]) == said
    assert answer("DRIVE_INDEX", [15.6, 5.2, 3.5, 2.9, 0.15, 566.3, 0.0]) == said
    column = answer("DRIVE_INDEX", [15.6, 5.2, 3.5, 2.9, [[0.4], [0.15]], [[900.0], [566.3]]])
    assert column[0] == [said]
    assert column[1][0] == pytest.approx(71.1, abs=0.05)
