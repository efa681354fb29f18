"""Writes the reference page of the menu from the table of actions: `python -m orderbook.addin.menu_page`."""

from __future__ import annotations

from pathlib import Path

from orderbook.actions import ACTIONS, GROUPS, MENU, Action, Question
from orderbook.addin.excel.ribbon import LEFT_OUT

PAGE = Path(__file__).resolve().parents[2] / "docs/reference/menu.md"
HEAD = f"""# The menu {MENU}

The same actions in a menu of LibreOffice Calc and in a tab of a live book in Excel: how to get them is on the pages for
[Calc](../how-to/live-functions-calc.md) and [Excel](../how-to/live-functions-excel.md).

- Each action is done on a copy of the open book, with what is not saved yet. What differs comes back into the open
  book, all of it or nothing: where a cell was edited meanwhile nothing is written, and the cell is named.
- In Calc it comes back as one step to undo. Excel empties its steps to undo when macro code runs, so the book as it was
  is kept beside it as `NAME.before.xlsm`.
- In Calc a line over the sheet says how it went; *Next finding* goes to the next cell that needs a look. In Excel the
  line stands at the foot of the window.
- In Calc what must be asked is asked in a dialog, with the choices of the book; what the row you stand on says is
  chosen already. In Excel it is asked in the tab; lines, springs and pieces are those of the row you stand on.
- A macro can call an action by its address and give the answers as arguments; then nothing is asked.

![The menu in LibreOffice Calc](../pictures/menu.png)

![A trial is noted: the spring of the row is chosen already](../pictures/menu-trial.png)

Both show the demo's book, whose pieces and suppliers are invented.

Made from the table of actions.
"""
KINDS = {
    "choice": "one of the list",
    "choices": "one or more of the list",
    "word": "one of the list, or typed",
    "number": "a number",
    "text": "a line of text",
    "yes_no": "yes or no",
    "file": "a file",
    "new_file": "a new file",
    "folder": "a folder",
}


def menu_page() -> str:
    """Return the page as Markdown."""
    parts = [HEAD]
    for group in GROUPS:
        parts.append(f"## {group}\n")
        parts += [_action(action) for action in ACTIONS.values() if action.group == group]
    return "\n".join(parts)


def _action(action: Action) -> str:
    where = " In Calc only." if action.key in LEFT_OUT else ""
    lines = [f"### {action.plain}\n", f"{action.help}{where}\n", f"Address: `org.orderbook.menu:{action.key}`\n"]
    if action.questions:
        rows = "\n".join(map(_question, action.questions))
        lines.append(f"| asked | argument | kind | |\n| --- | --- | --- | --- |\n{rows}\n")
    return "\n".join(lines)


def _question(question: Question) -> str:
    needed = "" if question.needed else " May be left empty."
    return f"| {question.plain} | `{question.key}` | {KINDS[question.kind]} | {question.help}{needed} |"


if __name__ == "__main__":
    PAGE.write_text(menu_page(), encoding="utf-8")
