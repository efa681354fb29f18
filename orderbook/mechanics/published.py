"""Every published number that this room is held against: source, what is printed, what we get.

`python -m orderbook.mechanics.published FILE.md` writes the table again; the tests hold every row and the page.
"""

from __future__ import annotations

import math
import sys
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from orderbook.measures import length_mm
from orderbook.mechanics.barrel import coils, most_turns, spring_length, spring_strength, spring_turns
from orderbook.mechanics.free_shape import springback_ratio
from orderbook.mechanics.torque import rate_per_turn, spring_slack, spring_torque
from orderbook.mechanics.train import blows_in_hours, hours_per_turn, train, turns_for_blows, turns_for_hours


@dataclass(frozen=True, slots=True)
class Check:
    """One published number: where it is printed, what it is, what is printed, how near, ours, and how it was seen."""

    source: str
    what: str
    printed: float
    within: float
    ours: Callable[[], float]
    seen: str  # "print seen", "from memory", "quoted second-hand", "derived"

    @property
    def holds(self) -> bool:
        """Whether ours is as near as the print allows."""
        return abs(self.ours() - self.printed) <= self.within * (1 + 1e-9)


HOROLOGY = "Reymondin, Monnier, Jeanneret, Pelaratti, *The Theory of Horology*, pp. 48–49"
ABBOTT = "Rozé's theorem, in Abbott, *American Watchmaker and Jeweler*, p. 257"
GOODRICH = "Goodrich, *The Modern Clock*, 1905"
DANIELS = "G. Daniels, *Watchmaking*, ch. 9"
BECKETT = "Beckett, *Clocks, Watches and Bells*, 8th ed. 1903"
JSPE = "*J. Japan Soc. Precision Eng.* vol. 18, no. 205, 1952"
DESIGN = "spring-industry design note, flat spiral with both ends clamped"
AMERICAN = "owner's amplitudes, pocket watch of 1901, NAWCC message board, thread 165139"
SHEET = "Kalpakjian & Schmid, *Manufacturing Processes*, sheet example"


def _third(part: str) -> float:
    """Barrel of arbor = bore/3 at half fill, bore 9 mm, strip 0.1 mm."""
    length = spring_length(9.0, 3.0, 0.1)
    up, down = coils(9.0, 3.0, 0.1, length)
    numbers = {
        "share": down * 0.1 / 3.0,
        "bore": down * 0.1 / 9.0,
        "turns": up - down,
        "length": length,
        "ratio": up / down,
    }
    return float(numbers[part])


def _coils_counted() -> float:
    """Build a barrel that has 17 coils run down and 25 wound, and count the turns."""
    floor = 50.0**2 - 33.0**2
    arbor = floor / 25.0 - 25.0
    return float(spring_turns(100.0, arbor, 1.0, math.pi * floor))


def _of_full(part: float) -> float:
    """Torque of an American watch's spring at a part of its winding over that fully wound: 0.16 × 661 mm."""
    bore, arbor, strength, length = 17.4, 5.8, 0.16, 661.0
    slack, turns = spring_slack(bore, arbor, strength, length), spring_turns(bore, arbor, strength, length)
    torque = [spring_torque(bore, arbor, 1.0, strength, length, slack + p * (turns - slack)) for p in (part, 1.0)]
    return float(torque[0] / torque[1])


def _per_hour(*pairs: str) -> float:
    return float(train(" ".join(pairs)).ratio)


CHECKS: tuple[Check, ...] = (
    Check(HOROLOGY, "turns, R 5.70 r 1.20 e 0.105 mm", 12.74, 0.005,
          lambda: spring_turns(11.4, 2.4, 0.105, spring_length(11.4, 2.4, 0.105)), "from memory"),
    Check(HOROLOGY, "length, mm", 464.51, 0.005, lambda: spring_length(11.4, 2.4, 0.105), "from memory"),
    Check(HOROLOGY, "length and 20 %, mm", 557.41, 0.005, lambda: 1.2 * spring_length(11.4, 2.4, 0.105), "from memory"),
    Check(HOROLOGY, "r/e", 11.43, 0.005, lambda: 1.2 / 0.105, "from memory"),
    Check(ABBOTT, "turns, 25 coils wound and 17 run down", 8.0, 1e-9, _coils_counted, "print seen"),
    Check(f"{GOODRICH}, p. 281", "band run down, part of the empty space, arbor = bore/3", 0.39, 0.01,
          lambda: _third("share"), "print seen"),
    Check(f"{GOODRICH}, p. 281", "band run down, part of the bore", 0.123, 0.005, lambda: _third("bore"), "print seen"),
    Check(f"{GOODRICH}, p. 281", "the same, “nearly one-eighth”", 0.125, 0.005, lambda: _third("bore"), "print seen"),
    Check(DANIELS, "strength for six turns, bore 21.3 arbor 7.1, mm", 0.26625, 0.0134,
          lambda: spring_strength(21.3, 7.1, 6.0), "quoted second-hand"),
    Check("geometry", "turns, arbor = bore/3, half fill, bore 9, e 0.1", (math.sqrt(5) - 2) / 3 * 90, 1e-9,
          lambda: _third("turns"), "derived"),
    Check("geometry", "length of the same, mm", math.pi / 9 * 810, 1e-9, lambda: _third("length"), "derived"),
    Check("geometry", "coils wound over run down, of the same", (1 + math.sqrt(5)) / 2, 1e-12,
          lambda: _third("ratio"), "derived"),
    Check("geometry", "most turns, bore 20 arbor 7 e 0.25", 5.93330, 5e-6,
          lambda: most_turns(20.0, 7.0, 0.25), "derived"),
    Check(f"{GOODRICH}, p. 259", "turns of the barrel in 8 days, ratio 12", 16.0, 1e-12,
          lambda: turns_for_hours(192, train("96/8")), "print seen"),
    Check(f"{GOODRICH}, p. 260", "hours a turn, barrel 96, pinion 8", 12.0, 1e-12,
          lambda: float(hours_per_turn(train("96/8"))), "print seen"),
    Check(f"{GOODRICH}, p. 260", "days, with 4:1 more", 32.0, 1e-12,
          lambda: 16 * _per_hour("4/1", "96/8") / 24, "print seen"),
    Check(f"{GOODRICH}, p. 266", "hours a turn, barrel 144, pinion 8", 18.0, 1e-12,
          lambda: float(hours_per_turn(train("144/8"))), "print seen"),
    Check(f"{GOODRICH}, p. 266", "days in 10 turns of it", 7.5, 1e-12,
          lambda: 10 * float(hours_per_turn(train("144/8"))) / 24, "print seen"),
    Check(f"{GOODRICH}, p. 297", "turns of the pin wheel, 84 into 8", 10.5, 1e-12,
          lambda: _per_hour("84/8"), "print seen"),
    Check("counting", "blows of an hour strike in 7½ days", 1170.0, 1e-9,
          lambda: float(blows_in_hours(180)), "derived"),
    Check("counting", "barrel turns for them, 84 into 8, 13 pins", 8.571, 0.0005,
          lambda: turns_for_blows(1170, train("84/8"), 13), "derived"),
    Check(f"{BECKETT}, p. 295", "beat of a lever watch 64 63 60 into 8 7 8, scape 15: seconds", 2 / 9, 1e-12,
          lambda: 3600 / (_per_hour("64/8", "63/7", "60/8") * 30), "print seen"),
    Check(f"{BECKETT}, p. 295", "hours a turn of its fusee, 75 into 10", 7.5, 1e-12,
          lambda: _per_hour("75/10"), "derived"),
    Check(f"{BECKETT}, p. 295", "fusee turns in 48 h, box chronometer, 90 into 14", 7.466667, 1e-6,
          lambda: turns_for_hours(48, train("90/14")), "derived"),
    Check(f"{BECKETT}, p. 138", "days of a year clock, 16 turns, 100 90 76 into 10 10 12", 380.0, 1e-9,
          lambda: 16 * _per_hour("100/10", "90/10", "76/12") / 24, "print seen"),
    Check(f"{BECKETT}, p. 138", "days, 16 turns, 192 190 into 8 8", 380.0, 1e-9,
          lambda: 16 * _per_hour("192/8", "190/8") / 24, "print seen"),
    Check(DESIGN, "N·mm a turn, E 206000 b 10 t 1 L 1200", 898.8446, 5e-5,
          lambda: rate_per_turn(10.0, 1.0, 1200.0), "derived"),
    Check(JSPE, "moment of the ideal shape, E 206000 b 1.5 t 0.105 strain 0.01, N·mm", 5.677875, 1e-6,
          lambda: 206000 * 1.5 * 0.105**3 / 12 * 2 * 0.01 / 0.105, "relation seen"),
    Check(SHEET, "radius ratio, Ri 0.5 in T 0.0359 in Y 40000 E 29e6 psi", 0.942, 0.001,
          lambda: float(springback_ratio(0.5 * 40e3 / (29e6 * 0.0359))), "from memory"),
    Check(AMERICAN, "torque at 8 of 24 turns of the crown, of full: (240°/310°)²", (240 / 310) ** 2, 0.02,
          lambda: _of_full(8 / 24), "second-hand; assumes torque ∝ amplitude²"),
    Check(AMERICAN, "the same at 12 of 24: (260°/310°)²", (260 / 310) ** 2, 0.02,
          lambda: _of_full(12 / 24), "second-hand; assumes torque ∝ amplitude²"),
    Check(AMERICAN, "the same at 20 of 24: (300°/310°)²", (300 / 310) ** 2, 0.06,
          lambda: _of_full(20 / 24), "second-hand; assumes torque ∝ amplitude²"),
    Check(f"{GOODRICH}, p. 18", "4 lignes, mm", 9.02332, 5e-6, lambda: length_mm("4 ligne"), "print seen"),
    Check(f"{GOODRICH}, p. 18", "10 lignes, mm", 22.55829, 5e-6, lambda: length_mm("10 ligne"), "print seen"),
    Check(f"{GOODRICH}, p. 18", "12 lignes, mm", 27.06995, 5e-6, lambda: length_mm("12 ligne"), "print seen"),
)  # fmt: skip


def published_page() -> str:
    """Write the table of every published check as a page."""
    rows = [
        f"| {c.source} | {c.what} | {_number(c.printed)} | {_number(c.ours())} | {c.ours() - c.printed:+.1e} "
        f"| {c.within:.1g} | {c.seen} |"
        for c in CHECKS
    ]
    return "\n".join([_ABOVE, *rows, _BELOW])


def _number(value: float) -> str:
    return f"{value:.10g}" if abs(value - round(value, 6)) < 1e-12 else f"{value:.7g}"


_ABOVE = """# Published checks of the mechanics

This page is written by `python -m orderbook.mechanics.published`; the tests hold every row of it, and that the page is
in step. "From memory" and "second-hand" mean that the print was not seen again: no test rests on such a row alone.

| source | what | printed | ours | difference | allowed | how seen |
| --- | --- | --- | --- | --- | --- | --- |"""

_BELOW = """
Printed slips that we do not follow: turns 5 and length 540 for bore 20, arbor 7, strip 0.25 (exact are 5.933 and
551.35); 156 × 7.5 as 1,070 (it is 1,170). A spring-trade handbook's turns with 2.55 in place of 2 are another quantity,
0.784 of the geometric turns. No measured torque curve of a real mainspring with its dimensions was found in print, so
the torque rests on theory, on independent numerical solutions in the tests, and on your own rod test. The nearest to
one are the amplitudes above: of a spring of 0.16 mm, its length, bore and arbor inferred from one of 0.17 × 620 mm at
half fill with an arbor of a third of the bore, and with the square of the amplitude taken as the torque. Both are
assumptions, so those rows check a shape and no more.
"""

if __name__ == "__main__":
    Path(sys.argv[1]).write_text(published_page(), encoding="utf-8")
