"""Springs as a restorer writes them down: `b x e x L`, with a verdict where one was tried."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import cast

from orderbook.barrel.verdicts import VERDICTS
from orderbook.errors import error
from orderbook.measures import length_mm, number

OLD_FLOW_STRESS = 0.06  # standard uncertainty of an old or unknown strip's flow stress, as a part (± 12 %)
STRENGTH_U_MM = 0.005 / 3**0.5  # of a strip's strength as written down: common practice, no source
_TIMES = re.compile(r"\s*[x×*]\s*", re.IGNORECASE)
_STOPPED = re.compile(r"stopped(?:\s+after)?\s+(?P<number>.+?)\s*(?P<unit>turns?|hours?|h)", re.IGNORECASE)

_NOTE = re.compile(r"\s*[,;]\s+(?=\D)|\s+\(")  # where a note begins; a decimal comma has no space after it
_SUCH_AS = "Write the spring, a colon and the verdict: 2.9 x 0.15 x 560: too weak."


@dataclass(frozen=True, slots=True)
class SpringSeen:
    """A strip that was measured: width, strength and length in mm; a width or length not known is None."""

    width_mm: float | None
    strength_mm: float
    length_mm: float | None
    text: str = ""


@dataclass(frozen=True, slots=True)
class Tried:
    """A spring that was fitted and how it did; stopped after so many turns or hours from fully wound.

    `length_mm` is the length that was fitted; `set_up_turns` the set-up given with it, None where it was not noted.
    `label` is its number in a book, `text` how it was put; `gone` says that it can no longer be fitted.

    >>> from orderbook import Barrel
    >>> barrel = Barrel(bore=15.6, arbor=5.2).tried("2.9 x 0.15 x 560", "stopped after 2.1 turns")
    >>> barrel.trials[0].verdict, barrel.trials[0].after_turns
    ('stopped', 2.1)
    """

    width_mm: float | None
    strength_mm: float
    length_mm: float | None
    verdict: str
    after_turns: float | None = None
    after_hours: float | None = None
    text: str = ""
    set_up_turns: float | None = None
    label: str = ""
    gone: bool = False


def spring_seen(text: str, *, where: str = "⟨original⟩") -> SpringSeen:
    """Read `2.9 x 0.15 x 560`; a `?` stands for a width or length that is not known.

    Raises: OrderbookError(spring_not_read | width_and_strength_swapped), or of the length in it that cannot be read.

    >>> spring_seen("2,9 x 0,15 x 560 mm", where="⟨original⟩").length_mm
    560.0
    """
    pieces = _TIMES.split(text.strip())
    if len(pieces) == 2:
        pieces.append("?")
    if len(pieces) != 3 or pieces[1].strip() == "?":
        raise error("spring_not_read", where=where, saw=repr(text))
    width, strength, length = (None if p.strip() == "?" else length_mm(p, where=where) for p in pieces)
    _not_swapped(width, cast("float", strength), where)
    return SpringSeen(width, cast("float", strength), length, text.strip())


def _not_swapped(width: float | None, strength: float, where: str) -> None:
    """Refuse a strip that is nearly as thick as wide: no mainspring is, so the sizes stand in another order."""
    if width is None or strength <= width / 3:
        return
    how = "larger than" if strength > width else "more than a third of"
    saw = f"'{width:g} x {strength:g}': the strength is {how} the width"
    raise error("width_and_strength_swapped", where=where, saw=saw)


def tried(text: str, *, where: str = "⟨tried⟩") -> Tried:
    """Read `2.9 x 0.15 x 560: too weak`; a note after a comma, such as an amplitude, is kept in the text.

    Raises: OrderbookError(spring_not_read | verdict_not_known).

    >>> tried("2.9 x 0.15 x 560: stopped after 2.1 turns").after_turns
    2.1
    >>> tried("2.9 x 0.17 x 500: ran well, amplitude 240").verdict
    'ran well'
    """
    spring_text, colon, verdict_text = text.partition(":")
    if not colon:
        raise error("verdict_not_known", where=where, saw=f"{text!r} without a verdict", try_this=_SUCH_AS)
    spring = spring_seen(spring_text, where=where)
    verdict, turns, hours = verdict_from(_NOTE.split(verdict_text, maxsplit=1)[0], where)
    return Tried(spring.width_mm, spring.strength_mm, spring.length_mm, verdict, turns, hours, text.strip())


def verdict_from(text: str, where: str) -> tuple[str, float | None, float | None]:
    """Read a verdict, and after how many turns or hours, where it says so.

    Raises: OrderbookError(verdict_not_known).

    >>> verdict_from("Stopped after 2.1 turns", "trial")
    ('stopped', 2.1, None)
    """
    folded = " ".join(text.casefold().replace("-", " ").replace("_", " ").split()).rstrip(".")
    if match := _STOPPED.fullmatch(folded):
        after = number(match["number"], where=where)
        if after < 0:
            raise error("verdict_not_known", where=where, saw=repr(text.strip()), try_this=_SUCH_AS)
        return ("stopped", after, None) if match["unit"].startswith("turn") else ("stopped", None, after)
    known = VERDICTS.get(folded)
    if known is not None and not known.takes_after:
        return known.word, None, None
    import difflib  # only wanted after a slip of the pen

    near = difflib.get_close_matches(folded, VERDICTS, n=1)
    hint = "Write after how many turns or hours: stopped after 2.1 turns." if folded.startswith("stopped") else None
    raise error(
        "verdict_not_known",
        where=where,
        saw=repr(text.strip()),
        try_this=hint or (f"Did you mean {near[0]!r}?" if near else _SUCH_AS),
    )


def spring_said(said: str) -> str:
    """How the user put a tried spring, without the verdict.

    >>> spring_said("2.9 x 0.15 x 560: too weak"), spring_said("")
    ('2.9 x 0.15 x 560', 'the spring tried')
    """
    return said.partition(":")[0].strip() or "the spring tried"
