"""What the extension tells LibreOffice of the menu, made from the table of actions: entries, addresses, settings."""

from __future__ import annotations

from typing import Any

from orderbook.actions import ACTIONS, MENU, Action, ChoiceRows, Question, mended_by
from orderbook.addin.calc import names
from orderbook.addin.calc.configuration import configuration, node, prop
from orderbook.records.definition import book_definition
from orderbook.sheets import bench_page

SPREADSHEET = "com.sun.star.sheet.SpreadsheetDocument"
ENGLISH = "en-US"
MENU_LABEL = MENU.replace("b", "~b", 1)
TABLES = ("Restorations", "Barrels", "Orders", "Trials")  # a spreadsheet with these is a book
PICKS = {"Bench": "D1", "Account": "C1"}  # boxes in which a page picks what it shows
PICK_A_BARREL = "pick a barrel"  # what the stale flag says of no barrel


def addons() -> str:
    """Return the menu, for spreadsheets only: in the menu bar, and in the tabbed toolbar, which hides that bar.

    Entries stand in the order of their names, so all are numbered alike, separators too.
    """
    bodies: list[str] = []
    before = ""
    for action in ACTIONS.values():
        if before and action.group != before:
            bodies.append(prop("URL", "private:separator"))
        bodies.append(_entry(action))
        before = action.group
    entries = "".join(node(f"m{number:02}", body) for number, body in enumerate(bodies))
    menu = node(
        names.MENU,
        prop("Title", MENU_LABEL, ENGLISH) + prop("Context", SPREADSHEET) + node("Submenu", entries, ""),
    )
    buttons = "".join(
        node(f"b{number:02}", _entry(action, plain=True) + prop("Style", "text"))
        for number, action in enumerate(ACTIONS.values())
    )
    return configuration(
        "Addons",
        node("AddonUI", node("OfficeMenuBar", menu, "") + node("OfficeNotebookBar", node(names.MENU, buttons), ""), ""),
    )


def _entry(action: Action, *, plain: bool = False) -> str:
    return (
        prop("URL", names.PROTOCOL + action.key)
        + prop("Title", action.label.replace("~", "") if plain else action.label, ENGLISH)
        + prop("Target", "_self")
        + prop("Context", SPREADSHEET)
    )


def protocol_handler() -> str:
    """Return which addresses are ours."""
    listed = f'<prop oor:name="Protocols" oor:type="oor:string-list"><value>{names.PROTOCOL}*</value></prop>'
    return configuration("ProtocolHandler", node("HandlerSet", node(names.HANDLER, listed), ""))


def menu_settings() -> dict[str, Any]:
    """Return the menu as the extension reads it: plain data, tables by the headers that stand in a book."""
    mend = mended_by("answers_stale")
    assert mend is not None
    return {
        "title": MENU,
        "protocol": names.PROTOCOL,
        "tables": list(TABLES),
        "picks": PICKS,
        "bench": {"sheet": "Bench", "cell": PICKS["Bench"]},
        "barrels": [_source(ChoiceRows("Barrels"))],
        "help_sheet": "Help",
        "stale": {
            "sheet": "Bench",
            "cell": bench_page.STALE_FLAG.replace("$", ""),
            "fresh": [bench_page.FRESH, PICK_A_BARREL],
            "mend": mend.key,
        },
        "actions": [_action(action) for action in ACTIONS.values()],
    }


def _action(action: Action) -> dict[str, Any]:
    return {
        "key": action.key,
        "plain": action.plain,
        "help": action.help,
        "way": action.way,
        "questions": [_question(question) for question in action.questions],
    }


def _question(question: Question) -> dict[str, Any]:
    return {
        "key": question.key,
        "label": question.label,
        "plain": question.plain,
        "kind": question.kind,
        "help": question.help,
        "choices": list(question.choices),
        "sources": [_source(source) for source in question.sources],
        "needed": question.needed,
        "decimals": question.decimals,
        "usual": question.usual,
        "endings": list(question.endings),
    }


def _source(source: ChoiceRows) -> dict[str, Any]:
    table = book_definition().tables[source.table]
    state = table.column("state").header if source.states else ""
    return {
        "table": source.table,
        "name": table.column(table.counts_when).header,
        "about": [table.column(key).header for key in source.about],
        "state": state,
        "states": list(source.states),
    }
