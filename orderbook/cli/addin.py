"""`orderbook addin`: set up the worksheet functions for Excel or Calc."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from orderbook.cli import console

if TYPE_CHECKING:
    from orderbook.addin.state import State

CALC_STEPS = """In LibreOffice Calc, on Linux, Windows or macOS:
  1. Close LibreOffice.
  2. orderbook addin calc --install
  3. Open Calc and type =LENGTH_MM("17 ligne"), which gives 38.3491…
If a cell shows a line that begins with #, it says what to do. To look for the cause: orderbook addin calc --check"""


EXCEL_STEPS = """In Excel on Windows:
  1. python -m pip install "spring-orderbook[excel]"
  2. orderbook new BOOK.xlsm   (a book that was made on another machine: orderbook addin excel --book BOOK.xlsm)
  3. Open it and choose Enable Content. A downloaded file first: right click, Properties, Unblock.
Bench then shows live answers, and every function of orderbook can be typed in a cell.
In Excel on macOS there are no such functions: the button on Bench works the answers out, after the same three steps.
If a cell shows a line that begins with #, it says what to do. To look for the cause:
  orderbook addin excel --check --book BOOK.xlsm"""


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
        from orderbook.addin.state import check_calc

        return _say_state(check_calc(profile), as_json)
    if action is None:
        click.echo(CALC_STEPS)
        return 0
    from orderbook.addin import libreoffice

    office = libreoffice.find_libreoffice()
    if action == "install":
        libreoffice.install(office, profile)
        click.echo("The add-in is installed. Start LibreOffice afresh; the functions are in the wizard under Add-In.")
        return 0
    was_there = libreoffice.remove(office, profile)
    click.echo("The add-in is removed." if was_there else "There was no add-in of ours to remove.")
    return 0


@command.command()
@click.option("--install", "action", flag_value="install", help="Write this machine's Python into the book.")
@click.option("--remove", "action", flag_value="remove", help="Take it out of the book again.")
@click.option("--check", "action", flag_value="check", help="Look at Python, xlwings and the book.")
@click.option("--book", type=click.Path(dir_okay=False, path_type=Path), metavar="BOOK.xlsm", help="The live book.")
@click.option("--json", "as_json", is_flag=True, help="Answer of --check as JSON.")
def excel(action: str | None, book: Path | None, as_json: bool) -> int:
    """Functions in Excel on Windows, the button on macOS."""
    if action == "check":
        from orderbook.addin.excel_set_up import check_excel

        return _say_state(check_excel(book), as_json)
    if book is None:
        if action is not None:
            raise click.UsageError(f"--{action} needs --book BOOK.xlsm")
        click.echo(EXCEL_STEPS)
        return 0
    from orderbook.addin.excel_set_up import clear, set_up

    if action == "remove":
        clear(book)
        click.echo(f"{book} names no Python any more.")
        return 0
    for key, value in set_up(book).items():
        click.echo(f"{key}  {value}")
    click.echo(f"{book} is set up for this machine.")
    return 0


def _build(path: Path) -> int:
    from orderbook.addin.calc.extension import build as build_extension

    build_extension(path)
    click.echo(f"{path} is written, for the Python of this machine. In Calc: Tools, Extension Manager, Add.")
    return 0


def _say_state(state: State, as_json: bool) -> int:
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
