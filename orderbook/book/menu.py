"""An action of the menu, done on a copy of the open book by the package's own Python.

The window copies the book into a folder of its own and tells the cells typed since that file was written, which are put
into the copy first (`typed_over`); here the method of `Book` that the table of actions names is called on that copy.
What comes back is plain: one line to show, the whole answer, points to look at, files to open, and what differs cell by
cell (`Difference`). The file the window has open is never touched.

`serve` is the process that LibreOffice starts: one JSON line in, JSON lines out. Excel calls `answered` itself.
"""

from __future__ import annotations

import inspect
import json
import shutil
import sys
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any

from orderbook.actions import ACTIONS, Action, Question, in_menu
from orderbook.book.differences import Difference, Typed, differences
from orderbook.book.menu_words import Point, cell_of, headline, points_of, shortened
from orderbook.errors import OrderbookError, error, speaking
from orderbook.records.books import Books
from orderbook.records.identifiers import tidy

Report = Callable[[str], None]
YES = ("yes", "true", "1")


@dataclass(frozen=True, slots=True)
class Request:
    """What the window asks: an action, the copy of its book, what was answered, and the book's own file, if any.

    `typed` are cells of the window that the copy does not have yet: sheet, row and column from 0, value.
    """

    action: str
    copy: str = ""
    given: Mapping[str, Any] = field(default_factory=dict)
    book: str = ""
    typed: Sequence[tuple[str, int, int, Typed]] = ()


@dataclass(frozen=True, slots=True)
class Answered:
    """What the window does with it; `refused` says that the user's input stood in the way and nothing was done."""

    headline: str
    details: str = ""
    points: tuple[Point, ...] = ()
    files: tuple[str, ...] = ()
    difference: Difference = field(default_factory=Difference)
    refused: bool = False

    def as_dict(self) -> dict[str, Any]:
        """Return it as JSON."""
        return {
            "headline": self.headline,
            "details": self.details,
            "points": [point.as_dict() for point in self.points],
            "files": list(self.files),
            "difference": self.difference.as_dict(),
            "refused": self.refused,
        }


def serve() -> None:
    """Read one request, answer it and end; what is printed elsewhere goes to stderr."""
    out, sys.stdout = sys.stdout, sys.stderr

    def say(kind: str, what: Any) -> None:
        out.write(json.dumps([kind, what]) + "\n")
        out.flush()

    request = Request(**json.loads(sys.stdin.readline()))
    if not typed_over(request):
        return say("whole", "")
    return say("done", answered(request, lambda text: say("progress", text)).as_dict())


def typed_over(request: Request) -> bool:
    """Put what was typed in the window into the copy; False where that leaves something for the window to work out.

    Then the window must write the copy itself: a formula of the user's own that the engine here does not know, a book
    whose values were not up to date before, a cell that cannot be set alone.
    """
    if not request.typed:
        return True
    from orderbook.book.opened import workbook
    from orderbook.xlsx.changes import Changes, commit

    copy, changes = Path(request.copy), Changes()
    for sheet, row, column, value in request.typed:
        changes.put(sheet, (row, column), value)
    try:
        commit(workbook(copy), changes)
        return not workbook(copy).anatomy.recalculate  # read once: the action opens the same
    except OrderbookError:
        return False


def answered(request: Request, report: Report = lambda _: None) -> Answered:
    """Do an action; what the user's input stands in the way of is an answer too, in the words of the menu."""
    action = ACTIONS[request.action]
    with speaking(in_menu):
        try:
            return _done(action, request, report)
        except OrderbookError as problem:
            found, named = problem.finding, _namer(request)
            where, sheet_and_cell = named(found.where), cell_of(found.where, _books(request))
            text = named(f"{found.saw.rstrip('.')}. {found.expected} {found.try_this}")
            point = Point(found.severity, where, shortened(text, 2000), *sheet_and_cell)
            return Answered(shortened(f"{where}: {text}"), named(str(problem)), (point,), refused=True)
        except OSError as problem:
            name = f"{problem.filename}: " if problem.filename else ""
            said_so = (
                f"{name}{(problem.strerror or str(problem)).lower()}. Look at the name and at who may write there."
            )
            return Answered(_namer(request)(said_so), refused=True)


def _done(action: Action, request: Request, report: Report) -> Answered:
    from orderbook.book.book import Book

    named = _namer(request)
    given = given_to(action, request)
    if action.way == "new":
        made = Book.new(**given)
        return Answered(f"{made.path.name} is ready.", files=(str(made.path),))
    copy = Path(request.copy)
    before = _kept(copy) if action.way == "change" else None
    report("reading the book")
    done = call(getattr(Book(copy), action.method), {**given, **action.given}, report)
    if hasattr(done, "written"):  # what it says of a file is not about the file of the window
        done = replace(done, written=False)
    report("comparing")
    difference = differences(before, copy) if before is not None else Difference()
    points = points_of(done, _books(request))
    return Answered(
        named(headline(done)), named(done.text()), tuple(_named_point(point, named) for point in points),
        files_of(done), difference,
    )  # fmt: skip


def _kept(copy: Path) -> Path:
    """Keep the copy as it was, to be compared with."""
    folder = copy.parent / "before"
    folder.mkdir(exist_ok=True)
    return Path(shutil.copy(copy, folder / copy.name))


def _namer(request: Request) -> Callable[[str], str]:
    """Return what gives the book of the window its own name again, where a text names the copy."""
    copy = request.copy
    name = Path(request.book).name if request.book else Path(copy).name
    return lambda text: text.replace(copy, name) if copy else text


def _named_point(point: Point, named: Callable[[str], str]) -> Point:
    return replace(point, head=named(point.head), text=named(point.text))


def _books(request: Request) -> Books | None:
    """Return the records after the action, to find cells by the numbers of rows; None where they cannot be read."""
    from orderbook.book.opened import opened

    try:
        return opened(Path(request.copy)).books if request.copy else None
    except (OrderbookError, OSError):
        return None


def files_of(done: Any) -> tuple[str, ...]:
    """Return the files or the folder that were written, the one to look at first."""
    files = getattr(done, "files", None) or filter(None, (getattr(done, key, None) for key in ("into", "folder")))
    return tuple(str(file) for file in files)


def call(method: Callable[..., Any], given: Mapping[str, Any], report: Report) -> Any:
    """Call a method with arguments by name, also those it takes one after the other (`*lines`).

    >>> call(lambda state, *lines, pieces=None: (state, lines, pieces), {"lines": ["a", "b"], "state": "x"}, print)
    ('x', ('a', 'b'), None)
    """
    left, first, keywords = dict(given), [], {}
    for name, taken in inspect.signature(method).parameters.items():
        if name == "report":
            keywords[name] = report
        elif name not in left:
            continue
        elif taken.kind is inspect.Parameter.VAR_POSITIONAL:
            first += left.pop(name)
        elif taken.kind is inspect.Parameter.POSITIONAL_OR_KEYWORD:
            first.append(left.pop(name))
        else:
            keywords[name] = left.pop(name)
    return method(*first, **keywords, **left)


def given_to(action: Action, request: Request) -> dict[str, Any]:
    """Return what was answered, as the method takes it; what was left empty is left out.

    Raises: OrderbookError(answer_missing), and of a number that cannot be read.
    """
    found = {}
    for question in action.questions:
        value = _value(question, request.given.get(question.key))
        if value is None and question.kind == "folder" and not question.needed and action.key == "record":
            value = _beside(request)
        if value is not None:
            found[question.key] = value
        elif question.needed:
            raise error("answer_missing", where=question.plain, saw="nothing is filled in", try_this=question.help)
    return found


def _value(question: Question, value: Any) -> Any:
    if value is None or value == "" or value == []:
        return None
    match question.kind:
        case "number":
            return _number(question, value)
        case "yes_no":
            return value if isinstance(value, bool) else str(value).strip().lower() in YES
        case "choices":
            return [_name(one) for one in (value if isinstance(value, (list, tuple)) else [value])]
        case "choice" if question.sources:
            return _name(value)
        case "choice":
            return str(value).strip()
    return str(value)


def _name(choice: Any) -> str:
    """Return the number of a row, where words about it stand behind."""
    return str(choice).split("  ")[0].strip()


def _number(question: Question, value: Any) -> float | int:
    from orderbook.measures import number

    found = float(value) if isinstance(value, (int, float)) else number(str(value), where=question.plain)
    if question.decimals:
        return found
    if not found.is_integer():
        raise error("answer_not_whole", where=question.plain, saw=f"{found:g}")
    return int(found)


def _beside(request: Request) -> Path:
    """Return the folder of a record that no folder was named for: beside the book, as `Book.record` takes it.

    Raises: OrderbookError(book_never_saved).
    """
    if not request.book:
        raise error("book_never_saved", where="the book", saw="it has no file yet")
    book, name = Path(request.book), tidy(_name(request.given["restoration"]))
    whole = _value(ACTIONS["record"].questions[1], request.given.get("costs", True))
    return book.with_name(f"{book.stem}-records") / (name if whole else f"{name}-owner")
