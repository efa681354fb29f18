"""An open book that is looked after: what is worked out for it, what is still to be looked at, whether it is stale.

Runs inside LibreOffice's Python (3.8 or later), always in its main thread.
"""

from __future__ import annotations

import _thread
import contextlib
import os
import shutil
import tempfile
import time
import traceback

import unohelper
from com.sun.star.awt import XCallback
from com.sun.star.beans import StringPair
from com.sun.star.lang import DisposedException
from com.sun.star.util import XCloseListener, XModifyListener
from orderbook_reading import BookReading, KeptFile
from orderbook_settings import ACTIONS, MENU, PROTOCOL
from orderbook_window import is_book, show_cell

BAR, STALE_BAR = "orderbook", "orderbook-stale"
INFO, SUCCESS, WARNING, DANGER = 0, 1, 2, 3  # com.sun.star.frame.InfobarType
KINDS = {"error": DANGER, "warning": WARNING, "note": INFO}
PAUSE_S = 0.002  # between two steps of a reading
WATCHERS = []  # told when entries of the menu may have become grey or usable
BOOKS = {}  # number of a document → Attended


class Call(unohelper.Base, XCallback):
    """Something to do in the main thread, where alone windows and documents are touched."""

    def __init__(self, do):
        self.do = do

    def notify(self, _data):
        try:
            self.do()
        except DisposedException:
            pass  # the window was closed meanwhile
        except Exception:
            traceback.print_exc()


def in_main_thread(context, do):
    """Let LibreOffice call `do` in its main thread, soon."""
    context.ServiceManager.createInstanceWithContext("com.sun.star.awt.AsyncCallback", context).addCallback(
        Call(do), None
    )


def a_little_later(context, do):
    """Let LibreOffice call `do` in its main thread, after it has had the time to draw and to take keys."""

    def wait():
        time.sleep(PAUSE_S)
        in_main_thread(context, do)

    _thread.start_new_thread(wait, ())


def tell_watchers():
    """Say that entries may have become grey or usable."""
    for watcher in WATCHERS:
        watcher()


class Attended(unohelper.Base, XCloseListener, XModifyListener):
    """One open spreadsheet, from the first time an action or an opened book asks for it until it is closed."""

    def __init__(self, context, document):
        self.context, self.document, self.number = context, document, document.RuntimeUID
        self.task, self.waiting_for_look = None, False
        self.points, self.details, self.files, self.stale = [], "", [], ""
        self.closed, self.changes = False, 0
        self.kept, self.reading, self.folder = None, None, ""
        document.addCloseListener(self)
        document.addModifyListener(self)

    def queryClosing(self, _event, _gets_ownership):
        pass  # it may close

    def notifyClosing(self, _event):
        self._close()
        if self.task is not None:
            self.task.close()

    def disposing(self, _event):
        self._close()

    def _close(self):
        self.closed = True
        self.forget()
        BOOKS.pop(self.number, None)

    def read(self, on_end):
        """Begin to read what stands in the book."""
        return BookReading(self.document, lambda do: a_little_later(self.context, do), lambda: self.changes, on_end)

    def keep(self, path, moved=False):
        """Read the book, now that a file holds the same as the window; an edit meanwhile ends that, for it does not.

        A file that is `moved` belongs to nobody else: it is taken into a folder that goes when the book is closed.
        """
        self.forget()
        if moved:
            self.folder = tempfile.mkdtemp(prefix="orderbook_kept-")
            path = shutil.move(path, os.path.join(self.folder, os.path.basename(path)))

        def end(reading):
            self.kept, self.reading = KeptFile(path, reading), None

        self.reading = self.read(end)

    @contextlib.contextmanager
    def written_to(self):
        """Write to the book without being told of each cell."""
        self.document.removeModifyListener(self)
        try:
            yield
        finally:
            self.changes += 1
            self.document.addModifyListener(self)

    def forget(self):
        """Let go of the file that was kept."""
        if self.reading is not None:
            self.reading.drop()
        if self.folder:
            shutil.rmtree(self.folder, ignore_errors=True)
        self.kept, self.reading, self.folder = None, None, ""

    def modified(self, _event):
        """What was found may not be so any more when the book changed."""
        self.changes += 1
        if self.reading is not None:
            self.forget()
        if self.points:
            self.points = []
            tell_watchers()
        self.look_soon()

    def look_soon(self):
        """Look whether the answers are stale, once for many changes and not in the midst of one."""
        if not self.waiting_for_look:
            self.waiting_for_look = True
            in_main_thread(self.context, self.look)

    def look(self):
        """Show in a bar that the answers are stale, with the action that mends it; take it away when they are not."""
        self.waiting_for_look = False
        if self.closed:  # a closed document has no properties left to ask for
            return
        controller = self.document.CurrentController
        if controller is None or not is_book(self.document, MENU["tables"]) or self.task is not None:
            return
        flag = MENU["stale"]
        said = self.document.Sheets.getByName(flag["sheet"]).getCellRangeByName(flag["cell"]).String
        stale = "" if not said or said.startswith(tuple(flag["fresh"])) else said
        if stale == self.stale:
            return
        self.stale = stale
        if controller.hasInfobar(STALE_BAR):
            controller.removeInfobar(STALE_BAR)
        if stale:
            words, _, what = stale.rpartition(": ")  # what there is to do stands last; the button does it
            mend = ACTIONS[flag["mend"]] if "refresh" in what else None
            buttons = (StringPair(mend["plain"], PROTOCOL + mend["key"]),) if mend else ()
            controller.appendInfobar(STALE_BAR, words.capitalize(), "" if mend else what, WARNING, buttons, True)


def attended(context, document):
    """Return what is known of an open spreadsheet."""
    number = document.RuntimeUID
    if number not in BOOKS:
        BOOKS[number] = Attended(context, document)
    return BOOKS[number]


def busy(document):
    """Say whether something is being worked out for a document."""
    found = BOOKS.get(document.RuntimeUID)
    return found is not None and found.task is not None


def points_left(document):
    """Say whether there is still something to look at in a document."""
    found = BOOKS.get(document.RuntimeUID)
    return found is not None and bool(found.points)


def say(frame, kind, head, text, *keys):
    """Show words in a bar above the sheet, with buttons for actions: it takes nothing from the user, unlike a box."""
    controller = frame.Controller
    if controller.hasInfobar(BAR):
        controller.removeInfobar(BAR)
    buttons = tuple(StringPair(ACTIONS[key]["plain"], PROTOCOL + key) for key in keys)
    controller.appendInfobar(BAR, head, text, kind, buttons, True)


def next_point(context, frame):
    """Show the next thing to look at and go to its cell; return its words, None where there is none left."""
    book = attended(context, frame.Controller.Model)
    if not book.points:
        return None
    point = book.points.pop(0)
    keys = ([point["mend"]] if point["mend"] else []) + (["finding"] if book.points else [])
    left = f" ({len(book.points)} more)" if book.points else ""
    say(frame, KINDS[point["severity"]], point["head"], point["text"] + left, *keys)
    if point["cell"]:
        show_cell(frame.Controller, point["sheet"], point["cell"])  # after the bar, which takes a strip of the sheet
    tell_watchers()
    return f"{point['head']}: {point['text']}"
