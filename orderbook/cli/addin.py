"""`orderbook addin`: the worksheet functions in Excel and in LibreOffice Calc."""

from __future__ import annotations

from pathlib import Path

import click

from orderbook.cli import console

CALC_STEPS = """In LibreOffice Calc, on Linux, Windows or macOS:
  1. Close LibreOffice.
  2. orderbook addin calc --install
  3. Open Calc and type =LENGTH_MM("17 ligne"), which gives 38.3491…
If a cell shows a line that begins with #, it says what to do. To look for the cause: orderbook addin calc --check"""


@click.group(name="addin", invoke_without_command=True)
@click.pass_context
def command(context: click.Context) -> None:
    """Set up the worksheet functions for Excel or LibreOffice Calc.

    Give `excel` or `calc` alone to read the steps.
    """
    if context.invoked_subcommand is None:
        click.echo(context.get_help())


@command.command()
@click.option("--install", "action", flag_value="install", help="Put the add-in into LibreOffice on this machine.")
@click.option("--remove", "action", flag_value="remove", help="Take it out again.")
@click.option("--check", "action", flag_value="check", help="Look whether it is there and answers.")
@click.option(
    "--build", type=click.Path(dir_okay=False, path_type=Path), metavar="FILE.oxt", help="Write it to a file."
)
@click.option(
    "--profile",
    type=click.Path(file_okay=False, path_type=Path),
    help="LibreOffice's user folder, if it is not the usual one.",
)
@click.option("--json", "as_json", is_flag=True, help="Answer of --check as JSON.")
def calc(action: str | None, build: Path | None, profile: Path | None, as_json: bool) -> int:
    """Functions in LibreOffice Calc."""
    if build is not None:
        return _build(build)
    if action == "check":
        return _check_calc(profile, as_json)
    if action is None:
        click.echo(CALC_STEPS)
        return 0
    from orderbook.desk import libreoffice

    office = libreoffice.find_libreoffice()
    if action == "install":
        libreoffice.install(office, profile)
        click.echo("The add-in is installed. Start LibreOffice afresh; the functions are in the wizard under Add-In.")
        return 0
    was_there = libreoffice.remove(office, profile)
    click.echo("The add-in is removed." if was_there else "There was no add-in of ours to remove.")
    return 0


def _build(path: Path) -> int:
    from orderbook.workbook.calc.extension import build as build_extension

    build_extension(path)
    click.echo(f"{path} is written, for the Python of this machine. In Calc: Tools, Extension Manager, Add.")
    return 0


def _check_calc(profile: Path | None, as_json: bool) -> int:
    from orderbook.desk.addin import check_calc

    state = check_calc(profile)
    if as_json:
        console.say_json(state.as_dict())
        return console.status_of(state.findings)
    width = max((len(what) for what, _ in state.facts), default=0)
    for what, saw in state.facts:
        click.echo(f"{what:<{width}}  {saw}")
    for found in state.findings:
        click.echo(f"{found.severity}: {found}")
    if not state.findings:
        click.echo("All is well.")
    return console.status_of(state.findings)
