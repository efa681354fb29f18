"""What is tried on the bench besides fitting a spring: the rod test, and the spring lying free."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Literal, cast

from orderbook.errors import error
from orderbook.measures import Measured, length_mm, number
from orderbook.mechanics.rod_test import rod_test_torque

_TIMES = re.compile(r"\s*[x×*]\s*", re.IGNORECASE)
_GRAMS = re.compile(r"(?P<number>.+?)\s*(?:g|gr|gram|grams|gramme|grammes)?", re.IGNORECASE)
MASS_SHARE, ARM_HALF_WIDTH_MM = 0.02, 0.5  # a kitchen balance and a ruler; common practice, no source


@dataclass(frozen=True, slots=True)
class RodTest:
    """A rod test on the winding square: what the spring gives, or what just drives the train."""

    torque: Measured  # N·mm
    kind: Literal["gives", "just drives"]
    direction: Literal["rising", "falling"] | None
    turns_from_wound: float
    text: str


@dataclass(frozen=True, slots=True)
class FreeShape:
    """A spring lying free on the bench: coils counted, and the outer diameter in mm."""

    coils: float
    outer_mm: float


def rod_test(text: str, *, where: str = "⟨rod⟩") -> RodTest:
    """Read `50 g x 120 mm: gives, falling` or `30 x 120: just drives`; `at 2 turns` counts back from fully wound.

    Raises: OrderbookError(rod_test_not_read).

    >>> test = rod_test("50 g x 120 mm: gives, falling")
    >>> round(test.torque.value, 1), test.kind, test.direction
    (58.8, 'gives', 'falling')
    """
    reading, _, said = text.partition(":")
    pieces = _TIMES.split(reading.strip())
    words = [" ".join(word.casefold().split()) for word in said.split(",") if word.strip()]
    turns = [m for word in words if (m := re.fullmatch(r"at (.+?) turns?", word))]
    rest = [word for word in words if not re.fullmatch(r"at (.+?) turns?", word)]
    kinds = [w for w in rest if w in ("gives", "just drives")]
    ways = [w for w in rest if w in ("rising", "falling")]
    if len(pieces) != 2 or len(kinds) != 1 or len(ways) > 1 or len(rest) != len(kinds) + len(ways) or len(turns) > 1:
        raise error("rod_test_not_read", where=where, saw=repr(text))
    grams, arm = _mass(pieces[0], where), length_mm(pieces[1], where=where)
    torque = rod_test_torque(grams, arm)
    share = (MASS_SHARE**2 + (ARM_HALF_WIDTH_MM / arm) ** 2) ** 0.5 / 3**0.5
    measured = Measured(torque, share * torque, f"rod test, {grams:g} g at {arm:g} mm")
    kind = cast("Literal['gives', 'just drives']", kinds[0])
    direction = cast("Literal['rising', 'falling'] | None", ways[0] if ways else None)
    return RodTest(measured, kind, direction, number(turns[0][1], where=where) if turns else 0.0, text.strip())


def free_shape(text: str, *, where: str = "⟨free⟩") -> FreeShape:
    """Read `7.5 x 48 mm`: coils of the spring lying free, and its outer diameter.

    Raises: OrderbookError(free_shape_not_read).

    >>> free_shape("7½ x 48 mm")
    FreeShape(coils=7.5, outer_mm=48.0)
    """
    pieces = _TIMES.split(text.strip())
    if len(pieces) != 2:
        raise error("free_shape_not_read", where=where, saw=repr(text))
    coils = number(re.sub(r"\s*(coils?|turns?)$", "", pieces[0].strip(), flags=re.IGNORECASE), where=where)
    if not 0 < coils < 200:
        raise error("free_shape_not_read", where=where, saw=repr(text))
    return FreeShape(coils, length_mm(pieces[1], where=where))


def _mass(text: str, where: str) -> float:
    match = _GRAMS.fullmatch(text.strip())
    grams = number(match["number"], where=where) if match else 0.0
    if grams <= 0:
        raise error("rod_test_not_read", where=where, saw=repr(text))
    return grams
