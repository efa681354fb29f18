"""The one table of actions: what a menu can do, in which words, what is asked, which method of `Book` does it.

Calc's menu and dialogs, Excel's tab and its macro code, and the page of the menu are all made from it; adding an action
is one entry here. A label carries `~` before the letter of its shortcut. What is asked is named as the method's
argument is. The choices of a question are words of the book, or rows that stand in the open book (`ChoiceRows`).
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from types import MappingProxyType
from typing import Any, Literal

from orderbook.records.books import STORED
from orderbook.records.definition import book_definition
from orderbook.records.spelling import in_cells
from orderbook.records.states import IN_HAND, ORDER
from orderbook.records.tables import RECORDS

Way = Literal["change", "look", "new", "here"]
"""Whether it changes the open book, only looks at it, needs none, or is done in the window itself."""
Kind = Literal["choice", "choices", "word", "number", "text", "yes_no", "file", "new_file", "folder"]
"""How a question is asked: one or several of the choices, a choice that may be typed too, or what the name says."""

MENU = "Order book"
GROUPS = ("The book", "The choice", "The look", "On paper", "Help")


@dataclass(frozen=True, slots=True)
class ChoiceRows:
    """Rows of a table of the open book to choose from: those in one of `states` (all where none is named).

    A row is known by the column that makes it count, and said with the columns `about`.
    """

    table: str
    about: tuple[str, ...] = ()
    states: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Question:
    """One thing to ask, named as the argument of the method; `usual` is what is filled in."""

    key: str
    label: str
    kind: Kind
    help: str
    choices: tuple[str, ...] = ()
    sources: tuple[ChoiceRows, ...] = ()
    needed: bool = False
    decimals: int = 0
    usual: str = ""
    endings: tuple[str, ...] = ()

    @property
    def plain(self) -> str:
        """The label without the mark of its shortcut.

        >>> ACTIONS["trial"].questions[0].plain
        'Spring'
        """
        return self.label.replace("~", "")


@dataclass(frozen=True, slots=True)
class Action:
    """One entry of the menu.

    `method` is the method of `Book`, and `given` what it is always called with; without a method the window does it.
    `mends` are codes of findings that this action mends; `picture` is the name of one of Excel's own pictures.
    """

    key: str
    label: str
    help: str
    group: str
    way: Way
    method: str = ""
    questions: tuple[Question, ...] = ()
    given: Mapping[str, Any] = field(default_factory=dict)
    mends: tuple[str, ...] = ()
    picture: str = ""

    @property
    def plain(self) -> str:
        """The label without the mark of its shortcut and the dots that promise a dialog.

        >>> ACTIONS["trial"].plain
        'Note a trial'
        """
        return self.label.replace("~", "").removesuffix(" …")


_WORDS = book_definition().lists
_STEPS = tuple(state for state, after in ORDER.items() if after)  # a line in one of these can still be marked
_OPEN = tuple(state for state in _WORDS["restoration_state"] if state != "closed")
_MARKS = tuple(state for state in ORDER if state != "planned")
_OPEN_PIECE = (ChoiceRows("Restorations", ("piece",), _OPEN),)
_ANY_PIECE = (ChoiceRows("Restorations", ("piece",)),)
_LISTS = (".csv", ".csv.gz", ".tsv", ".txt", ".xlsx", ".ods", ".parquet")

_ENTRIES = (
    Action(
        "new", "~New book …", "Make a new book and open it.", "The book", "new", "new", picture="FileNew",
        questions=(
            Question("path", "~File", "new_file", "Where the new book is to be kept; it ends in .xlsx, or in .xlsm for "
                     "live functions in Excel.", needed=True, endings=(".xlsx", ".xlsm")),
            Question("live", "L~ive functions", "yes_no", "Answers that change as you type; in an .xlsx for this "
                     "program with its functions.", usual="no"),
        ),
    ),
    Action(
        "catalogue", "Bring in a ~list …", "Read a supplier's list of springs and put it into the table Catalogue.",
        "The book", "change", "catalogue", picture="ImportTextFile",
        questions=(
            Question("lists", "~File", "file", "The supplier's list, as it was sent.", needed=True, endings=_LISTS),
            Question("supplier", "~Supplier", "word", "Whose list it is; left empty where the list says it.",
                     sources=(ChoiceRows("Suppliers"),)),
            Question("currency", "~Currency", "word", "Currency of prices that do not say theirs.",
                     choices=_WORDS["currency"]),
            Question("sheet", "S~heet", "text", "Of a file with several sheets; left empty: the first with a list."),
        ),
    ),
    Action(
        "import", "Bring in ~rows …", "Add the rows of a list kept elsewhere to a table of the book.", "The book",
        "change", "import_", picture="GetExternalDataFromText",
        questions=(
            Question("file", "~File", "file", "A list with headings, one row a line.", needed=True, endings=_LISTS[:6]),
            Question("table", "~Table", "choice", "Where the rows belong.", needed=True, choices=tuple(
                name for name in RECORDS if name not in STORED)),
            Question("sheet", "S~heet", "text", "Of a file with several sheets; left empty: the first with a list."),
        ),
    ),
    Action(
        "refresh", "~Work out again", "Work out the barrels that changed, and put the answers into this book.",
        "The choice", "change", "refresh", picture="CalculateNow", mends=("answers_stale",),
    ),
    Action(
        "bench", "Show on the ~Bench", "Show the barrel of the row you stand on.", "The choice", "here",
        picture="ZoomToSelection",
    ),
    Action(
        "order", "~Plan the order …", "Plan the springs to order, and lay out what is due by supplier.", "The choice",
        "change", "order", picture="ReviewAcceptChange",
        questions=(
            Question("restoration", "~Restoration", "choice", "The piece it is for.", sources=_OPEN_PIECE, needed=True),
            Question("together", "~All at once", "yes_no", "Plan every stage as due now: one parcel, one wait.",
                     usual="no"),
            Question("into", "~Folder", "folder", "Order sheets to print or send are written there; left empty: none."),
        ),
    ),
    Action(
        "mark", "~Mark order lines …", "Say what became of order lines; the ledger and the drawer follow.",
        "The choice", "change", "mark", picture="ReviewTrackChanges",
        questions=(
            Question("lines", "~Lines", "choices", "The order lines it is about.", needed=True,
                     sources=(ChoiceRows("Orders", ("supplier", "item", "state"), _STEPS),)),
            Question("state", "~Mark as", "choice", "What became of them.", choices=_MARKS, needed=True),
            Question("pieces", "~Pieces", "number", "How many came or went back, of one line; left empty: all."),
        ),
    ),
    Action(
        "trial", "Note a ~trial …", "Note how a fitted spring did; what waited for it follows.", "The choice", "change",
        "trial", picture="ReviewNewComment",
        questions=(
            Question("spring", "~Spring", "choice", "A line of Orders, or a spring of Drawer.", needed=True, sources=(
                ChoiceRows("Orders", ("barrel", "item"), tuple(s for s in ORDER if s in IN_HAND)),
                ChoiceRows("Drawer", ("label",), ("in drawer", "fitted")))),
            Question("verdict", "~Verdict", "choice", "How the spring did.", choices=_WORDS["verdict"], needed=True),
            Question("barrel", "~Barrel", "choice", "For a spring of the drawer: where it was fitted.",
                     sources=(ChoiceRows("Barrels", ("train",)),)),
            Question("clicks", "~Clicks of set-up", "number", "Left empty if not counted."),
            Question("stopped_turns", "Stopped after t~urns", "number", "If it stopped: the most telling number there "
                     "is.", decimals=2),
            Question("stopped_hours", "Stopped after ~hours", "number", "If it stopped.", decimals=1),
            Question("days", "Ran for ~days", "number", "How long it ran.", decimals=1),
            Question("rod", "~Rod readings", "text", "As in the column Rod: grams x arm: gives, rising."),
            Question("note", "What was s~een", "text", "A line in your own words."),
        ),
    ),
    Action(
        "next", "What is ne~xt", "Say what can be done now, and go to it.", "The look", "look", "next",
        picture="GoToNewRecord",
    ),
    Action("check", "Chec~k", "Look the whole book over, and go to what needs a look.", "The look", "look", "check",
           picture="ErrorChecking"),
    Action("finding", "Next ~finding", "Go to the next cell that needs a look.", "The look", "here",
           picture="FindNext"),
    Action(
        "fix", "Put right what is ~safe", "Do the bookkeeping that follows from what was typed, where there is one "
        "safe way.", "The look", "change", "check", given={"fix": True}, picture="AcceptInvitation",
    ),
    Action(
        "record", "Restoration re~cord …", "Write the record of a piece as pages to print.", "On paper", "look",
        "record", picture="FilePrintPreview",
        questions=(
            Question("restoration", "~Restoration", "choice", "The piece it is about.", sources=_ANY_PIECE,
                     needed=True),
            Question("costs", "~Costs too", "yes_no", "No: the owner's copy, without prices, sums and hours.",
                     usual="yes"),
            Question("into", "~Folder", "folder", "Left empty: a folder beside the book."),
        ),
    ),
    Action(
        "export", "~Export …", "Write every table as a CSV file.", "On paper", "look", "export",
        picture="ExportTextFile",
        questions=(Question("folder", "~Folder", "folder", "Its files can be used as a book again.", needed=True),),
    ),
    Action("stop", "St~op", "End what is being worked out; the book stays as it is.", "Help", "here"),
    Action("set_up", "Set ~up …", "Find or make the Python that works behind this menu.", "Help", "here"),
    Action("help", "~Help", "Go to the page Help of the book.", "Help", "here", picture="Help"),
)  # fmt: skip
ACTIONS: Mapping[str, Action] = MappingProxyType({action.key: action for action in _ENTRIES})


def mended_by(code: str) -> Action | None:
    """Return the action that mends what a finding of this code is about.

    >>> mended_by("answers_stale").plain, mended_by("arbor_not_below_bore")
    ('Work out again', None)
    """
    return next((action for action in ACTIONS.values() if code in action.mends), None)


def in_menu(name: str, example: str) -> str:
    """Spell a mark as the menu does: an input by its column, a verb by its entry.

    >>> in_menu("used", "3.5"), in_menu("!refresh", ""), in_menu("!check", "fix")
    ('Turns used in Barrels (3.5)', 'Order book, Work out again', 'Order book, Put right what is safe')
    """
    if not name.startswith("!"):
        return in_cells(name, example)
    verb = name[1:]
    if verb in ("order", "mark") and "mark=" in example:
        verb = "mark"
    words = set(example.split())
    best = [a for a in ACTIONS.values() if verb in (a.key, a.method.rstrip("_")) and set(a.given) <= words]
    return f"{MENU}, {max(best, key=lambda a: len(a.given)).plain}" if best else in_cells(name, example)
