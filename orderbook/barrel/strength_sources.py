"""Where the strength of a spring can be read from: each source by itself, then combined by its ±."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass, fields, replace
from itertools import combinations
from typing import Any

import numpy as np
import numpy.typing as npt

from orderbook.barrel.barrel import Barrel
from orderbook.barrel.modelling import Model
from orderbook.barrel.practice import movement_of, start_of
from orderbook.errors import Finding, finding
from orderbook.measures import Measured, propagate_many
from orderbook.mechanics.barrel import spring_length, spring_strength, strength_by_arbor
from orderbook.mechanics.drive import Reference, least_torque, reference_spring

Array = npt.NDArray[np.float64]
LEAST_USEFUL_DRIVE = 60.0
RULE_SHARE = math.log(16 / 10) / 2 / math.sqrt(3)  # r/e from 10 to 16, all alike
ORIGINAL_SHARE = 0.03  # how near a maker's next spring of the same kind would be; common practice, no source
APART = 2.0  # standard uncertainties at which two sources contradict each other


@dataclass(frozen=True, slots=True)
class Source:
    """One source of the strength: what it says, how it follows from the inputs, and the value with its ±."""

    says: str
    strength: Callable[..., Any]
    value: float
    u: float
    weight: float = 0.0


@dataclass(frozen=True, slots=True)
class Useful:
    """For columns of inputs: the reference; the strengths of drive 60, of what was fitted, of the median need."""

    best: Reference
    low: Any
    fitted: Any
    need: Any


def useful_strengths(barrel: Barrel, model: Model, inputs: Mapping[str, Any]) -> Useful:
    """Work out the useful range of strengths for columns of inputs, near the strongest useful of the barrel as read."""
    rows = np.stack([inputs[name] for name in ("bore", "arbor", "used", "flow_stress", "modulus")], axis=-1)
    rows, back = np.unique(rows, axis=0, return_inverse=True)
    back = back.ravel()  # its shape differs between releases of numpy
    bore, arbor, used, flow_stress, modulus = rows.T
    run = replace(model.run, used_turns=used)
    steel = {"flow_stress_mpa": flow_stress, "modulus_mpa": modulus}
    best = reference_spring(bore, arbor, 1.0, run, barrel.fill, near_mm=model.reference.strength_mm, **steel)
    parts = np.linspace(0.2, 1.0, 21)
    tried = parts * best.strength_mm[:, None]
    bore, arbor, flow_stress, modulus, used = (c[:, None] for c in (bore, arbor, flow_stress, modulus, used))
    length = spring_length(bore, arbor, tried, barrel.fill)
    drive = least_torque(bore, arbor, tried, length, replace(run, used_turns=used), flow_stress, modulus)
    share = drive / best.drive_nmm[:, None]
    low = np.array([_where(parts, row, 0.01 * LEAST_USEFUL_DRIVE) for row in share])[back]
    least = 0.01 * start_of(movement_of(barrel)[0], barrel.drive, barrel.train).median
    need = np.array([_where(parts, row, least) for row in share])[back]
    drive = np.minimum(0.01 * inputs["fitted"], 1.0)
    fitted = np.array([_where(parts, share[at], wanted) for at, wanted in zip(back, drive, strict=True)])
    whole = Reference(*(getattr(best, f.name)[back] for f in fields(Reference)))
    return Useful(whole, *(part * whole.strength_mm for part in (low, fitted, need)))


def _where(parts: Array, share: Array, wanted: float) -> float:
    """Find the part of the strongest useful strength that drives the wanted share: cubic through four points."""
    right = int(np.argmax(share >= wanted)) if share[-1] >= wanted else len(parts) - 1
    at = np.arange(4) + min(max(right - 2, 0), len(parts) - 4)
    x, y = share[at], parts[at]
    if np.any(np.diff(x) <= 0):
        return float(np.interp(wanted, share[: right + 1], parts[: right + 1]))
    return float(sum(y[i] * np.prod([(wanted - x[j]) / (x[i] - x[j]) for j in range(4) if j != i]) for i in range(4)))


def sources_of(barrel: Barrel, model: Model, inputs: Mapping[str, Measured], useful: Any) -> tuple[Source, ...]:
    """Return every source of the strength that the readings give; what is fitted by choice is the only one.

    Parameters: useful, a function of columns of inputs that gives their `Useful`.
    """
    found: list[tuple[str, Callable[..., Any]]] = []
    if barrel.strength:
        found.append(("the strength given", lambda **x: x["strength"]))
    else:
        if barrel.turns:
            said = f"{barrel.turns.value:g} turns between run down and wound"
            found.append((said, lambda **x: spring_strength(x["bore"], x["arbor"], x["turns"], barrel.fill)))
        if not model.used_assumed:
            said = f"drive of {inputs['fitted'].value:.0f} % over {model.used.value:.3g} turns used"
            found.append((said, lambda **x: useful(**x).fitted))
        for i, spring in enumerate(barrel.originals):
            found.append((f"original of {spring.strength_mm:g} mm", lambda i=i, **x: x[f"original_{i}"]))
        if not found:
            found.append(
                ("arbor radius over 12.65 (rule of thumb)", lambda **x: x["rule"] * strength_by_arbor(x["arbor"]))
            )
    results = propagate_many(lambda **x: {says: strength(**x) for says, strength in found}, inputs)
    return weighed(tuple(Source(says, f, results[says].value, results[says].u) for says, f in found))


def weighed(sources: tuple[Source, ...]) -> tuple[Source, ...]:
    """Give each source its weight: 1/u² of its logarithm, as a share."""
    weights = [(s.value / s.u) ** 2 if s.u > 0 else 1e18 for s in sources]
    return tuple(replace(s, weight=w / sum(weights)) for s, w in zip(sources, weights, strict=True))


def combined(sources: tuple[Source, ...], inputs: Mapping[str, Any]) -> Any:
    """Return the strength that all sources together stand for: the weighted mean of their logarithms."""
    return np.exp(sum(s.weight * np.log(s.strength(**inputs)) for s in sources))


def contradictions(sources: tuple[Source, ...]) -> tuple[Finding, ...]:
    """Return a finding for each two sources that are further apart than their ± allow."""
    return tuple(
        finding("sources_contradict", where="strength", saw=f"{_said(a)}, but {_said(b)}")
        for a, b in combinations(sources, 2)
        if abs(math.log(a.value / b.value)) > APART * math.hypot(a.u / a.value, b.u / b.value)
    )


def _said(source: Source) -> str:
    return f"{source.says} says {source.value:.3f} ± {2 * source.u:.2g} mm"
