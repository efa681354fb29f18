"""`orderbook demo`: run the main job on invented pieces and leave a book, lists and pictures to open."""

from __future__ import annotations

import sys
from pathlib import Path

import click

from orderbook.cli import console


@click.command("demo", short_help="Run the main job on invented pieces and leave a book, lists and pictures to open.")
@click.option("--into", type=click.Path(path_type=Path), metavar="DIR", help="The folder to fill; else orderbook-demo.")
def command(into: Path | None) -> int:
    """Run the main job on two invented timepieces and fill a folder with a book, the lists and pictures.

    A folder that holds anything else is never written over.
    """
    from orderbook.book.demo import demo

    def report(step: str) -> None:
        if sys.stderr.isatty():
            click.echo(f"  {step} …", err=True)

    return console.answer(demo(into, report))
