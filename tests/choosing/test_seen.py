"""What was seen of springs in a barrel: placed along the run, or left out with a reason."""

import math

import numpy as np
import pytest

from orderbook.barrel.barrel import barrel_from_texts
from orderbook.barrel.comparing import compare
from orderbook.barrel.springs_seen import spring_seen, tried
from orderbook.choosing.bench import Bench, bench_of
from orderbook.choosing.fitting import scale_of
from orderbook.choosing.seen import evidence_of, tried_in
from orderbook.errors import OrderbookError
from orderbook.mechanics import spring_torque, spring_turns

WATCH = {"bore": ["15.6"], "arbor": ["5.2"], "depth": ["3.1"], "used": ["3.5"]}
CLOCK = {
    "bore": ["38"], "arbor": ["12"], "depth": ["20"], "drive": ["fusee"], "fusee": ["6.5 x 11 x 8"],
    "barrel-outside": ["40"], "chain-height": ["1.2"], "wheels": ["96/8"], "hours": ["96"],
}  # fmt: skip


def bench(texts, **more) -> tuple[Bench, set[str]]:
    found, said = bench_of(barrel_from_texts(texts | more)[0])
    return found, {finding.code for finding in said}


def evidence(texts, **more):
    found, _ = bench(texts, **more)
    scale = scale_of(found)
    seen, said = evidence_of(found, scale, tried_in(found, scale))
    return seen, {finding.code: finding.saw for finding in said}, scale.reference


def test_stopped_after_hours_needs_the_hours_of_a_winding() -> None:
    assert "stopped_hours_not_placed" in bench(WATCH, tried=["2.9 x 0.165 x 515: stopped after 20 hours"])[1]
    placed = WATCH | {"hours": ["30"]}
    seen, said, reference = evidence(placed, tried=["2.9 x 0.165 x 515: stopped after 20 hours"])
    assert "stopped_hours_not_placed" not in bench(placed, tried=["2.9 x 0.165 x 515: stopped after 20 hours"])[1]
    assert not said
    # 20 of 30 hours are ⅔ of 3.5 turns; the torque there, from its wound end
    wound = spring_turns(15.6, 5.2, 0.165, 515.0)
    found = bench(placed)[0]
    steel = (found.flow_stress_mpa, found.modulus_mpa)
    torque = spring_torque(15.6, 5.2, 2.9, 0.165, 515.0, wound - 3.5 * 20 / 30, *steel)
    assert math.exp(seen[0].at) == pytest.approx(float(torque) / reference.drive_nmm, rel=2e-3)


def test_hours_on_a_fusee_are_even_turns_of_the_fusee_and_not_of_its_barrel() -> None:
    found, _ = bench(CLOCK, tried=["19 x 0.45 x 1400: stopped after 48 hours"])
    # 48 hours are 4 of 8 fusee turns, by brute force along the chain: radius 7.1 + 0.5625 a turn, over 20.6 mm
    at = np.linspace(0, 4, 4001)
    expected = float(np.mean(7.1 + 0.5625 * at)) * 4 / 20.6
    assert found.tried[0].after_turns == pytest.approx(expected, rel=1e-4)
    assert found.tried[0].after_turns < 0.95 * found.run.used_turns / 2


@pytest.mark.parametrize(
    ("texts", "spring"),
    [(WATCH, "2.9 x 0.165 x 515: stopped after 6 turns"), (CLOCK, "19 x 0.45 x 1400: stopped after 5 turns")],
)
def test_stopped_after_the_run_is_no_evidence_and_says_so(texts, spring) -> None:
    seen, said, _ = evidence(texts, tried=[spring])
    assert not seen
    assert set(said) == {"stopped_beyond_run"}
    assert "the run is over after" in said["stopped_beyond_run"]


@pytest.mark.parametrize("text", ["0.419 x 37.5 x 2480", "0.419 x 37.5 x ?", "3 x 1.1 x 500"])
def test_width_and_strength_swapped_are_refused_wherever_a_spring_is_written(text) -> None:
    for read in (
        lambda: spring_seen(text, where="spring"),
        lambda: tried(f"{text}: too weak"),
        lambda: barrel_from_texts(WATCH | {"original": [text]}),
    ):
        with pytest.raises(OrderbookError) as refused:
            read()
        assert refused.value.finding.code == "width_and_strength_swapped"


def test_a_spring_wider_than_the_barrel_was_never_in_it() -> None:
    seen, _, _ = evidence(WATCH, tried=["3.4 x 0.15 x 560: too weak", "2.9 x 0.14 x 600: too weak"])
    assert [one.what for one in seen] == ["2.9 x 0.14 x 600: too weak"]
    assert "seen_wider_than_barrel" in bench(WATCH, tried=["3.4 x 0.15 x 560: too weak"])[1]
    assert "seen_wider_than_barrel" not in bench(WATCH, tried=["3.1 x 0.15 x 560: too weak"])[1]


@pytest.mark.parametrize(
    ("width", "code"), [("2.9", None), ("3.05", "spring_without_clearance"), ("3.4", "spring_wider_than_barrel")]
)
def test_a_comparison_says_what_does_not_go_between_floor_and_cover(width, code) -> None:
    found = compare(barrel_from_texts(WATCH)[0], [spring_seen(f"{width} x 0.15 x 560", where="")])
    codes = {f.code for f in found.findings} & {"spring_without_clearance", "spring_wider_than_barrel"}
    assert codes == ({code} if code else set())
