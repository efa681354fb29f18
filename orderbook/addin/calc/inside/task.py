"""One action on one open book, from the question to the answer.

The book is copied out, a process of the package's own Python does the action on the copy, and what differs comes back
into the open book. Runs inside LibreOffice's Python (3.8 or later).
"""

from __future__ import annotations

import json
import os
import shutil
import traceback

import uno
from com.sun.star.lang import DisposedException
from orderbook_attending import (
    DANGER,
    INFO,
    SUCCESS,
    WARNING,
    WATCHERS,
    attended,
    busy,
    in_main_thread,
    next_point,
    points_left,
    say,
    tell_watchers,
)
from orderbook_dialogs import ask, tell
from orderbook_own_python import likely_python
from orderbook_running import START, Running
from orderbook_setting_up import SettingUp
from orderbook_settings import MENU, SETTINGS, user_folder
from orderbook_window import (
    ChangedError,
    choices_of,
    chosen_here,
    copy_of,
    copy_out,
    held,
    is_book,
    is_spreadsheet,
    own_file,
    path_of,
    properties,
    put_in,
    put_one,
    show_cell,
    words_here,
)

ANYWHERE = ("new", "set_up")  # actions that need no book
STEPS = 4  # of the bar in the status line
LONGEST_BAR = 400  # letters of a bar


def watch_windows(watcher):
    """Let a function be told when entries may have become grey or usable."""
    WATCHERS.append(watcher)


def document_of(frame):
    """Return the document of a window, None while it has none."""
    controller = frame.Controller if frame is not None else None
    return controller.Model if controller is not None else None


def can_use(_context, frame, action):
    """Say whether an action can be used in a window now."""
    document, key = document_of(frame), action["key"]
    if not is_spreadsheet(document):
        return False
    if key in ANYWHERE:
        return not busy(document)
    if key == "stop":
        return busy(document)
    if not is_book(document, MENU["tables"]):
        return False
    if key == "finding":
        return points_left(document)
    if key in ("help", "details", "open"):
        return True
    return not busy(document) and not (document.isReadonly() and (action["way"] == "change" or key == "bench"))


class Task:
    """One action; `end_with(well, words)` is called once, when it is over."""

    def __init__(self, context, frame, action, end_with):
        self.context, self.frame, self.action, self.end_with = context, frame, action, end_with
        self.document, self.result, self.closed = document_of(frame), None, False
        self.copy, self.indicator, self.running, self.reading, self.whole, self.at = "", None, None, None, False, -1

    def begin(self, given):
        """Do what is done in the window itself; else ask, and set the work going."""
        if not can_use(self.context, self.frame, self.action):
            return self.end_with(False, "not now")
        here = getattr(self, "do_" + self.action["key"], None)
        if here is not None:
            return here(given)
        known = {question["key"] for question in self.action["questions"]}
        if set(given) - known:
            return self.end_with(False, f"not asked for: {', '.join(sorted(set(given) - known))}")
        answers = given or self.asked()
        if answers is None:
            return self.end_with(False, "cancelled")
        return self.start(answers)

    def asked(self):
        """Ask in a dialog, with what the row one stands in says filled in; None where it was cancelled."""
        questions = self.action["questions"]
        if not questions:
            return {}
        choices = {q["key"]: choices_of(self.document, q) for q in questions}
        for question in questions:
            if question["needed"] and question["kind"] in ("choice", "choices") and not choices[question["key"]]:
                text = f"{question['plain']}: there is nothing to choose from in this book."
                say(self.frame, WARNING, self.action["plain"], text)
                return None
        words = words_here(self.frame.Controller, MENU["picks"]) if is_book(self.document, MENU["tables"]) else set()
        given = {}
        for question in (q for q in questions if q["needed"] and q["sources"]):
            chosen = chosen_here(choices[question["key"]], words)
            if question["kind"] == "choices":
                given[question["key"]] = chosen
            elif chosen:
                given[question["key"]] = chosen[0]
            elif len(choices[question["key"]]) == 1:
                given[question["key"]] = choices[question["key"]][0]
        return ask(self.context, self.frame, self.action, choices, given)

    # ---- done in the window itself -----------------------------------------------------------------------------------

    def do_stop(self, _given):
        attended(self.context, self.document).task.stop()
        self.end_with(True, "")

    def do_finding(self, _given):
        words = next_point(self.context, self.frame)
        self.end_with(words is not None, words or "")

    def do_details(self, _given):
        tell(self.context, self.frame, MENU["title"], attended(self.context, self.document).details, ["Close"])
        self.end_with(True, "")

    def do_open(self, _given):
        files = attended(self.context, self.document).files
        if files:
            shell = self.context.ServiceManager.createInstanceWithContext(
                "com.sun.star.system.SystemShellExecute", self.context
            )
            shell.execute(uno.systemPathToFileUrl(files[0]), "", 0)
        self.end_with(bool(files), "")

    def do_help(self, _given):
        shown = show_cell(self.frame.Controller, MENU["help_sheet"], "A1")
        self.end_with(shown, "" if shown else "this book has no page Help")

    def do_bench(self, _given):
        """Show the barrel of the row one stands in."""
        source = {"choices": [], "sources": MENU["barrels"]}
        words = words_here(self.frame.Controller, MENU["picks"])
        barrels = [choice.split("  ")[0] for choice in choices_of(self.document, source)]
        found = [barrel for barrel in barrels if barrel in words]
        found = found or [barrel for barrel in barrels if barrel.rpartition("-B")[0] in words]
        if not found:
            text = "Stand on a row that names a barrel or a piece, then do it again."
            say(self.frame, WARNING, "No barrel in this row", text)
            return self.end_with(False, text)
        place = MENU["bench"]
        cell = self.document.Sheets.getByName(place["sheet"]).getCellRangeByName(place["cell"])
        if held(cell) != found[0]:
            put_one(self.document, place["sheet"], place["cell"], found[0], self.step())
        show_cell(self.frame.Controller, place["sheet"], place["cell"])
        return self.end_with(True, found[0])

    def do_set_up(self, given):
        SettingUp(self.context, self.frame, self.end_with).begin(given)

    # ---- done by the package's own Python ---------------------------------------------------------------------------

    def step(self):
        """Return what the step to undo is called."""
        return f"{MENU['title']}: {self.action['plain']}"

    def start(self, answers):
        """Copy the book out and set the work going; from here on `end` has the word."""
        book = attended(self.context, self.document)
        self.answers, book.task = answers, self
        self.indicator = self.frame.createStatusIndicator()
        self.indicator.start(f"{MENU['title']}: {self.action['plain']}", STEPS)
        file = own_file(self.document)
        if self.action["way"] == "new":
            self.work()
        elif file:
            self.copied(lambda: copy_of(self.document, file))
        elif book.kept is not None and book.kept.holds():
            kept = book.kept
            self.reading = book.read(lambda reading: self.read(kept, reading))
        else:
            self.copied(lambda: copy_out(self.document))
        tell_watchers()

    def read(self, kept, reading):
        """Take the file that was kept and what was typed since, or else let the book be written."""
        self.reading = None
        typed = reading.typed_since(kept.reading)
        if typed is None:
            self.copied(lambda: copy_out(self.document))
        else:
            self.copied(lambda: copy_of(self.document, kept.path), typed)

    def copied(self, copy, typed=()):
        """Make the copy and set the work going."""
        self.at = attended(self.context, self.document).changes
        try:
            self.copy = copy()
        except Exception as problem:  # no room, no right to write
            return self.over("The book could not be copied", f"{problem}. Nothing was changed.")
        return self.work(typed)

    def work(self, typed=()):
        """Let the package's own Python do the action."""
        self.indicator.setValue(1)
        request = {
            "action": self.action["key"], "copy": self.copy, "given": self.answers, "book": path_of(self.document),
            "typed": typed,
        }  # fmt: skip
        command = [likely_python(SETTINGS, user_folder(self.context)), "-c", START, SETTINGS["package_folder"]]
        self.running = Running(
            lambda running: running.lines_of(command, json.dumps(request) + "\n"),
            self.message,
            lambda words: in_main_thread(self.context, lambda: self.end(words)),
        )

    def stop(self):
        """End it, at whatever it is."""
        if self.reading is not None:
            self.reading.drop()
            in_main_thread(self.context, lambda: self.end("stopped"))
        else:
            self.running.stop()

    def over(self, head, words):
        """End what could not begin."""
        attended(self.context, self.document).task = None
        self.indicator.end()
        tell_watchers()
        say(self.frame, DANGER, head, words)
        return self.end_with(False, words)

    def message(self, kind, what):
        """Take a message, in the thread that reads."""
        if kind == "progress":
            in_main_thread(self.context, lambda: self.show(what))
        elif kind == "done":
            self.result = what
        elif kind == "whole":  # what was typed leaves something for LibreOffice to work out
            self.whole = True

    def show(self, words):
        if not self.closed:
            self.indicator.setText(f"{MENU['title']}: {words}")

    def close(self):
        """The window is closed: what is worked out for it has nobody to go to."""
        self.closed = True
        self.stop()

    def end(self, words):
        """In the main thread: put the result in, tidy up, say how it went."""
        folder = os.path.dirname(self.copy) if self.copy else ""
        if self.closed:
            shutil.rmtree(folder, ignore_errors=True)
            return self.end_with(False, "closed")
        if self.whole:
            self.whole = False
            shutil.rmtree(folder, ignore_errors=True)
            return self.copied(lambda: copy_out(self.document))
        book = attended(self.context, self.document)
        book.task = None
        try:
            well, said = self.finish(words, book)
        except ChangedError as problem:
            well, said = False, f"{problem}. Do it again."
            say(self.frame, WARNING, "Nothing was written", said)
        except DisposedException:
            well, said = False, "closed"
        except Exception as problem:
            traceback.print_exc()
            well, said = False, f"{type(problem).__name__}: {problem}"
            say(self.frame, DANGER, "Nothing was written", said)
        finally:
            if folder:
                shutil.rmtree(folder, ignore_errors=True)
            self.indicator.end()
        tell_watchers()
        book.look_soon()
        return self.end_with(well, said)

    def finish(self, words, book):
        """Return (whether it went well, what was said)."""
        if words == "stopped":
            say(self.frame, WARNING, "Stopped", "The book is as it was.")
            return False, "stopped"
        if self.result is None:
            text = f"{words or 'no answer'}. The book is as it was."
            say(self.frame, DANGER, "The Python behind the menu gave no answer", text, "set_up")
            return False, text
        result = self.result
        self.indicator.setValue(STEPS - 1)
        if not result["refused"] and self.action["way"] == "change":
            undisturbed = book.changes == self.at
            with book.written_to():
                put_in(self.document, result["difference"], self.step())
            if undisturbed and (result["difference"]["cells"] or result["difference"]["grown"]):
                book.keep(self.copy, moved=True)
        book.points, book.details, book.files = result["points"], result["details"], result["files"]
        if self.action["way"] == "new" and not result["refused"]:
            self.open_book(result["files"][0])
        return not result["refused"], self.announce(result, book)

    def announce(self, result, book):
        """Say in a bar how it went; a look goes to the first thing it found."""
        if self.action["way"] == "look" and not result["refused"] and book.points and not book.files:
            next_point(self.context, self.frame)
            return result["headline"]
        keys = []
        if any(point["cell"] for point in book.points) or len(book.points) > 1:
            keys.append("finding")
        if book.files and self.action["way"] != "new":
            keys.append("open")
        if len(book.details) > len(result["headline"]) + 40:
            keys.append("details")
        head, kind = ("Not done", WARNING) if result["refused"] else (self.action["plain"], SUCCESS)
        if not result["refused"] and any(point["severity"] != "note" for point in book.points):
            kind = INFO
        say(self.frame, kind, head, result["headline"][:LONGEST_BAR], *keys)
        return result["headline"]

    def open_book(self, path):
        desktop = self.context.ServiceManager.createInstanceWithContext("com.sun.star.frame.Desktop", self.context)
        opened = desktop.loadComponentFromURL(uno.systemPathToFileUrl(path), "_default", 0, properties())
        if opened is None:
            raise ChangedError(f"{path} is made, but could not be opened here")
