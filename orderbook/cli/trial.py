"""`orderbook trial`: how a fitted spring did, and what comes next."""

from __future__ import annotations

from datetime import date
from decimal import Decimal
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from orderbook.cli import console
from orderbook.cli.day import on

if TYPE_CHECKING:
    from orderbook.answers.after_trial import AfterVerdict
    from orderbook.book.trial import TrialNoted


@click.command(name="trial")
@click.argument("book", type=click.Path(path_type=Path))
@click.argument("spring", metavar="O-0031|D-0004")
@click.argument("verdict")
@click.option("--barrel", default="", help="The barrel, for a spring of the drawer: R-007-B1.")
@click.option("--clicks", type=float, help="Clicks of set-up given.")
@click.option("--stopped-turns", type=float, help="Turns it ran for, if it stopped: the most telling number there is.")
@click.option("--stopped-hours", type=float, help="Hours it ran for, if it stopped.")
@click.option("--rod", default="", help='Rod readings: "grams x arm: gives, rising".')
@click.option("--days", type=float, help="Days it ran for.")
@click.option("--note", default="", help="What was seen.")
@click.option("--json", "as_json", is_flag=True, help="Answer as JSON.")
@on
def command(
    book: Path, spring: str, verdict: str, barrel: str, clicks: float | None, stopped_turns: float | None,
    stopped_hours: float | None, rod: str, days: float | None, note: str, as_json: bool, on: date,
) -> int:  # fmt: skip
    """Note how a spring did: too weak, never ran, stopped, ran well or too strong.

    The stages that waited for this verdict become due, or are dropped. A verdict of too weak may be friction: look at
    what is printed before ordering the next.
    """
    from orderbook.book.trial import trial
    from orderbook.cautions import caution
    from orderbook.records.verdicts import side_of
    from orderbook.reports.changes import in_words

    def exact(value: float | None) -> Decimal | None:
        if value is None:
            return None
        return Decimal(int(value)) if value.is_integer() else Decimal(str(value))

    done = trial(
        book, spring, verdict, on=on, barrel=barrel, clicks=exact(clicks), stopped_turns=exact(stopped_turns),
        stopped_hours=exact(stopped_hours), rod=rod, ran_days=exact(days), seen=note,
    )  # fmt: skip
    said = str(caution("too_strong")) if side_of(verdict.casefold().strip()) == "weak" else ""
    if as_json:
        console.say_json(
            {
                "barrel": done.barrel,
                "answer": None if done.answer is None else _as_dict(done.answer),
                "refreshed": done.refreshed,
                "next": [console.fields_of(step) for step in done.next_steps],
                "cautions": [said] if said else [],
                "changes": len(done.changes),
                "findings": [f.as_dict() for f in done.findings],
            }
        )
        return console.status_of(done.findings)
    for line in in_words(done.changes):
        click.echo(line)
    for found in done.findings:
        click.echo(f"{found.severity.capitalize()}: {found}")
    if done.answer:
        _say(done)
    if done.next_steps:
        click.echo("\nIn the book of this piece:" if done.answer else "\nNext:")
        for step in done.next_steps:
            click.echo(f"  {step.kind}: {step.about}, {step.what}; {step.why}")
    if said:
        click.echo("\n" + click.wrap_text(f"Caution: {said}", width=100))
    return console.status_of(done.findings)


def _as_dict(answer: AfterVerdict) -> dict[str, Any]:
    return {
        "need_before": console.fields_of(answer.before),
        "need_after": console.fields_of(answer.after),
        "action": answer.action,
        "next_action": answer.next_action,
    }


def _say(done: TrialNoted) -> None:
    from orderbook.reports.tables import wrapped

    assert done.answer
    need = [
        f"{n.median:.0f} % (nine times in ten {n.low:.0f} to {n.high:.0f})"
        for n in (done.answer.before, done.answer.after)
    ]
    click.echo(
        "\n" + wrapped(f"The need of {done.barrel} was probably about {need[0]}; with this verdict it is {need[1]}.")
    )
    click.echo("\n" + wrapped(f"Next: {done.answer.next_action}"))
    if done.refreshed:
        click.echo("\n" + wrapped(f"The answers of {done.barrel} in the book are worked out anew."))
