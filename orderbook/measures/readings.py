"""Readings: repeats with an instrument become a mean and its standard uncertainty."""

from __future__ import annotations

import math
import tomllib
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import cache
from pathlib import Path

from orderbook.errors import Finding, OrderbookError, error, finding
from orderbook.measures.lengths import length_mm, lengths_mm
from orderbook.measures.plain_numbers import plainly

# Student's t for 68.27 %, by degrees of freedom: JCGM 100:2008 table G.2 prints 1.84 and 1.32
T_FACTOR = {1: 1.8373, 2: 1.3213}
CALIPER_MM = 0.03
ONE_LENGTH = 1.2  # repeats further apart than this, greatest over least, are not of one length


@dataclass(frozen=True, slots=True)
class Measured:
    """A quantity as it is known: value, standard uncertainty (k = 1) and where it came from.

    >>> print(Measured(34.02, 0.02, "3 readings"))
    34.02 ± 0.04
    """

    value: float
    u: float
    source: str

    def __str__(self) -> str:
        """Read as value ± twice the standard uncertainty."""
        return f"{self.value:g} ± {plainly(2 * self.u, 2)}" if self.u else f"{self.value:g}"


@dataclass(frozen=True, slots=True)
class Instrument:
    """What a reading was taken with: its name and its maximum permissible error ± in mm."""

    name: str
    half_width_mm: float


@dataclass(frozen=True, slots=True)
class Reading:
    """One quantity as read: the repeats, what follows from them, and what should be known about them."""

    values_mm: tuple[float, ...]
    measured: Measured
    findings: tuple[Finding, ...]


def from_repeats(values: Sequence[float], *, half_width: float, source: str) -> Measured:
    """Combine repeats and an instrument into a mean and its standard uncertainty.

    u² = (t·s)²/n + (a/√3)², with t for n − 1 degrees of freedom where n is 2 or 3, and s = 0 for a single reading.
    Parameters: values and half_width a in one unit; n values, n ≥ 1.
    Source: JCGM 100:2008, 4.2.3, 4.3.7 and G.3.

    >>> from_repeats([34.02, 34.00, 34.03, 34.03], half_width=0.03, source="caliper").value
    34.02
    """
    n = len(values)
    mean = math.fsum(values) / n
    spread = math.sqrt(math.fsum((v - mean) ** 2 for v in values) / (n - 1)) if n > 1 else 0.0
    scatter = T_FACTOR.get(n - 1, 1.0) * spread / math.sqrt(n)
    return Measured(mean, math.hypot(scatter, half_width / math.sqrt(3)), source)


def read(texts: str | float | Iterable[str | float], *, where: str, instrument: str | None = None) -> Reading:
    """Read the repeats of one length; without an instrument a caliper of ±0.03 mm is taken, and that is said.

    Raises: OrderbookError(length_not_read | several_marks | repeats_disagree) naming `where`.

    >>> read("34.02; 34.00; 34.03", where="⟨bore⟩").measured.source
    '3 readings, caliper ±0.03 mm assumed'
    """
    values = lengths_mm(texts, where=where)
    tool = instrument_from(instrument, where="⟨instrument⟩") if instrument else Instrument("caliper", CALIPER_MM)
    many = "1 reading" if len(values) == 1 else f"{len(values)} readings"
    said = f"{many}, {tool.name} ±{tool.half_width_mm:g} mm" + ("" if instrument else " assumed")
    return Reading(
        values,
        from_repeats(values, half_width=tool.half_width_mm, source=said),
        _disagreement(values, tool, where),
    )


def instrument_from(text: str, *, where: str = "instrument") -> Instrument:
    """Read an instrument: a name of the table, a ± length, or both.

    >>> instrument_from("micrometer").half_width_mm, instrument_from("my caliper ±0.02 mm").half_width_mm
    (0.004, 0.02)
    """
    folded = " ".join(text.casefold().split())
    if folded in _instruments():
        return Instrument(folded, _instruments()[folded])
    name, _, permitted = text.rpartition("±") if "±" in text else _name_and_length(text)
    try:
        return Instrument(name.strip() or "instrument", length_mm(permitted, where=where))
    except OrderbookError as problem:
        known = ", ".join(sorted(_instruments()))
        raise error("instrument_not_known", where=where, saw=repr(text), try_this=f"Known names: {known}.") from problem


def _name_and_length(text: str) -> tuple[str, str, str]:
    first = next((i for i, letter in enumerate(text) if letter.isdigit()), 0)
    return text[:first], "", text[first:]


def _disagreement(values: tuple[float, ...], tool: Instrument, where: str) -> tuple[Finding, ...]:
    low, high = min(values), max(values)
    if high > ONE_LENGTH * low:
        raise error("repeats_disagree", where=where, saw=f"readings from {low:g} to {high:g} mm")
    if high - low <= 2 * tool.half_width_mm * (1 + 1e-9):
        return ()
    explained = f"a {tool.name} of ±{tool.half_width_mm:g} mm explains {2 * tool.half_width_mm:g} mm"
    saw = f"readings differ by {high - low:.3g} mm; {explained}"
    return (finding("repeats_spread", where=where, saw=saw),)


@cache
def _instruments() -> dict[str, float]:
    entries = tomllib.loads(Path(__file__).with_name("instruments.toml").read_text(encoding="utf-8"))
    return {word: float(entry["half_width_mm"]) for entry in entries.values() for word in entry["words"]}
