"""The verdicts on a spring that was fitted: the words, and on which side of the need each lies.

What a verdict says about the need, in numbers, is in `choosing.evidence`. A new verdict is a line here and one there.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Literal

Side = Literal["weak", "kept", "strong"]


@dataclass(frozen=True, slots=True)
class Verdict:
    """One verdict: its word, on which side of the need the spring was, and whether it says after what."""

    word: str
    side: Side
    takes_after: bool = False

    @property
    def was(self) -> str:
        """How it is said of a spring in a sentence."""
        return self.word if self.word.split()[0] in ("never", "stopped", "ran") else f"was {self.word}"


VERDICTS: Mapping[str, Verdict] = MappingProxyType({
    one.word: one
    for one in (
        Verdict("too weak", "weak"),
        Verdict("never ran", "weak"),
        Verdict("stopped", "weak", takes_after=True),
        Verdict("ran well", "kept"),
        Verdict("too strong", "strong"),
    )
})  # fmt: skip


def verdict_in(text: str) -> Verdict | None:
    """Return the verdict a text begins with; None for a word that is none of them.

    >>> verdict_in("stopped after 2 turns").side, verdict_in(" Ran  well ").side, verdict_in("hm")
    ('weak', 'kept', None)
    """
    said = " ".join(text.casefold().split())
    for one in VERDICTS.values():
        if said == one.word or (one.takes_after and said.startswith(one.word)):
            return one
    return None
