"""The fusee as read on the bench: two ends, or measured grooves in a file."""

from __future__ import annotations

import csv
import re
from dataclasses import dataclass
from itertools import pairwise
from pathlib import Path

from orderbook.errors import OrderbookError, error
from orderbook.measures import length_mm, number

_TIMES = re.compile(r"\s*[x×*]\s*", re.IGNORECASE)
_FILE = re.compile(r"(?P<file>.+\.(?:csv|tsv|txt))(?:\s+(?:x|×|scale)\s*(?P<scale>.+))?", re.IGNORECASE)


@dataclass(frozen=True, slots=True)
class FuseeReadings:
    """Groove radii in mm at fusee turns from the small end, before the chain's half height is added."""

    turns: tuple[float, ...]
    radius_mm: tuple[float, ...]
    text: str

    @property
    def two_ends(self) -> bool:
        """Whether only the two ends were measured."""
        return len(self.turns) == 2


def fusee_readings(text: str, *, where: str = "⟨fusee⟩") -> FuseeReadings:
    """Read `small x large x turns` (groove radii), or a CSV of turn and radius, with a scale where it is not in mm.

    Raises: OrderbookError(fusee_not_read | cone_does_not_grow).

    >>> fusee_readings("6.5 x 11 x 8 turns").radius_mm
    (6.5, 11.0)
    """
    if match := _FILE.fullmatch(text.strip()):
        scale = length_mm(match["scale"], where=where) if match["scale"] else None
        return _checked(_grooves(Path(match["file"]), scale, where), text, where)
    pieces = _TIMES.split(text.strip())
    if len(pieces) != 3:
        raise error("fusee_not_read", where=where, saw=repr(text))
    small, large = (length_mm(piece, where=where) for piece in pieces[:2])
    turns = number(re.sub(r"\s*turns?$", "", pieces[2].strip(), flags=re.IGNORECASE), where=where)
    if turns <= 0:
        raise error("fusee_not_read", where=where, saw=repr(text))
    return _checked([(0.0, small), (turns, large)], text, where)


def _grooves(path: Path, scale: float | None, where: str) -> list[tuple[float, float]]:
    try:
        lines = path.read_text(encoding="utf-8-sig").splitlines()
    except UnicodeDecodeError as problem:
        raise error("fusee_not_read", where=f"{where} {path}", saw="it is not a text file") from problem
    apart = ";" if any(";" in line for line in lines) else ("\t" if any("\t" in line for line in lines) else ",")
    rows = [row for row in csv.reader(lines, delimiter=apart) if any(cell.strip() for cell in row)]
    unit, halves = _unit_of(rows[0]) if rows else ("mm", False)
    found = []
    for line, row in enumerate(rows, 1):
        here = f"{where} {path}, line {line}"
        if len(row) < 2:
            raise error("fusee_not_read", where=here, saw=repr(apart.join(row)))
        try:
            turn = number(row[0], where=here)
            radius = number(row[1], where=here) * scale if scale else length_mm(row[1], where=here, unit=unit)
        except OrderbookError:
            if line == 1:
                continue  # a header
            raise
        found.append((turn, radius / 2 if halves else radius))
    return found


def _unit_of(header: list[str]) -> tuple[str, bool]:
    second = header[1].casefold() if len(header) > 1 else ""
    word = next((w for w in re.findall(r"[^\W\d_]+", second) if w in ("mm", "cm", "in", "inch", "thou", "ligne")), "mm")
    return word, "diam" in second


def _checked(found: list[tuple[float, float]], text: str, where: str) -> FuseeReadings:
    if len(found) < 2:
        raise error("fusee_not_read", where=where, saw=f"{text!r}: fewer than two grooves")
    found = sorted(found)
    turns, radius = (tuple(column) for column in zip(*found, strict=True))
    if radius[0] > radius[-1] and all(a >= b for a, b in pairwise(radius)) and len(found) > 2:
        turns = tuple(turns[-1] - t for t in reversed(turns))  # counted from the thick end
        radius = tuple(reversed(radius))
    if any(b <= a for a, b in pairwise(turns)) or any(b <= a for a, b in pairwise(radius)):
        raise error("cone_does_not_grow", where=where, saw=f"{text!r}: radii {', '.join(f'{r:g}' for r in radius)} mm")
    return FuseeReadings(tuple(t - turns[0] for t in turns), radius, text.strip())
