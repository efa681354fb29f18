"""`orderbook compare`: torque of two or more springs in one barrel, side by side."""

from __future__ import annotations

from pathlib import Path

import click

from orderbook.cli import console
from orderbook.cli.readings import readings


@click.command("compare", short_help="Torque of two or more springs in one barrel, side by side.")
@click.argument("springs", metavar="SPRING...", nargs=-1, required=True)
@readings
@click.option(
    "--into", metavar="DIR", type=click.Path(path_type=Path), default=Path("comparison"), show_default=True,
    help="Folder for the pictures; never one that holds what is not ours.",
)  # fmt: skip
@click.option("--no-pictures", is_flag=True, help="Only the table.")
@console.with_locale
@click.option("--json", "as_json", is_flag=True, help="Print the answer as JSON.")
def command(
    springs: tuple[str, ...], barrel_texts: dict[str, list[str]], into: Path, no_pictures: bool, as_json: bool
) -> int:
    """Put springs side by side in one barrel: torque over the run, turns, and whether they really differ.

    A SPRING is width x strength x length in mm; ? stands for what is to fit.

    \b
    orderbook compare "2.9 x 0.15 x 560" "2.9 x 0.18 x 470" --bore 15.6 --arbor 5.2 --depth 3.1 --used 3.5
    """
    from orderbook.barrel.barrel import barrel_from_texts
    from orderbook.barrel.comparing import compare
    from orderbook.book.pictures import pictures_of

    comparison = compare(barrel_from_texts(barrel_texts)[0], springs)
    pictures = [] if no_pictures else [str(path) for path in pictures_of(comparison, into)]
    if as_json:
        console.say_json(comparison.as_dict() | {"pictures": pictures})
        return console.status_of(comparison.findings)
    status = console.answer(comparison)
    if pictures:
        click.echo(f"\nPictures: {', '.join(pictures)}")
    return status
