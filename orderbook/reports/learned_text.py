"""What was learned, as a person reads it: a line a group, what stays out and why, what others' files held."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from orderbook.reports.tables import TextColumn, table

if TYPE_CHECKING:
    from orderbook.answers.learned import LearnedBook

FEW = 6  # barrels named of each reason


def learned_text(found: LearnedBook, **_: Any) -> str:
    """Say what was learned."""
    return "\n\n".join(part for part in (_heading(found), _groups(found), _left_out(found), _end(found)) if part)


def _heading(found: LearnedBook) -> str:
    mine, others = len(found.pieces), found.others.pieces
    if not mine and not others:
        return "Nothing to learn from yet: no closed barrel says what it needed. Every need begins with practice."
    benches = len({bench for _, bench in found.others.sums})
    more = f" and {_count(others, 'piece')} of {_count(benches, 'other bench', 'other benches')}" if others else ""
    return f"Learned from {_count(mine, 'closed barrel')} of yours{more}."


def _groups(found: LearnedBook) -> str:
    """A line for each group: drives in per cent of the strongest useful spring's."""
    from orderbook.answers.taught import practice_start, whole

    columns = [
        TextColumn("group", wraps=True),
        TextColumn("pieces\nyours", "right"),
        TextColumn("\nothers", "right"),
        TextColumn("its median\n90 % sure", "right"),
        TextColumn("next need\n± spread", "right"),
        TextColumn("by practice\nalone", "right"),
    ]
    rows = []
    for one in found.groups:
        practice = practice_start(one.group)
        rows.append(
            [
                str(one.group),
                f"{one.own}",
                f"{one.others}",
                f"{whole(one.middle)} % ({whole(one.middle_low)}–{whole(one.middle_high)})",
                f"{whole(one.median)} % ± {whole(100 * one.spread)} %",
                f"{practice.median:.0f} % ± {100 * practice.spread:.0f} %",
            ]
        )
    if not rows:
        return ""
    said = "Drive needed, in % of what the strongest useful spring gives; a spread holds two needs in three."
    return f"{table(columns, rows)}\n{said}"


def _left_out(found: LearnedBook) -> str:
    lines = []
    for why, count in found.why_left_out.items():
        names = [one.barrel for one in found.left_out if one.why == why]
        more = f" and {count - FEW} more" if count > FEW else ""
        lines.append(f"  {why}: {count} ({', '.join(names[:FEW])}{more})")
    return "\n".join(["Barrels that teach nothing:", *lines]) if lines else ""


def _end(found: LearnedBook) -> str:
    lines = [f"{one.where}: {one.saw}. {one.try_this}" for one in found.findings]
    stored = f"Stored with {_count(found.stored, 'barrel')}: their answers begin there from now on."
    return "\n".join([*lines, stored if found.stored else "The starts stored with the barrels stay as they are."])


def _count(number: int, one: str, several: str = "") -> str:
    return f"{number:,} {one if number == 1 else several or one + 's'}"
