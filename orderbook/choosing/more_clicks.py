"""Set-up comes before money: where a spring was too weak, the same spring with more clicks costs one trial."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from orderbook.choosing.belief import Floats
from orderbook.choosing.bench import Bench, TriedStrip
from orderbook.choosing.evidence import TOO_WEAK, Evidence
from orderbook.choosing.fitting import Scale, index_and_doubt, strip_of
from orderbook.mechanics import set_up_choices
from orderbook.mechanics.fusee import MOST_SET_UP_TURNS

WORTH_A_TRIAL = 1.03  # times the drive: less is not felt; common practice, no source
CAN_BE_RAISED = (*TOO_WEAK, "stopped")


@dataclass(frozen=True, slots=True)
class MoreClicks:
    """A spring that was too weak as it was set up, and what more of the usual set-up gives it.

    Clicks are of the set-up ratchet (quarter turns where its teeth were not counted, `teeth` is then 4), counted with
    the chain run right down. Drive and load in per cent, before and after; evenness is greatest over least torque.
    `own_u` is how well ln of the new drive is known.
    """

    spring: TriedStrip
    teeth: int
    clicks: tuple[int, int]
    turns: tuple[float, float]
    drive: tuple[float, float]
    load: tuple[float, float]
    evenness: tuple[float, float]
    own_u: float

    @property
    def evidence(self) -> Evidence:
        """What would be known if it is too weak at the new set-up too."""
        return Evidence("too weak", float(np.log(self.drive[1] / 100)), self.own_u, self.spring.said)

    @property
    def says(self) -> str:
        """Say it as a person at the bench would.

        A set-up that was counted in turns is told in turns.
        """
        before, after = self.clicks
        return f"set up {after} {'click' if after == 1 else 'clicks'} instead of {before}"


def more_clicks(bench: Bench, scale: Scale, seen: tuple[Evidence, ...]) -> MoreClicks | None:
    """The spring too weak that gains most from more set-up within the usual range and the reserve; None if none does.

    Of set-ups that differ by less than can be felt, the least is taken.

    Only one that was set up with less, is still there, and then drives clearly more than every spring that was too
    weak. What its load may be is for the limits of the plan.
    """
    if not bench.run.from_run_down or any(one.verdict == "ran well" for one in bench.tried[-1:]):
        return None
    weakest = max((e.at for e in seen if e.kind in TOO_WEAK), default=-np.inf)
    raised = [_raised(bench, spring, scale) for spring in _as_set_up_last(bench)]
    found = [r for r in raised if r is not None and r.drive[1] > WORTH_A_TRIAL * 100 * np.exp(weakest)]
    return max(found, key=lambda r: r.drive[1], default=None)


def _as_set_up_last(bench: Bench) -> list[TriedStrip]:
    """Each spring that can still be fitted once, with the most set-up it was tried at."""
    last: dict[tuple[object, ...], TriedStrip] = {}
    for spring in bench.tried:
        key = (spring.label, spring.width_mm, spring.strength_mm, spring.length_mm)
        if spring.verdict not in CAN_BE_RAISED or spring.gone or spring.set_up_turns is None:
            last.pop(key, None)
        elif key not in last or spring.set_up_turns > (last[key].set_up_turns or 0.0):
            last[key] = spring
    return list(last.values())


def _raised(bench: Bench, spring: TriedStrip, scale: Scale) -> MoreClicks | None:
    steel = {"flow_stress_mpa": bench.flow_stress_mpa, "modulus_mpa": bench.modulus_mpa}
    sizes = (bench.bore_mm, bench.arbor_mm, spring.width_mm, spring.strength_mm, spring.length_mm)
    had, left = spring.set_up_turns or 0.0, bench.left_on_cone
    found = set_up_choices(*sizes, bench.run, least_turns=had, **steel)
    usual = np.flatnonzero(found.turns <= MOST_SET_UP_TURNS + left + 1e-9)
    if len(usual) < 2:
        return None
    drive = found.drive_nmm[usual]
    before, after = 0, int(usual[np.argmax(drive >= drive.max() / WORTH_A_TRIAL)])
    if found.drive_nmm[after] < WORTH_A_TRIAL * found.drive_nmm[before]:
        return None
    turns = (had - left, float(found.turns[after]) - left)
    there = replace(bench, run=replace(bench.run, set_up_turns=float(found.turns[after])))
    _, _, own, _, _, _ = index_and_doubt(there, strip_of(spring), scale.yardstick)
    best = scale.reference

    def per_cent(torque: Floats, of: float) -> tuple[float, float]:
        return float(100 * torque[before] / of), float(100 * torque[after] / of)

    return MoreClicks(
        spring,
        found.teeth,
        (round(turns[0] * found.teeth), round(turns[1] * found.teeth)),
        turns,
        per_cent(found.drive_nmm, best.drive_nmm),
        per_cent(found.load_nmm, best.load_nmm),
        (float(found.evenness[before]), float(found.evenness[after])),
        float(own[0]),
    )
