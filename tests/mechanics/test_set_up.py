"""What each click of set-up gives: against torque taken turn by turn, and the limits."""

import numpy as np
import pytest

from orderbook.mechanics import Run, drive_and_load, set_up_choices, spring_slack, spring_torque, spring_turns

SPRING = (15.6, 5.2, 2.9, 0.165, 514.8)
SLACK, TURNS = spring_slack(*SPRING[:2], *SPRING[3:]), spring_turns(*SPRING[:2], *SPRING[3:])


@pytest.mark.parametrize("teeth", [None, 8, 20, 33])
@pytest.mark.parametrize("drive", ["going", "fusee"])
def test_every_click_is_the_torque_turn_by_turn(drive: str, teeth: int | None) -> None:
    run = Run(3.5, drive=drive, stop_work=drive == "going", ratchet_teeth=teeth)  # type: ignore[arg-type]
    found = set_up_choices(*SPRING, run)
    assert found.teeth == (teeth or 4)
    assert found.turns == pytest.approx(found.clicks / found.teeth)
    # every whole click from half a turn to what the reserve leaves, and none more
    assert 0.5 <= found.turns[0] < 0.5 + 1 / found.teeth
    most = TURNS - SLACK - 3.5 - run.reserve
    assert most - 1 / found.teeth < found.turns[-1] <= most
    at = np.linspace(0, 1, 400)
    arm = 1 / 1.66 + (1 - 1 / 1.66) * at if drive == "fusee" else np.ones(400)
    run_off = (at / 1.66 + (1 - 1 / 1.66) * at**2 / 2) / (1 / 1.66 + (1 - 1 / 1.66) / 2) if drive == "fusee" else at
    for i in range(0, len(found), max(1, len(found) // 5)):
        torque = spring_torque(*SPRING, SLACK + found.turns[i] + 3.5 * (1 - run_off)) * arm
        assert found.drive_nmm[i] == pytest.approx(torque.min(), rel=2e-3)
        assert found.load_nmm[i] == pytest.approx(torque.max(), rel=2e-3)
        assert found.evenness[i] == pytest.approx(torque.max() / torque.min(), rel=2e-3)
    assert np.all(np.diff(found.drive_nmm) > 0)
    assert np.all(np.diff(found.load_nmm) > 0)


@pytest.mark.parametrize("drive", ["going", "fusee"])
def test_a_recorded_set_up_is_what_all_springs_are_compared_at(drive: str) -> None:
    run = Run(3.5, drive=drive, set_up_turns=0.8, ratchet_teeth=20)  # type: ignore[arg-type]
    strengths = np.array([0.14, 0.165, 0.19])
    found = drive_and_load(*SPRING[:3], strengths, SPRING[3] * SPRING[4] / strengths, run)
    assert found.set_up_turns == pytest.approx([0.8] * 3)
    for i, strength in enumerate(strengths):
        spring = (*SPRING[:3], float(strength), float(SPRING[3] * SPRING[4] / strength))
        choices = set_up_choices(*spring, run)
        at = int(np.flatnonzero(choices.clicks == 16)[0])
        assert choices.drive_nmm[at] == pytest.approx(found.drive_nmm[i], rel=1e-3)
        assert choices.load_nmm[at] == pytest.approx(found.load_nmm[i], rel=1e-3)


def test_a_recorded_set_up_below_the_usual_can_be_where_it_begins() -> None:
    run = Run(3.5, drive="fusee", ratchet_teeth=20)
    assert set_up_choices(*SPRING, run, least_turns=0.35).clicks[0] == 7
    assert set_up_choices(*SPRING, run).clicks[0] == 10


def test_nothing_is_set_up_in_a_going_barrel_and_none_where_the_reserve_leaves_none() -> None:
    assert len(set_up_choices(*SPRING, Run(3.5))) == 0
    assert len(set_up_choices(*SPRING, Run(6.5, drive="fusee"))) == 0
