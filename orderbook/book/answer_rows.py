"""The answers of one barrel as rows of the book's answer tables, keyed by column."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from itertools import zip_longest
from typing import Any

import numpy as np

from orderbook.answers.answer import Answer
from orderbook.cautions import caution
from orderbook.choosing.candidates import NOT_TO_BE_HAD
from orderbook.choosing.considering import size_text
from orderbook.errors import Finding
from orderbook.mechanics import drive_and_load, spring_torque, spring_turns

Rows = list[dict[str, Any]]
SHOWN_UNFIT = 20
POINTS = 41
ONLY_OF_A_SIZING = {"tried_not_weighed"}  # beside the stages, which do weigh what was tried, it would mislead
KIND = {"error": "Stop", "warning": "Caution", "note": "Note"}


@dataclass(frozen=True, slots=True)
class Strip:
    """A strip whose torque is drawn: its name in the picture and its measures in mm."""

    name: str
    width_mm: float
    strength_mm: float
    length_mm: float


def answer_rows(answered: Answer, made_on: dt.date) -> dict[str, Rows]:
    """Return the rows of every answer table for one barrel; ± are twice the standard uncertainty."""
    graded, ranked = answered.grading.as_dict(reasons=False), answered.ranking.as_dict()
    later = [row for row in ranked["springs"] if row["item"] not in {stage["item"] for stage in graded["stages"]}]
    rows: dict[str, Rows] = {
        "Answers": [_head(answered, graded, made_on)],
        "Stages": [_stage(stage) for stage in graded["stages"]],
        "AlsoFits": [_spring(row) | {"rank": row["rank"], "number": n} for n, row in enumerate(later, 1)],
        "DoesNotGoIn": [_unfit(n, row) for n, row in enumerate(nearest(graded["do_not_go_in"])[:SHOWN_UNFIT], 1)],
        "Findings": _findings(answered),
        "Torque": torque_rows(answered),
        "Belief": _belief(answered),
    }
    return {table: [{"barrel": answered.barrel} | row for row in found] for table, found in rows.items()}


def nearest(left_out: Sequence[Mapping[str, Any]]) -> list[Mapping[str, Any]]:
    """Return what is left out, by turns: a spring that fails by least, then one that goes in but cannot be had.

    Of a long list so many are only out of stock that those beside them, which are near to going in, would
    never be seen.

    >>> [row["item"] for row in nearest([{"item": n, "measure": m} for n, m in enumerate(("stock", "stock", "fill"))])]
    [2, 0, 1]
    """
    by_kind = [[row for row in left_out if (row["measure"] in NOT_TO_BE_HAD) is had] for had in (False, True)]
    return [row for pair in zip_longest(*by_kind) for row in pair if row is not None]


def strips(answered: Answer) -> list[Strip]:
    """Return the strips to draw: the reference, the stages as they would be fitted, the spring tried last."""
    best = answered.grading.considered.reference
    drawn = [Strip("reference", float(best.width_mm), float(best.strength_mm), float(best.length_mm))]
    for stage in answered.grading.stage_dicts():
        length = stage["trim_to_mm"] or stage["length_mm"]
        drawn.append(Strip(f"stage {stage['stage']}", stage["width_mm"], stage["strength_mm"], length))
    for tried in answered.grading.considered.bench.tried[-1:]:
        drawn.append(Strip("fitted", tried.width_mm, tried.strength_mm, tried.length_mm))
    return drawn


def torque_rows(answered: Answer) -> Rows:
    """Return torque at the barrel against turns up, one row a point, a column a strip, empty beyond fully wound."""
    bench = answered.grading.considered.bench
    drawn = strips(answered)
    most = [float(spring_turns(bench.bore_mm, bench.arbor_mm, s.strength_mm, s.length_mm)) for s in drawn]
    turns = np.linspace(0, max(most), POINTS)
    columns = {}
    for strip, end in zip(drawn, most, strict=True):
        reached = turns[turns <= end * (1 + 1e-12)]
        steel = {"flow_stress_mpa": bench.flow_stress_mpa, "modulus_mpa": bench.modulus_mpa}
        sizes = (bench.bore_mm, bench.arbor_mm, strip.width_mm, strip.strength_mm, strip.length_mm)
        columns[f"{strip.name.replace(' ', '_')}_nmm"] = spring_torque(*sizes, np.minimum(reached, end), **steel)
    return [
        {"number": n + 1, "turns": float(turns[n])} | {k: float(v[n]) for k, v in columns.items() if n < len(v)}
        for n in range(POINTS)
    ]


def window(answered: Answer) -> tuple[float, float]:
    """Return the working window of the reference in turns up from run down."""
    bench, best = answered.grading.considered.bench, answered.grading.considered.reference
    sizes = (bench.bore_mm, bench.arbor_mm, best.width_mm, best.strength_mm, best.length_mm)
    steel = {"flow_stress_mpa": bench.flow_stress_mpa, "modulus_mpa": bench.modulus_mpa}
    here = drive_and_load(*sizes, bench.run, **steel)
    begin = float(np.squeeze(here.slack_turns) + np.squeeze(here.set_up_turns))
    return begin, begin + float(bench.run.used_turns)


def _head(answered: Answer, graded: Mapping[str, Any], made_on: dt.date) -> dict[str, Any]:
    known = answered.sizing.quantities
    best = graded["reference"]
    begin, end = window(answered)
    row = {
        "made_on": made_on,
        "next": graded["next_action"],
        "need": graded["need_median"],
        "need_low": graded["need_low"],
        "need_high": graded["need_high"],
        "chance_of_a_fit": 100 * graded["chance_of_a_fit"],
        "reference": size_text(best),
        "window_from": begin,
        "window_to": end,
    }
    named = {"set_up_clicks": "set_up_clicks", "evenness": "evenness_after", "energy_mj": "stored_energy_mj"}
    named |= {key: key for key in ("strength_low_mm", "strength_high_mm", "strength_mm", "slack_turns")}
    row |= {column: known[key].value for column, key in named.items() if key in known}
    spread = {"strength_pm_mm": "strength_mm", "slack_pm_turns": "slack_turns"}
    return row | {column: 2 * known[key].u for column, key in spread.items() if key in known}


def _spring(row: Mapping[str, Any]) -> dict[str, Any]:
    same = ("supplier", "item", "width_mm", "strength_mm", "length_mm", "trim_to_mm", "drive_index", "load_index")
    kept = {key: row[key] for key in (*same, "turns_delivered", "fill", "currency", "why")}
    spread = {"drive_index_pm": 2 * row["drive_index_u"], "load_index_pm": 2 * row["load_index_u"]}
    return kept | spread | {"price": None if not row["price"] or row["price_assumed"] else Decimal(row["price"])}


def _stage(row: Mapping[str, Any]) -> dict[str, Any]:
    more = {"step_percent": row["step_percent"], "chance_percent": 100 * row["chance_it_is_the_one"]}
    return _spring(row) | more | {"stage": row["stage"], "found_in": row["found_in"]}


def _unfit(number: int, row: Mapping[str, Any]) -> dict[str, Any]:
    named = {key: row[key] for key in ("supplier", "item", "measure")}
    return named | {"number": number, "spring": size_text(dict(row)), "by": row["says"]}


def _findings(answered: Answer) -> Rows:
    both = dict.fromkeys((*answered.sizing.findings, *answered.grading.findings))
    found: Sequence[Finding] = [f for f in both if f.code not in ONLY_OF_A_SIZING]
    gravest = sorted(found, key=lambda f: ("error", "warning", "note").index(f.severity))
    rows: Rows = [
        {"severity": KIND[f.severity], "where": f.where, "words": f"{f.saw}. {f.expected} {f.try_this}"}
        for f in gravest
    ]
    cut = any(stage["trim_to_mm"] for stage in answered.grading.stage_dicts())
    cautions = (*answered.sizing.cautions, *([caution("cutting")] if cut else []))
    rows += [{"severity": "Caution", "where": "barrel", "words": str(c)} for c in cautions]
    return [{"number": n} | row for n, row in enumerate(rows, 1)]


def _belief(answered: Answer) -> Rows:
    """Belief per point of drive index, on whole indices where it is not negligible."""
    belief = answered.grading.considered.weighed.belief
    above = [belief.chance_above(index) for index in range(30, 201)]
    percent = {30 + n: 100 * (above[n] - above[n + 1]) for n in range(len(above) - 1)}
    shown = [(index, share) for index, share in percent.items() if share > 0.02]
    return [{"number": n, "index": index + 0.5, "percent": share} for n, (index, share) in enumerate(shown, 1)]
