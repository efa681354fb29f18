"""What was fitted and tried in a barrel, as a belief about its need: where it starts, and what was seen."""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import exp, hypot, log

from orderbook.barrel.practice import (
    RUN_UNKNOWN,
    NeedStart,
    Share,
    practice_of,
    start_from_original,
    start_of,
    start_with_original,
)
from orderbook.choosing.bench import Bench, TriedStrip
from orderbook.choosing.evidence import Evidence
from orderbook.choosing.fitting import Scale, index_and_doubt, strip_of
from orderbook.choosing.options import Options
from orderbook.errors import Finding, finding
from orderbook.mechanics import DriveAndLoad, drive_and_load, torque_after


def start_for(bench: Bench, options: Options, scale: Scale) -> tuple[NeedStart, tuple[Finding, ...]]:
    """Where the belief about the need starts: as the user says, by an original, as was learned, else by practice.

    It is wider where only a rule of thumb says the turns. An original that tells nothing is a finding.
    """
    learned = options.learned if options.start == "learned" else None
    usual, findings = learned or start_of(bench.movement, bench.run.drive, bench.train), []
    for spring in bench.originals:
        one = tried_spring(bench, spring, scale)
        if one.drive > 0:
            drive = Share(one.drive, one.own_u)
            own = start_with_original(learned, bench.movement, drive) if learned else None
            usual = own or start_from_original(bench.movement, drive)
        else:
            where = f"⟨original {spring.said}⟩"
            findings.append(finding("tried_not_comparable", where=where, saw=_why_not(bench, spring)))
    if not bench.run_known:
        usual = replace(usual, spread=hypot(usual.spread, RUN_UNKNOWN), says=f"{usual.says}; the turns are a guess")
    if options.need is not None or options.spread is not None:
        median = usual.median if options.need is None else options.need
        spread = usual.spread if options.spread is None else options.spread
        given = [word for word, said in (("need", options.need), ("spread", options.spread)) if said is not None]
        both = "as you say" if len(given) == 2 else f"{given[0]} as you say, else {usual.says}"
        usual = NeedStart(median, spread, both)
    return usual, tuple(findings)


def evidence_of(
    bench: Bench, scale: Scale, tried: tuple[TriedSpring, ...]
) -> tuple[tuple[Evidence, ...], tuple[Finding, ...]]:
    """Every verdict on a spring of this barrel and every rod test, as evidence; what says nothing is a finding."""
    seen: list[Evidence] = []
    findings: list[Finding] = []
    for measured in tried:
        spring = measured.spring
        if not spring.verdict:
            continue
        one = _of_spring(bench, measured, scale)
        if one is None:
            where = f"⟨tried {spring.said}⟩" if spring.said else "tried spring"
            code = "stopped_beyond_run" if _beyond_run(bench, spring) else "tried_not_comparable"
            findings.append(finding(code, where=where, saw=_why_not(bench, spring)))
        else:
            seen.append(one)
    drive = scale.reference.drive_nmm
    seen += [Evidence("rod test", log(rod.need_nmm / drive), rod.u) for rod in bench.rods]
    return tuple(seen), tuple(findings)


def tried_in(bench: Bench, scale: Scale) -> tuple[TriedSpring, ...]:
    """Every spring that was tried in the barrel, in the order it was tried."""
    return tuple(tried_spring(bench, spring, scale) for spring in bench.tried)


def at_its_set_up(bench: Bench, spring: TriedStrip) -> Bench:
    """Return the barrel with its run at the set-up that a spring had, where that was noted."""
    if spring.set_up_turns is None:
        return bench
    return replace(bench, run=replace(bench.run, set_up_turns=spring.set_up_turns))


@dataclass(frozen=True, slots=True)
class TriedSpring:
    """A spring that was tried, with its drive and load index as it was set up, and the ± of their logarithms.

    `load_as_drive` is its greatest torque in the unit of drive: what a spring that never ran says of the need.
    Indices are nan where it has none.
    """

    spring: TriedStrip
    drive: float
    load: float
    load_as_drive: float
    own_u: float
    load_own_u: float


def tried_spring(bench: Bench, spring: TriedStrip, scale: Scale) -> TriedSpring:
    """Measure a spring that was tried against the strongest useful one."""
    here, best = at_its_set_up(bench, spring), scale.reference
    drive, load, own, _, load_own, _ = (float(c[0]) for c in index_and_doubt(here, strip_of(spring), scale.yardstick))
    return TriedSpring(spring, drive, load, load * best.load_nmm / best.drive_nmm, own, load_own)


def _of_spring(bench: Bench, one: TriedSpring, scale: Scale) -> Evidence | None:
    spring = one.spring
    if not one.drive > 0 or _beyond_run(bench, spring):
        return None
    if spring.verdict == "too strong":
        return Evidence("too strong", log(one.load / 100), one.load_own_u, spring.said)
    if spring.verdict == "never ran":
        return Evidence("never ran", log(one.load_as_drive / 100), one.load_own_u, spring.said)
    if spring.verdict == "stopped":
        torque = _torque_after(bench, spring, min(spring.after_turns or 0.0, float(bench.run.used_turns)))
        at = torque / scale.reference.drive_nmm
        return Evidence("stopped", log(at), one.own_u, spring.said) if torque > 0 else None
    return Evidence(spring.verdict, log(one.drive / 100), one.own_u, spring.said, practice_of(bench.movement).margin)


def _beyond_run(bench: Bench, spring: TriedStrip) -> bool:
    """Whether it stopped only after the turns used were run off, by more than a count is out."""
    stopped = spring.verdict == "stopped" and spring.after_turns is not None
    return stopped and (spring.after_turns or 0.0) > 1.02 * bench.run.used_turns


def _torque_after(bench: Bench, spring: TriedStrip, turns: float) -> float:
    """Torque when a fully wound spring has run off so many turns (with a fusee: at the fusee)."""
    steel = {"flow_stress_mpa": bench.flow_stress_mpa, "modulus_mpa": bench.modulus_mpa}
    sizes = (bench.bore_mm, bench.arbor_mm, spring.width_mm, spring.strength_mm, spring.length_mm)
    return torque_after(*sizes, at_its_set_up(bench, spring).run, turns, **steel)


def _window(bench: Bench, spring: TriedStrip) -> DriveAndLoad:
    sizes = (bench.bore_mm, bench.arbor_mm, spring.width_mm, spring.strength_mm, spring.length_mm)
    steel = {"flow_stress_mpa": bench.flow_stress_mpa, "modulus_mpa": bench.modulus_mpa}
    return drive_and_load(*sizes, at_its_set_up(bench, spring).run, **steel)


def _why_not(bench: Bench, spring: TriedStrip) -> str:
    if _beyond_run(bench, spring):
        used = bench.run.used_turns
        return f"it stopped after {spring.after_turns:.3g} barrel turns, and the run is over after {used:.3g}"
    here = _window(bench, spring)
    if not here.fill[0] < 1:
        return f"a spring of {spring.strength_mm:g} x {spring.length_mm:g} mm does not go into this barrel"
    return f"it delivers {here.delivered_turns[0]:.1f} turns and the run takes {bench.run.used_turns:g}"


def index_of(one: Evidence) -> float:
    """The drive or load in per cent that a piece of evidence speaks about.

    >>> round(index_of(Evidence("too weak", -0.7, 0.05)))
    50
    """
    return 100 * exp(one.at)


def hardest(seen: tuple[Evidence, ...], *kinds: str) -> Evidence | None:
    """Of the evidence of some kinds, the one that speaks about the greatest torque."""
    return max((e for e in seen if e.kind in kinds), key=lambda e: e.at, default=None)
