"""What the extension was built with: its functions, its menu, and the Python it was made for; and where the user's own
choices are kept.

Runs inside LibreOffice's Python (3.8 or later).
"""

from __future__ import annotations

import json
import os

import uno

HERE = os.path.dirname(os.path.dirname(uno.fileUrlToSystemPath(__file__) if "://" in __file__ else __file__))
with open(os.path.join(HERE, "addin.json"), encoding="utf-8") as _kept:
    SETTINGS = json.load(_kept)
MENU = SETTINGS["menu"]
PROTOCOL = MENU["protocol"]
ENTRIES = {action["key"]: action for action in MENU["actions"]}
# what buttons of the bar over the sheet do, and no entry of the menu
BUTTONS = {
    key: {"key": key, "plain": plain, "way": "here", "questions": []}
    for key, plain in (("details", "Details"), ("open", "Open"))
}
ACTIONS = {**ENTRIES, **BUTTONS}


def user_folder(context=None):
    """Return the user's own folder of this LibreOffice."""
    context = context or uno.getComponentContext()
    paths = context.ServiceManager.createInstanceWithContext("com.sun.star.util.PathSubstitution", context)
    return uno.fileUrlToSystemPath(paths.getSubstituteVariableValue("$(user)"))
