"""The tab of a live book on the ribbon, made from the table of actions: its XML, macro code, place in a file.

The tab belongs to the book: Excel shows it while the book is in front, and asks for no add-in. A field stands for each
thing that is asked; what the row under the cursor says (a line, a piece) is not asked, and a file is picked in Excel's
own dialog. Needs Excel 2010 or later.
"""

from __future__ import annotations

import io
import zipfile
from xml.sax.saxutils import quoteattr

from orderbook.actions import ACTIONS, MENU, Action, Question
from orderbook.addin.excel.macro_text import quoted

PART = "customUI/customUI14.xml"
KIND = "http://schemas.microsoft.com/office/2007/relationships/ui/extensibility"
SPACE = "http://schemas.microsoft.com/office/2009/07/customui"
RELATIONS = "_rels/.rels"
MODULE = "orderbook_menu"
RUN = "from orderbook.book.excel_menu import run; run({})"
LEFT_OUT = ("stop", "set_up")  # Excel stands still while Python runs, and has no Python of its own to set up
PICKED = ("file", "new_file")  # asked in Excel's own dialog when the button is pressed
BUILT = (1980, 1, 1, 0, 0, 0)
SHOWN = tuple(action for action in ACTIONS.values() if action.key not in LEFT_OUT)
NUMBER_WIDTH, TEXT_WIDTH = "00000", "0" * 18

HEAD = f"""Attribute VB_Name = "{MODULE}"
"""
CODE = """
Private Function Coded(ByVal words As String) As String
    Dim n As Long
    For n = 1 To Len(words)
        Coded = Coded & Right$("000" & Hex$(AscW(Mid$(words, n, 1))), 4)
    Next n
End Function

Private Function CopyOfBook() As String
    Dim folder As String
    folder = Environ$("TEMP")
    If folder = "" Then folder = Environ$("TMPDIR")
    If folder = "" Then folder = ThisWorkbook.Path
    If Right$(folder, 1) <> Application.PathSeparator Then folder = folder & Application.PathSeparator
    CopyOfBook = folder & "orderbook-" & Format$(Now, "yyyymmddhhnnss") & ".xlsm"
    ThisWorkbook.SaveCopyAs CopyOfBook
End Function
"""


def ribbon() -> str:
    """Return the XML of the tab: a group for each group of actions, and one for each action that asks in fields."""
    groups = ""
    for group in dict.fromkeys(action.group for action in SHOWN):
        plain = [action for action in SHOWN if action.group == group and not fields(action)]
        if plain:
            groups += _element("group", "".join(map(_button, plain)), id=_id("group", group), label=group)
        for action in (action for action in SHOWN if action.group == group and fields(action)):
            inside = "".join(_field(action, question) for question in fields(action)) + _button(action)
            groups += _element("group", inside, id=_id("group", action.key), label=action.plain)
    tab = _element("tab", groups, id="orderbook_tab", label=MENU, insertAfterMso="TabHome", keytip="B")
    return (
        f'<?xml version="1.0" encoding="UTF-8"?>\n<customUI xmlns="{SPACE}"><ribbon><tabs>{tab}</tabs></ribbon>'
        "</customUI>"
    )


def fields(action: Action) -> tuple[Question, ...]:
    """Return what is asked in fields of the tab.

    >>> [question.key for question in fields(ACTIONS["mark"])], fields(ACTIONS["refresh"])
    (['state', 'pieces'], ())
    """
    return tuple(q for q in action.questions if q.kind not in PICKED and not (q.needed and q.sources))


def _id(*words: str) -> str:
    return "_".join(words).replace(" ", "_").lower()


def _element(name: str, inside: str = "", **attributes: str) -> str:
    given = "".join(f" {key}={quoteattr(value)}" for key, value in attributes.items())
    return f"<{name}{given}>{inside}</{name}>" if inside else f"<{name}{given}/>"


def _button(action: Action) -> str:
    by_row = any(q.needed and q.sources for q in action.questions)
    about = action.help + (" It is done for the row you stand on." if by_row else "")
    return _element("button", id=action.key, label=action.plain, screentip=action.plain, supertip=about, size="large",
                    imageMso=action.picture, onAction="OrderbookRun")  # fmt: skip


def _field(action: Action, question: Question) -> str:
    name, label = f"{action.key}_{question.key}", question.plain
    common = {"id": name, "label": label, "screentip": label, "supertip": question.help}
    items = "".join(_element("item", id=f"{name}_{n}", label=word) for n, word in enumerate(question.choices))
    match question.kind:
        case "choice" if question.choices:
            return _element("dropDown", items, onAction="OrderbookChosen", **common)
        case "word" if question.choices:
            return _element("comboBox", items, onChange="OrderbookTyped", **common)
        case "yes_no":
            return _element("checkBox", onAction="OrderbookTicked", getPressed="OrderbookIsTicked", **common)
    width = NUMBER_WIDTH if question.kind == "number" else TEXT_WIDTH
    return _element("editBox", onChange="OrderbookTyped", sizeString=width, **common)


# ---- its macro code --------------------------------------------------------------------------------------------------


def menu_module() -> str:
    """Return the module of callbacks.

    What is typed goes to Python as the hex digits of its letters: `RunPython` hands its text through a command line on
    Windows and through a text split at bars on macOS, where quotes, bars and letters of other languages would break it.
    """
    asked = [(f"{a.key}_{q.key}", q) for a in SHOWN for q in fields(a)]
    declared = "".join(f"Private {name} As String\n" for name, _ in asked)
    ticks = [(name, q) for name, q in asked if q.kind == "yes_no"]
    started = "".join(f'    Case {quoted(name)}: If {name} = "" Then {name} = {quoted(q.usual)}\n' for name, q in ticks)
    chosen = "".join(
        f"    Case {quoted(f'{name}_{n}')}: {name} = {quoted(word)}\n"
        for name, q in asked
        if q.kind == "choice"
        for n, word in enumerate(q.choices)
    )
    typed = "".join(f"    Case {quoted(name)}: {name} = typed\n" for name, q in asked if _is_typed(q))
    ticked = "".join(f'    Case {quoted(name)}: {name} = IIf(pressed, "yes", "no")\n' for name, _ in ticks)
    shown = "".join(f'    Case {quoted(name)}: returned = ({name} = "yes")\n' for name, _ in ticks)
    return (
        HEAD
        + declared
        + "\nPublic Sub OrderbookRun(control As IRibbonControl)\n    Dim file As Variant\n    Select Case control.ID\n"
        + "".join(map(_case, SHOWN))
        + "    End Select\nEnd Sub\n"
        + _callback("OrderbookChosen", "chosen As String, place As Integer", "chosen", chosen)
        + _callback("OrderbookTyped", "typed As String", "control.ID", typed)
        + _callback("OrderbookTicked", "pressed As Boolean", "control.ID", ticked)
        + _callback("OrderbookIsTicked", "ByRef returned", "control.ID", started, shown)
        + CODE
    )


def _is_typed(question: Question) -> bool:
    return question.kind != "yes_no" and not (question.kind == "choice" and question.choices)


def _callback(name: str, arguments: str, about: str, *cases: str) -> str:
    inside = "".join(f"    Select Case {about}\n{each}    End Select\n" for each in cases)
    return f"\nPublic Sub {name}(control As IRibbonControl, {arguments})\n{inside}End Sub\n"


def _case(action: Action) -> str:
    lines, given = [f"    Case {quoted(action.key)}"], repr(action.key)
    for question in (q for q in action.questions if q.kind in PICKED):
        dialog = "GetSaveAsFilename" if question.kind == "new_file" else "GetOpenFilename"
        lines += [f"        file = Application.{dialog}()", "        If VarType(file) = vbBoolean Then Exit Sub"]
        given += f", {question.key}='\" & Coded(CStr(file)) & \"'"
    if action.way in ("change", "look") or action.key == "finding":
        given += ", copy='\" & Coded(CopyOfBook()) & \"'"
    given += "".join(f", {q.key}='\" & Coded({action.key}_{q.key}) & \"'" for q in fields(action))
    return "\n".join([*lines, f'        RunPython "{RUN.format(given)}"']) + "\n"


# ---- in the file -----------------------------------------------------------------------------------------------------


def with_ribbon(book: bytes) -> bytes:
    """Return a book with the tab: one part more, which the package points to; what else is in it stays as it is."""
    whole = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(book)) as source, zipfile.ZipFile(whole, "w", zipfile.ZIP_DEFLATED) as target:
        for info in source.infolist():
            data = source.read(info)
            if info.filename == RELATIONS:
                link = f'<Relationship Id="rIdOrderbookMenu" Type="{KIND}" Target="{PART}"/>'
                data = data.replace(b"</Relationships>", link.encode() + b"</Relationships>")
            target.writestr(info, data, zipfile.ZIP_DEFLATED)
        target.writestr(zipfile.ZipInfo(PART, BUILT), ribbon(), zipfile.ZIP_DEFLATED)
    return whole.getvalue()
