"""What the choice needs to know of one barrel on the bench: sizes, run, and what was tried in it."""

from __future__ import annotations

from dataclasses import dataclass

from orderbook.mechanics import FLOW_STRESS_MPA, MODULUS_MPA, Run

TOLERANCE_MM = 0.005  # of a strip's strength where it was not measured: common practice, no source
NEW_FLOW_STRESS = 0.03  # standard uncertainty of one new strip's flow stress, as a part (± 6 %)
OLD_FLOW_STRESS = 0.06  # the same for an old or unknown strip (± 12 %)
COMMON_FLOW_STRESS = 0.06  # of the flow stress all springs of a kind share (± 12 %)


@dataclass(frozen=True, slots=True)
class Tried:
    """A spring that was in this barrel, and how it did.

    `verdict` is a word of `choosing.evidence` ("too weak", "never ran", "stopped", "ran well", "too strong") or ""
    if nothing was said; `after_turns` are the barrel turns run off when it stopped. `said` is how the user put it.
    """

    width_mm: float
    strength_mm: float
    length_mm: float
    verdict: str
    after_turns: float | None = None
    strength_u_mm: float = TOLERANCE_MM / 3**0.5
    flow_stress_u: float = OLD_FLOW_STRESS
    said: str = ""


@dataclass(frozen=True, slots=True)
class RodTest:
    """Torques at the square in N·mm (None where not taken) with their relative standard uncertainty.

    `gives` is what the spring in the barrel gives fully wound, `drives` what just drives the train.
    """

    drives_nmm: float
    gives_nmm: float | None = None
    u: float = 0.05
    spring: Tried | None = None


@dataclass(frozen=True, slots=True)
class Bench:
    """One barrel: sizes in mm, the widest strip that goes in, its run, and all that was seen.

    `run_known` is false where the turns used come from a rule of thumb only.
    """

    bore_mm: float
    arbor_mm: float
    widest_mm: float
    run: Run
    flow_stress_mpa: float = FLOW_STRESS_MPA
    modulus_mpa: float = MODULUS_MPA
    fill: float = 0.5
    run_known: bool = True
    end: str = ""
    tried: tuple[Tried, ...] = ()
    rods: tuple[RodTest, ...] = ()
