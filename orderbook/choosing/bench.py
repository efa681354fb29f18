"""What the choice needs to know of one barrel on the bench: sizes, run, and what was fitted and tried in it."""

from __future__ import annotations

from dataclasses import dataclass, replace

from orderbook.barrel import springs_seen
from orderbook.barrel.barrel import Barrel
from orderbook.barrel.modelling import Model, model_of, turns_left_on_cone, wider_than_barrel
from orderbook.barrel.practice import movement_of
from orderbook.barrel.rods import RodNeed, rod_need
from orderbook.errors import Finding, finding
from orderbook.mechanics import FLOW_STRESS_MPA, MODULUS_MPA, Run, spring_length

TOLERANCE_MM = 0.005  # of a strip's strength where it was not measured: common practice, no source
NEW_FLOW_STRESS = 0.03  # standard uncertainty of one new strip's flow stress, as a part (± 6 %)
OLD_FLOW_STRESS = springs_seen.OLD_FLOW_STRESS
COMMON_FLOW_STRESS = 0.06  # of the flow stress all springs of a kind share (± 12 %)


@dataclass(frozen=True, slots=True)
class TriedStrip:
    """A spring that was in this barrel, and how it did.

    `verdict` is a word of `choosing.evidence` ("too weak", "never ran", "stopped", "ran well", "too strong") or ""
    if nothing was said; `after_turns` are the barrel turns run off when it stopped; `set_up_turns` the set-up it had,
    counted from where the run ends, None where it was not noted. `said` is how the user put it, `label` its number in
    a book, and `gone` that it can no longer be fitted.
    """

    width_mm: float
    strength_mm: float
    length_mm: float
    verdict: str
    after_turns: float | None = None
    strength_u_mm: float = TOLERANCE_MM / 3**0.5
    flow_stress_u: float = OLD_FLOW_STRESS
    said: str = ""
    set_up_turns: float | None = None
    label: str = ""
    gone: bool = False


@dataclass(frozen=True, slots=True)
class Bench:
    """One barrel: sizes in mm, the widest strip that goes in, its run, and all that was seen.

    `run_known` is false where the turns used come from a rule of thumb only; `left_on_cone` are barrel turns of chain
    still on the fusee where the run ends; `movement` is watch or clock, and `movement_said` how that is known.
    `originals` are springs that the maker fitted.
    """

    bore_mm: float
    arbor_mm: float
    widest_mm: float
    run: Run
    flow_stress_mpa: float = FLOW_STRESS_MPA
    modulus_mpa: float = MODULUS_MPA
    flow_stress_u: float = COMMON_FLOW_STRESS
    fill: float = 0.5
    run_known: bool = True
    end: str = ""
    tried: tuple[TriedStrip, ...] = ()
    rods: tuple[RodNeed, ...] = ()
    movement: str = "watch"
    movement_said: str = ""
    train: str = "going"
    originals: tuple[TriedStrip, ...] = ()
    left_on_cone: float = 0.0


def bench_of(barrel: Barrel) -> tuple[Bench, tuple[Finding, ...]]:
    """Take from a barrel's readings what the choice needs.

    Raises: OrderbookError(reading_missing) where bore, arbor, the turns or the depth are not there.
    """
    model = model_of(barrel)
    if model.width is None or barrel.bore is None or barrel.arbor is None:
        barrel.needs("bore", "arbor", "depth")
        raise AssertionError("unreachable")
    steel = model.material
    movement, how = movement_of(barrel)
    bench = Bench(
        barrel.bore.value,
        barrel.arbor.value,
        model.width.value,
        model.run,
        steel.flow_stress_mpa,
        steel.modulus_mpa,
        steel.flow_stress_u / steel.flow_stress_mpa,
        barrel.fill,
        run_known=not model.used_assumed or bool(barrel.originals or barrel.trials),
        end=barrel.end,
        tried=tuple(_tried(barrel, model, one) for one in barrel.trials),
        movement=movement,
        movement_said=how,
        train=barrel.train,
        originals=tuple(_tried(barrel, model, one) for one in barrel.originals),
        left_on_cone=turns_left_on_cone(barrel),
    )
    told = rod_need(barrel, model)
    return replace(bench, rods=(told,) if told else ()), (*model.findings, *_not_placed(barrel))


def _tried(barrel: Barrel, model: Model, one: springs_seen.Tried | springs_seen.SpringSeen) -> TriedStrip:
    """A spring as tried; a width or length not known is the widest strip and the length at the barrel's fill."""
    assert barrel.bore
    assert barrel.arbor
    assert model.width
    turns = _stopped_after(barrel, model, one)
    length = one.length_mm or spring_length(barrel.bore.value, barrel.arbor.value, one.strength_mm, barrel.fill)
    verdict = getattr(one, "verdict", "")
    return TriedStrip(
        one.width_mm or model.width.value,
        one.strength_mm,
        float(length),
        "" if (verdict == "stopped" and turns is None) or wider_than_barrel(barrel, one.width_mm) else verdict,
        turns,
        said=one.text,
        set_up_turns=_set_up_of(barrel, model, one),
        label=getattr(one, "label", ""),
        gone=getattr(one, "gone", False),
    )


def _set_up_of(barrel: Barrel, model: Model, one: springs_seen.Tried | springs_seen.SpringSeen) -> float | None:
    """Set-up a spring had, from where the run ends: as noted with its trial, else as recorded of the barrel."""
    if not model.run.from_run_down:
        return None
    noted = getattr(one, "set_up_turns", None)
    recorded = barrel.set_up.value if barrel.set_up else None
    found = recorded if noted is None else noted
    return None if found is None else found + turns_left_on_cone(barrel)


def _stopped_after(barrel: Barrel, model: Model, one: springs_seen.Tried | springs_seen.SpringSeen) -> float | None:
    """Barrel turns run off when it stopped; hours turn a fusee evenly, and its barrel as the cone lets it."""
    if isinstance(one, springs_seen.SpringSeen):
        return None
    turns, hours = one.after_turns, one.after_hours
    if turns is not None or hours is None or barrel.hours is None:
        return turns
    share, used = hours / barrel.hours.value, float(model.run.used_turns)
    if model.run.drive == "going":
        return share * used
    cone = model.run.cone
    return float(cone.run_off_at(share * cone.turns[-1])) / cone.barrel_turns * used


def _not_placed(barrel: Barrel) -> tuple[Finding, ...]:
    return tuple(
        finding("stopped_hours_not_placed", where=f"⟨tried {one.text}⟩", saw="no ⟨hours⟩ to place it by")
        for one in barrel.trials
        if one.after_hours is not None and barrel.hours is None
    )
