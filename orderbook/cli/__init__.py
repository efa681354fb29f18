"""The command line: parse, call, print. One file per command, loaded only when it is called."""

from __future__ import annotations

import builtins
import importlib
import keyword
import re
import sys
from functools import cache
from pathlib import Path

import click

from orderbook import __version__
from orderbook.cli import console

ORDER = (
    "demo", "size", "compare", "catalogue", "rank", "grade", "new", "refresh", "check", "order", "trial", "next",
    "ledger", "record", "export", "import", "addin",
)  # fmt: skip
"""The commands as the job goes; any other stands after them."""
_HEAD = re.compile('"""`orderbook (?P<name>[a-z]+)`: (?P<says>.+?)"""')


@cache
def commands() -> dict[str, str]:
    """Return each command and what `--help` says of it: its file says so in its first line, and is not imported for it.

    >>> list(commands())[:2], commands()["new"]
    (['demo', 'size'], 'Make a new book.')
    """
    found = {}
    for path in sorted(Path(__file__).parent.glob("*.py")):
        with path.open(encoding="utf-8") as lines:
            if told := _HEAD.match(next(lines, "")):
                found[told["name"]] = told["says"][:1].upper() + told["says"][1:]
    return {name: found[name] for name in sorted(found, key=lambda name: (*ORDER, name).index(name))}


class LazyCommands(click.Group):
    """Commands by name; a command's file is imported when it is run or asked for help."""

    def list_commands(self, ctx: click.Context) -> list[str]:
        return list(commands())

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        if cmd_name not in commands():
            return None
        command: click.Command = importlib.import_module(_module(cmd_name)).command
        return command

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        with formatter.section("Commands"):
            formatter.write_dl(list(commands().items()))


def _module(name: str) -> str:
    return f"orderbook.cli.{name}_" if keyword.iskeyword(name) or hasattr(builtins, name) else f"orderbook.cli.{name}"


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
