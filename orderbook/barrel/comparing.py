"""Springs side by side in one barrel: what each delivers, and whether they differ by more than is known about them."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Any, ClassVar

import numpy as np
import numpy.typing as npt

from orderbook.barrel.barrel import Barrel
from orderbook.barrel.modelling import Model, model_of, wider_than_barrel
from orderbook.barrel.springs_seen import SpringSeen
from orderbook.barrel.typed import springs as springs_given
from orderbook.cautions import Caution, caution
from orderbook.errors import Finding, error, finding
from orderbook.mechanics.arithmetic import COLUMNS
from orderbook.mechanics.barrel import floor_area, spring_length
from orderbook.mechanics.drive import DriveAndLoad, drive_and_load, reference_spring
from orderbook.mechanics.fusee import torque_at_fusee
from orderbook.mechanics.spread import IndexSpread, index_spread, yardstick
from orderbook.mechanics.table import tabulate
from orderbook.mechanics.winding import winding
from orderbook.shown import Drawn

Array = npt.NDArray[np.float64]
CURVE_POINTS = 161


@dataclass(frozen=True, slots=True)
class Compared:
    """One spring in this barrel: sizes, turns, torque over the run, indices with ±, and its curves."""

    name: str
    width_mm: float
    strength_mm: float
    length_mm: float
    fill: float
    turns: float
    slack_turns: float
    turns_delivered: float
    drive_nmm: float
    load_nmm: float
    mean_nmm: float
    drive_index: float
    drive_index_u: float
    load_index: float
    load_index_u: float
    set_up_turns: float
    evenness: float
    eligible: bool
    short_by_turns: float
    curve: tuple[Array, Array]  # turns up from run down, N·mm
    at_fusee: tuple[Array, Array] | None  # turns of the fusee from wound, N·mm
    window: tuple[float, float]  # of turns up from run down

    def as_dict(self) -> dict[str, Any]:
        """Return its JSON keys, without the curves."""
        left_out = {"curve", "at_fusee", "window"}
        return {name: getattr(self, name) for name in self.__slots__ if name not in left_out}


@dataclass(frozen=True, slots=True)
class Sweep:
    """Drive and load at half fill for every strength, and the useful range of it."""

    strength_mm: Array
    drive_nmm: Array
    load_nmm: Array
    useful: tuple[float, float]
    strongest_u: float


@dataclass(frozen=True, slots=True, repr=False)
class Comparison(Drawn):
    """Springs side by side, weakest first: `springs`, each with its sizes, turns, torque and indices.

    >>> both = compare(Barrel(bore=15.6, arbor=5.2, depth=3.1, used=3.5), ["2.9 x 0.15 x 566", "2.9 x 0.21 x 404"])
    >>> both.to_frame().drive_index.round().tolist()
    [68.0, 97.0]
    """

    shown_words: ClassVar[str] = "orderbook.reports.comparison_text:comparison_text"
    shown_picture: ClassVar[str] = "orderbook.reports.torque_figure:draw"
    shown_key: ClassVar[str] = "springs"
    shown_columns: ClassVar[tuple[str, ...]] = (
        "name", "fill", "turns", "turns_delivered", "drive_nmm", "load_nmm", "drive_index", "load_index",
        "set_up_turns", "evenness",
    )  # fmt: skip

    springs: tuple[Compared, ...]
    sweep: Sweep
    model: Model
    findings: tuple[Finding, ...]
    cautions: tuple[Caution, ...]

    def as_dict(self) -> dict[str, Any]:
        """Return the JSON keys of the command."""
        best = self.model.reference
        return {
            "springs": [spring.as_dict() for spring in self.springs],
            "reference": {key: getattr(best, key) for key in ("width_mm", "strength_mm", "length_mm")},
            "turns_used": self.model.used.value,
            "turns_used_u": self.model.used.u,
            "useful_from_mm": self.sweep.useful[0],
            "strongest_useful_mm": self.sweep.useful[1],
            "cautions": [str(c) for c in self.cautions],
            "findings": [f.as_dict() for f in self.findings],
        }


def compare(barrel: Barrel, springs: Any) -> Comparison:
    """Put springs side by side in one barrel, over one run.

    Parameters: the readings; springs as text, `SpringSeen` or rows of a data frame with width_mm, strength_mm and
    length_mm (such as the stages of an order, at the length they are cut to). A width or length not known is taken as
    fitting (half fill).
    Returns: the comparison; its findings say which steps are smaller than what is known about them.
    Raises: OrderbookError(spring_too_big) for a spring that does not go in, and as `size`.

    >>> barrel = Barrel(bore=15.6, arbor=5.2, depth=3.1, used=3.5)
    >>> both = compare(barrel, ["2.9 x 0.21 x 404", "2.9 x 0.15 x 566"])
    >>> [(s.strength_mm, round(s.drive_index)) for s in both.springs]
    [(0.15, 68), (0.21, 97)]
    """
    springs = springs_given("springs", springs)
    model = model_of(barrel)
    columns = _columns(barrel, model, springs)
    found, spread = _reckoned(barrel, model, columns)
    made = [_compared(barrel, model, columns, found, spread, i) for i in range(len(springs))]
    order = sorted(range(len(made)), key=lambda i: made[i].drive_nmm if made[i].drive_nmm >= 0 else -1.0)
    ranked = tuple(made[i] for i in order)
    about = (
        *barrel.notes,
        *model.findings,
        *_too_wide(barrel, model, ranked),
        *_steps(ranked, spread, order),
        *_too_few(ranked, model),
    )
    return Comparison(ranked, _sweep(barrel, model), model, about, (caution("wound_spring"), caution("too_strong")))


def _columns(barrel: Barrel, model: Model, springs: Sequence[SpringSeen]) -> tuple[Array, Array, Array]:
    assert barrel.bore
    assert barrel.arbor
    strength = np.array([spring.strength_mm for spring in springs])
    fitting = spring_length(barrel.bore.value, barrel.arbor.value, strength, barrel.fill)
    length = np.array([spring.length_mm or fits for spring, fits in zip(springs, fitting, strict=True)])
    usual = model.width.value if model.width else 1.0
    width = np.array([spring.width_mm or usual for spring in springs])
    fill = strength * length / floor_area(barrel.bore.value, barrel.arbor.value)
    for spring, share in zip(springs, fill, strict=True):
        if share >= 1:
            saw = f"{spring.text or spring.strength_mm} fills {100 * share:.0f} % of the free room"
            raise error("spring_too_big", where="spring", saw=saw)
    return width, strength, length


def _reckoned(barrel: Barrel, model: Model, columns: tuple[Array, Array, Array]) -> tuple[DriveAndLoad, IndexSpread]:
    assert barrel.bore
    assert barrel.arbor
    steel = {"flow_stress_mpa": model.material.flow_stress_mpa, "modulus_mpa": model.material.modulus_mpa}
    sizes = (barrel.bore.value, barrel.arbor.value, *columns)
    common = model.material.flow_stress_u / model.material.flow_stress_mpa
    of = yardstick(*sizes[:2], model.reference, model.run, common_flow_stress_u=common, **steel)
    spread = index_spread(*sizes, model.run, of, **steel)
    return drive_and_load(*sizes, model.run, **steel), spread


def _compared(
    barrel: Barrel,
    model: Model,
    columns: tuple[Array, Array, Array],
    found: DriveAndLoad,
    spread: IndexSpread,
    i: int,
) -> Compared:
    assert barrel.bore
    assert barrel.arbor
    width, strength, length = (float(column[i]) for column in columns)
    used = float(model.run.used_turns)
    begins = float(found.slack_turns[i] + found.set_up_turns[i])
    curve, at_fusee = _curves(barrel, model, (width, strength, length), float(found.set_up_turns[i]))
    return Compared(
        name=f"{width:.3g} × {strength:.4g} × {length:.0f}",
        width_mm=width,
        strength_mm=strength,
        length_mm=length,
        fill=float(found.fill[i]),
        turns=float(found.turns[i]),
        slack_turns=float(found.slack_turns[i]),
        turns_delivered=float(found.delivered_turns[i]),
        drive_nmm=float(found.drive_nmm[i]),
        load_nmm=float(found.load_nmm[i]),
        mean_nmm=float(found.mean_nmm[i]),
        drive_index=float(spread.drive_index[i]),
        drive_index_u=float(spread.drive_index_u[i]),
        load_index=float(spread.load_index[i]),
        load_index_u=float(spread.load_index_u[i]),
        set_up_turns=float(found.set_up_turns[i]),
        evenness=float(at_fusee[1].max() / at_fusee[1].min()) if at_fusee and at_fusee[1].min() > 0 else math.nan,
        eligible=bool(found.eligible[i]),
        short_by_turns=float(found.short_by_turns[i]),
        curve=curve,
        at_fusee=at_fusee,
        window=(begins, begins + used),
    )


def _curves(
    barrel: Barrel, model: Model, spring: tuple[float, float, float], set_up: float
) -> tuple[tuple[Array, Array], tuple[Array, Array] | None]:
    assert barrel.bore
    assert barrel.arbor
    sizes = (barrel.bore.value / 2, barrel.arbor.value / 2, *spring)
    steel = (model.material.flow_stress_mpa, model.material.modulus_mpa)
    strip = winding(COLUMNS, *(np.array([value]) for value in (*sizes, *steel)))
    table = tabulate(strip, CURVE_POINTS)
    curve = (np.append(0.0, table.turns[0] + strip.slack[0]), np.append(0.0, table.torque_nmm[0]))
    if model.run.drive != "fusee":
        return curve, None
    cone = model.run.cone
    profile = cone.profile()
    torque = torque_at_fusee(table, profile, np.array([float(model.run.used_turns)]), np.array([set_up]))[0]
    return curve, (cone.profile_turns(), torque)


def _sweep(barrel: Barrel, model: Model) -> Sweep:
    """Drive and load at half fill against strength: what makes a strongest useful spring."""
    assert barrel.bore
    assert barrel.arbor
    best = model.reference
    strength = best.strength_mm * np.linspace(0.35, 1.4, 85)
    sizes = (barrel.bore.value, barrel.arbor.value)
    steel = {"flow_stress_mpa": model.material.flow_stress_mpa, "modulus_mpa": model.material.modulus_mpa}
    length = spring_length(*sizes, strength, barrel.fill)
    found = drive_and_load(*sizes, best.width_mm, strength, length, model.run, **steel)
    share = found.drive_nmm / best.drive_nmm
    below = strength <= best.strength_mm
    low = float(np.interp(0.6, share[below], strength[below]))
    return Sweep(strength, found.drive_nmm, found.load_nmm, (low, best.strength_mm), _strongest_u(barrel, model))


def _strongest_u(barrel: Barrel, model: Model) -> float:
    """Standard uncertainty of the strongest useful strength: half of what it moves over the ± of the flow stress."""
    assert barrel.bore
    assert barrel.arbor
    steel = model.material
    flows = steel.flow_stress_mpa + steel.flow_stress_u * np.array([-1.0, 1.0])
    sizes = (barrel.bore.value, barrel.arbor.value, model.reference.width_mm)
    found = reference_spring(*sizes, model.run, barrel.fill, flow_stress_mpa=flows, modulus_mpa=steel.modulus_mpa)
    soft, hard = found.strength_mm
    return float(abs(hard - soft)) / 2


def _steps(springs: tuple[Compared, ...], spread: IndexSpread, order: list[int]) -> tuple[Finding, ...]:
    """Say where the step from one spring to the next is smaller than what is known about it, or no step at all."""
    small, found = [], []
    for (weak, i), (strong, j) in pairwise(zip(springs, order, strict=True)):
        if not (weak.drive_nmm > 0 and strong.drive_nmm > 0):
            continue
        if weak.load_nmm > strong.load_nmm:
            saw = f"less drive and more load than {strong.name}"
            found.append(finding("thicker_but_no_stronger", where=weak.name, saw=saw))
            continue
        step = strong.drive_nmm / weak.drive_nmm - 1
        apart = spread.drive_common_u[j] - spread.drive_common_u[i]
        u = math.hypot(spread.drive_own_u[i], spread.drive_own_u[j], apart)
        if step < 2 * u:
            small.append(f"{weak.strength_mm:g} to {strong.strength_mm:g} mm {100 * step:+.0f} % (± {200 * u:.0f} %)")
    if small:
        found.append(finding("step_smaller_than_known", where="steps of drive", saw=", ".join(small)))
    return tuple(found)


def _too_wide(barrel: Barrel, model: Model, springs: tuple[Compared, ...]) -> tuple[Finding, ...]:
    """Say which springs do not go between floor and cover, and which would rub there."""
    if barrel.depth is None or model.width is None:
        return ()
    found = []
    for spring in springs:
        saw = f"{spring.width_mm:g} mm wide, and the barrel is {barrel.depth.value:g} mm deep"
        if wider_than_barrel(barrel, spring.width_mm):
            found.append(finding("spring_wider_than_barrel", where=spring.name, saw=saw))
        elif spring.width_mm > model.width.value + 1e-9:
            saw = f"{saw}: {barrel.depth.value - spring.width_mm:.2f} mm of play"
            found.append(finding("spring_without_clearance", where=spring.name, saw=saw))
    return tuple(found)


def _too_few(springs: tuple[Compared, ...], model: Model) -> tuple[Finding, ...]:
    return tuple(
        finding(
            "too_few_turns",
            where=spring.name,
            saw=f"{spring.turns_delivered:.2f} turns delivered, {spring.short_by_turns:.2f} too few for the run",
        )
        for spring in springs
        if not spring.eligible and not model.used_assumed
    )
