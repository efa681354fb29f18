"""From the readings of a barrel: width, strength and length of its spring, what it gives, and how well it is known."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from typing import Any, ClassVar, Generic, TypeVar, cast, overload

import numpy as np

from orderbook.barrel.barrel import Barrel
from orderbook.barrel.fusee_sizing import (
    TEETH_ASSUMED,
    about_set_up,
    best_for_cone,
    cone_inputs,
    fitted,
    set_up_quantities,
)
from orderbook.barrel.modelling import Model, cone_of, model_of
from orderbook.barrel.practice import fitted_drive, movement_of, start_of
from orderbook.barrel.rods import COIL_FRICTION
from orderbook.barrel.strength_sources import (
    LEAST_USEFUL_DRIVE,
    ORIGINAL_SHARE,
    RULE_SHARE,
    Source,
    Useful,
    combined,
    contradictions,
    sources_of,
    useful_strengths,
)
from orderbook.cautions import Caution, caution
from orderbook.errors import Finding, finding
from orderbook.measures import Measured, Propagated, plainly, propagate_many
from orderbook.measures.plus_minus import with_plus_minus
from orderbook.mechanics import spread
from orderbook.mechanics.arithmetic import COLUMNS
from orderbook.mechanics.barrel import spring_fill, spring_goes_in, spring_length
from orderbook.mechanics.drive import Reference, drive_and_load
from orderbook.mechanics.energy import strain
from orderbook.mechanics.free_shape import measured, shape_curve
from orderbook.mechanics.spread import OWN_FLOW_STRESS_SHARE
from orderbook.mechanics.train import hours_per_turn
from orderbook.mechanics.winding import SLIM, winding
from orderbook.shown import Drawn

# what the free shape may add to the ± of an absolute torque, beside the steel's own: the two together make ± 30 % for
# modern carbon strip; common practice, no source
FREE_SHAPE_SHARE = 0.14
ABOVE_THE_STRONGEST = 1.02  # times the strongest useful strength: what lists and micrometers tell apart
# of a going barrel: most turns between windings; least hours, and hours a turn that go with days: common practice
MOST_USED_TURNS, FEWEST_HOURS, SLOW_TURN_HOURS = 12.0, 20.0, 5.0
BENT = 0.3  # part of its own u by which a quantity may bend before the ± misleads: √(1 + 0.3²) is 4 % more
CAUTION_FROM_MJ = 50.0  # above what a small watch holds; common practice, no source
PINT_UNITS = {
    "turns": "turn", "N·mm": "newton * millimeter", "hours": "hour", "%": "percent", "clicks": "dimensionless",
    "": "dimensionless",
}  # fmt: skip
Known = TypeVar("Known")


@dataclass(frozen=True, slots=True)
class Line:
    """One line of the answer: what, value, unit, standard uncertainty, where from, and the reading that makes most.

    >>> line = Line("strength", 0.1493, "mm", 0.0061, "rule of thumb", "rule")
    >>> print(line), print(f"{line.quantity.to('thou'):.1f~}")
    0.149 ± 0.012 mm
    5.9 th
    (None, None)
    """

    what: str
    value: float
    unit: str
    u: float
    source: str
    dominated_by: str | None
    share: float = 0.0
    key: str = ""

    def __str__(self) -> str:
        """Read as the value, ± twice its standard uncertainty, and the unit."""
        return with_plus_minus(self.value, self.u, self.unit)

    @property
    def quantity(self) -> Any:
        """The value as a quantity of pint's application registry."""
        from pint import application_registry

        return application_registry.Quantity(self.value, PINT_UNITS.get(self.unit, self.unit))

    def as_dict(self) -> dict[str, Any]:
        """Return it under its JSON keys."""
        return {
            "what": self.what,
            "value": self.value,
            "unit": self.unit,
            "u": self.u,
            "source": self.source,
            "dominated_by": self.dominated_by,
            "share": self.share,
        }


class LineOf(Generic[Known]):
    """A quantity of a sizing as an attribute: its line."""

    def __init__(self, key: str) -> None:
        """Take the JSON key of the quantity."""
        self.key = key

    @overload
    def __get__(self, sizing: None, owner: type) -> LineOf[Known]: ...
    @overload
    def __get__(self, sizing: Sizing, owner: type) -> Known: ...
    def __get__(self, sizing: Sizing | None, owner: type) -> LineOf[Known] | Known:
        """Return the line of this quantity; None where it was not worked out."""
        if sizing is None:
            return self
        return cast("Known", next((line for line in sizing.lines if line.key == self.key), None))


@dataclass(frozen=True, slots=True, repr=False)
class Sizing(Drawn):
    """The answer: every quantity with its ±, the reference of the barrel, and what should be known about it.

    Each quantity is an attribute, a `Line` with value, u, unit and source; None where it was not worked out, such as
    the width of a barrel whose depth was not read.

    >>> answer = size(Barrel(bore=15.6, arbor=5.2, depth=3.1, used=3.5))
    >>> print(answer.width)
    2.98 ± 0.03 mm
    >>> print(f"{answer.width.quantity.to('inch'):.4f~}"), answer.set_up_turns is None
    0.1173 in
    (None, True)
    """

    shown_words: ClassVar[str] = "orderbook.reports.sizing_text:sizing_text"
    shown_picture: ClassVar[str] = "orderbook.reports.sizing_figure:draw"
    shown_key: ClassVar[str] = "lines"
    shown_columns: ClassVar[tuple[str, ...]] = ("what", "value", "unit", "source", "dominated_by")

    width: ClassVar[LineOf[Line | None]] = LineOf[Line | None]("width_mm")
    strength: ClassVar[LineOf[Line]] = LineOf[Line]("strength_mm")
    strength_low: ClassVar[LineOf[Line | None]] = LineOf[Line | None]("strength_low_mm")
    strength_high: ClassVar[LineOf[Line]] = LineOf[Line]("strength_high_mm")
    length: ClassVar[LineOf[Line]] = LineOf[Line]("length_mm")
    turns: ClassVar[LineOf[Line]] = LineOf[Line]("turns")
    slack_turns: ClassVar[LineOf[Line]] = LineOf[Line]("slack_turns")
    turns_delivered: ClassVar[LineOf[Line]] = LineOf[Line]("turns_delivered")
    turns_used: ClassVar[LineOf[Line]] = LineOf[Line]("turns_used")
    hours: ClassVar[LineOf[Line | None]] = LineOf[Line | None]("hours")
    fill: ClassVar[LineOf[Line]] = LineOf[Line]("fill")
    torque_full: ClassVar[LineOf[Line | None]] = LineOf[Line | None]("torque_full_nmm")
    stored_energy: ClassVar[LineOf[Line | None]] = LineOf[Line | None]("stored_energy_mj")
    drive_index: ClassVar[LineOf[Line | None]] = LineOf[Line | None]("drive_index")
    load_index: ClassVar[LineOf[Line | None]] = LineOf[Line | None]("load_index")
    set_up_turns: ClassVar[LineOf[Line | None]] = LineOf[Line | None]("set_up_turns")
    set_up_clicks: ClassVar[LineOf[Line | None]] = LineOf[Line | None]("set_up_clicks")
    evenness_before: ClassVar[LineOf[Line | None]] = LineOf[Line | None]("evenness_before")
    evenness_after: ClassVar[LineOf[Line | None]] = LineOf[Line | None]("evenness_after")

    inputs: Mapping[str, Measured]
    quantities: Mapping[str, Propagated]
    lines: tuple[Line, ...]
    reference: Reference
    sources: tuple[Source, ...]
    model: Model
    findings: tuple[Finding, ...]
    cautions: tuple[Caution, ...]

    def as_dict(self, *, explain: bool = False) -> dict[str, Any]:
        """Return the JSON keys: each quantity and its `_u`, null where it was not worked out.

        With explain also every input with its u and source, and of every quantity its equation and the signed part
        of its u that each input makes: u² = Σ parts².
        """
        answer: dict[str, Any] = {}
        for key in KEYS:
            known = self.quantities.get(key)
            answer[key] = None if known is None else known.value
            answer[f"{key}_u"] = None if known is None else known.u
        best = self.reference
        answer["reference"] = {
            "width_mm": best.width_mm if self.model.width else None,
            "strength_mm": best.strength_mm,
            "length_mm": best.length_mm,
        }
        answer["lines"] = [line.as_dict() for line in self.lines]
        answer["strength_sources"] = [
            {"source": s.says, "strength_mm": s.value, "strength_mm_u": s.u, "weight": s.weight} for s in self.sources
        ]
        answer["cautions"] = [str(c) for c in self.cautions]
        answer["findings"] = [f.as_dict() for f in self.findings]
        return answer | self._explained() if explain else answer

    def _explained(self) -> dict[str, Any]:
        inputs = {n: {"value": m.value, "u": m.u, "source": m.source} for n, m in self.inputs.items()}
        told = {
            key: {"equation": EQUATIONS.get(key, ""), "parts": dict(self.quantities[key].parts)}
            for key in SAID
            if key in self.quantities
        }
        return {"inputs": inputs, "explained": told}


KEYS = (
    "width_mm", "strength_mm", "strength_low_mm", "strength_high_mm", "strength_need_mm", "length_mm", "turns",
    "turns_delivered", "slack_turns", "fill", "turns_used", "torque_full_nmm", "stored_energy_mj", "drive_index",
    "load_index", "set_up_turns", "set_up_clicks", "evenness_before", "evenness_after",
)  # fmt: skip

# key: (what is said, unit, where from unless told)
SAID = {
    "width_mm": ("width", "mm", ""),
    "strength_mm": ("strength", "mm", ""),
    "strength_low_mm": ("useful from", "mm", f"drive {LEAST_USEFUL_DRIVE:.0f} % of the strongest useful spring"),
    "strength_high_mm": ("strongest useful", "mm", "beyond it more load, no more drive"),
    "strength_need_mm": ("just sufficient, probably", "mm", ""),
    "length_mm": ("length", "mm", ""),
    "turns": ("turns, run down to wound", "turns", "bore, arbor, strength, length"),
    "slack_turns": ("slack turns", "turns", "set of the strip by springback"),
    "turns_delivered": ("turns delivered", "turns", "turns less slack"),
    "turns_used": ("turns used a winding", "turns", ""),
    "hours": ("goes for", "hours", "turns delivered less set-up and reserve, by the wheels"),
    "fill": ("fill", "", "share of the free room"),
    "torque_full_nmm": ("torque fully wound", "N·mm", "without friction; ± 30 % is steel and free shape"),
    "torque_full_rubbing_nmm": ("torque with coil friction", "N·mm", f"×{COIL_FRICTION:g}, common practice"),
    "stored_energy_mj": ("energy fully wound", "mJ", "work under the torque curve; ± as the torque"),
    "drive_index": ("drive", "%", "least torque of the run, against the strongest useful"),
    "load_index": ("load", "%", "greatest torque of the run, against the strongest useful"),
    "set_up_turns": ("best set-up", "turns", "most even that leaves the reserve"),
    "set_up_clicks": ("best set-up", "clicks", "whole clicks of the set-up ratchet"),
    "evenness_before": ("evenness as found", "", ""),
    "evenness_after": ("evenness at the best", "", "greatest over least torque at the fusee; 1 is perfect"),
}

# the names of what is put in, where they are not words enough
WORDS = {
    "flow_stress": "flow stress of the steel",
    "modulus": "modulus of the steel",
    "fitted": "what makers fitted",
    "used": "turns used",
    "rule": "the rule of thumb",
    "width": "depth",
    "free_shape": "the shape the strip takes lying free",
    "own_flow_stress": "flow stress of this strip",
    "own_shape": "the shape this strip takes lying free",
}
NO_READING = (
    "flow_stress",
    "modulus",
    "fitted",
    "rule",
    "free_shape",
    "own_",
)  # nobody can take these again on the bench
SHOWN_BETWEEN = ("strength_mm", "length_mm", "turns")

# key: what is worked out, in the symbols of `orderbook.mechanics`
EQUATIONS = {
    "width_mm": "b = h − clearance",
    "strength_mm": "e from each source of the strength, weighed by 1/u²",
    "strength_low_mm": f"e whose drive is {LEAST_USEFUL_DRIVE:.0f} %",
    "strength_high_mm": "e of the greatest drive at this fill",
    "strength_need_mm": "e whose drive is the median need",
    "length_mm": "L = φ·π(R² − r²)/e",
    "turns": "N = (w − r)/e − (R − ρ)/e, w² = r² + L·e/π, ρ² = R² − L·e/π",
    "slack_turns": "θ0: the greatest turn with M(θ) ≤ 0; κ0 = κa(4x³ − 3x + 1), x = σ/(κa·E·e)",
    "turns_delivered": "N − θ0",
    "hours": "(N − θ0 − set-up − reserve) × hours of a barrel turn",
    "fill": "φ = L·e/(π(R² − r²))",
    "torque_full_nmm": "M(N)",
    "torque_full_rubbing_nmm": "η·M(N)",
    "stored_energy_mj": "2π·∫M dθ from θ0 to N",
    "drive_index": "100·min M over the run / the same of the strongest useful spring",
    "load_index": "100·max M over the run / the same of the strongest useful spring",
    "set_up_turns": "least max/min of M(θ)·r/R over the run that leaves the reserve",
    "set_up_clicks": "set-up × teeth, whole",
    "evenness_before": "max/min of M(θ)·r/R at the set-up found",
    "evenness_after": "max/min of M(θ)·r/R at the best set-up",
}


def size(barrel: Barrel) -> Sizing:
    """Work out the spring of a barrel, and what it gives.

    Parameters: the readings, bore and arbor at least.
    Returns: the sizing; its findings say what was assumed and what does not agree.
    Raises: OrderbookError where a reading is missing or no spring can do what is asked.
    Source: the functions of `orderbook.mechanics`; uncertainty to first order, JCGM 100:2008.

    >>> answer = size(Barrel(bore=11.40, arbor=2.40, depth=3.1, strength=0.105))
    >>> round(answer.turns.value, 2), round(answer.length.value, 2)
    (12.74, 464.51)
    """
    model = model_of(barrel)
    usual, about_usual = fitted_drive(barrel, model)
    inputs, sources, quantities_of = reckoning(barrel, model, usual)
    reckoned = propagate_many(quantities_of, inputs)
    quantities = _known(reckoned)
    lines = _lines(barrel, model, sources, quantities)
    found: tuple[Finding, ...] = ()
    if barrel.drive == "fusee":
        spring = (np.array([quantities[key].value]) for key in ("strength_mm", "length_mm"))
        nominal = {name: np.array([known.value]) for name, known in inputs.items()}
        found = about_set_up(barrel, model, fitted(barrel, model, nominal, *spring))
        found = (*found, *best_for_cone(barrel, model, nominal))
    found = (
        *barrel.notes,
        *model.findings,
        *about_usual,
        *contradictions(sources),
        *_not_straight(reckoned),
        *_unusual(barrel, model, quantities),
        *found,
    )
    energy = quantities["stored_energy_mj"].value if "stored_energy_mj" in quantities else math.inf
    cautions = (caution("wound_spring"),) if energy > CAUTION_FROM_MJ else ()
    return Sizing(inputs, quantities, lines, model.reference, sources, model, found, cautions)


def reckoning(
    barrel: Barrel, model: Model, usual: Measured
) -> tuple[dict[str, Measured], tuple[Source, ...], Callable[..., dict[str, Any]]]:
    """Return what a sizing is carried through: its inputs, the sources of the strength, and the quantities as function.

    The function takes columns of the inputs by name, so that first order and random draws go the same way.
    """
    inputs = _inputs(barrel, model, usual)
    useful = _asked_once(lambda **x: useful_strengths(barrel, model, x))
    sources = sources_of(barrel, model, inputs, useful)
    return inputs, sources, lambda **x: _quantities(barrel, model, sources, useful(**x), x)


def _known(quantities: dict[str, Propagated]) -> dict[str, Propagated]:
    """Leave out what is no number, and the ± that is only rounding; drive and load to second order.

    Beside the reference the first vanishes: u² = Σz² + 2·Σc² (JCGM 100:2008, note to 5.1.2).
    """
    kept = {key: known for key, known in quantities.items() if math.isfinite(known.value)}
    for key in ("drive_index", "load_index"):
        if key in kept:
            first, bends = kept[key].parts, kept[key].bends
            parts = {n: math.copysign(math.hypot(z, math.sqrt(2) * bends.get(n, 0.0)), z) for n, z in first.items()}
            kept[key] = replace(kept[key], u=math.hypot(*parts.values()), parts=parts)
    return {key: known if known.u > 1e-9 * abs(known.value) else replace(known, u=0.0) for key, known in kept.items()}


def _not_straight(quantities: Mapping[str, Propagated]) -> tuple[Finding, ...]:
    """Say between what the spring lies where its ± is not even to both sides, and name what else is so."""
    bent = [(key, name) for key in SAID if key in quantities and (name := _bent_by(quantities[key]))]
    said = [_between(SAID[key], quantities[key], name) for key, name in bent if key in SHOWN_BETWEEN]
    others = [SAID[key][0] for key, _ in bent if key not in SHOWN_BETWEEN]
    names = [name for _, name in bent]
    spare = quantities["turns_spare"]
    if 0 <= spare.value < 2 * spare.u and math.isfinite(quantities["drive_index"].value):
        # at the ends of the ± the spring no longer makes the run, and has no drive over it
        said.append(
            f"{spare.value:.2f} ± {2 * spare.u:.2f} turns more delivered than used: drive and load hold only if the "
            "run is made"
        )
        names.append(spare.dominated_by or "")
        others = [what for what in others if what not in ("drive", "load")]
    if others:
        said.append(f"not even either: {', '.join(dict.fromkeys(others))}")
    if not said:
        return ()
    again = [in_words(name) for name in dict.fromkeys(names) if name and not name.startswith(NO_READING)]
    rough = None if any(" between " in one for one in said) else "Take these as rough."
    try_this = f"To know better, take again: {', '.join(dict.fromkeys(again))}." if again else rough
    return (finding("linear_not_valid", where="±", saw="; ".join(said), try_this=try_this),)


def _bent_by(known: Propagated) -> str:
    """Name the input that makes a ± not the same to both sides; nothing where the ± holds."""
    if not math.isfinite(known.value):
        return ""
    if lost := next((name for name, part in known.parts.items() if not math.isfinite(part)), ""):
        return lost
    if known.asymmetry <= max(BENT * known.u, 1e-3 * abs(known.value)):
        return ""
    return max(known.bends, key=lambda one: abs(known.bends[one]))


def _between(said: tuple[str, str, str], known: Propagated, name: str) -> str:
    """Say between what a quantity lies, with the value itself always inside."""
    what, unit, _ = said
    bend, part = known.bends.get(name, 0.0), known.parts[name]
    if not math.isfinite(part):
        return f"{what}: the ± of {in_words(name)} reaches beyond what this barrel can do"
    ends = (known.value, known.value + bend - part, known.value + bend + part)
    return f"{what} between {plainly(min(ends))} and {plainly(max(ends))} {unit}, depending on {in_words(name)}"


def in_words(name: str) -> str:
    """Say an input as a restorer would."""
    if name.startswith(("original_", "groove_")):
        return "the original" if name.startswith("original_") else "groove radii"
    return WORDS.get(name, name.replace("_", " "))


def _asked_once(function: Callable[..., Any]) -> Callable[..., Any]:
    """Keep the last answer of a function that is asked twice with the same columns."""
    kept: list[Any] = [{}, None]

    def once(**columns: Any) -> Any:
        if not kept[0] or not all(np.array_equal(columns[name], value) for name, value in kept[0].items()):
            kept[:] = columns, function(**columns)
        return kept[1]

    return once


def _inputs(barrel: Barrel, model: Model, usual: Measured) -> dict[str, Measured]:
    steel = model.material
    inputs = {
        "bore": barrel.bore,
        "arbor": barrel.arbor,
        "width": model.width,
        "strength": barrel.strength,
        "length": barrel.length,
        "turns": barrel.turns,
        "used": model.used,
        "flow_stress": Measured(steel.flow_stress_mpa, steel.flow_stress_u, steel.source),
        "modulus": Measured(steel.modulus_mpa, steel.modulus_u, steel.source),
        "fitted": usual,
        "free_shape": Measured(1.0, FREE_SHAPE_SHARE, "common practice, no source"),
        "own_flow_stress": Measured(1.0, OWN_FLOW_STRESS_SHARE, "one strip against others of its kind, from memory"),
        "own_shape": Measured(1.0, spread.FREE_SHAPE_SHARE, "one strip against others of its kind, no source"),
    }
    for i, spring in enumerate(barrel.originals):
        share = math.hypot(ORIGINAL_SHARE, 0.005 / math.sqrt(3) / spring.strength_mm)
        inputs[f"original_{i}"] = Measured(spring.strength_mm, share * spring.strength_mm, "surviving piece")
    if not (barrel.strength or barrel.turns or barrel.originals) and model.used_assumed:
        inputs["rule"] = Measured(1.0, RULE_SHARE, "rule of thumb")
    cone = cone_inputs(barrel) if barrel.drive == "fusee" else {}
    return {name: measured for name, measured in inputs.items() if measured is not None} | cone


def _quantities(
    barrel: Barrel, model: Model, sources: tuple[Source, ...], useful: Useful, x: dict[str, Any]
) -> dict[str, Any]:
    """Every quantity of the answer, for columns of inputs."""
    bore, arbor = x["bore"], x["arbor"]
    strength = combined(sources, x)
    length = x["length"] if "length" in x else spring_length(bore, arbor, strength, barrel.fill)
    steel = (x["flow_stress"], x["modulus"])
    spring_goes_in(bore, arbor, strength, length)
    columns = np.broadcast_arrays(bore / 2, arbor / 2, x.get("width", 1.0), strength, length, *steel)
    strip = winding(COLUMNS, *columns)
    turns, slack = strip.turns, strip.slack
    best = useful.best
    run = replace(model.run, used_turns=x["used"])
    own = {"flow_stress_mpa": steel[0] * x["own_flow_stress"], "modulus_mpa": steel[1]}
    here = drive_and_load(bore, arbor, 1.0, strength, length, run, **own)
    found = {
        "strength_mm": strength,
        "strength_low_mm": useful.low,
        "strength_high_mm": best.strength_mm,
        "strength_need_mm": useful.need,
        "length_mm": length,
        "turns": turns,
        "slack_turns": slack,
        "turns_delivered": turns - slack,
        "turns_spare": turns - slack - x["used"],
        "turns_used": x["used"],
        "fill": spring_fill(bore, arbor, strength, length),
        "drive_index": 100 * here.drive_nmm * x["own_shape"] / best.drive_nmm,
        "load_index": 100 * here.load_nmm * x["own_shape"] / best.load_nmm,
    }
    if barrel.wheels and barrel.drive == "going" and barrel.train == "going":
        kept = model.run.reserve + model.run.least_set_up
        found["hours"] = (turns - slack - kept) * float(hours_per_turn(barrel.wheels))
    if "width" in x:
        found["width_mm"] = x["width"]
        found["torque_full_nmm"] = strip.most * strip.stiffness * x["free_shape"]
        found["torque_full_rubbing_nmm"] = COIL_FRICTION * found["torque_full_nmm"]
        work = strain(strip, strip.most, COLUMNS) - strain(strip, 0.0 * strip.most, COLUMNS)
        found["stored_energy_mj"] = work * x["free_shape"]
    if barrel.drive == "fusee":
        found |= set_up_quantities(barrel, model, fitted(barrel, model, x, strength, length))
    return {key: np.asarray(value, dtype=float) for key, value in found.items()}


def _lines(
    barrel: Barrel, model: Model, sources: tuple[Source, ...], quantities: Mapping[str, Propagated]
) -> tuple[Line, ...]:
    told = {
        "width_mm": model.width.source if model.width else "",
        "strength_mm": "; ".join(s.says for s in sources if s.weight > 0),
        "length_mm": "as given" if barrel.length else f"fill {barrel.fill:g}",
        "strength_need_mm": f"drive {start_of(movement_of(barrel)[0]).median:.0f} %: as fitted, less the usual margin",
        "turns_used": model.used.source,
        "evenness_before": f"set-up {barrel.set_up.value:g}" if barrel.set_up else "a usual set-up of ½ turn",
        "set_up_clicks": f"a ratchet of {barrel.ratchet_teeth or TEETH_ASSUMED} teeth"
        + ("" if barrel.ratchet_teeth else ", assumed"),
    }
    lines = []
    for key, (what, unit, source) in SAID.items():
        if (known := quantities.get(key)) is not None and math.isfinite(known.value):
            source = told.get(key, source)
            lines.append(Line(what, known.value, unit, known.u, source, known.dominated_by, known.share, key))
    return tuple(lines)


def _unusual(barrel: Barrel, model: Model, quantities: Mapping[str, Propagated]) -> tuple[Finding, ...]:
    assert barrel.arbor
    found = []
    strength, length = quantities["strength_mm"].value, quantities["length_mm"].value
    ratio = barrel.arbor.value / 2 / strength
    if not 10 <= ratio <= 16:
        found.append(finding("strength_against_arbor", where="strength", saw=f"arbor radius is {ratio:.1f} times it"))
    if length / strength >= 15_000:
        found.append(finding("strip_very_long", where="length", saw=f"{length / strength:,.0f} times the strength"))
    if not 0.4 <= quantities["fill"].value <= 0.6:
        found.append(finding("fill_unusual", where="fill", saw=f"{100 * quantities['fill'].value:.0f} %"))
    found.extend(_above_the_strongest(quantities))
    found.extend(_unusual_run(barrel, model))
    if barrel.trials:
        found.append(finding("tried_not_weighed", where="⟨tried⟩", saw=f"{len(barrel.trials)} given"))
    found.extend(_trimming(barrel, model, quantities))
    found.extend(_lying_free(barrel, model, quantities))
    found.extend(_chain(barrel, model, quantities["turns_delivered"].value))
    asked = model.used.value + model.run.reserve + model.run.least_set_up
    if not model.used_assumed and quantities["turns_delivered"].value < asked:
        delivered = quantities["turns_delivered"].value
        saw = f"{delivered:.2f} turns delivered, {asked:.2f} asked for ({model.used.value:.2f} used)"
        found.append(finding("too_few_turns", where="turns", saw=saw))
    return tuple(found)


def _above_the_strongest(quantities: Mapping[str, Propagated]) -> tuple[Finding, ...]:
    """Warn of a strength that loads more than the strongest useful spring and drives no more."""
    names = ("strength_mm", "strength_high_mm", "drive_index", "load_index")
    strength, strongest, drive, load = (quantities[n].value if n in quantities else math.nan for n in names)
    if not strength > ABOVE_THE_STRONGEST * strongest or drive > 100:
        return ()
    more = f"load {load - 100:.0f} % more and drive no more" if math.isfinite(load) else "not give the turns used"
    saw = f"{strength:.2f} mm is above the strongest useful spring of this barrel ({strongest:.2f} mm)"
    return (finding("above_the_strongest", where="strength", saw=f"{saw}: it would {more}"),)


def _unusual_run(barrel: Barrel, model: Model) -> tuple[Finding, ...]:
    """Warn of more turns than a going barrel makes, and of hours that are perhaps days."""
    if barrel.drive != "going" or model.used_assumed:
        return ()
    found = []
    if model.used.value > MOST_USED_TURNS:
        saw = f"{plainly(model.used.value)} turns of one barrel between windings are unusual"
        found.append(finding("turns_unusual", where="⟨used⟩" if barrel.used else "⟨wheels⟩", saw=saw))
    if barrel.hours and barrel.wheels and not barrel.used and barrel.train == "going":
        turn = float(hours_per_turn(barrel.wheels))
        if barrel.hours.value < FEWEST_HOURS and turn > SLOW_TURN_HOURS:
            saw = f"{plainly(barrel.hours.value)} hours between windings, with {plainly(turn)} hours a turn"
            found.append(finding("hours_or_days", where="⟨hours⟩", saw=saw))
    return tuple(found)


def _chain(barrel: Barrel, model: Model, delivered: float) -> tuple[Finding, ...]:
    """Say where the chain's turns on the barrel, with the set-up, are more than the spring delivers."""
    if barrel.drive != "fusee" or model.used_assumed:
        return ()
    wound = barrel.set_up.value if barrel.set_up else model.run.least_set_up
    cone = cone_of(barrel)
    chain = cone.barrel_turns if cone else model.used.value
    if chain + wound <= delivered:
        return ()
    saw = f"{chain:.2f} barrel turns of chain and {wound:g} of set-up, but {delivered:.2f} turns delivered"
    return (finding("chain_too_long", where="⟨fusee⟩" if cone else "⟨used⟩", saw=saw),)


def _trimming(barrel: Barrel, model: Model, quantities: Mapping[str, Propagated]) -> tuple[Finding, ...]:
    """Say what cutting an over-long spring to half fill costs and gains, before and after."""
    if barrel.length is None or quantities["fill"].value <= barrel.fill + 0.01:
        return ()
    assert barrel.bore
    assert barrel.arbor
    sizes, strength = (barrel.bore.value, barrel.arbor.value), quantities["strength_mm"].value
    lengths = np.array([barrel.length.value, spring_length(*sizes, strength, barrel.fill)])
    steel = {"flow_stress_mpa": model.material.flow_stress_mpa, "modulus_mpa": model.material.modulus_mpa}
    here = drive_and_load(*sizes, model.reference.width_mm, strength, lengths, model.run, **steel)
    drive, load = 100 * here.drive_nmm / model.reference.drive_nmm, 100 * here.load_nmm / model.reference.load_nmm
    saw = (
        f"cut from {lengths[0]:.0f} to {lengths[1]:.0f} mm: turns delivered {here.delivered_turns[0]:.2f} to "
        f"{here.delivered_turns[1]:.2f}, drive {_percent(drive[0])} to {_percent(drive[1])}, "
        f"load {_percent(load[0])} to {_percent(load[1])}"
    )
    return (finding("trimming", where="⟨length⟩", saw=saw),)


def _percent(value: float) -> str:
    return f"{value:.0f} %" if math.isfinite(value) else "none"


def _lying_free(barrel: Barrel, model: Model, quantities: Mapping[str, Propagated]) -> tuple[Finding, ...]:
    """Say what the fitted spring delivers with the shape it has lying free, in place of springback."""
    if barrel.free is None or barrel.length is None or model.width is None:
        return ()
    assert barrel.bore
    assert barrel.arbor
    coils, outer, length = barrel.free.coils, barrel.free.outer_mm, barrel.length.value
    strength, modulus = quantities["strength_mm"].value, model.material.modulus_mpa
    sizes = (barrel.bore.value, barrel.arbor.value, model.width.value, strength, length)
    curve = shape_curve(*sizes, lambda along: measured(along, coils, outer, length), modulus)
    saw = (
        f"as it lies free ({coils:g} coils, {outer:g} mm): slack {curve.slack_turns:.2f} turns, "
        f"{plainly(float(curve.torque_nmm[-1]))} N·mm fully wound; "
        f"by springback {quantities['slack_turns'].value:.2f} and {plainly(quantities['torque_full_nmm'].value)}"
    )
    found = finding("free_shape_says", where="⟨free⟩", saw=saw)
    if sizes[0] / 2 <= SLIM * strength:
        return (found,)
    slim = f"the barrel's radius is {sizes[0] / 2 / strength:.0f} times the strength"
    return found, finding("free_shape_coils_touch", where="⟨free⟩", saw=slim)
