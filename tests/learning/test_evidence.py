"""What a closed barrel says: the interval between what failed and what ran, or the reason why it says nothing."""

from __future__ import annotations

import math

import pytest

from orderbook.barrel.barrel import Barrel
from orderbook.choosing.bench import bench_of
from orderbook.choosing.fitting import scale_of
from orderbook.learning.evidence import group_of, piece_of
from orderbook.learning.pieces import LeftOut, Piece
from orderbook.mechanics import drive_and_load


def a_barrel(*tried: str, **more: object) -> Barrel:
    return Barrel(**{"bore": 45, "arbor": 9, "depth": 18.8, "used": 4.97, "tried": list(tried), **more})  # type: ignore[arg-type]


def told_by(*tried: str, **more: object) -> Piece:
    found = piece_of("R-001-B1", a_barrel(*tried, **more))
    assert isinstance(found, Piece), found
    return found


def left_out_by(*tried: str, **more: object) -> LeftOut:
    found = piece_of("R-001-B1", a_barrel(*tried, **more))
    assert isinstance(found, LeftOut), found
    return found


def drive(strength: float, length: float) -> float:
    """Drive in per cent of the strongest useful spring's, straight from the mechanics."""
    bench, _ = bench_of(a_barrel())
    steel = {"flow_stress_mpa": bench.flow_stress_mpa, "modulus_mpa": bench.modulus_mpa}
    one = drive_and_load(45, 9, 18, strength, length, bench.run, **steel)
    return 100 * float(one.drive_nmm.item()) / scale_of(bench).reference.drive_nmm


def test_interval_is_between_the_strongest_that_failed_and_the_weakest_that_ran() -> None:
    piece = told_by("18 x 0.34 x 1650: too weak", "18 x 0.36 x 1650: too weak", "18 x 0.40 x 1650: ran well")
    assert piece.above is not None
    assert piece.below is not None
    assert piece.above.percent == pytest.approx(drive(0.36, 1650), rel=1e-6)
    assert piece.below.percent == pytest.approx(drive(0.40, 1650), rel=1e-6)
    assert [told.percent for told in piece.too_weak] == pytest.approx([drive(e, 1650) for e in (0.34, 0.36)])


def test_length_fitted_counts() -> None:
    long, cut = told_by("18 x 0.36 x 1650: too weak"), told_by("18 x 0.36 x 1500: too weak")
    assert long.above is not None
    assert cut.above is not None
    assert cut.above.percent == pytest.approx(drive(0.36, 1500), rel=1e-6)
    assert cut.above.x != long.above.x


def test_stopped_and_rod_tests_are_measured() -> None:
    stopped = told_by("18 x 0.40 x 1650: stopped after 3 turns")
    assert stopped.at is not None
    assert stopped.above is None
    assert stopped.at.percent > drive(0.40, 1650)  # it stopped before its run was over, at a greater torque


def test_too_strong_is_a_bound_from_above() -> None:
    piece = told_by("18 x 0.46 x 1650: too strong")
    assert piece.above is None
    assert piece.below is not None
    assert piece.below.percent < drive(0.46, 1650)


def test_never_ran_is_stronger_than_too_weak() -> None:
    never, weak = told_by("18 x 0.30 x 1650: never ran"), told_by("18 x 0.30 x 1650: too weak")
    assert never.above is not None
    assert weak.above is not None
    assert never.above.x > weak.above.x


def test_rule_of_thumb_turns_widen_the_interval() -> None:
    known = told_by("18 x 0.36 x 1650: too weak", original=["18 x 0.40 x 1650"])
    assert known.above is not None
    assert known.above.u < 0.15


@pytest.mark.parametrize(
    ("tried", "why"),
    [
        ((), "no verdict"),
        (("18 x 0.44 x 1650: too weak", "18 x 0.30 x 1650: ran well"), "turned round"),
        (("18 x 0.44 x 4000: too weak",), "cannot be compared"),
    ],
)
def test_what_teaches_nothing_says_why(tried: tuple[str, ...], why: str) -> None:
    assert why in left_out_by(*tried).why


def test_a_barrel_that_was_not_measured_says_so() -> None:
    assert "readings" in left_out_by("18 x 0.36 x 1650: too weak", depth=None, bore=None).why


def test_one_word_more_or_less_in_a_label_is_another_group() -> None:
    barrel = a_barrel(movement="clock", train="striking")
    assert group_of(barrel, "French  8-Day") == group_of(barrel, "french 8-day ")
    assert group_of(barrel, "French 8-day") != group_of(barrel, "French")
    assert group_of(barrel, "x").kind == group_of(barrel)


def test_plus_minus_is_the_springs_own() -> None:
    piece = told_by("18 x 0.36 x 1650: too weak")
    assert piece.above is not None
    assert 0.02 < piece.above.u < 0.12
    assert math.isfinite(piece.above.x)
