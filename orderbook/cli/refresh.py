"""`orderbook refresh`: work out the answers of a book again."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from orderbook.cli import console

if TYPE_CHECKING:
    from orderbook.book.refresh import BarrelAnswer, Refreshed


@click.command(name="refresh", short_help="Work out the answers of a book again.")
@click.argument("book", type=click.Path(path_type=Path))
@click.option("--barrel", "barrels", multiple=True, metavar="ID", help="Only this barrel; may be repeated.")
@click.option("--all", "everything", is_flag=True, help="All barrels, those that are up to date too.")
@click.option("--watch", is_flag=True, help="Stay, and work out again at each save, until stopped with Ctrl-C.")
@click.option("--json", "as_json", is_flag=True, help="Print the answer as JSON.")
def command(book: Path, barrels: tuple[str, ...], everything: bool, watch: bool, as_json: bool) -> int:
    """Work out the barrels of a book that changed, and store the answers in it.

    Save and close the book first; with --watch it may stay open: the answers are shown here at each save and written
    as soon as the program lets go of the book.
    """
    from orderbook.book.refresh import refresh
    from orderbook.book.watch import watched

    if watch:
        for seen in watched(book, barrels):
            click.echo(seen if isinstance(seen, str) else _told(seen))
        return 0
    done = refresh(book, barrels, everything=everything, report=console_progress())
    if as_json:
        console.say_json(_as_dict(done))
    else:
        click.echo(_told(done))
    return int(any(answer.answer is None for answer in done.answers))


def console_progress() -> Any:
    """Return a reporter that writes to stderr on a terminal, and says nothing elsewhere."""
    import sys

    if not sys.stderr.isatty():
        return lambda _: None
    return lambda text: click.echo(text, err=True)


def _told(done: Refreshed) -> str:
    lines = [_line(answer) for answer in done.answers]
    if done.up_to_date:
        lines.append(f"up to date: {', '.join(done.up_to_date)}")
    lines += [f"{f.severity}: {f}" for f in done.findings if f.severity != "note"]
    if done.written:
        lines.append(f"{done.path} is written; the book as it was is {done.path.name}.bak.")
    return "\n".join(lines)


def _line(answer: BarrelAnswer) -> str:
    if answer.answer is None:
        return f"{answer.barrel}: {answer.problem}"
    graded = answer.answer.grading.as_dict()
    stages = "; ".join(f"stage {s['stage']}: {s['supplier']} {s['item']}, {_size(s)}" for s in graded["stages"])
    return f"{answer.barrel}: {graded['next_action']}" + (f"\n  {stages}" if stages else "")


def _size(stage: dict[str, Any]) -> str:
    return f"{stage['width_mm']:g} x {stage['strength_mm']:.3g} x {stage['length_mm']:.0f}"


def _as_dict(done: Refreshed) -> dict[str, Any]:
    return {
        "barrels": [
            {
                "barrel": answer.barrel,
                "size": answer.answer.sizing.as_dict() if answer.answer else None,
                "grade": answer.answer.grading.as_dict() if answer.answer else None,
                "problem": answer.problem.as_dict() if answer.problem else None,
            }
            for answer in done.answers
        ],
        "up_to_date": list(done.up_to_date),
        "findings": [f.as_dict() for f in done.findings],
    }
