"""A barrel as read on the bench: every reading, choice and tried spring of it in one record.

The command line and a book give the same texts, keyed by the words of the readings, so both mean the same.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Any, Literal, cast

from orderbook.barrel.bench_tests import FreeShape, RodTest, free_shape, rod_test
from orderbook.barrel.fusee_readings import FuseeReadings, fusee_readings
from orderbook.barrel.springs_seen import SpringSeen, Tried, spring_seen, tried
from orderbook.errors import Finding, error, finding
from orderbook.measures import Measured, from_repeats, number, plainly, read
from orderbook.mechanics.barrel import most_turns
from orderbook.mechanics.given import LARGEST_BORE_MM
from orderbook.mechanics.materials import Material, material
from orderbook.mechanics.train import Train, train

STRENGTH_HALF_WIDTH = "micrometer or list ±0.005 mm"  # what a strip's strength is known to unless told; common practice
LENGTH_HALF_WIDTH = "tape ±2 mm"
TURNS_HALF_WIDTH = 0.125  # turns counted to the nearest quarter
HOURS_SHARE = 0.01
TRAINS = ("going", "striking", "chiming", "musical", "alarm")
READINGS = (
    "bore", "arbor", "depth", "clearance", "instrument", "turns", "used", "hours", "strength", "length", "fill",
    "drive", "stop_work", "train", "set_up", "reserve", "ratchet_teeth", "wheels", "fusee", "barrel_outside",
    "chain_height", "rod", "free", "material", "flow_stress", "modulus", "original", "tried",
)  # fmt: skip

THINNEST_MM = 0.03  # of a mainspring: common practice, no source


@dataclass(frozen=True, slots=True)
class Barrel:
    """Everything the readings say about one barrel; a quantity that was not read is None. Lengths in mm."""

    bore: Measured | None = None
    arbor: Measured | None = None
    depth: Measured | None = None
    clearance: Measured | None = None
    strength: Measured | None = None
    length: Measured | None = None
    turns: Measured | None = None
    used: Measured | None = None
    hours: Measured | None = None
    fill: float = 0.5
    drive: Literal["going", "fusee"] = "going"
    stop_work: bool = False
    train: str = "going"
    set_up: Measured | None = None
    reserve: float | None = None
    ratchet_teeth: int | None = None
    wheels: Train | None = None
    fusee: FuseeReadings | None = None
    barrel_outside: Measured | None = None
    chain_height: Measured | None = None
    rods: tuple[RodTest, ...] = ()
    free: FreeShape | None = None
    material: Material = field(default_factory=material)
    originals: tuple[SpringSeen, ...] = ()
    tried: tuple[Tried, ...] = ()

    def needs(self, *names: str) -> None:
        """Raise flag_missing for the first of these readings that is not there."""
        for name in names:
            if getattr(self, name) is None:
                raise error("flag_missing", where=f"--{name.replace('_', '-')}", saw="not given", try_this=_HOW[name])


def barrel_from_texts(texts: Mapping[str, Sequence[str]]) -> tuple[Barrel, tuple[Finding, ...]]:
    """Read a barrel from texts keyed by the words of the readings (`bore`, `set-up` or `set_up` …).

    Returns: the barrel, and what should be known about its readings.
    Raises: OrderbookError for a text that cannot be read, naming the reading.

    >>> barrel, findings = barrel_from_texts({"bore": ["15.6"], "arbor": ["5.2"], "used": ["3.5"]})
    >>> barrel.bore.value, barrel.used.value, [f.code for f in findings]
    (15.6, 3.5, [])
    """
    given = {_known(word): list(said) for word, said in texts.items() if said}
    found: list[Finding] = []
    instrument = _single(given, "instrument")
    values: dict[str, Any] = {
        name: _length(given[name], name, instrument, found)
        for name in ("bore", "arbor", "depth", "clearance", "barrel_outside", "chain_height", "strength", "length")
        if name in given
    }
    for name, reader in _READERS.items():
        if name in given:
            values[name] = reader(given[name], f"--{name.replace('_', '-')}")
    values.update(_seen(given))
    barrel = Barrel(**values, material=_material(given))
    _make_sense(barrel)
    return barrel, (*found, *_unusual(barrel))


def _known(word: str) -> str:
    name = word.strip().lstrip("-").replace("-", "_").replace(" ", "_").casefold()
    if name in READINGS:
        return name
    import difflib  # only wanted after a slip of the pen

    near = difflib.get_close_matches(name, READINGS, n=1)
    raise error("reading_not_known", where=word, saw="is no reading of a barrel", try_this=_did_you_mean(near))


def _did_you_mean(near: list[str]) -> str | None:
    return f"Did you mean {near[0].replace('_', ' ')!r}?" if near else None


def _single(given: Mapping[str, list[str]], name: str) -> str | None:
    said = given.get(name, [])
    if len(set(said)) > 1:
        raise error("given_twice", where=f"--{name.replace('_', '-')}", saw=" and ".join(map(repr, said)))
    return said[0] if said else None


def _length(said: list[str], name: str, instrument: str | None, found: list[Finding]) -> Measured:
    where = f"--{name.replace('_', '-')}"
    tool = {"strength": STRENGTH_HALF_WIDTH, "length": LENGTH_HALF_WIDTH}.get(name, instrument)
    if name == "clearance":
        reading = read(said, where=where, instrument="as chosen ±0.000001 mm")
        return replace(reading.measured, u=0.0, source="as given")
    reading = read(said, where=where, instrument=tool)
    found.extend(reading.findings)
    return reading.measured


def _counted(share: float, half_width: float) -> Callable[[list[str], str], Measured]:
    def counted(said: list[str], where: str) -> Measured:
        values = [_above_zero(piece, where) for text in said for piece in text.split(";") if piece.strip()]
        if not values:
            raise error("number_not_read", where=where, saw=repr("; ".join(said)))
        mean = sum(values) / len(values)
        half = max(share * mean, half_width)
        many = f", {len(values)} times" if len(values) > 1 else ""
        return from_repeats(values, half_width=half, source=f"as given{many}, ±{plainly(half, 2)}")

    return counted


def _in_hours(said: list[str], where: str) -> list[str]:
    """Take `8 days` or `8 d` for 192 hours; a bare number is hours."""
    return [_hours(piece.strip(), where) for text in said for piece in text.split(";") if piece.strip()]


def _hours(text: str, where: str) -> str:
    told = re.fullmatch(r"(.+?)\s*(d|days?|h|hours?)", text, re.IGNORECASE)
    if told is None:
        return text
    return repr(24 * number(told[1], where=where)) if told[2].casefold().startswith("d") else str(told[1])


def _above_zero(text: str, where: str) -> float:
    if (value := number(text, where=where)) <= 0:
        raise error("number_not_sensible", where=where, saw=f"{text}")
    return value


def _one_of(*choices: str) -> Callable[[list[str], str], str]:
    def one_of(said: list[str], where: str) -> str:
        folded = said[-1].strip().casefold()
        if len({s.strip().casefold() for s in said}) > 1:
            raise error("given_twice", where=where, saw=" and ".join(map(repr, said)))
        if folded not in choices:
            raise error("choice_not_known", where=where, saw=repr(said[-1]), expected=f"Expected {', '.join(choices)}.")
        return folded

    return one_of


def _yes(said: list[str], where: str) -> bool:
    return _one_of("yes", "true", "1", "no", "false", "0", "")(said, where) in ("yes", "true", "1", "")


def _fill(said: list[str], where: str) -> float:
    fill = number(said[-1].strip().removesuffix("%"), where=where)
    fill = fill / 100 if said[-1].strip().endswith("%") else fill
    if not 0 < fill < 1:
        raise error("fill_not_sensible", where=where, saw=said[-1])
    return fill


def _turns_kept(said: list[str], where: str) -> float:
    if (value := number(said[-1], where=where)) < 0:
        raise error("number_not_sensible", where=where, saw=said[-1], expected="Expected zero or more turns.")
    return value


def _set_up(said: list[str], where: str) -> Measured:
    return Measured(_turns_kept(said, where), 0.0, "as given")


def _teeth(said: list[str], where: str) -> int:
    teeth = number(said[-1], where=where)
    if teeth != int(teeth) or not 4 <= teeth <= 400:
        raise error("number_not_sensible", where=where, saw=said[-1], expected="Expected a count of teeth, from 4.")
    return int(teeth)


_READERS: dict[str, Callable[[list[str], str], Any]] = {
    "turns": _counted(0.0, TURNS_HALF_WIDTH),
    "used": _counted(0.0, TURNS_HALF_WIDTH),
    "hours": lambda said, where: _counted(HOURS_SHARE, 0.0)(_in_hours(said, where), where),
    "fill": _fill,
    "drive": _one_of("going", "fusee"),
    "stop_work": _yes,
    "train": _one_of(*TRAINS),
    "set_up": _set_up,
    "reserve": _turns_kept,
    "ratchet_teeth": _teeth,
    "wheels": lambda said, where: train(" ".join(said), where=where),
    "fusee": lambda said, where: fusee_readings(said[-1], where=where),
    "free": lambda said, where: free_shape(said[-1], where=where),
}


def _seen(given: Mapping[str, list[str]]) -> dict[str, Any]:
    return {
        "rods": tuple(rod_test(text) for text in given.get("rod", [])),
        "originals": tuple(spring_seen(text, where="--original") for text in given.get("original", [])),
        "tried": tuple(tried(text) for text in given.get("tried", [])),
    }


def _material(given: Mapping[str, list[str]]) -> Material:
    steel = material(_single(given, "material") or "carbon", where="--material")
    for name, least, most in (("flow_stress", 200.0, 5000.0), ("modulus", 10_000.0, 500_000.0)):
        if text := _single(given, name):
            value = number(text, where=f"--{name.replace('_', '-')}")
            if not least <= value <= most:
                raise error(
                    "number_not_sensible",
                    where=f"--{name.replace('_', '-')}",
                    saw=f"{text} MPa",
                    expected=f"Expected MPa between {least:g} and {most:g}.",
                )
            steel = replace(steel, source="as given", **cast("dict[str, Any]", {f"{name}_mpa": value}))
    return steel


def _make_sense(barrel: Barrel) -> None:
    for name in ("bore", "arbor", "depth", "barrel_outside"):
        reading = getattr(barrel, name)
        if reading is not None and reading.value > LARGEST_BORE_MM:
            saw, expected = f"{reading.value:g} mm", f"Expected at most {LARGEST_BORE_MM:g} mm."
            raise error("length_not_sensible", where=f"--{name.replace('_', '-')}", saw=saw, expected=expected)
    if barrel.bore and barrel.arbor and barrel.arbor.value >= barrel.bore.value:
        size = "is as large as" if barrel.arbor.value == barrel.bore.value else "is larger than"
        saw = f"{barrel.arbor.value:g} mm {size} the bore ({barrel.bore.value:g} mm)"
        raise error("arbor_not_below_bore", where="--arbor", saw=saw)
    if barrel.barrel_outside and barrel.bore and barrel.barrel_outside.value <= barrel.bore.value:
        saw = f"{barrel.barrel_outside.value:g} mm outside, {barrel.bore.value:g} mm inside"
        raise error("outside_not_above_bore", where="--barrel-outside", saw=saw)
    if barrel.fusee and barrel.barrel_outside and barrel.fusee.radius_mm[-1] > barrel.barrel_outside.value:
        saw = f"a groove radius of {barrel.fusee.radius_mm[-1]:g} mm beside a barrel {barrel.barrel_outside.value:g} mm"
        raise error("groove_above_barrel", where="--fusee", saw=f"{saw} outside")
    _turns_are_possible(barrel)


def _turns_are_possible(barrel: Barrel) -> None:
    """Refuse turns that the strip given, or the thinnest mainspring there is, cannot give in this barrel."""
    if barrel.bore is None or barrel.arbor is None or barrel.turns is None:
        return
    thinnest = barrel.strength.value if barrel.strength else THINNEST_MM
    strip = f"{thinnest:g} mm strong" + ("" if barrel.strength else ", the thinnest mainspring")
    most = most_turns(barrel.bore.value, barrel.arbor.value, thinnest)
    if barrel.turns.value > most * 1.02:
        saw = f"{barrel.turns.value:g} turns; a strip {strip}, gives {most:.1f} at most in this barrel"
        raise error("turns_not_possible", where="--turns", saw=saw)


def _unusual(barrel: Barrel) -> tuple[Finding, ...]:
    if barrel.bore and barrel.arbor and not 0.2 <= barrel.arbor.value / barrel.bore.value <= 0.5:
        share = 100 * barrel.arbor.value / barrel.bore.value
        return (finding("arbor_unusual", where="--arbor", saw=f"{share:.0f} % of the bore"),)
    return ()


_HOW = {
    "bore": "Measure the inside diameter of the barrel, three times, turning it: --bore 34.02.",
    "arbor": "Measure the arbor where the spring wraps: --arbor 11.1.",
    "depth": "Measure from the floor to the underside of the cover: --depth 20.5.",
    "barrel_outside": "Measure the barrel where the chain winds: --barrel-outside 40.",
    "chain_height": "Measure how far the chain stands up from the barrel: --chain-height 1.2.",
    "used": "Say how many turns the barrel makes between windings, --used 3.5, or --hours with --wheels.",
}
