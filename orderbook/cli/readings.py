"""The flags of the readings of a barrel, shared by every command that takes them.

Every reading may be given again: repeats of one length are averaged. Texts go on unread; `verbs.barrels` reads them.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import wraps
from typing import Any

import click

# reading: (what stands in for the value in --help, what it is)
FLAGS = {
    "bore": ("34.02", "Inside diameter of the barrel. Any unit: 34,02 mm, 1.34 in, 15 ligne; repeats with ; between."),
    "arbor": ("11.1", "Diameter of the arbor where the spring wraps."),
    "depth": ("20.5", "Depth of the barrel, floor to underside of the cover."),
    "clearance": ("0.2", "Room left between strip and cover; else the usual one."),
    "instrument": ("NAME", "What it was measured with: caliper, micrometer, or caliper 0.02 mm for its ±."),
    "turns": ("6", "Turns between run down and fully wound."),
    "used": ("3.5", "Turns the barrel makes between windings."),
    "hours": ("192", "Hours between windings, or 8 days; with --wheels they give the turns used."),
    "wheels": ("80/12 72/9", "Wheels over the pinions they drive, barrel or fusee wheel first, to the centre pinion."),
    "strength": ("0.41", "Strength of the spring that is in the barrel, or that you have in mind."),
    "length": ("1450", "Its length inside the barrel."),
    "fill": ("0.5", "Share of the free room that the strip takes."),
    "drive": ("going|fusee", "Going barrel unless told."),
    "train": ("going|striking|…", "Which train the barrel drives."),
    "movement": ("watch|clock", "What it is in; else by the size of the barrel."),
    "end": ("hole", "How the outer end is held: hole, hook, loop, T or bridle."),
    "set_up": ("0.75", "Turns of set-up."),
    "reserve": ("0.75", "Turns kept back from fully wound."),
    "ratchet_teeth": ("20", "Teeth of the set-up ratchet: set-up is then given in clicks."),
    "fusee": ("GROOVES", "Groove radii: small x large x turns (6.5 x 11 x 8), or a CSV of turn and radius."),
    "barrel_outside": ("40", "Outside diameter of the barrel where the chain winds."),
    "chain_height": ("1.2", "How far chain or gut stands up from the barrel."),
    "rod": ("TEST", "Rod test: 50 g x 120 mm: gives, falling; or just drives."),
    "free": ("7.5 x 48", "Coils and outer diameter of the spring lying free on the bench."),
    "material": ("NAME", "carbon, old carbon, stainless or cobalt."),
    "flow_stress": ("MPA", "Flow stress of the strip in MPa, where you know better than the table."),
    "modulus": ("MPA", "Modulus of the strip in MPa, likewise."),
    "original": ("SPRING", "A surviving piece of the original: width x strength x length, ? where not known."),
    "tried": ("SPRING", "A spring tried: 2.9 x 0.15 x 560: too weak (never ran, stopped 2.1 turns, ran well …)."),
}  # fmt: skip


def readings(command: Callable[..., Any]) -> Callable[..., Any]:
    """Give a command the flags of the readings, as one argument `barrel_texts`: reading → texts as typed."""

    @wraps(command)
    def with_texts(**flags: Any) -> Any:
        texts = {name: list(flags.pop(name)) for name in FLAGS}
        if flags.pop("stop_work"):
            texts["stop_work"] = ["yes"]
        return command(barrel_texts={name: said for name, said in texts.items() if said}, **flags)

    stop_work = click.option("--stop-work", "stop_work", is_flag=True, help="The barrel has stop-work.")
    wrapped: Callable[..., Any] = stop_work(with_texts)
    for name, (stands_for, says) in reversed(FLAGS.items()):
        flag = f"--{name.replace('_', '-')}"
        wrapped = click.option(flag, name, multiple=True, metavar=stands_for, help=says)(wrapped)
    return wrapped
