"""Readings as a person gives them: text, numbers, repeats, columns or quantities, each read in one place.

A reader takes the name of the reading and what was given, and returns the value, or None where nothing was given.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Mapping
from dataclasses import replace
from typing import Any

from orderbook.barrel.bench_tests import FreeShape, RodTest, free_shape, rod_test
from orderbook.barrel.fusee_readings import FuseeReadings, fusee_readings
from orderbook.barrel.springs_seen import SpringSeen, Tried, spring_seen, tried
from orderbook.errors import Finding, error
from orderbook.measures import Measured, from_repeats, length_mm, number, plainly, read
from orderbook.measures.given import flat, in_unit, is_nothing, is_table, rows_of
from orderbook.mechanics.materials import Material, material
from orderbook.mechanics.train import Train, train

STRENGTH_HALF_WIDTH = "micrometer or list ±0.005 mm"  # what a strip's strength is known to unless told; common practice
LENGTH_HALF_WIDTH = "tape ±2 mm"
TURNS_HALF_WIDTH = 0.125  # turns counted to the nearest quarter
HOURS_SHARE = 0.01
STEEL = {"flow_stress": (200.0, 5000.0), "modulus": (10_000.0, 500_000.0)}  # MPa that make sense


def mark(name: str, said: str = "") -> str:
    """Name a reading in a finding, so that whoever shows it spells it his own way.

    >>> mark("bore")
    '⟨bore⟩'
    """
    return f"⟨{name} {said}⟩" if said else f"⟨{name}⟩"


def with_its_own_spread(name: str, given: Any, unit: str) -> Measured | None:
    """Take a value that carries its ±: `Measured`, or a number or quantity of the package uncertainties.

    The ± of that package is the standard uncertainty, as ours is inside.
    """
    if isinstance(given, Measured):
        return given
    value = in_unit(given, unit, where=mark(name))
    if hasattr(value, "nominal_value") and hasattr(value, "std_dev"):
        return Measured(float(value.nominal_value), float(value.std_dev), "as given")
    return None


def length(name: str, given: Any, instrument: str | None, notes: list[Finding]) -> Measured | None:
    """Read a length with its repeats; what is to be known of them is added to the notes."""
    if (known := with_its_own_spread(name, given, "mm")) is not None:
        return known
    said = flat(given, "mm", where=mark(name))
    if not said:
        return None
    if name == "clearance":
        return replace(
            read(said, where=mark(name), instrument="as chosen ±0.000001 mm").measured, u=0.0, source="as given"
        )
    tool = {"strength": STRENGTH_HALF_WIDTH, "length": LENGTH_HALF_WIDTH}.get(name, instrument)
    reading = read(said, where=mark(name), instrument=tool)
    notes.extend(reading.findings)
    return reading.measured


def turns(name: str, given: Any) -> Measured | None:
    """Read turns that were counted, once or several times."""
    return _counted(name, given, "turn", 0.0, TURNS_HALF_WIDTH)


def hours(name: str, given: Any) -> Measured | None:
    """Read hours; `8 days` or `8 d` are 192 hours."""
    if (known := with_its_own_spread(name, given, "hour")) is not None:
        return known
    said = [_hours(piece, mark(name)) for piece in _pieces(given, "hour", mark(name))]
    return _counted(name, said, "hour", HOURS_SHARE, 0.0)


def turns_kept(name: str, given: Any) -> float | None:
    """Read turns that may be none: a reserve or a set-up."""
    said = _last(name, given, "turn")
    if said is None:
        return None
    if (value := number(said, where=mark(name))) < 0:
        raise error("number_not_sensible", where=mark(name), saw=f"{said}", expected="Expected zero or more turns.")
    return value


def set_up(name: str, given: Any) -> Measured | None:
    """Read turns of set-up as they are: what was counted in clicks is exact."""
    if (known := with_its_own_spread(name, given, "turn")) is not None:
        return known
    value = turns_kept(name, given)
    return None if value is None else Measured(value, 0.0, "as given")


def fill(name: str, given: Any) -> float | None:
    """Read a share: 0.5 or 50 %."""
    said = _last(name, given, "")
    if said is None:
        return None
    text = str(said).strip()
    value = number(text.removesuffix("%") if isinstance(said, str) else said, where=mark(name))
    value = value / 100 if text.endswith("%") else value
    if not 0 < value < 1:
        raise error("fill_not_sensible", where=mark(name), saw=text)
    return value


def teeth(name: str, given: Any) -> int | None:
    """Read a count of ratchet teeth."""
    said = _last(name, given, "")
    if said is None:
        return None
    count = number(said, where=mark(name))
    if count != int(count) or not 4 <= count <= 400:
        expected = "Expected a count of teeth, from 4."
        raise error("number_not_sensible", where=mark(name), saw=f"{said}", expected=expected)
    return int(count)


def one_of(*choices: str) -> Callable[[str, Any], str | None]:
    """Return the reader of a word out of a few."""

    def read_one(name: str, given: Any) -> str | None:
        said = [str(word).strip() for word in flat(given, "", where=mark(name))]
        if not said:
            return None
        if len({word.casefold() for word in said}) > 1:
            raise error("given_twice", where=mark(name), saw=" and ".join(map(repr, said)))
        if said[-1].casefold() not in choices:
            raise error(
                "choice_not_known", where=mark(name), saw=repr(said[-1]), expected=f"Expected {', '.join(choices)}."
            )
        return said[-1].casefold()

    return read_one


def yes(name: str, given: Any) -> bool | None:
    """Read yes or no; True and False are taken as they are."""
    if isinstance(given, bool):
        return given
    said = one_of("yes", "true", "1", "no", "false", "0")(name, given)
    return None if said is None else said in ("yes", "true", "1")


def wheels(name: str, given: Any) -> Train | None:
    """Read wheels over the pinions they drive."""
    if isinstance(given, Train):
        return given
    said = [str(piece) for piece in flat(given, "", where=mark(name))]
    return train(" ".join(said), where=mark(name)) if said else None


def fusee(name: str, given: Any) -> FuseeReadings | None:
    """Read a fusee: two ends and its turns, or a file of grooves."""
    if isinstance(given, FuseeReadings):
        return given
    said = _last(name, given, "")
    return None if said is None else fusee_readings(str(said), where=mark(name))


def free(name: str, given: Any) -> FreeShape | None:
    """Read coils and outer diameter of the spring lying free."""
    if isinstance(given, FreeShape):
        return given
    said = _last(name, given, "")
    return None if said is None else free_shape(str(said), where=mark(name))


def rods(name: str, given: Any) -> tuple[RodTest, ...]:
    """Read rod tests, each a text or one that was read."""
    return tuple(one if isinstance(one, RodTest) else rod_test(str(one), where=mark(name)) for one in _several(given))


def springs(name: str, given: Any) -> tuple[SpringSeen, ...]:
    """Read springs, each a text or one that was read, or the rows of a table with width_mm, strength_mm, length_mm."""
    several = rows_of(given, where=mark(name)) if is_table(given) else _several(given)
    return tuple(_spring(one, mark(name)) for one in several)


def _spring(one: Any, where: str) -> SpringSeen:
    if isinstance(one, SpringSeen):
        return one
    if not isinstance(one, Mapping):
        return spring_seen(str(one), where=where)

    def size(name: str) -> float | None:
        value = in_unit(one.get(name), "mm", where=where)
        return None if is_nothing(value) else length_mm(value, where=where)

    if (strength := size("strength_mm")) is None:
        raise error("spring_not_read", where=where, saw="a row without strength_mm")
    return SpringSeen(size("width_mm"), strength, size("trim_to_mm") or size("length_mm"), str(one.get("item") or ""))


def trials(name: str, given: Any) -> tuple[Tried, ...]:
    """Read springs tried, each with its verdict."""
    return tuple(one if isinstance(one, Tried) else tried(str(one), where=mark(name)) for one in _several(given))


def word(name: str, given: Any) -> str | None:
    """Read one word or name."""
    said = [str(piece).strip() for piece in flat(given, "", where=mark(name))]
    if len(set(said)) > 1:
        raise error("given_twice", where=mark(name), saw=" and ".join(map(repr, said)))
    return said[0] if said else None


def steel(given: Any, flow_stress: Any, modulus: Any) -> Material:
    """Read a material, and what is known better than its table."""
    found = (
        given if isinstance(given, Material) else material(word("material", given) or "carbon", where=mark("material"))
    )
    for name, said in (("flow_stress", flow_stress), ("modulus", modulus)):
        least, most = STEEL[name]
        if (one := _last(name, said, "MPa")) is not None:
            value = number(one, where=mark(name))
            if not least <= value <= most:
                expected = f"Expected MPa between {least:g} and {most:g}."
                raise error("number_not_sensible", where=mark(name), saw=f"{one} MPa", expected=expected)
            found = _with(found, name, value)
    return found


def _with(found: Material, name: str, value: float) -> Material:
    if name == "modulus":
        return replace(found, source="as given", modulus_mpa=value)
    return replace(found, source="as given", flow_stress_mpa=value)


def _counted(name: str, given: Any, unit: str, share: float, half_width: float) -> Measured | None:
    if (known := with_its_own_spread(name, given, unit)) is not None:
        return known
    values = [_above_zero(piece, mark(name)) for piece in _pieces(given, unit, mark(name))]
    if not values:
        return None
    mean = sum(values) / len(values)
    half = max(share * mean, half_width)
    many = f", {len(values)} times" if len(values) > 1 else ""
    return from_repeats(values, half_width=half, source=f"as given{many}, ±{plainly(half, 2)}")


def _pieces(given: Any, unit: str, where: str) -> list[str | float]:
    found: list[str | float] = []
    for one in flat(given, unit, where=where):
        found += [piece.strip() for piece in one.split(";") if piece.strip()] if isinstance(one, str) else [one]
    return found


def _hours(said: str | float, where: str) -> str | float:
    told = re.fullmatch(r"(.+?)\s*(d|days?|h|hours?)", said, re.IGNORECASE) if isinstance(said, str) else None
    if told is None:
        return said
    return 24 * number(told[1], where=where) if told[2].casefold().startswith("d") else told[1]


def _above_zero(said: str | float, where: str) -> float:
    if (value := number(said, where=where)) <= 0:
        raise error("number_not_sensible", where=where, saw=f"{said}")
    return value


def _last(name: str, given: Any, unit: str) -> str | float | None:
    said = flat(in_unit(given, unit, where=mark(name)), unit, where=mark(name))
    return said[-1] if said else None


def _several(given: Any) -> list[Any]:
    if isinstance(given, (str, RodTest, SpringSeen, Tried)) or not isinstance(given, Iterable):
        given = [given]
    return [one for one in given if not is_nothing(one) and not (isinstance(one, str) and not one.strip())]
