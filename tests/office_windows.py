"""Windows of the LibreOffice under test: dispatches, undo, what a screen reader hears; part of `office_driver.py`."""

import contextlib
import threading
import time

import uno
import unohelper
from com.sun.star.awt import KeyEvent, XCallback
from com.sun.star.beans import PropertyValue
from com.sun.star.frame import XDispatchResultListener, XStatusListener
from com.sun.star.uno import Exception as UnoException
from com.sun.star.util import URL

# com.sun.star.accessibility.AccessibleRole and AccessibleStateType
MENU_BAR, ITEM, LIST, PUSH, DIALOG, LABEL, SEPARATOR = 35, 36, 32, 44, 12, 30, 58
ENABLED, FOCUSED = 7, 11
DATE_FORMAT = 36  # an index of com.sun.star.util.NumberFormats
PROTOCOL = "org.orderbook.menu:"
OFFICE = {}  # "context", "desktop", as the driver has them
WINDOWS = {}  # number → document
ENDS = {}  # number → Finished


def _properties(values):
    return tuple(PropertyValue(name, 0, _taken(value), 0) for name, value in values.items())


def _taken(value):
    return uno.Any("[]string", tuple(value)) if isinstance(value, list) else value


def _service(name):
    return OFFICE["context"].ServiceManager.createInstanceWithContext(name, OFFICE["context"])


class Finished(unohelper.Base, XDispatchResultListener):
    """Told when a dispatch is over; from its making on it looks how long the window stands still."""

    def __init__(self, frame):
        self.over, self.result, self.slowest, self.frame = threading.Event(), None, 0.0, frame
        self.looking = threading.Thread(target=self._look, daemon=True)
        self.looking.start()

    def _look(self):
        """Ask the window for a cell again and again: the answer waits as long as a person at the keyboard would."""
        while not self.over.is_set():
            begin = time.perf_counter()
            with contextlib.suppress(AttributeError, UnoException):  # between two documents in one window
                self.frame.Controller.Model.Sheets.getByIndex(0).getCellByPosition(0, 0).Value  # noqa: B018
            self.slowest = max(self.slowest, time.perf_counter() - begin)
            time.sleep(0.01)

    def dispatchFinished(self, result):  # noqa: N802
        self.result = [result.State, result.Result]
        self.over.set()

    def disposing(self, _):
        self.over.set()


class Status(unohelper.Base, XStatusListener):
    """Keeps whether an entry can be used."""

    def __init__(self):
        self.seen = []

    def statusChanged(self, event):  # noqa: N802
        self.seen.append(event.IsEnabled)

    def disposing(self, _):
        """Nothing is kept."""


class Called(unohelper.Base, XCallback):
    """Run by the office's main thread; what it calls in the office runs there too."""

    def __init__(self, do):
        self.do, self.over, self.result = do, threading.Event(), None

    def notify(self, _):
        self.result = self.do()
        self.over.set()


def window(url, how):
    """Open a document in a window; give its number and the names of its sheets (none for what is no spreadsheet)."""
    document = OFFICE["desktop"].loadComponentFromURL(url, "_blank", 0, _properties(how))
    if document is None:
        raise OSError(f"LibreOffice would not open {url}")
    return _numbered(document)


def _numbered(document):
    number = len(WINDOWS) + 1
    WINDOWS[number] = document
    return [number, list(document.Sheets.ElementNames) if hasattr(document, "Sheets") else []]


def opened_url(url):
    """Give the window that shows a file, or None."""
    components = OFFICE["desktop"].Components.createEnumeration()
    while components.hasMoreElements():
        document = components.nextElement()
        if getattr(document, "URL", "") == url:
            return _numbered(document)
    return None


def _frame(number):
    return WINDOWS[number].CurrentController.Frame


def _asked(number, address):
    url = URL()
    url.Complete = address if ":" in address else PROTOCOL + address
    url = _service("com.sun.star.util.URLTransformer").parseStrict(url)[1]
    return url, _frame(number).queryDispatch(url, "_self", 0)


def start(number, key, given):
    """Begin an action; arguments given are its answers."""
    url, dispatch = _asked(number, key)
    ENDS[number] = Finished(_frame(number))
    dispatch.dispatchWithNotification(url, _properties(given), ENDS[number])


def stop(number):
    """Choose Stop; the end of what is stopped is still waited for with `wait`."""
    url, dispatch = _asked(number, "stop")
    dispatch.dispatch(url, ())


def wait(number, seconds):
    """Wait until the action is over; give [well, words, longest freeze of the window], None if it goes on."""
    end = ENDS[number]
    if end.over.wait(seconds):
        end.looking.join(seconds)  # it waits for the same standstill as the end does
    return None if end.result is None else [end.result[0] == 1, end.result[1], end.slowest]


def enabled(number, key):
    """Say whether an entry can be used in a window."""
    url, dispatch = _asked(number, key)
    if dispatch is None:
        return None
    status = Status()
    dispatch.addStatusListener(status, url)
    dispatch.removeStatusListener(status, url)
    return status.seen[-1]


def helper_in_main_thread(number, key, given, seconds):
    """Let the main thread dispatch through DispatchHelper, as a macro does; say whether it came back."""
    helper, frame = _service("com.sun.star.frame.DispatchHelper"), _frame(number)
    called = Called(lambda: helper.executeDispatch(frame, PROTOCOL + key, "_self", 0, _properties(given)) and True)
    _service("com.sun.star.awt.AsyncCallback").addCallback(called, None)
    return called.over.wait(seconds)


def path(number):
    """Give the file of a document."""
    return uno.fileUrlToSystemPath(WINDOWS[number].URL)


def view(number):
    """Give sheet, selection and first visible row."""
    controller = _frame(number).Controller
    return [
        controller.ActiveSheet.Name,
        getattr(controller.Selection, "AbsoluteName", None),
        controller.getFirstVisibleRow(),
    ]


def look_at(number, sheet, cells, row):
    """Go to cells of a sheet."""
    controller = _frame(number).Controller
    there = WINDOWS[number].Sheets.getByName(sheet)
    controller.setActiveSheet(there)
    controller.select(there.getCellRangeByName(cells))
    controller.setFirstVisibleRow(row)


def full_size(number, width, height):
    """Let a window take the whole screen."""
    _frame(number).ContainerWindow.setPosSize(0, 0, width, height, 15)


def type_in(number, sheet, cell, value):
    """Type a value into one cell, as a step to undo of its own."""
    place = WINDOWS[number].Sheets.getByName(sheet).getCellRangeByName(cell)
    (place.setValue if isinstance(value, (int, float)) else place.setString)(value)


def enter(number, sheet, cell, text):
    """Enter a formula, or what reads like a number, as at the keyboard of an English program."""
    WINDOWS[number].Sheets.getByName(sheet).getCellRangeByName(cell).setFormula(text)


def show_as_date(number, sheet, cell):
    """Give a cell the look of a date."""
    WINDOWS[number].Sheets.getByName(sheet).getCellRangeByName(cell).NumberFormat = DATE_FORMAT


def everything(number):
    """Give every formula and typed value of the book, by sheet."""
    found = {}
    for sheet in WINDOWS[number].Sheets:
        cursor = sheet.createCursor()
        cursor.gotoEndOfUsedArea(False)
        last = cursor.RangeAddress
        whole = sheet.getCellRangeByPosition(0, 0, last.EndColumn, last.EndRow)
        found[sheet.Name] = [list(row) for row in whole.FormulaArray]
    return found


def shown(number, sheet, cell):
    """Give what a cell of a window shows."""
    return WINDOWS[number].Sheets.getByName(sheet).getCellRangeByName(cell).String


def table(number, name):
    """Give the rows of a table that hold anything in their first column, each as header → value."""
    heads, *rows = WINDOWS[number].DatabaseRanges.getByName(name).ReferredCells.DataArray
    return [dict(zip(heads, row, strict=False)) for row in rows if row[0] != ""]


def table_area(number, name):
    """Give sheet, first column, first row, last column, last row of a table, from 0."""
    area = WINDOWS[number].DatabaseRanges.getByName(name).DataArea
    sheet = WINDOWS[number].Sheets.getByIndex(area.Sheet).Name
    return [sheet, area.StartColumn, area.StartRow, area.EndColumn, area.EndRow]


def insert_row(number, sheet, row):
    """Insert a row."""
    WINDOWS[number].Sheets.getByName(sheet).Rows.insertByIndex(row, 1)


def protect(number, sheet):
    """Protect a sheet."""
    WINDOWS[number].Sheets.getByName(sheet).protect("")


def steps(number):
    """Give the names of the steps that can be undone, the last one first."""
    return list(WINDOWS[number].UndoManager.getAllUndoActionTitles())


def undo(number):
    """Undo the last step."""
    WINDOWS[number].UndoManager.undo()


def redo(number):
    """Do the step again that was undone."""
    WINDOWS[number].UndoManager.redo()


def is_modified(number):
    """Say whether a document counts as changed."""
    return WINDOWS[number].isModified()


def bars(number):
    """Say which bars are over the sheet: ours, and the one about stale answers."""
    controller = _frame(number).Controller
    return [bar for bar in ("orderbook", "orderbook-stale") if controller.hasInfobar(bar)]


def window_save(number, url, filter_name):
    """Save a copy of what a window holds."""
    WINDOWS[number].storeToURL(url, _properties({"FilterName": filter_name}))


def window_save_as(number, url, filter_name):
    """Save the document itself under a name."""
    WINDOWS[number].storeAsURL(url, _properties({"FilterName": filter_name}))


def window_close(number):
    """Close a window without saving."""
    with contextlib.suppress(UnoException):
        WINDOWS.pop(number).close(True)


# ---- what a screen reader hears --------------------------------------------------------------------------------------


def _children(context):
    return [context.getAccessibleChild(n).getAccessibleContext() for n in range(context.getAccessibleChildCount())]


def _has_state(context, state):
    states = context.getAccessibleStateSet()  # an object in LibreOffice 7.4, a number of bits in later ones
    return bool(states & 1 << state) if isinstance(states, int) else state in states.getStates()


def _menu(number):
    top = _frame(number).ContainerWindow.getAccessibleContext()
    bar = next(child for child in _children(top) if child.getAccessibleRole() == MENU_BAR)
    return next((child for child in _children(bar) if child.getAccessibleName() == "Order book"), None)


def menu(number):
    """Open the menu as a person does; give its entries as [name, can be used], None where there is no such menu."""
    found = _menu(number)
    if found is None:
        return None
    found.doAccessibleAction(0)
    return [
        [child.getAccessibleName(), _has_state(child, ENABLED)]
        for child in _children(found)
        if child.getAccessibleRole() == ITEM
    ]


def choose(number, name):
    """Choose an entry of the menu."""
    found = _menu(number)
    found.doAccessibleAction(0)
    next(child for child in _children(found) if child.getAccessibleName() == name).doAccessibleAction(0)


class Dialog:
    """The dialog that is open, as a screen reader and a keyboard see it."""

    def __init__(self, name, seconds):
        self.toolkit = _service("com.sun.star.awt.Toolkit")
        end, self.window = time.monotonic() + seconds, None
        while self.window is None and time.monotonic() < end:
            self.window = self._find(name)
            time.sleep(0.05)
        if self.window is None:
            raise LookupError(f"no dialog {name}")
        self.fields = [
            part for part in _children(self.window.getAccessibleContext()) if part.getAccessibleRole() != LABEL
        ]
        self.names = [field.getAccessibleName() for field in self.fields]

    def _find(self, name):
        for number in range(self.toolkit.getTopWindowCount()):
            top = self.toolkit.getTopWindow(number)
            context = top.getAccessibleContext() if top is not None else None  # closed while we look
            if context is not None and context.getAccessibleName() == name and context.getAccessibleRole() == DIALOG:
                return top
        return None

    def field(self, name):
        return self.fields[self.names.index(name)]

    def listed(self, name):
        field = self.field(name)
        if field.getAccessibleRole() == LIST:
            return field
        return next(part for part in _children(field) if part.getAccessibleRole() == LIST)

    def focus(self):
        return next((n for n, field in zip(self.names, self.fields, strict=True) if _has_state(field, FOCUSED)), None)

    def press(self, code, letter):
        event = KeyEvent()
        event.Source, event.KeyCode = self.window, code
        if letter:
            event.KeyChar = letter
        self.toolkit.keyPress(event)
        self.toolkit.keyRelease(event)  # never for a key that closes the window: LibreOffice can crash (seen)
        time.sleep(0.1)


DIALOGS = {}


def dialog(name, seconds):
    """Wait for a dialog; give the names of its fields, as a screen reader says them."""
    DIALOGS[0] = Dialog(name, seconds)
    return DIALOGS[0].names


def tab_order(count):
    """Press Tab again and again; give where one is each time."""
    found = [DIALOGS[0].focus()]
    for _ in range(count - 1):
        DIALOGS[0].press(1282, None)  # com.sun.star.awt.Key.TAB
        found.append(DIALOGS[0].focus())
    return found


def offered(name):
    """Give the choices of a list and which are chosen."""
    field = DIALOGS[0].listed(name)
    names = [child.getAccessibleName() for child in _children(field)]
    chosen = [
        field.getSelectedAccessibleChild(n).getAccessibleContext().getAccessibleName()
        for n in range(field.getSelectedAccessibleChildCount())
    ]
    return [names, chosen]


def pick(name, number):
    """Choose one of a list."""
    DIALOGS[0].listed(name).selectAccessibleChild(number)


def fill_in(name, text):
    """Write into a field."""
    DIALOGS[0].field(name).setText(text)


def read_field(name):
    """Read a field."""
    return DIALOGS[0].field(name).getText()


def press_digits(name, digits):
    """Type digits into a field."""
    DIALOGS[0].field(name).grabFocus()
    for digit in digits:
        DIALOGS[0].press(256 + int(digit), digit)  # com.sun.star.awt.Key.NUM0


def push(name):
    """Press a button of the dialog."""
    DIALOGS[0].field(name).doAccessibleAction(0)


VERBS = {
    verb.__name__: verb
    for verb in (
        window, opened_url, start, stop, wait, enabled, helper_in_main_thread, path, view, look_at, full_size, type_in,
        enter, show_as_date,
        everything, shown, table, table_area, insert_row, protect, steps, undo, redo, is_modified, bars, window_save,
        window_save_as, window_close, menu, choose, dialog, tab_order, offered, pick, fill_in, read_field,
        press_digits, push,
    )
}  # fmt: skip
