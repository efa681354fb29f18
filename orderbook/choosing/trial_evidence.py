"""What was tried in a barrel, as evidence about the need."""

from __future__ import annotations

from math import log

import numpy as np

from orderbook.choosing.belief import SPREAD_RULE_ONLY, SPREAD_RUN_KNOWN, Belief, start_belief
from orderbook.choosing.bench import Bench, TriedStrip
from orderbook.choosing.evidence import Evidence
from orderbook.choosing.fitting import Strips, Yardstick, index_and_doubt
from orderbook.errors import Finding, finding
from orderbook.mechanics import drive_and_load, torque_after


def start_of(bench: Bench, spread: float | None = None) -> tuple[Belief, float]:
    """The belief before any evidence, and its spread: wider where only a rule of thumb says the turns."""
    spread = spread if spread is not None else SPREAD_RUN_KNOWN if bench.run_known else SPREAD_RULE_ONLY
    return start_belief(spread=spread), spread


def evidence_of(bench: Bench, yardstick: Yardstick) -> tuple[tuple[Evidence, ...], tuple[Finding, ...]]:
    """Everything tried in this barrel and every rod test, as evidence; what says nothing is a finding."""
    seen: list[Evidence] = []
    findings: list[Finding] = []
    for spring in bench.tried:
        if not spring.verdict:
            continue
        one = _of_spring(bench, spring, yardstick)
        if one is None:
            where = f"⟨tried {spring.said}⟩" if spring.said else "tried spring"
            code = "stopped_beyond_run" if _beyond_run(bench, spring) else "tried_not_comparable"
            findings.append(finding(code, where=where, saw=_why_not(bench, spring)))
        else:
            seen.append(one)
    drive = yardstick.reference.drive_nmm
    seen += [Evidence("rod test", log(rod.need_nmm / drive), rod.u) for rod in bench.rods]
    return tuple(seen), tuple(findings)


def tried_index(bench: Bench, spring: TriedStrip, yardstick: Yardstick) -> tuple[float, float, float, float]:
    """Drive and load index of a tried spring and the standard uncertainty of their logarithms; nan if it has none."""
    drive, load, own, _, load_own, _ = index_and_doubt(bench, _strip(spring), yardstick)
    return float(drive[0]), float(load[0]), float(own[0]), float(load_own[0])


def _of_spring(bench: Bench, spring: TriedStrip, yardstick: Yardstick) -> Evidence | None:
    drive, load, own, load_own = tried_index(bench, spring, yardstick)
    reference = yardstick.reference
    if not drive > 0 or _beyond_run(bench, spring):
        return None
    if spring.verdict == "too strong":
        return Evidence("too strong", log(load / 100), load_own, spring.said)
    if spring.verdict == "never ran":
        return Evidence("never ran", log(load / 100 * reference.load_nmm / reference.drive_nmm), load_own, spring.said)
    if spring.verdict == "stopped":
        torque = _torque_after(bench, spring, min(spring.after_turns or 0.0, float(bench.run.used_turns)))
        return Evidence("stopped", log(torque / reference.drive_nmm), own, spring.said) if torque > 0 else None
    return Evidence(spring.verdict, log(drive / 100), own, spring.said)


def _beyond_run(bench: Bench, spring: TriedStrip) -> bool:
    """Whether it stopped only after the turns used were run off, by more than a count is out."""
    stopped = spring.verdict == "stopped" and spring.after_turns is not None
    return stopped and (spring.after_turns or 0.0) > 1.02 * bench.run.used_turns


def _torque_after(bench: Bench, spring: TriedStrip, turns: float) -> float:
    """Torque when a fully wound spring has run off so many turns (with a fusee: at the fusee)."""
    steel = {"flow_stress_mpa": bench.flow_stress_mpa, "modulus_mpa": bench.modulus_mpa}
    sizes = (bench.bore_mm, bench.arbor_mm, spring.width_mm, spring.strength_mm, spring.length_mm)
    return torque_after(*sizes, bench.run, turns, **steel)


def _strip(spring: TriedStrip) -> Strips:
    sizes = (spring.width_mm, spring.strength_mm, spring.length_mm, spring.flow_stress_u)
    return Strips(*(np.array([value]) for value in sizes))


def _window(bench: Bench, spring: TriedStrip):  # type: ignore[no-untyped-def]
    sizes = (spring.width_mm, spring.strength_mm, spring.length_mm)
    return drive_and_load(
        bench.bore_mm,
        bench.arbor_mm,
        *sizes,
        bench.run,
        flow_stress_mpa=bench.flow_stress_mpa,
        modulus_mpa=bench.modulus_mpa,
    )


def _why_not(bench: Bench, spring: TriedStrip) -> str:
    if _beyond_run(bench, spring):
        used = bench.run.used_turns
        return f"it stopped after {spring.after_turns:.3g} barrel turns, and the run is over after {used:.3g}"
    here = _window(bench, spring)
    if not here.fill[0] < 1:
        return f"a spring of {spring.strength_mm:g} x {spring.length_mm:g} mm does not go into this barrel"
    return f"it delivers {here.delivered_turns[0]:.1f} turns and the run takes {bench.run.used_turns:g}"
