"""Words for what a barrel is: its drive, the train it turns, the movement it is in, how its spring is held."""

from __future__ import annotations

import re

DRIVES = ("going", "fusee")
TRAINS = ("going", "striking", "chiming", "musical", "alarm")
MOVEMENTS = ("watch", "clock")

# outer ends of a spring, in the words of six languages
ENDS = {
    "hole": ("hole", "holes", "pierced", "loch", "gelocht", "trou", "trous", "percé", "foro", "forato", "agujero",
             "gat"),
    "hook": ("hook", "haken", "crochet", "gancio", "gancho", "haak"),
    "loop": ("loop", "öse", "oese", "schlaufe", "schlinge", "boucle", "œillet", "oeillet", "occhiello", "asola", "lazo",
             "ojal", "lus"),
    "T": ("t", "té", "t-end", "t-stück"),
    "bridle": ("bridle", "gleitzaum", "zaum", "bride", "briglia", "brida", "slippende", "sleepveer"),
}  # fmt: skip
_KIND_OF = {word: kind for kind, words in ENDS.items() for word in words}


def end_kind(text: str) -> str:
    """Return the kind of outer end a text names; a text that names none is its own kind, one of several is none.

    >>> [end_kind(said) for said in ("Loch", "trou", "holes both ends", "riveted hook", "special", "hole or hook", "")]
    ['hole', 'hole', 'hole', 'hook', 'special', '', '']
    """
    said = " ".join(text.casefold().split())
    named = {_KIND_OF[word] for word in re.findall(r"[\w-]+", said) if word in _KIND_OF}
    if not named:
        return said
    return named.pop() if len(named) == 1 else ""
