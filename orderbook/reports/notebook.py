"""An answer in a notebook: what to do next, its table, what should be known, what can hurt."""

from __future__ import annotations

import math
from collections.abc import Mapping
from html import escape
from typing import Any

from orderbook.errors import spelled
from orderbook.measures.plain_numbers import plainly
from orderbook.measures.plus_minus import with_plus_minus
from orderbook.shown import Shown

MOST_ROWS = 30
ORDER = ("error", "warning", "note")
UNITS = {"mm": "mm", "nmm": "N·mm", "percent": "%", "index": "%"}  # the ending of a column's name → its unit


def html_of(answer: Shown) -> str:
    """Return the answer as a piece of HTML; every text of the user's is escaped."""
    next_action = getattr(answer, "next_action", "")
    parts = [f"<p><b>Next:</b> {escape(spelled(next_action))}</p>"] if next_action else []
    parts.append(_table(answer))
    findings = sorted(getattr(answer, "findings", ()), key=lambda found: ORDER.index(found.severity))
    said = [f"<b>{found.severity.capitalize()}:</b> {escape(str(found))}" for found in findings]
    said += [f"<b>Caution:</b> {escape(str(caution))}" for caution in getattr(answer, "cautions", ())]
    if said:
        parts.append(f"<ul>{''.join(f'<li>{line}</li>' for line in said)}</ul>")
    return "\n".join(parts)


def _table(answer: Shown) -> str:
    rows = answer.first_rows(MOST_ROWS + 1)
    if not rows:
        return ""
    shown = answer.shown_columns or tuple(name for name in rows[0] if not name.endswith("_u"))
    heads = "".join(f"<th>{escape(_head(name))}</th>" for name in shown)
    body = "".join(f"<tr>{''.join(_cell(row, name) for name in shown)}</tr>" for row in rows[:MOST_ROWS])
    more = "<p>… and more</p>" if len(rows) > MOST_ROWS else ""
    return f"<table><thead><tr>{heads}</tr></thead><tbody>{body}</tbody></table>{more}"


def _head(name: str) -> str:
    """Say a column as a person would.

    >>> _head("width_mm"), _head("drive_index"), _head("chance_it_is_the_one")
    ('width, mm', 'drive index, %', 'chance it is the one')
    """
    words = name.split("_")
    unit = UNITS.get(words[-1])
    kept = words[:-1] if unit and words[-1] != "index" else words
    return " ".join(kept) + (f", {unit}" if unit else "")


def _cell(row: Mapping[str, Any], name: str) -> str:
    value = row.get(name)
    if value is None or (isinstance(value, float) and math.isnan(value)):
        return "<td></td>"
    if isinstance(value, bool):
        return f"<td>{'yes' if value else 'no'}</td>"
    u = row.get(f"{name}_u", row.get("u") if name == "value" else None)
    if isinstance(value, float):
        text = with_plus_minus(value, u) if u else plainly(value, 4)
    else:
        text = ", ".join(map(str, value)) if isinstance(value, (list, tuple)) else str(value)
    right = ' style="text-align: right"' if isinstance(value, (int, float)) else ""
    return f"<td{right}>{escape(text)}</td>"
