"""Carrying the uncertainty of readings through a calculation, to first order or by random draws."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import Any

import numpy as np
import numpy.typing as npt

from orderbook.measures.readings import Measured

Array = npt.NDArray[np.float64]
Correlations = Mapping[tuple[str, str], float]


@dataclass(frozen=True, slots=True)
class Propagated:
    """A result with its standard uncertainty, the signed part of it that each input makes, and how that part bends."""

    value: float
    u: float
    parts: Mapping[str, float]
    bends: Mapping[str, float] = field(default_factory=dict)  # ½·[f(x + u) + f(x − u)] − f(x)

    @property
    def dominated_by(self) -> str | None:
        """The input that makes most of the uncertainty, or None where there is none."""
        return max(self.parts, key=lambda name: abs(self.parts[name])) if self.u > 0 else None

    @property
    def share(self) -> float:
        """The part of the variance that the dominating input makes, 0…1."""
        squares = [part * part for part in self.parts.values()]
        return max(squares) / math.fsum(squares) if self.u > 0 else 0.0

    @property
    def asymmetry(self) -> float:
        """What the bends alone would make of the standard uncertainty: √(2·Σc²), inputs normal and independent.

        f = f₀ + z·t + c·t² with t normal has the variance z² + 2c² (JCGM 100:2008, note to 5.1.2).
        """
        return math.sqrt(2 * math.fsum(c * c for c in self.bends.values()))


@dataclass(frozen=True, slots=True)
class Draws:
    """A result by random draws: mean, standard deviation and the draws in rising order."""

    mean: float
    u: float
    sorted_draws: Array

    def interval(self, probability: float = 0.95) -> tuple[float, float]:
        """Return the shortest interval that holds `probability` of the draws (JCGM 101:2008, 7.7)."""
        held = math.ceil(probability * len(self.sorted_draws))
        widths = self.sorted_draws[held - 1 :] - self.sorted_draws[: len(self.sorted_draws) - held + 1]
        first = int(np.argmin(widths))
        return float(self.sorted_draws[first]), float(self.sorted_draws[first + held - 1])


def propagate(
    function: Callable[..., Any], inputs: Mapping[str, Measured], correlations: Correlations | None = None
) -> Propagated:
    """Carry uncertainties through one result, to first order.

    u² = Σᵢ Σⱼ rᵢⱼ·zᵢ·zⱼ with zᵢ = ½·[f(xᵢ + uᵢ) − f(xᵢ − uᵢ)]; f is called once, with arrays on the last axis.
    Parameters: function of keyword arguments named as the inputs; correlations r by pairs of names.
    Source: JCGM 100:2008, equations (16) and 5.1.3 note 2.

    >>> size = propagate(lambda a, b: a * b, {"a": Measured(3.0, 0.1, ""), "b": Measured(2.0, 0.2, "")})
    >>> round(size.value, 3), round(size.u, 4), size.dominated_by
    (6.0, 0.6325, 'b')
    """
    return propagate_many(lambda **x: {"": function(**x)}, inputs, correlations)[""]


def propagate_many(
    function: Callable[..., Mapping[str, Any]],
    inputs: Mapping[str, Measured],
    correlations: Correlations | None = None,
) -> dict[str, Propagated]:
    """Carry uncertainties through several results at once: as `propagate`, for a function that returns a mapping."""
    uncertain = [name for name, measured in inputs.items() if measured.u > 0]
    results = function(**_stacked(inputs, uncertain))
    return {
        key: _first_order(np.asarray(result, dtype=float), uncertain, correlations or {})
        for key, result in results.items()
    }


def monte_carlo(
    function: Callable[..., Any],
    inputs: Mapping[str, Measured],
    *,
    draws: int = 100_000,
    seed: int = 1,
    rectangular: frozenset[str] = frozenset(),
) -> Draws:
    """Carry uncertainties through one result by random draws; inputs are normal unless named rectangular.

    Source: JCGM 101:2008, clause 7.

    >>> round(monte_carlo(lambda a: 2 * a, {"a": Measured(1.0, 0.1, "")}, draws=200_000).u, 2)
    0.2
    """
    rng = np.random.default_rng(seed)
    drawn = {name: _draw(rng, m, draws, name in rectangular) for name, m in inputs.items()}
    result = np.sort(np.broadcast_to(np.asarray(function(**drawn), dtype=float), (draws,)))
    return Draws(float(result.mean()), float(result.std(ddof=1)), result)


def _stacked(inputs: Mapping[str, Measured], uncertain: list[str]) -> dict[str, Array]:
    stacked = {name: np.full(1 + 2 * len(uncertain), measured.value) for name, measured in inputs.items()}
    for i, name in enumerate(uncertain):
        stacked[name][1 + 2 * i] += inputs[name].u
        stacked[name][2 + 2 * i] -= inputs[name].u
    return stacked


def _first_order(result: Array, uncertain: list[str], correlations: Correlations) -> Propagated:
    result = np.broadcast_to(result, (1 + 2 * len(uncertain),))
    parts = {name: float(result[1 + 2 * i] - result[2 + 2 * i]) / 2 for i, name in enumerate(uncertain)}
    bends = {n: float(result[1 + 2 * i] + result[2 + 2 * i]) / 2 - float(result[0]) for i, n in enumerate(uncertain)}
    variance = math.fsum(part * part for part in parts.values())
    variance += math.fsum(2 * r * parts.get(a, 0.0) * parts.get(b, 0.0) for (a, b), r in correlations.items())
    return Propagated(float(result[0]), math.sqrt(max(variance, 0.0)), parts, bends)


def _draw(rng: np.random.Generator, measured: Measured, draws: int, rectangular: bool) -> Array:
    if rectangular:
        half = measured.u * math.sqrt(3)
        return rng.uniform(measured.value - half, measured.value + half, draws)
    return rng.normal(measured.value, measured.u, draws)
