"""What goes wrong and what one should know: one error class, one record, one closed list of codes.

The list is `findings.toml` beside this file: each code has a severity, what was expected and what to try.

A text names an input by a mark, `⟨used 3.5⟩`, and a verb on a book as `⟨!check fix⟩`. How they are spelled is decided
where the text is shown: the command line says `--used 3.5`, a cell `Turns used (3.5)`, Python `used=3.5`. So no room
below knows whether it is asked by a flag, a column or an argument.
"""

from __future__ import annotations

import re
import shlex
import tomllib
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any, Literal, cast

Severity = Literal["note", "warning", "error"]


Speaker = Callable[[str, str], str]
"""Spells an input or a verb: its name (a verb's begins with `!`) and the example behind it, which may be empty."""

_MARK = re.compile("⟨([!a-z_]+)(?: ([^⟨⟩]*))?⟩")


# verbs that are functions of the package and not of a book
FUNCTIONS = {"size": "size", "compare": "compare", "catalogue": "read_catalogue", "rank": "rank", "grade": "grade",
             "new": "new", "demo": "demo"}  # fmt: skip
SAID_FULLER = ("text", "as_dict")  # and methods of an answer, which say more of it


def in_python(name: str, example: str) -> str:
    """Spell a mark as Python does; behind a verb stand words that are set, `name=value` and identifiers.

    >>> in_python("used", "3.5"), in_python("bore", ""), in_python("!check", "fix")
    ('used=3.5', 'bore', 'Book.check(fix=True)')
    >>> in_python("!order", "R-007 O-0005 mark=ordered"), in_python("!grade", ""), in_python("!help", "size")
    ("Book.order('R-007', 'O-0005', mark='ordered')", 'orderbook.grade', 'help(orderbook.size)')
    """
    if not name.startswith("!"):
        return f"{name}={example}" if example else name
    verb = name[1:]
    if verb == "help":
        return f"help(orderbook{'.' if example else ''}{example})"
    if verb in SAID_FULLER:
        return f"{verb}({example}=True)"
    if verb == "addin":
        return "the set-up of the add-in"
    if verb == "catalogue" and example:  # into a book
        return "Book.catalogue"
    if verb in FUNCTIONS:
        return f"orderbook.{FUNCTIONS[verb]}"
    inside = ", ".join(_argument(word) for word in words_of(example))
    return f"Book.{'import_' if verb == 'import' else verb}({inside})"


def _argument(word: str) -> str:
    said, is_named, value = word.partition("=")
    if is_named:
        return f"{said}={value!r}"
    return repr(word) if is_identifier(word) else f"{word}=True"


def words_of(example: str) -> list[str]:
    """Return the words behind a verb; one that holds spaces stands in quotes.

    >>> words_of("to='Supplier North' mark=ordered")
    ['to=Supplier North', 'mark=ordered']
    """
    try:
        return shlex.split(example)
    except ValueError:  # a quote that is never closed
        return example.split()


def is_identifier(word: str) -> bool:
    """Say whether a word behind a verb is an identifier of the book, and not the name of something that is set."""
    return word[:1].isupper()


_SPEAKER: ContextVar[Speaker] = ContextVar("speaker", default=in_python)


@contextmanager
def speaking(speaker: Speaker) -> Iterator[None]:
    """Spell marks in this way for as long as the block runs."""
    token = _SPEAKER.set(speaker)
    try:
        yield
    finally:
        _SPEAKER.reset(token)


def spelled(text: str) -> str:
    """Spell the marks of a text as whoever shows it does.

    >>> spelled("Count them: ⟨used 3.5⟩.")
    'Count them: used=3.5.'
    """
    return _MARK.sub(lambda mark: _SPEAKER.get()(mark[1], mark[2] or ""), text) if "⟨" in text else text


@dataclass(frozen=True, slots=True)
class Finding:
    """One thing the user should know: where it is, what was seen, what was expected, what to try.

    `marked` are these four texts with their marks; the properties spell them for whoever shows them.

    >>> from orderbook.errors import finding
    >>> finding("arbor_not_below_bore", where="⟨arbor⟩", saw="34.0 mm, bore 34.0 mm").where
    'arbor'
    """

    code: str
    severity: Severity
    marked: tuple[str, str, str, str]

    @property
    def where(self) -> str:
        """The input, cell, file and line it is about."""
        return spelled(self.marked[0])

    @property
    def saw(self) -> str:
        """What was seen there."""
        return spelled(self.marked[1])

    @property
    def expected(self) -> str:
        """What was expected there."""
        return spelled(self.marked[2])

    @property
    def try_this(self) -> str:
        """What to try."""
        return spelled(self.marked[3])

    def __str__(self) -> str:
        """Read as one line: where and what was seen, what was expected, what to try."""
        said = f"{self.where}: {self.saw}" if self.where else self.saw
        return " ".join(_sentence(part) for part in (said, self.expected, self.try_this) if part)

    def as_dict(self) -> dict[str, str]:
        """Return the finding as the JSON keys of every command."""
        names = ("code", "severity", "where", "saw", "expected", "try_this")
        return {name: getattr(self, name) for name in names}


class OrderbookError(Exception):
    """The user's input cannot be used: carries the fields of one `Finding`.

    A mistake of the calling program is a built-in exception instead (TypeError, ValueError).

    >>> import orderbook
    >>> try:
    ...     orderbook.Barrel(bore=34.0, arbor="34 mm")
    ... except OrderbookError as problem:
    ...     print(problem.code, problem.where, problem.saw, sep=" | ")
    arbor_not_below_bore | arbor | 34 mm is as large as the bore (34 mm)
    """

    def __init__(self, finding: Finding) -> None:
        """Keep the finding; the message is its one line."""
        super().__init__(finding)
        self.finding = finding

    def __str__(self) -> str:
        """Read as the one line of the finding."""
        return str(self.finding)

    def __reduce__(self) -> tuple[Any, ...]:
        """Pickle by the finding, so that errors cross process borders whole."""
        return (type(self), (self.finding,))

    @property
    def code(self) -> str:
        """The code in `findings.toml`."""
        return self.finding.code

    @property
    def where(self) -> str:
        """The flag, cell, file and line the trouble is in."""
        return self.finding.where

    @property
    def saw(self) -> str:
        """What was seen there."""
        return self.finding.saw

    @property
    def expected(self) -> str:
        """What was expected there."""
        return self.finding.expected

    @property
    def try_this(self) -> str:
        """What to try."""
        return self.finding.try_this


def finding(code: str, *, where: str, saw: str, expected: str | None = None, try_this: str | None = None) -> Finding:
    """Make a finding of a listed code; what is not given is taken from the list.

    Raises: KeyError for a code that is not in `findings.toml` (a mistake of the calling program).

    >>> print(finding("arbor_not_below_bore", where="⟨arbor⟩", saw="34.0 mm is as large as the bore (34.0 mm)"))
    arbor: 34.0 mm is as large as the bore (34.0 mm). Expected less than the bore; it is usually about a third. ...
    """
    entry = _entry(code)
    told = entry["expected"] if expected is None else expected, entry["try_this"] if try_this is None else try_this
    return Finding(code, cast("Severity", entry["severity"]), (where, saw, *told))


def error(
    code: str, *, where: str, saw: str, expected: str | None = None, try_this: str | None = None
) -> OrderbookError:
    """Make the error of a listed code, to be raised.

    >>> error("arbor_not_below_bore", where="⟨arbor⟩", saw="9 mm").code
    'arbor_not_below_bore'
    """
    return OrderbookError(finding(code, where=where, saw=saw, expected=expected, try_this=try_this))


@cache
def _entry(code: str) -> dict[str, str]:
    """Read one code; parsing the whole list would take longer than answering."""
    _, found, rest = ("\n" + _list()).partition(f"\n[{code}]\n")
    if not found:
        raise KeyError(code)
    return cast("dict[str, str]", tomllib.loads(rest.partition("\n[")[0]))


@cache
def _list() -> str:
    return Path(__file__).with_name("findings.toml").read_text(encoding="utf-8")


@cache
def codes() -> dict[str, dict[str, str]]:
    """Read the closed list: code → severity, expected, try_this."""
    return cast(
        "dict[str, dict[str, str]]",
        tomllib.loads(_list()),
    )


def _sentence(text: str) -> str:
    return text if text.endswith((".", "!", "?")) else text + "."
