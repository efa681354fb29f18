"""The functions that answer with a block of rows: what a barrel asks for, ranked springs, the graded order."""

from __future__ import annotations

import hashlib
import pickle
from collections import OrderedDict
from collections.abc import Callable, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING, Any

from orderbook.answers.answer import asked_barrel, considered
from orderbook.answers.asked import springs_of
from orderbook.barrel.barrel import Barrel
from orderbook.errors import Finding, error
from orderbook.functions.ranges import Range, books_in, cells_of
from orderbook.records.books import Books

if TYPE_CHECKING:
    from orderbook.choosing.considering import Considered

Rows = list[list[Any]]
SIZE_COLUMNS = ("what", "value", "unit", "±", "source")
SPRING_COLUMNS = (
    "supplier", "item", "width_mm", "strength_mm", "length_mm", "trim_to_mm", "drive_index", "drive_index_pm",
    "load_index", "load_index_pm", "step_percent", "chance_percent", "turns_delivered", "fill", "price", "currency",
    "why",
)  # fmt: skip
RANK_COLUMNS = ("rank", *SPRING_COLUMNS)
STAGE_COLUMNS = ("stage", *SPRING_COLUMNS)
USUAL_TOP, USUAL_COUNT = 10, 3
SIZE_ROWS = 18  # a block keeps its shape, whatever is known of a barrel
MOST_ROWS_SHOWN = 1000
MOST_REJECTS = 3
MOST_CELLS_KEPT = 1_000_000


class Kept:
    """What was worked out of ranges lately, by their contents, so that a second block does not read them again."""

    def __init__(self, most_cells: int = MOST_CELLS_KEPT) -> None:
        """Start empty."""
        self.most_cells = most_cells
        self.cells = 0
        self.found: OrderedDict[bytes, tuple[int, Any]] = OrderedDict()

    def get(self, make: Callable[..., Any], *given: Any) -> Any:
        """Return `make(*given)`, from what is kept where the same was given before."""
        key = hashlib.blake2b(pickle.dumps((make.__name__, given), protocol=5), digest_size=16).digest()
        if key in self.found:
            self.found.move_to_end(key)
            return self.found[key][1]
        made = make(*given)
        size = sum(len(part) * len(part[0]) for part in given if isinstance(part, (list, tuple)) and part)
        if size <= self.most_cells:
            self.found[key] = (size, made)
            self.cells += size
        while self.cells > self.most_cells:
            _, (gone, _) = self.found.popitem(last=False)
            self.cells -= gone
        return made


KEPT = Kept()


def spring_size(
    bore_mm: float,
    arbor_mm: float,
    depth_mm: float,
    turns: float | None = None,
    used_turns: float | None = None,
    strength_mm: float | None = None,
) -> Rows:
    """Size the spring of a barrel from single readings, each known to what a caliper can be wrong by.

    >>> spring_size(15.6, 5.2, 3.1, used_turns=3.5)[0][:3]
    ['width', 2.98, 'mm']
    """
    return _size_rows(Barrel(bore_mm, arbor_mm, depth_mm, turns=turns, used=used_turns, strength=strength_mm))


def barrel_size(barrel_id: str | float, barrels: Range, trials: Range | None = None) -> Rows:
    """Size the spring of a barrel of the book's tables, each a range with its header or a data frame.

    >>> import pandas as pd
    >>> barrels = pd.DataFrame({"barrel": ["R-1-B1"], "restoration": ["R-1"], "drive": ["going"], "turns_used": [3.5],
    ...                         "bore_mm": [15.6], "arbor_mm": [5.2], "depth_mm": [3.1]})
    >>> barrel_size("R-1-B1", barrels)[0][:3]
    ['width', 2.98, 'mm']
    """
    return _size_rows(asked_barrel(books_in(barrels=barrels, trials=trials), _text(barrel_id)))


def _size_rows(barrel: Barrel) -> Rows:
    from orderbook.barrel.sizing import size

    lines = [[line.what, line.value, line.unit, 2 * line.u, line.source] for line in size(barrel).lines]
    return lines + [[None] * len(SIZE_COLUMNS) for _ in range(SIZE_ROWS - len(lines))]


def rank_springs(
    barrel_id: str | float,
    barrels: Range,
    catalogue: Range,
    trials: Range | None = None,
    suppliers: Range | None = None,
    rates: Range | None = None,
    drawer: Range | None = None,
    weights: Range | None = None,
    top: float = USUAL_TOP,
    currency: str | float = "",
) -> Rows:
    """Rank the springs of the book's catalogue for one barrel; always `top` rows, the surplus empty.

    >>> import pandas as pd
    >>> barrels = pd.DataFrame({"barrel": ["R-1-B1"], "restoration": ["R-1"], "drive": ["going"], "turns_used": [3.5],
    ...                         "bore_mm": [15.6], "arbor_mm": [5.2], "depth_mm": [3.1]})
    >>> springs = pd.DataFrame({"supplier": ["Supplier North"] * 2, "item": ["a", "b"], "width_mm": [2.9, 2.9],
    ...                         "strength_mm": [0.15, 0.17], "length_mm": [566, 500]})
    >>> [row[:3] for row in rank_springs("R-1-B1", barrels, springs, top=2)]
    [[1, 'Supplier North', 'a'], [2, 'Supplier North', 'b']]
    """
    from orderbook.choosing.ranking import ranking_of

    rows = _whole(top, "top", MOST_ROWS_SHOWN)
    tables = {"barrels": barrels, "trials": trials, "suppliers": suppliers, "rates": rates, "drawer": drawer,
              "weights": weights}  # fmt: skip
    c, rejects = _kept(catalogue, currency, barrel_id, None, tables)
    ranked = ranking_of(replace(c, options=replace(c.options, top=rows))).ranked
    springs = [(one.rank, one.spring, one.account.stages[0].fits, one.why) for one in ranked]
    return _padded(_lines(c, springs), rows, rejects, c.findings)


def graded_order(
    barrel_id: str | float,
    barrels: Range,
    catalogue: Range,
    trials: Range | None = None,
    suppliers: Range | None = None,
    rates: Range | None = None,
    drawer: Range | None = None,
    weights: Range | None = None,
    count: float | None = None,
    currency: str | float = "",
) -> Rows:
    """Grade the order for one barrel, weakest first; `count` rows, or three with what pays where it is left out.

    >>> import pandas as pd
    >>> barrels = pd.DataFrame({"barrel": ["R-1-B1"], "restoration": ["R-1"], "drive": ["going"], "turns_used": [3.5],
    ...                         "bore_mm": [15.6], "arbor_mm": [5.2], "depth_mm": [3.1]})
    >>> springs = pd.DataFrame({"supplier": ["Supplier North"] * 2, "item": ["a", "b"], "width_mm": [2.9, 2.9],
    ...                         "strength_mm": [0.15, 0.17], "length_mm": [566, 500]})
    >>> [row[:3] for row in graded_order("R-1-B1", barrels, springs, count=2)]
    [[1, 'Supplier North', 'a'], [2, 'Supplier North', 'b']]
    """
    from orderbook.choosing.grading import stages_of

    asked = None if count is None else _whole(count, "count", 5)
    tables = {"barrels": barrels, "trials": trials, "suppliers": suppliers, "rates": rates, "drawer": drawer,
              "weights": weights}  # fmt: skip
    c, rejects = _kept(catalogue, currency, barrel_id, asked, tables)
    grading = stages_of(c)
    whys = [stage["why"] for stage in grading.stage_dicts()]
    springs = [(n + 1, stage.row, stage.fits, whys[n]) for n, stage in enumerate(grading.fittings)]
    return _padded(_lines(c, springs), asked or USUAL_COUNT, rejects, grading.findings)


def _kept(
    catalogue: Range, currency: str | float, barrel_id: str | float, count: int | None, tables: dict[str, Range | None]
) -> tuple[Considered, tuple[str, ...]]:
    """Work out all that ranking and grading share, once for the same ranges."""
    cells = {name: None if table is None else cells_of(table, name) for name, table in tables.items()}
    found: tuple[Considered, tuple[str, ...]] = KEPT.get(
        _considered, cells_of(catalogue, "catalogue"), currency, barrel_id, count, cells
    )
    return found


def _books(catalogue: Range, currency: str | float, **tables: Range | None) -> Books:
    """Read the tables; a list that was read for another block, or before another table changed, is not read again."""
    others = books_in(_text(currency).upper(), **tables)
    listed: Books = KEPT.get(_listed, catalogue)
    return listed.joined(others)


def _listed(catalogue: Range) -> Books:
    return books_in(catalogue=catalogue)


def _considered(
    catalogue: Range, currency: str | float, barrel_id: str | float, count: int | None, tables: dict[str, Range | None]
) -> tuple[Considered, tuple[str, ...]]:
    """Work out all that ranking and grading share."""
    books = _books(catalogue, currency, **tables)
    rejects = tuple(said.saw for said in springs_of(books)[1])
    return considered(books, _text(barrel_id), count=count, top=MOST_ROWS_SHOWN), rejects


def _text(value: Any) -> str:
    """Take a number a person typed for a name as its digits."""
    return str(int(value)) if isinstance(value, float) and value.is_integer() else str(value or "").strip()


def _whole(value: float, where: str, most: int) -> int:
    if value != int(value) or not 1 <= value <= most:
        raise error(
            "count_in_cell", where=where, saw=f"{value:g}", expected=f"Expected a whole number from 1 to {most}."
        )
    return int(value)


def _lines(c: Considered, springs: Sequence[tuple[int, int, float, str]]) -> Rows:
    """One line a spring: number, the spring, step over the line before, chance that it is the one, why."""
    from orderbook.choosing.said import spring_dict

    drive = c.offer.fits.drive_index
    lines: Rows = []
    before: float | None = None
    for number, spring, chance, why in springs:
        step = None if before is None else float(100 * (drive[spring] / before - 1))
        before = drive[spring]
        said = spring_dict(c, spring)
        said |= {"step_percent": step, "chance_percent": 100 * chance, "why": why}
        said |= {f"{key}_pm": 2 * said[f"{key}_u"] for key in ("drive_index", "load_index")}
        said["price"] = float(said["price"]) if said["price"] else None
        lines.append([number, *(said[key] for key in SPRING_COLUMNS)])
    return lines


def _padded(lines: Rows, rows: int, rejects: Sequence[str], findings: Sequence[Finding]) -> Rows:
    """Fill up to `rows` lines; say why there are none, and how many rows of the list could not be used."""
    if not lines:
        first = next((f for f in findings if f.severity == "error"), None) or next(iter(findings), None)
        lines = [[f"#{first}" if first else "#nothing goes in"]]
    if rejects:
        said = f"#{len(rejects)} rows of the catalogue could not be used: {'; '.join(rejects[:MOST_REJECTS])}"
        if len(lines) < rows:
            lines = [*lines, [said]]
        else:
            lines[-1] = [*lines[-1][:-1], f"{lines[-1][-1]}; {said[1:]}"]
    width = len(RANK_COLUMNS)
    filled = [line + [None] * (width - len(line)) for line in lines[:rows]]
    return filled + [[None] * width for _ in range(rows - len(filled))]
