"""The train: from wheels and pinions to the turns of the barrel or the fusee that a run asks for.

A train is read from the barrel or fusee wheel on: each wheel with the pinion it drives.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from fractions import Fraction

from orderbook.errors import error


@dataclass(frozen=True, slots=True)
class Train:
    """Pairs of wheel and pinion, the barrel's or fusee's own wheel first.

    >>> Train(((96, 8),)).ratio
    Fraction(12, 1)
    """

    pairs: tuple[tuple[int, int], ...]
    pins: int = 0  # of the pin wheel that a striking train ends at

    @property
    def ratio(self) -> Fraction:
        """Turns of the last pinion in one turn of the first wheel."""
        turns = Fraction(1)
        for wheel, pinion in self.pairs:
            turns *= Fraction(wheel, pinion)
        return turns


def train(text: str, *, where: str = "wheels") -> Train:
    """Read a train as `96/8 84/7`: each wheel over the pinion it drives; a striking one ends in `8 pins`.

    Raises: OrderbookError(train_not_read) with what was seen.

    >>> train("96/8, 84/7").ratio
    Fraction(144, 1)
    """
    pins = re.search(r"(?:^|[\s,;])([0-9]{1,2})\s*pins?\s*$", text)
    whole, text = text, text[: pins.start()] if pins else text
    pieces = [piece for piece in re.split(r"[\s,;]+", re.sub(r"\s*/\s*", "/", text.strip())) if piece]
    pairs = [re.fullmatch(r"([0-9]{1,4})/([0-9]{1,4})", piece) for piece in pieces]
    if not pieces or any(pair is None for pair in pairs):
        raise error("train_not_read", where=where, saw=repr(whole))
    counts = tuple((int(pair[1]), int(pair[2])) for pair in pairs if pair)
    if any(wheel == 0 or pinion == 0 for wheel, pinion in counts):
        raise error("train_not_read", where=where, saw=f"{text!r} has a wheel or pinion without teeth")
    if pins and int(pins[1]) == 0:
        raise error("train_not_read", where=where, saw=f"{whole!r} has a pin wheel without pins")
    return Train(counts, int(pins[1]) if pins else 0)


def hours_per_turn(going: Train, last_turns_per_hour: Fraction = Fraction(1)) -> Fraction:
    """Hours for one turn of the barrel or fusee; the train ends at the centre pinion, one turn an hour, unless told.

    Source: Goodrich, *The Modern Clock*, 1905, p. 260: barrel 96 into a pinion of 8 is 12 hours.

    >>> hours_per_turn(train("96/8"))
    Fraction(12, 1)
    """
    return going.ratio / last_turns_per_hour


def turns_for_hours(hours: float, going: Train, last_turns_per_hour: Fraction = Fraction(1)) -> float:
    """Turns of the barrel or fusee that a run of so many hours uses.

    >>> turns_for_hours(192, train("96/8"))
    16.0
    """
    return float(Fraction(hours) / hours_per_turn(going, last_turns_per_hour))


def blows_per_turn(striking: Train, pins: int) -> Fraction:
    """Blows struck in one turn of the barrel or fusee; the train ends at the pin wheel, which has so many pins.

    >>> blows_per_turn(train("84/8"), 8)
    Fraction(84, 1)
    """
    if pins <= 0:
        raise error("train_not_read", where="pins", saw=f"{pins} pins")
    return striking.ratio * pins


def blows_in_hours(hours: int, *, halves: bool = False) -> int:
    """Blows of a strike that counts the hours from 1 to 12: 156 a day, 180 with one at each half.

    >>> blows_in_hours(24), blows_in_hours(24, halves=True), blows_in_hours(7 * 24)
    (156, 180, 1092)
    """
    days, rest = divmod(hours, 24)
    counted = sum((hour - 1) % 12 + 1 for hour in range(1, rest + 1))
    return 156 * days + counted + (hours if halves else 0)


def turns_for_blows(blows: int, striking: Train, pins: int) -> float:
    """Turns of the barrel or fusee that so many blows use.

    >>> round(turns_for_blows(1170, train("84/8"), 13), 3)
    8.571
    """
    return float(Fraction(blows) / blows_per_turn(striking, pins))
