"""How the command line speaks: exit statuses, one-line errors, and plain spellings for poor consoles."""

from __future__ import annotations

import codecs
import io
import json
import os
import sys
from collections.abc import Callable, Iterable
from typing import Any

import click

from orderbook.cli.spelling import in_flags
from orderbook.errors import Finding, OrderbookError, speaking

PLAIN = {
    "±": "+/-", "×": "x", "·": ".", "–": "-", "—": "-", "−": "-", "…": "...", "’": "'", "“": '"', "”": '"', "′": "'",
    "″": '"', "‴": "'''", "°": " deg", "→": "->", "≤": "<=", "≥": ">=", "½": " 1/2", "¼": " 1/4", "¾": " 3/4",
    "⅛": " 1/8", "⅜": " 3/8", "⅝": " 5/8", "⅞": " 7/8", "é": "e", "è": "e", "ü": "ue", "ö": "oe", "ä": "ae", "ß": "ss",
    "£": "GBP ", "€": "EUR ", "η": "eta", "σ": "sigma", "λ": "lambda", "θ": "theta", "√": "sqrt", "²": "2", "³": "3",
    "φ": "phi", "κ": "kappa", "ρ": "rho", "π": "pi", "∫": "integral of ", "\u202f": " ", "\xa0": " ",
    "─": "-", "│": "|", "█": "#", "▇": "#", "▆": "#", "▅": "#", "▄": "#", "▃": "#", "▂": "#", "▁": "#",
}  # fmt: skip


def speak_plainly_where_needed() -> None:
    """Let a console that cannot print `±` or `¾` print a plain spelling, never a traceback."""
    codecs.register_error("orderbook-plain", _plain)
    codecs.register(_plain_ascii)
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper):
            ascii_only = codecs.lookup(stream.encoding).name == "ascii"
            stream.reconfigure(encoding="plain_ascii" if ascii_only else None, errors="orderbook-plain")


def _plain_ascii(name: str) -> codecs.CodecInfo | None:
    """Give ASCII under a name of our own: click takes a stream called ascii for a mistake and writes UTF-8 to it."""
    if name != "plain_ascii":
        return None
    info = codecs.lookup("ascii")
    return codecs.CodecInfo(
        info.encode,
        info.decode,
        incrementalencoder=info.incrementalencoder,
        incrementaldecoder=info.incrementaldecoder,
        name="plain_ascii",
    )


def _plain(problem: UnicodeError) -> tuple[str, int]:
    if not isinstance(problem, UnicodeEncodeError):
        raise problem
    piece = problem.object[problem.start : problem.end]
    return "".join(PLAIN.get(letter, "?") for letter in piece), problem.end


def run(command: click.Command, arguments: list[str] | None) -> int:
    """Run a click command and return its exit status; the user's mistakes become one line on stderr."""
    with speaking(in_flags):
        return _run(command, arguments)


def _run(command: click.Command, arguments: list[str] | None) -> int:
    try:
        status = command.main(args=arguments, prog_name="orderbook", standalone_mode=False)
    except OrderbookError as problem:
        say_error(str(problem))
        return 2
    except click.exceptions.NoArgsIsHelpError as problem:  # nothing asked: say what can be asked
        click.echo(problem.format_message())
        return 0
    except click.ClickException as problem:
        hint = (
            f" Try: {problem.ctx.command_path} --help" if isinstance(problem, click.UsageError) and problem.ctx else ""
        )
        say_error(problem.format_message() + hint)
        return 2
    except (click.Abort, KeyboardInterrupt):
        say_error("stopped; nothing was left half done")
        return 130
    except BrokenPipeError:
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return 0
    except OSError as problem:
        name = f"{problem.filename}: " if problem.filename else ""
        say_error(
            f"{name}{(problem.strerror or str(problem)).lower()}. Look at the name and at who may read or write it."
        )
        return 2
    return status if isinstance(status, int) else 0


LOCALE = "orderbook.locale"


def with_locale(command: Callable[..., Any]) -> Callable[..., Any]:
    """Give a command the flag --locale; what it prints through `say` follows it."""
    told = "Print numbers as this language does: de writes 0,175. The words stay English."
    return click.option(
        "--locale", metavar="de", expose_value=False, help=told, callback=lambda ctx, _, value: _keep_locale(ctx, value)
    )(command)


def _keep_locale(ctx: click.Context, value: str | None) -> None:
    ctx.meta[LOCALE] = value


def say(text: str, keep: Iterable[str] = ()) -> None:
    """Print a text, its numbers as --locale asks; `keep` are the user's own texts that stay as they are."""
    if locale := click.get_current_context().meta.get(LOCALE):
        from orderbook.reports.printed_numbers import in_locale

        text = in_locale(text, locale, keep)
    click.echo(text)


def say_error(text: str) -> None:
    """Write one line to stderr."""
    click.echo(f"orderbook: {text}", err=True)


def status_of(findings: Iterable[Finding]) -> int:
    """Return 1 if a finding is an error, else 0."""
    return int(any(f.severity == "error" for f in findings))


def answer(found: Any, *, as_json: bool = False, explain: bool = False, keep: Iterable[str] = (), **flags: bool) -> int:
    """Print an answer (a `Shown`) as text or as JSON, and return the exit status its findings ask for.

    `explain` is a flag of some commands, `flags` are those that its text alone knows; `keep` are the user's own texts
    that --locale leaves alone.
    """
    how = {"explain": True} if explain else {}
    if as_json:
        say_json(found.as_dict(**how))
    else:
        say(found.text(**how, **{flag: True for flag, is_set in flags.items() if is_set}), keep)
    return status_of(getattr(found, "findings", ()))


def say_json(answer: dict[str, Any]) -> None:
    """Print an answer as JSON that keeps its letters; numbers that are not finite become null."""
    click.echo(json.dumps(_finite(answer), ensure_ascii=False, indent=2))


def _finite(value: Any) -> Any:
    if isinstance(value, dict):
        return {key: _finite(item) for key, item in value.items()}
    if isinstance(value, (list, tuple)):
        return [_finite(item) for item in value]
    if hasattr(value, "tolist"):  # a numpy number or array
        return _finite(value.tolist())
    if isinstance(value, float) and (value != value or value in (float("inf"), float("-inf"))):
        return None
    return value
