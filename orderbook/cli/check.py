"""`orderbook check`: look a whole book over."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import click

from orderbook.cli import console
from orderbook.cli.day import on


@click.command(name="check")
@click.argument("book", type=click.Path(path_type=Path))
@click.option("--fix", is_flag=True, help="Do the cures that are safe; they are listed.")
@click.option("--json", "as_json", is_flag=True, help="Answer as JSON.")
@on
def command(book: Path, fix: bool, as_json: bool, on: date) -> int:
    """Look a whole book over: each finding names sheet, row and cell, what was seen, expected, and what to try.

    Nothing is changed without --fix, and then only what has one safe cure.
    """
    from orderbook.book.check import check
    from orderbook.reports.changes import in_words

    seen = check(book, on=on, fix=fix)
    done = in_words(step.change for step in seen.fixed)
    if as_json:
        console.say_json(
            {
                "fixed": [
                    {"done": words, "finding": step.finding.as_dict()}
                    for words, step in zip(done, seen.fixed, strict=True)
                ],
                "could_fix": len(seen.could_fix),
                "findings": [f.as_dict() for f in seen.findings],
            }
        )
        return console.status_of(seen.findings)
    for words in done:
        click.echo(f"Done: {words}")
    for found in sorted(seen.findings, key=lambda f: ("error", "warning", "note").index(f.severity)):
        click.echo(f"{found.severity.capitalize()}: {found}")
    if not seen.findings:
        click.echo("The book is in order.")
    elif seen.could_fix:
        click.echo(f"\n{len(seen.could_fix)} of these can be put right by: orderbook check {book} --fix")
    return console.status_of(seen.findings)
