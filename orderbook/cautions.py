"""What can hurt, said where the work is named: the usual cautions and to whom to defer. No recipes."""

from __future__ import annotations

import re
import tomllib
from dataclasses import dataclass
from functools import cache
from pathlib import Path


@dataclass(frozen=True, slots=True)
class Caution:
    """One danger: the words that bring it up, what is said, and to whom to defer."""

    name: str
    words: tuple[str, ...]
    says: str
    defer_to: str

    def __str__(self) -> str:
        """Read as two sentences: the danger, then whom to ask."""
        return f"{self.says} {self.defer_to}"


def caution(name: str) -> Caution:
    """Return one caution by its name.

    >>> caution("wound_spring").defer_to
    'If you have not done it before, have it done by someone trained to.'
    """
    return _all()[name]


def cautions_for(text: str) -> tuple[Caution, ...]:
    """Return the cautions whose words stand in `text`, in the order of the file.

    >>> [c.name for c in cautions_for("Re-gild the hands, harden the click")]
    ['salts', 'heat']
    >>> cautions_for("new dial feet")
    ()
    """
    folded = text.casefold()
    return tuple(c for c in _all().values() if _words(c.words).search(folded))


@cache
def _words(words: tuple[str, ...]) -> re.Pattern[str]:
    longest_first = sorted(words, key=len, reverse=True)
    beginnings = (re.escape(w[:-1]) + r"\w*" if w.endswith("*") else re.escape(w) + "s?" for w in longest_first)
    return re.compile(r"\b(?:" + "|".join(beginnings) + r")\b")


@cache
def _all() -> dict[str, Caution]:
    entries = tomllib.loads(Path(__file__).with_name("cautions.toml").read_text(encoding="utf-8"))
    return {
        name: Caution(name, tuple(entry["words"]), entry["says"], entry["defer_to"]) for name, entry in entries.items()
    }
