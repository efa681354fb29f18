"""What a strip is made of: modulus and flow stress with their ±, from the table beside this file."""

from __future__ import annotations

import math
import tomllib
from dataclasses import dataclass, replace
from functools import cache
from pathlib import Path
from typing import Any

from orderbook.errors import error

POISSON = 0.3
WIDE_FROM = 20.0  # b²/(r·e) above which a strip cannot curl across its width


@dataclass(frozen=True, slots=True)
class Material:
    """A strip steel: MPa, with standard uncertainties, and where the numbers come from."""

    name: str
    says: str
    modulus_mpa: float
    modulus_u: float
    flow_stress_mpa: float
    flow_stress_u: float
    source: str
    wide: bool = False

    def as_wide(self) -> Material:
        """Return it as it acts in a strip too wide to curl across: E/(1 − ν²) and 2σ/√3, ν = 0.3.

        >>> round(material("carbon").as_wide().flow_stress_mpa)
        1963
        """
        stiffer, stronger = 1 / (1 - POISSON**2), 2 / math.sqrt(3)
        return self if self.wide else replace(self, wide=True, **_times(self, stiffer, stronger))


def material(name: str = "carbon", *, where: str = "material") -> Material:
    """Return a material of the table by one of its words.

    Raises: OrderbookError(material_not_known) with the words that are known.

    >>> material("Stainless steel").flow_stress_mpa
    1900.0
    """
    folded = " ".join(name.casefold().replace("_", " ").replace("-", " ").split())
    for known, entry in materials().items():
        if folded in entry["words"] or folded == known.replace("_", " "):
            numbers: dict[str, Any] = {key: float(entry[key]) for key in _NUMBERS}
            return Material(known.replace("_", " "), entry["says"], source=entry["source"], **numbers)
    known_words = ", ".join(entry["words"][0] for entry in materials().values())
    raise error("material_not_known", where=where, saw=repr(name), try_this=f"Write one of: {known_words}.")


@cache
def materials() -> dict[str, dict[str, Any]]:
    """Read the whole table."""
    return tomllib.loads(Path(__file__).with_name("materials.toml").read_text(encoding="utf-8"))


def is_wide(width_mm: float, arbor_mm: float, strength_mm: float) -> bool:
    """Whether a strip is too wide to curl across its width: b²/(r·e) above 20.

    >>> is_wide(30.0, 11.0, 0.4), is_wide(1.5, 2.4, 0.1)
    (True, False)
    """
    return width_mm**2 / (arbor_mm / 2 * strength_mm) > WIDE_FROM


_NUMBERS = ("modulus_mpa", "modulus_u", "flow_stress_mpa", "flow_stress_u")


def _times(steel: Material, stiffer: float, stronger: float) -> dict[str, Any]:
    return {
        "modulus_mpa": steel.modulus_mpa * stiffer,
        "modulus_u": steel.modulus_u * stiffer,
        "flow_stress_mpa": steel.flow_stress_mpa * stronger,
        "flow_stress_u": steel.flow_stress_u * stronger,
    }
