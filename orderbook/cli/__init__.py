"""The command line: parse, call, print. One file per command, loaded only when it is called."""

from __future__ import annotations

import importlib
import importlib.util
import sys

import click

from orderbook import __version__
from orderbook.cli import console

# command → what `--help` says of it; the command is `command` in the file of its name
COMMANDS = {
    "demo": "Run the main job on invented pieces and leave a book, lists and pictures to open.",
    "size": "From readings of a barrel: the width, strength and length of its spring.",
    "compare": "Torque of two or more springs in one barrel, side by side.",
    "catalogue": "Read a supplier's list and show what was understood.",
    "rank": "Rank the springs of a list for one barrel.",
    "grade": "Two or three springs to order, weakest first.",
    "new": "Make a new book.",
    "refresh": "Work out the answers of a book again.",
    "check": "Look the whole book over for mistakes.",
    "order": "Make the order sheets of a restoration, or mark order lines.",
    "trial": "Note how a fitted spring did, and what to do next.",
    "next": "What can be done now, and what waits for what.",
    "ledger": "What a restoration costs, by category.",
    "record": "The restoration record as a page to print.",
    "export": "Every table of a book as CSV.",
    "import": "Bring an existing list into a table of a book.",
    "addin": "Set up the worksheet functions for Excel or Calc.",
}


class LazyCommands(click.Group):
    """Commands by name; a command's file is imported when it is run or asked for help."""

    def list_commands(self, ctx: click.Context) -> list[str]:
        return [name for name in COMMANDS if _has(name)]

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        if cmd_name not in COMMANDS or not _has(cmd_name):
            return None
        command: click.Command = importlib.import_module(_module(cmd_name)).command
        return command

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        if rows := [(name, COMMANDS[name]) for name in self.list_commands(ctx)]:
            with formatter.section("Commands"):
                formatter.write_dl(rows)


def _module(name: str) -> str:
    return f"orderbook.cli.{name}_" if name in {"import", "next"} else f"orderbook.cli.{name}"


def _has(name: str) -> bool:
    return importlib.util.find_spec(_module(name)) is not None


@click.group(cls=LazyCommands, context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 100})
@click.version_option(__version__, prog_name="orderbook")
def cli() -> None:
    """From caliper readings of a spring barrel to the springs to order, weakest first.

    Start with `orderbook demo`. A wound spring can injure: let it down before you open the barrel.
    """


def main(arguments: list[str] | None = None) -> None:
    """Run the command line; exit 0 answered, 1 answered with an error finding, 2 could not be answered."""
    console.speak_plainly_where_needed()
    sys.exit(console.run(cli, arguments))
