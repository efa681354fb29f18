"""Asks the questions of an action in one dialog made from the table of actions; each label stands before its field.

Runs inside LibreOffice's Python (3.8 or later), always in its main thread.
"""

from __future__ import annotations

import os

import uno
import unohelper
from com.sun.star.awt import XActionListener

WIDTH, LABEL, LINE, GAP, EDGE, BUTTON = 260, 86, 14, 5, 8, 52  # in units of the dialog, which follow the user's font
LIST_LINES = 6  # of a list in which several may be chosen
NOTE_LINES = 2
DETAILS = 180  # height of a long text
OK, CANCEL = 1, 2  # com.sun.star.awt.PushButtonType
SAVE, OPEN = 10, 0  # com.sun.star.ui.dialogs.TemplateDescription: FILESAVE_AUTOEXTENSION, FILEOPEN_SIMPLE
FIELDS = {"choice": "ListBox", "choices": "ListBox", "word": "ComboBox", "number": "NumericField", "yes_no": "CheckBox"}
PATHS = ("file", "new_file", "folder")


class Pressed(unohelper.Base, XActionListener):
    """Told when a button inside a dialog is pressed."""

    def __init__(self, do):
        self.do = do

    def actionPerformed(self, _event):
        self.do()

    def disposing(self, _event):
        pass


def ask(context, frame, action, choices, given):
    """Ask until all that is needed is there; return the answers by key, or None where it was cancelled.

    Parameters: choices, by the key of a question; given, what is filled in at first.
    """
    missing = None
    while True:
        dialog = _build(context, action, choices, given, missing)
        if _run(context, frame, dialog, missing) != OK:
            dialog.dispose()
            return None
        given = _answers(dialog.Model, action)
        dialog.dispose()
        missing = next((q for q in action["questions"] if q["needed"] and given[q["key"]] in (None, "", [])), None)
        if missing is None:
            return given


def tell(context, frame, title, text, buttons):
    """Show a long text with buttons; return the number of the one that was pressed, None where it was closed."""
    model = _model(context, title, EDGE * 2 + DETAILS + GAP + LINE)
    _add(
        model, "Edit", "text", EDGE, EDGE, WIDTH - 2 * EDGE, DETAILS, Text=text, MultiLine=True, ReadOnly=True,
        VScroll=True, HelpText=title,
    )  # fmt: skip
    pressed = []
    dialog = _service(context, "com.sun.star.awt.UnoControlDialog")
    dialog.setModel(model)
    for number, label in enumerate(buttons):
        x = WIDTH - EDGE - (BUTTON + 6) * (len(buttons) - number) + 6
        _add(model, "Button", f"button{number}", x, EDGE + DETAILS + GAP, BUTTON, LINE, Label=label,
             DefaultButton=number == 0)  # fmt: skip
        dialog.getControl(f"button{number}").addActionListener(Pressed(_presser(dialog, pressed, number)))
    _run(context, frame, dialog, None)
    dialog.dispose()
    return pressed[0] if pressed else None


def _presser(dialog, pressed, number):
    def press():
        pressed.append(number)
        dialog.endExecute()

    return press


def _service(context, name):
    return context.ServiceManager.createInstanceWithContext(name, context)


def _model(context, title, height):
    model = _service(context, "com.sun.star.awt.UnoControlDialogModel")
    model.Title, model.Width, model.Height = title, WIDTH, height
    return model


def _build(context, action, choices, given, missing):
    tall = [_height(question) for question in action["questions"]]
    note = NOTE_LINES * LINE if missing else 0
    model = _model(context, action["plain"], EDGE * 2 + sum(tall) + len(tall) * GAP + GAP + note + LINE)
    dialog = _service(context, "com.sun.star.awt.UnoControlDialog")
    dialog.setModel(model)
    y = EDGE
    for question, height in zip(action["questions"], tall):
        value = given.get(question["key"])
        if value is None:
            value = question["usual"]
        _field(context, dialog, question, y, choices.get(question["key"], ()), value)
        y += height + GAP
    if missing:
        text = f"{missing['plain']}: {missing['help']}"
        _add(model, "FixedText", "note", EDGE, y, WIDTH - 2 * EDGE, note, Label=text, MultiLine=True)
        y += note
    for name, label, kind, x in (
        ("ok", "OK", OK, WIDTH - EDGE - 2 * BUTTON - 6),
        ("cancel", "Cancel", CANCEL, WIDTH - EDGE - BUTTON),
    ):
        _add(
            model, "Button", name, x, y + GAP, BUTTON, LINE, Label=label, PushButtonType=kind, DefaultButton=kind == OK
        )
    return dialog


def _height(question):
    return LINE * LIST_LINES if question["kind"] == "choices" else LINE


def _field(context, dialog, question, y, choices, value):
    model, key, kind = dialog.Model, question["key"], question["kind"]
    x, width = EDGE + LABEL, WIDTH - 2 * EDGE - LABEL
    if kind != "yes_no":
        _add(model, "FixedText", key + "_label", EDGE, y + 2, LABEL, LINE, Label=question["label"])
    more = {"HelpText": question["help"]}
    if kind in ("choice", "choices"):
        offered = tuple(choices) if question["needed"] or kind == "choices" else ("", *choices)
        wanted = value if isinstance(value, (list, tuple)) else [value]
        chosen = [n for n, choice in enumerate(offered) if choice in wanted]
        if kind == "choice" and not chosen and offered and not question["needed"]:
            chosen = [0]
        more.update(
            StringItemList=uno.Any("[]string", offered), SelectedItems=uno.Any("[]short", tuple(chosen)),
            Dropdown=kind == "choice", LineCount=12, MultiSelection=kind == "choices",
        )  # fmt: skip
    elif kind == "word":
        more.update(StringItemList=uno.Any("[]string", tuple(choices)), Text=value or "", Dropdown=True, LineCount=12)
    elif kind == "number":
        more.update(ValueMin=0, Spin=True, DecimalAccuracy=question["decimals"])
        if value not in (None, ""):
            more.update(Value=float(value))
        width = 60
    elif kind == "yes_no":
        more.update(Label=question["label"], State=int(value is True or value == "yes"))
    else:
        more.update(Text=value or "")
    if kind in PATHS:
        width -= BUTTON + GAP
    _add(model, FIELDS.get(kind, "Edit"), key, x, y, width, _height(question), **more)
    if kind in PATHS:
        _add(model, "Button", key + "_browse", x + width + GAP, y, BUTTON, LINE, Label="Browse …",
             HelpText="Choose: " + question["plain"])  # fmt: skip
        do = _chooser(context, dialog, question)
        dialog.getControl(key + "_browse").addActionListener(Pressed(do))


def _add(model, kind, name, x, y, width, height, **values):
    """Add a control; the order of adding is the order of Tab and of reading."""
    control = model.createInstance(f"com.sun.star.awt.UnoControl{kind}Model")
    control.Name, control.TabIndex = name, len(model.ElementNames)
    control.PositionX, control.PositionY, control.Width, control.Height = x, y, width, height
    for key, value in values.items():
        if isinstance(value, uno.Any):
            uno.invoke(control, "setPropertyValue", (key, value))
        else:
            control.setPropertyValue(key, value)
    model.insertByName(name, control)


def _chooser(context, dialog, question):
    """Return what the button beside a path does: LibreOffice's own dialog for a file or a folder."""

    def choose():
        field = dialog.getControl(question["key"])
        if found := _picked(context, question, field.Model.Text):
            field.Model.Text = found
        field.setFocus()

    return choose


def _picked(context, question, there):
    if question["kind"] == "folder":
        picker = _service(context, "com.sun.star.ui.dialogs.FolderPicker")
        if not picker.execute():
            return ""
        return uno.fileUrlToSystemPath(picker.Directory)
    picker = _service(context, "com.sun.star.ui.dialogs.FilePicker")
    picker.initialize((SAVE if question["kind"] == "new_file" else OPEN,))
    if question["endings"]:
        if question["kind"] == "new_file":
            for ending in question["endings"]:
                picker.appendFilter(ending, "*" + ending)
        else:
            picker.appendFilter("Lists", ";".join("*" + ending for ending in question["endings"]))
        picker.appendFilter("All files", "*.*")
    if os.path.isdir(os.path.dirname(there)):
        picker.setDisplayDirectory(uno.systemPathToFileUrl(os.path.dirname(there)))
    if not picker.execute():
        return ""
    return uno.fileUrlToSystemPath(picker.Files[0])


def _run(context, frame, dialog, missing):
    """Show a dialog over the window and wait; return the button that ended it."""
    dialog.createPeer(_service(context, "com.sun.star.awt.Toolkit"), frame.ContainerWindow)
    window, size = frame.ContainerWindow.PosSize, dialog.PosSize
    dialog.setPosSize((window.Width - size.Width) // 2, (window.Height - size.Height) // 3, 0, 0, 3)  # X and Y only
    if missing:
        dialog.getControl(missing["key"]).setFocus()
    return dialog.execute()


def _answers(model, action):
    """Return key → what stands in each field; what is left empty is None."""
    found = {}
    for question in action["questions"]:
        control, kind = model.getByName(question["key"]), question["kind"]
        if kind in ("choice", "choices"):
            items, chosen = control.StringItemList, control.SelectedItems
            several = [items[n] for n in chosen]
            found[question["key"]] = several if kind == "choices" else (several[0] if several else None)
        elif kind == "number":
            found[question["key"]] = control.Value
        elif kind == "yes_no":
            found[question["key"]] = bool(control.State)
        else:
            found[question["key"]] = control.Text.strip() or None
    return found
