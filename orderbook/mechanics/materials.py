"""What a strip is made of: modulus and flow stress with their ±, from the table beside this file."""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

from orderbook.errors import error


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
    curl: float = 1.0  # left across the strip: 1 in a narrow one, 0 in a wide one (`across.curl`)


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


_NUMBERS = ("modulus_mpa", "modulus_u", "flow_stress_mpa", "flow_stress_u")
