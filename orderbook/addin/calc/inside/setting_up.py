"""Set up: finds the Python behind the menu and the functions, or makes one after saying what will be done.

Runs inside LibreOffice's Python (3.8 or later).
"""

from __future__ import annotations

from orderbook_attending import DANGER, SUCCESS, WARNING, attended, in_main_thread, say, tell_watchers
from orderbook_dialogs import ask, tell
from orderbook_own_python import (
    environment_folder,
    find_maker,
    find_package,
    keep_python,
    python_in,
    steps_to_make,
    told,
    told_without_maker,
    version_of_package,
    what_to_install,
)
from orderbook_running import Running
from orderbook_settings import HERE, MENU, SETTINGS, user_folder

CHOOSE = {
    "key": "set_up",
    "plain": "Choose a Python",
    "questions": [
        {
            "key": "python", "label": "~Python", "plain": "Python", "kind": "file", "needed": True, "usual": "",
            "help": "The interpreter that has the package, such as python3 or python.exe of its environment.",
            "choices": [], "sources": [], "decimals": 0, "endings": [],
        }
    ],
}  # fmt: skip
MAKE, CHOOSE_ONE, CANCEL = "Make it", "Choose …", "Cancel"


class SettingUp:
    """One run of Set up; whatever takes time is done in a thread, every question asked in the main thread."""

    def __init__(self, context, frame, end_with):
        self.context, self.frame, self.end_with = context, frame, end_with
        self.book = attended(context, frame.Controller.Model)
        self.folder = user_folder(context)
        self.found, self.closed, self.running, self.indicator = {}, False, None, None

    def begin(self, given):
        """Look for a Python that has the package; given `python`, take that one; given `make`, do not ask first."""
        self.given = given
        self.work("looking for Python", self.look, self.looked)

    def work(self, words, do, after):
        """Do something in a thread, then go on in the main thread; Stop ends it."""
        self.indicator = self.frame.createStatusIndicator()
        self.indicator.start(f"{MENU['title']}: {words}", 1)
        self.book.task = self
        self.running = Running(
            do, self.message, lambda said: in_main_thread(self.context, lambda: self.over(said, after))
        )
        tell_watchers()

    def message(self, _kind, what):
        if isinstance(what, str):
            in_main_thread(self.context, lambda: self.closed or self.indicator.setText(what[:120]))

    def over(self, words, after):
        self.book.task = None
        if self.closed:
            return self.end_with(False, "closed")
        self.indicator.end()
        tell_watchers()
        if words == "stopped":
            say(self.frame, WARNING, "Stopped", "Nothing is set up.")
            return self.end_with(False, "stopped")
        return after(words)

    def close(self):
        self.closed = True
        self.running.stop()

    def look(self, _running):
        wanted = self.given.get("python")
        if wanted:
            self.found = {"python": wanted, "version": version_of_package(wanted, SETTINGS), "maker": ""}
            return ""
        python, version = find_package(SETTINGS, self.folder)
        self.found = {"python": python, "version": version, "maker": "" if version else find_maker(SETTINGS["needs"])}
        return ""

    def looked(self, words):
        found = self.found
        if words:
            return self.failed(words)
        if found["version"]:
            return self.set_up(found["python"], found["version"])
        if self.given.get("python"):
            text = f"{found['python']} does not have the package {SETTINGS['package']}."
            return self.failed(text)
        return self.offer(found["maker"])

    def offer(self, maker):
        """Say what would be done, and do it if that is wanted."""
        what = what_to_install(SETTINGS, HERE)
        if self.given.get("make"):
            return self.make(maker, what) if maker else self.failed(told_without_maker(SETTINGS))
        if maker:
            text, buttons = told(SETTINGS, environment_folder(), maker, what), [MAKE, CHOOSE_ONE, CANCEL]
        else:
            text, buttons = told_without_maker(SETTINGS), [CHOOSE_ONE, CANCEL]
        pressed = tell(self.context, self.frame, "Set up", text, buttons)
        wanted = CANCEL if pressed is None else buttons[pressed]
        if wanted == MAKE:
            return self.make(maker, what)
        if wanted == CHOOSE_ONE:
            answers = ask(self.context, self.frame, CHOOSE, {}, {})
            if answers:
                return self.begin(answers)
        return self.end_with(False, "cancelled")

    def make(self, maker, what):
        environment = environment_folder()

        def do(running):
            for command in steps_to_make(maker, environment, what):
                words = running.lines_of(command)
                if words:
                    return words
            self.found = {"python": python_in(environment), "version": ""}
            self.found["version"] = version_of_package(self.found["python"], SETTINGS)
            return "" if self.found["version"] else "the new environment does not answer"

        self.work(f"making {environment}", do, self.made)

    def made(self, words):
        if words:
            return self.failed(f"{words}. The folder {environment_folder()} may be deleted.")
        return self.set_up(self.found["python"], self.found["version"])

    def set_up(self, python, version):
        keep_python(self.folder, python)
        text = f"Version {version} of the package answers from {python}."
        say(self.frame, SUCCESS, "Set up", text)
        return self.end_with(True, text)

    def failed(self, text):
        say(self.frame, DANGER, "Not set up", text, "set_up")
        return self.end_with(False, text)
