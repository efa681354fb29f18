"""What one barrel is asked for, and how its strip is modelled: decided once, so that springs compared share it."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import Any

from orderbook.barrel.barrel import Barrel
from orderbook.errors import Finding, OrderbookError, error, finding
from orderbook.measures import Measured
from orderbook.mechanics.across import reference_in_steel
from orderbook.mechanics.barrel import (
    spring_length,
    spring_turns,
    spring_width,
    strength_by_arbor,
    usual_clearance,
)
from orderbook.mechanics.drive import Reference, Run, reference_spring
from orderbook.mechanics.fusee import Cone, cone
from orderbook.mechanics.materials import Material
from orderbook.mechanics.train import blows_in_hours, turns_for_blows, turns_for_hours

TURNS_NOT_USED = 1.5  # set-up or reserve ½ each and about ½ of slack; common practice, no source

WIDE_BELOW = 1 / 3  # of the curl left across a strip: below it, that it acts as a plate is said
HOURS_DIFFER = 0.05  # of the turns, between those counted and those of hours and wheels; common practice, no source


@dataclass(frozen=True, slots=True)
class Model:
    """The run, the material and the reference of one barrel, and what was assumed for them."""

    run: Run
    used: Measured
    used_assumed: bool
    material: Material
    width: Measured | None
    reference: Reference
    findings: tuple[Finding, ...]


def model_of(barrel: Barrel) -> Model:
    """Decide run, material and reference of a barrel; raises where bore, arbor or the turns are missing.

    >>> from orderbook.barrel.barrel import barrel_from_texts
    >>> model = model_of(barrel_from_texts({"bore": ["15.6"], "arbor": ["5.2"], "depth": ["3.1"], "used": ["3.5"]})[0])
    >>> round(model.reference.strength_mm, 2), round(model.material.curl, 2)
    (0.21, 0.36)
    """
    barrel.needs("bore", "arbor")
    assert barrel.bore
    assert barrel.arbor
    used, assumed, found = used_turns(barrel)
    run = run_of(barrel, used.value)
    width, about_width = width_of(barrel)
    sizes, steel = (barrel.bore.value, barrel.arbor.value), barrel.material
    if width:
        best, steel = reference_in_steel(*sizes, width.value, run, steel, barrel.fill)
    else:
        flows = {"flow_stress_mpa": steel.flow_stress_mpa, "modulus_mpa": steel.modulus_mpa}
        best = reference_spring(*sizes, 1.0, run, barrel.fill, **flows)
    if steel.curl < WIDE_BELOW:
        taken = f"modulus {steel.modulus_mpa:,.0f} and flow stress {steel.flow_stress_mpa:,.0f} MPa"
        saw = f"{best.width_mm:.3g} mm wide: taken as stiffer and stronger, {taken}"
        about_width = (*about_width, finding("strip_is_wide", where="width", saw=saw))
    return Model(run, used, assumed, steel, width, best, (*found, *about_width, *_springs_too_wide(barrel)))


def width_of(barrel: Barrel) -> tuple[Measured | None, tuple[Finding, ...]]:
    """Return the width of the strip: from the depth, else from a piece of the original, else None with a note."""
    if barrel.depth:
        clearance = barrel.clearance.value if barrel.clearance else usual_clearance(barrel.depth.value)
        said = f"depth less {clearance:.2f} mm" + ("" if barrel.clearance else " (usual clearance)")
        width = spring_width(barrel.depth.value, clearance)
        tight = clearance <= 0.02
        return Measured(width, barrel.depth.u, said), _binds(clearance) if tight else ()
    widths = [spring.width_mm for spring in barrel.originals] + [spring.width_mm for spring in barrel.trials]
    if seen := next((width for width in widths if width), None):
        return Measured(seen, 0.02, "width of a spring seen; no depth read"), ()
    return None, (finding("depth_missing", where="⟨depth⟩", saw="not given: width and torque are left out"),)


def wider_than_barrel(barrel: Barrel, width_mm: float | None) -> bool:
    """Whether a strip cannot have been in this barrel: wider than it is deep, by more than the depth is known to."""
    return width_mm is not None and barrel.depth is not None and width_mm > barrel.depth.value + 2 * barrel.depth.u


def _springs_too_wide(barrel: Barrel) -> tuple[Finding, ...]:
    flags = [("⟨original⟩", spring) for spring in barrel.originals] + [("⟨tried⟩", spring) for spring in barrel.trials]
    return tuple(
        finding(
            "seen_wider_than_barrel",
            where=f"{flag} {spring.text}",
            saw=f"{spring.width_mm:g} mm wide, and the barrel is {barrel.depth.value:g} mm deep",
        )
        for flag, spring in flags
        if barrel.depth and wider_than_barrel(barrel, spring.width_mm)
    )


def used_turns(barrel: Barrel) -> tuple[Measured, bool, tuple[Finding, ...]]:
    """Return the barrel's turns between windings, whether they are only assumed, and what to know about them."""
    if barrel.used:
        said = replace(barrel.used, source="turns used, as given")
        return said, False, (*_cone_agrees(barrel, barrel.used.value), *_hours_agree(barrel, barrel.used.value))
    measured, about = cone_of(barrel), _hours_alone(barrel)
    if barrel.hours and barrel.wheels:
        return _from_hours(barrel, measured)
    if measured:
        return (
            Measured(measured.barrel_turns, 0.01 * measured.barrel_turns, "chain on the fusee, from radii"),
            False,
            about,
        )
    turns, why = _geometric(barrel)
    used = max(turns.value - TURNS_NOT_USED, 0.25 * turns.value)
    saw = f"{used:.2f} turns between windings assumed: {why} less {TURNS_NOT_USED:g}"
    return (
        Measured(used, 0.5, f"assumed, {why} less {TURNS_NOT_USED:g}"),
        True,
        (*about, finding("used_assumed", where="⟨used⟩", saw=saw)),
    )


def run_of(barrel: Barrel, used: Any) -> Run:
    """Return the run of a barrel for so many turns used.

    With a fusee each spring will have the set-up that suits it, whatever was recorded with the one that was in it;
    with stop-work alone the recorded one is kept. A set-up is counted with the fusee run right down.
    """
    return Run(
        used,
        drive=barrel.drive,
        set_up_turns=barrel.set_up.value if barrel.set_up and barrel.drive == "going" else None,
        reserve_turns=barrel.reserve,
        stop_work=barrel.stop_work,
        fusee=run_cone_of(barrel) if barrel.drive == "fusee" else None,
        ratchet_teeth=barrel.ratchet_teeth,
    )


def cone_of(barrel: Barrel) -> Cone | None:
    """Return the measured cone of a barrel, or None; needs the barrel's outside and the chain's height with it."""
    if barrel.fusee is None:
        return None
    barrel.needs("barrel_outside", "chain_height")
    assert barrel.barrel_outside
    assert barrel.chain_height
    return cone(barrel.fusee.turns, barrel.fusee.radius_mm, barrel.barrel_outside.value, barrel.chain_height.value)


def fusee_turns_used(barrel: Barrel) -> float | None:
    """Turns of the fusee that the hours between windings use; None where the run is not told by hours."""
    if barrel.drive != "fusee" or barrel.used or not (barrel.hours and barrel.wheels):
        return None
    return _first_wheel_turns(barrel)[0]


def run_cone_of(barrel: Barrel) -> Cone | None:
    """Return the part of the measured cone that the run uses: all of it unless the hours end before it does."""
    measured, turns = cone_of(barrel), fusee_turns_used(barrel)
    return measured if measured is None or turns is None else measured.until(turns)


def turns_left_on_cone(barrel: Barrel) -> float:
    """Barrel turns of chain still on the fusee where the run ends: zero where it uses the whole cone."""
    whole, used = cone_of(barrel), run_cone_of(barrel)
    return whole.barrel_turns - used.barrel_turns if whole and used else 0.0


def _binds(clearance: float) -> tuple[Finding, ...]:
    return (finding("width_binds", where="⟨clearance⟩", saw=f"{clearance:g} mm"),)


def _cone_agrees(barrel: Barrel, counted: float) -> tuple[Finding, ...]:
    measured = cone_of(barrel)
    if measured is None or abs(measured.barrel_turns / counted - 1) <= 0.03:
        return ()
    saw = f"{counted:.3g} barrel turns counted, {measured.barrel_turns:.3g} from the radii and the chain"
    return (finding("chain_disagrees", where="⟨fusee⟩", saw=saw),)


def _hours_agree(barrel: Barrel, counted: float) -> tuple[Finding, ...]:
    """Say where the turns counted and those of hours and wheels differ; nothing where the wheels do not tell them."""
    if not (barrel.hours and barrel.wheels):
        return ()
    try:
        told, _, _ = _from_hours(barrel, cone_of(barrel))
    except OrderbookError as problem:
        short = problem.finding.code == "groove_too_short"
        return (finding("hours_disagree", where="⟨hours⟩", saw=problem.finding.saw),) if short else ()
    if abs(told.value / counted - 1) <= HOURS_DIFFER:
        return ()
    saw = f"{counted:.3g} barrel turns given, {told.value:.3g} by {told.source}"
    return (finding("hours_disagree", where="⟨hours⟩", saw=saw),)


def _hours_alone(barrel: Barrel) -> tuple[Finding, ...]:
    if barrel.hours is None or barrel.wheels:
        return ()
    return (finding("hours_without_wheels", where="⟨hours⟩", saw=f"{barrel.hours.value:g} hours, and no wheels"),)


def _from_hours(barrel: Barrel, measured: Cone | None) -> tuple[Measured, bool, tuple[Finding, ...]]:
    assert barrel.hours
    assert barrel.wheels
    share = barrel.hours.u / barrel.hours.value
    turns, said = _first_wheel_turns(barrel)
    if barrel.drive == "going":
        return Measured(turns, share * turns, said), False, ()
    if measured is None:
        barrel.needs("barrel_outside", "chain_height")
        raise error("reading_missing", where="⟨fusee⟩", saw="not given: it turns fusee turns into barrel turns")
    if turns > measured.turns[-1] * 1.03:
        saw = f"{turns:.3g} fusee turns for {barrel.hours.value:g} hours, but the groove has {measured.turns[-1]:g}"
        raise error("groove_too_short", where="⟨fusee⟩", saw=saw)
    used = measured.until(turns).barrel_turns
    about = _ends_on_cone(turns, measured)
    return Measured(used, share * used, f"{said} of the fusee"), False, about


def _ends_on_cone(turns: float, measured: Cone) -> tuple[Finding, ...]:
    left = measured.barrel_turns - measured.until(turns).barrel_turns
    if left < 0.03 * measured.barrel_turns:
        return ()
    saw = (
        f"{turns:.3g} of {measured.turns[-1]:g} fusee turns used; {left:.2f} barrel turns of chain are left on it then"
    )
    return (finding("run_ends_on_cone", where="⟨hours⟩", saw=saw),)


def _first_wheel_turns(barrel: Barrel) -> tuple[float, str]:
    """Turns of the barrel or fusee in the hours between windings, and how they were found."""
    assert barrel.hours
    assert barrel.wheels
    hours = barrel.hours.value
    if barrel.train == "going":
        return turns_for_hours(hours, barrel.wheels), f"{hours:g} hours, {float(barrel.wheels.ratio):g} hours a turn"
    if barrel.train == "striking" and barrel.wheels.pins:
        blows = blows_in_hours(math.floor(hours))
        turns = turns_for_blows(blows, barrel.wheels, barrel.wheels.pins)
        return turns, f"{blows} blows of an hour strike in {hours:g} hours"
    saw = f"{barrel.train} train: its wheels alone do not say how far it runs in {hours:g} hours"
    hint = "Count the turns between windings: ⟨used 6⟩. A striking train of hours may end in its pins: 84/8 8 pins."
    raise error("train_not_read", where="⟨wheels⟩", saw=saw, try_this=hint)


def _geometric(barrel: Barrel) -> tuple[Measured, str]:
    """Return the geometric turns that the readings stand for, from the best of them to a rule of thumb."""
    assert barrel.bore
    assert barrel.arbor
    if barrel.turns:
        return barrel.turns, f"{barrel.turns.value:g} turns"
    bore, arbor = barrel.bore.value, barrel.arbor.value
    length = barrel.length.value if barrel.length else None
    seen = [(barrel.strength.value, length, "fitted spring")] if barrel.strength else []
    seen += [(spring.strength_mm, spring.length_mm, "original") for spring in barrel.originals]
    seen += [(spring.strength_mm, spring.length_mm, "spring tried") for spring in barrel.trials]
    strength, length, whose = (*seen, (strength_by_arbor(arbor), None, "rule of thumb"))[0]
    turns = spring_turns(bore, arbor, strength, length or spring_length(bore, arbor, strength, barrel.fill))
    return Measured(turns, 0.0, whose), f"{turns:.2f} turns of the {whose}"
