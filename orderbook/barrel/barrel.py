"""A barrel as read on the bench: every reading and every spring tried in it, as values with their ±.

`Barrel` takes what a person has: numbers in mm, repeats, text with a unit, quantities, or values that were read
already. Text is read once, in `typed`, and nothing prints a number to read it again.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any, Literal

from orderbook.barrel import typed
from orderbook.barrel.bench_tests import FreeShape, RodTest
from orderbook.barrel.fusee_readings import FuseeReadings
from orderbook.barrel.springs_seen import SpringSeen, Tried, spring_seen, verdict_from
from orderbook.barrel.typed import mark
from orderbook.barrel.words import DRIVES, MOVEMENTS, TRAINS
from orderbook.errors import Finding, error, finding
from orderbook.measures import Measured
from orderbook.mechanics.barrel import most_turns
from orderbook.mechanics.given import LARGEST_BORE_MM
from orderbook.mechanics.materials import Material, material
from orderbook.mechanics.train import Train

LENGTHS = ("bore", "arbor", "depth", "clearance", "barrel_outside", "chain_height", "strength", "length")
READINGS = (
    "bore", "arbor", "depth", "clearance", "instrument", "turns", "used", "hours", "strength", "length", "fill",
    "drive", "stop_work", "train", "movement", "end", "set_up", "reserve", "ratchet_teeth", "wheels", "fusee",
    "barrel_outside", "chain_height", "rod", "free", "material", "flow_stress", "modulus", "original", "tried",
)  # fmt: skip
THINNEST_MM = 0.03  # of a mainspring: common practice, no source
_READERS: Mapping[str, Any] = {
    "turns": typed.turns, "used": typed.turns, "hours": typed.hours, "fill": typed.fill,
    "drive": typed.one_of(*DRIVES), "stop_work": typed.yes, "train": typed.one_of(*TRAINS),
    "movement": typed.one_of(*MOVEMENTS), "end": typed.word, "set_up": typed.set_up, "reserve": typed.turns_kept,
    "ratchet_teeth": typed.teeth, "wheels": typed.wheels, "fusee": typed.fusee, "free": typed.free,
}  # fmt: skip


@dataclass(frozen=True, slots=True, init=False, repr=False)
class Barrel:
    """Everything the readings say about one barrel; a quantity that was not read is None. Lengths in mm.

    Parameters: lengths as numbers in mm, repeats, text with a unit, quantities of any pint registry, or `Measured`;
    `used` and `turns` in barrel turns, `hours` in hours or `8 days`; `wheels` as `80/12 72/9`; `fusee` as
    `small x large x turns`; `tried` springs as `2.9 x 0.15 x 560: too weak`; `original` as `2.9 x 0.15 x 560`.
    `notes` says what should be known about the readings.
    Raises: OrderbookError naming the reading that cannot be read or does not make sense.

    >>> barrel = Barrel(bore=[15.60, 15.62], arbor="5.2 mm", depth=3.1, used=3.5)
    >>> print(barrel.bore)
    15.61 ± 0.051
    >>> [one.verdict for one in barrel.tried("2.9 x 0.15 x 560", "too weak").trials]
    ['too weak']
    """

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
    movement: str = ""
    end: str = ""
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
    trials: tuple[Tried, ...] = ()
    notes: tuple[Finding, ...] = field(default=(), compare=False)

    def __init__(
        self,
        bore: Any = None,
        arbor: Any = None,
        depth: Any = None,
        *,
        clearance: Any = None,
        instrument: str | None = None,
        strength: Any = None,
        length: Any = None,
        turns: Any = None,
        used: Any = None,
        hours: Any = None,
        fill: Any = None,
        drive: Any = None,
        stop_work: Any = None,
        train: Any = None,
        movement: Any = None,
        end: Any = None,
        set_up: Any = None,
        reserve: Any = None,
        ratchet_teeth: Any = None,
        wheels: Any = None,
        fusee: Any = None,
        barrel_outside: Any = None,
        chain_height: Any = None,
        rod: Any = (),
        free: Any = None,
        material: Any = None,
        flow_stress: Any = None,
        modulus: Any = None,
        original: Any = (),
        tried: Any = (),
        notes: Sequence[Finding] = (),
    ) -> None:
        """Read each value once, then look whether they make sense together."""
        given = {name: value for name, value in locals().items() if name not in ("self", "notes")}
        told = list(notes)
        tool = typed.word("instrument", instrument)
        values: dict[str, Any] = {name: typed.length(name, given[name], tool, told) for name in LENGTHS}
        values |= {name: reader(name, given[name]) for name, reader in _READERS.items()}
        values |= {
            "rods": typed.rods("rod", rod),
            "originals": typed.springs("original", original),
            "trials": typed.trials("tried", tried),
            "material": typed.steel(material, flow_stress, modulus),
        }
        for name in self.__slots__:
            value = values.get(name)
            object.__setattr__(self, name, _USUAL.get(name) if value is None else value)
        _make_sense(self)
        object.__setattr__(self, "notes", (*told, *_unusual(self)))

    def tried(self, spring: str | SpringSeen, verdict: str = "", **more: Any) -> Barrel:
        """Return the barrel with one more spring tried in it, such as `barrel.tried("2.9 x 0.15 x 560", "too weak")`.

        Parameters: the spring as `width x strength x length`, `?` for a size not known; the verdict; more fields of
        `Tried`, such as `set_up_turns`.
        Raises: OrderbookError for a spring or verdict that cannot be read.
        """
        seen = spring if isinstance(spring, SpringSeen) else spring_seen(spring, where=mark("tried"))
        said, turns_off, hours_off = verdict_from(verdict, mark("tried"))
        text = f"{seen.text}: {verdict}"
        known = {"after_turns": turns_off, "after_hours": hours_off, "text": text} | more
        one = Tried(seen.width_mm, seen.strength_mm, seen.length_mm, said, **known)
        return with_readings(self, trials=(*self.trials, one))

    def __repr__(self) -> str:
        """Show what was read, and leave out what was not.

        >>> Barrel(bore=15.6, arbor=5.2, used=3.5)
        Barrel(bore=15.6 ± 0.035, arbor=5.2 ± 0.035, used=3.5 ± 0.14)
        """
        usual = {"material": material(), "notes": self.notes, **_USUAL}
        read = {name: getattr(self, name) for name in self.__slots__}
        told = {name: value for name, value in read.items() if value not in (None, (), usual.get(name))}
        return f"Barrel({', '.join(f'{name}={_said(value)}' for name, value in told.items())})"

    def needs(self, *names: str) -> None:
        """Raise reading_missing for the first of these readings that is not there."""
        for name in names:
            if getattr(self, name) is None:
                raise error("reading_missing", where=mark(name), saw="not given", try_this=_HOW[name])


def _said(value: Any) -> str:
    if isinstance(value, tuple):
        return f"[{', '.join(getattr(one, 'text', '') or str(one) for one in value)}]"
    return str(getattr(value, "name", value))


_USUAL: Mapping[str, Any] = {
    "fill": 0.5, "drive": "going", "stop_work": False, "train": "going", "movement": "", "end": ""
}  # fmt: skip


def with_readings(barrel: Barrel, **values: Any) -> Barrel:
    """Return the barrel with some of its values replaced, looked over again."""
    changed = replace_values(barrel, values)
    _make_sense(changed)
    return changed


def replace_values(barrel: Barrel, values: Mapping[str, Any]) -> Barrel:
    """Return a copy with some values replaced and nothing looked over."""
    copy = object.__new__(Barrel)
    for name in Barrel.__slots__:
        object.__setattr__(copy, name, values.get(name, getattr(barrel, name)))
    return copy


def barrel_from_texts(texts: Mapping[str, Sequence[str]]) -> tuple[Barrel, tuple[Finding, ...]]:
    """Read a barrel from texts keyed by the words of the readings (`bore`, `set-up` or `set_up` …).

    Returns: the barrel, and what should be known about its readings.
    Raises: OrderbookError for a text that cannot be read, naming the reading.

    >>> barrel, findings = barrel_from_texts({"bore": ["15.6"], "arbor": ["5.2"], "used": ["3.5"]})
    >>> barrel.bore.value, barrel.used.value, [f.code for f in findings]
    (15.6, 3.5, [])
    """
    given: dict[str, Any] = {_known(word): list(said) for word, said in texts.items() if said}
    barrel = Barrel(**given)
    return barrel, barrel.notes


def _known(word: str) -> str:
    name = word.strip().lstrip("-").replace("-", "_").replace(" ", "_").casefold()
    if name in READINGS:
        return name
    import difflib  # only wanted after a slip of the pen

    near = difflib.get_close_matches(name, READINGS, n=1)
    raise error("reading_not_known", where=word, saw="is no reading of a barrel", try_this=_did_you_mean(near))


def _did_you_mean(near: list[str]) -> str | None:
    return f"Did you mean {near[0].replace('_', ' ')!r}?" if near else None


def _make_sense(barrel: Barrel) -> None:
    for name in ("bore", "arbor", "depth", "barrel_outside"):
        reading = getattr(barrel, name)
        if reading is not None and not 0 < reading.value <= LARGEST_BORE_MM:
            saw, expected = f"{reading.value:g} mm", f"Expected at most {LARGEST_BORE_MM:g} mm."
            raise error("length_not_sensible", where=mark(name), saw=saw, expected=expected)
    if barrel.bore and barrel.arbor and barrel.arbor.value >= barrel.bore.value:
        size = "is as large as" if barrel.arbor.value == barrel.bore.value else "is larger than"
        saw = f"{barrel.arbor.value:g} mm {size} the bore ({barrel.bore.value:g} mm)"
        raise error("arbor_not_below_bore", where=mark("arbor"), saw=saw)
    if barrel.barrel_outside and barrel.bore and barrel.barrel_outside.value <= barrel.bore.value:
        saw = f"{barrel.barrel_outside.value:g} mm outside, {barrel.bore.value:g} mm inside"
        raise error("outside_not_above_bore", where=mark("barrel_outside"), saw=saw)
    if barrel.fusee and barrel.barrel_outside and barrel.fusee.radius_mm[-1] > barrel.barrel_outside.value:
        saw = f"a groove radius of {barrel.fusee.radius_mm[-1]:g} mm beside a barrel {barrel.barrel_outside.value:g} mm"
        raise error("groove_above_barrel", where=mark("fusee"), saw=f"{saw} outside")
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
        raise error("turns_not_possible", where=mark("turns"), saw=saw)


def _unusual(barrel: Barrel) -> tuple[Finding, ...]:
    if barrel.bore and barrel.arbor and not 0.2 <= barrel.arbor.value / barrel.bore.value <= 0.5:
        share = 100 * barrel.arbor.value / barrel.bore.value
        return (finding("arbor_unusual", where=mark("arbor"), saw=f"{share:.0f} % of the bore"),)
    return ()


_HOW = {
    "bore": "Measure the inside diameter of the barrel, three times, turning it: ⟨bore 34.02⟩.",
    "arbor": "Measure the arbor where the spring wraps: ⟨arbor 11.1⟩.",
    "depth": "Measure from the floor to the underside of the cover: ⟨depth 20.5⟩.",
    "barrel_outside": "Measure the barrel where the chain winds: ⟨barrel_outside 40⟩.",
    "chain_height": "Measure how far the chain stands up from the barrel: ⟨chain_height 1.2⟩.",
    "used": "Say how many turns the barrel makes between windings, ⟨used 3.5⟩, or ⟨hours⟩ with ⟨wheels⟩.",
}
