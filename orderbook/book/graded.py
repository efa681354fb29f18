"""A graded order as `grade --json` wrote it."""

from __future__ import annotations

import json
from decimal import Decimal
from pathlib import Path
from typing import Any

from orderbook.errors import error
from orderbook.records.identifiers import tidy
from orderbook.records.planned_spring import PlannedSpring, stage_of
from orderbook.records.rows import Place, Row


def graded_order(path: Path, barrel: str) -> tuple[str, list[PlannedSpring]]:
    """Read the stages of a graded order for a barrel.

    Raises: OrderbookError(barrel_missing | stage_not_read).
    """
    if not barrel:
        raise error("barrel_missing", where="⟨barrel⟩", saw="no barrel for the graded order")
    try:
        answer = json.loads(path.read_text(encoding="utf-8"), parse_float=Decimal)
        stages = answer["stages"]
        return tidy(barrel), [_stage(path, number, stage) for number, stage in enumerate(stages, 1)]
    except (ValueError, KeyError, TypeError, AttributeError) as problem:
        raise error("stage_not_read", where=str(path), saw=f"no stages in it ({type(problem).__name__})") from problem


def _stage(path: Path, number: int, stage: dict[str, Any]) -> PlannedSpring:
    return stage_of(Row(dict(stage), Place(f"{path.name} stage", number)))
