"""A graded order that is handed over: as `grade` answered it, or as its JSON was kept in a file."""

from __future__ import annotations

import json
from decimal import Decimal
from pathlib import Path
from typing import TYPE_CHECKING, Any

from orderbook.errors import error
from orderbook.records.identifiers import tidy
from orderbook.records.planned_spring import PlannedSpring, stage_of
from orderbook.records.rows import Place, Row

if TYPE_CHECKING:
    from orderbook.choosing.grading import Grading


def graded_order(given: Grading | Path | str, barrel: str) -> tuple[str, list[PlannedSpring]]:
    """Read the stages of a graded order for a barrel.

    Raises: OrderbookError(barrel_missing | stage_not_read).
    """
    if not barrel:
        raise error("barrel_missing", where="⟨barrel⟩", saw="no barrel for the graded order")
    is_file = isinstance(given, (Path, str))
    name = Path(given).name if isinstance(given, (Path, str)) else "graded order"
    try:
        told = Path(given).read_text(encoding="utf-8") if isinstance(given, (Path, str)) else _json(given)
        stages = json.loads(told, parse_float=Decimal)["stages"]
        return tidy(barrel), [_stage(name, number, stage) for number, stage in enumerate(stages, 1)]
    except (ValueError, KeyError, TypeError, AttributeError) as problem:
        where = str(given) if is_file else "⟨stages⟩"
        raise error("stage_not_read", where=where, saw=f"no stages in it ({type(problem).__name__})") from problem


def _json(grading: Grading) -> str:
    return json.dumps({"stages": grading.stage_dicts()}, default=float)


def _stage(name: str, number: int, stage: dict[str, Any]) -> PlannedSpring:
    return stage_of(Row(dict(stage), Place(f"{name} stage", number)))
