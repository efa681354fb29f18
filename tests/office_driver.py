"""Drives one headless LibreOffice over UNO: one JSON line in, one JSON line out.

Runs under any Python that can `import uno` (usually the system's); `office.py` starts it and talks to it.
"""

import contextlib
import json
import sys
import time

import office_windows
import uno
import unohelper
from com.sun.star.beans import NamedValue, PropertyValue
from com.sun.star.connection import NoConnectException
from com.sun.star.task import XInteractionHandler
from com.sun.star.ucb import XCommandEnvironment, XProgressHandler

FILTERS = {
    "xlsx": "Calc MS Excel 2007 XML",
    "xlsm": "Calc MS Excel 2007 VBA XML",
    "ods": "calc8",
    "pdf": "calc_pdf_Export",
}
RELINK = "org.orderbook.RelinkJob"
OFFICE = {}  # "context", "desktop"
DOCUMENTS = {}


class Yes(unohelper.Base, XCommandEnvironment, XInteractionHandler, XProgressHandler):
    """Says yes to what the extension manager asks."""

    def getInteractionHandler(self):  # noqa: N802
        return self

    def getProgressHandler(self):  # noqa: N802
        return self

    def handle(self, request):
        for choice in request.getContinuations():
            approve = choice.queryInterface(uno.getTypeByName("com.sun.star.task.XInteractionApprove"))
            if approve is not None:
                approve.select()
                return

    def push(self, _status):
        """Progress is not shown."""

    def update(self, _status):
        """Progress is not shown."""

    def pop(self):
        """Progress is not shown."""


def _properties(**values):
    return tuple(PropertyValue(name, 0, value, 0) for name, value in values.items())


def _service(name):
    return OFFICE["context"].ServiceManager.createInstanceWithContext(name, OFFICE["context"])


def connect(pipe, seconds):
    """Wait until LibreOffice answers on its pipe."""
    local = uno.getComponentContext()
    resolver = local.ServiceManager.createInstanceWithContext("com.sun.star.bridge.UnoUrlResolver", local)
    end = time.monotonic() + seconds
    while True:
        try:
            OFFICE["context"] = resolver.resolve(f"uno:pipe,name={pipe};urp;StarOffice.ComponentContext")
            break
        except NoConnectException:
            if time.monotonic() > end:
                raise
            time.sleep(0.05)
    OFFICE["desktop"] = _service("com.sun.star.frame.Desktop")
    office_windows.OFFICE.update(OFFICE)


def _extensions():
    return OFFICE["context"].getByName("/singletons/com.sun.star.deployment.ExtensionManager")


def install(url):
    """Install an extension for this profile; it works from the next start on."""
    _extensions().addExtension(url, (), "user", None, Yes())


def remove(identifier, file_name):
    """Remove an extension from this profile."""
    _extensions().removeExtension(identifier, file_name, "user", None, Yes())


def load(url, relink):
    """Open a document, hidden; give its number and the names of its sheets."""
    document = OFFICE["desktop"].loadComponentFromURL(url, "_blank", 0, _properties(Hidden=True))
    if document is None:
        raise OSError(f"LibreOffice would not open {url}")
    job = _service(RELINK) if relink else None  # a hidden load does not fire the add-in's own event
    if job is not None:
        environment = uno.Any("[]com.sun.star.beans.NamedValue", (NamedValue("Model", document),))
        job.execute((NamedValue("Environment", environment),))
    number = max(DOCUMENTS, default=0) + 1
    DOCUMENTS[number] = document
    return [number, list(document.Sheets.ElementNames)]


def recalculate(number):
    """Recalculate every cell; give the seconds it took."""
    begin = time.perf_counter()
    DOCUMENTS[number].calculateAll()
    return time.perf_counter() - begin


def _range(number, sheet, address):
    return DOCUMENTS[number].Sheets.getByName(sheet).getCellRangeByName(address)


def _cell_answer(cell):
    """Give a number, a text, None for an empty cell, or {"error": code} for an error value."""
    if cell.getError():
        return {"error": cell.getError(), "shown": cell.String}
    kind = cell.FormulaResultType2 if cell.Type.value == "FORMULA" else {"VALUE": 1, "TEXT": 4}.get(cell.Type.value, 0)
    return {1: cell.Value, 2: cell.String, 4: cell.String}.get(kind)


def cells(number, sheet, address):
    """Give the answers of a range, one list a row."""
    area = _range(number, sheet, address)
    size = area.RangeAddress
    across, down = size.EndColumn - size.StartColumn + 1, size.EndRow - size.StartRow + 1
    return [[_cell_answer(area.getCellByPosition(x, y)) for x in range(across)] for y in range(down)]


def data(number, sheet, address):
    """Give the values of a large range at once (an error reads as empty)."""
    return [list(row) for row in _range(number, sheet, address).getDataArray()]


def errors(number, sheet):
    """Give row, column (from 0) and words of every formula on a sheet that comes to an error, found at once."""
    found = []
    wrong = 4  # com.sun.star.sheet.FormulaResult.ERROR
    for area in DOCUMENTS[number].Sheets.getByName(sheet).queryFormulaCells(wrong).getRangeAddresses():
        for row in range(area.StartRow, area.EndRow + 1):
            for column in range(area.StartColumn, area.EndColumn + 1):
                cell = DOCUMENTS[number].Sheets.getByName(sheet).getCellByPosition(column, row)
                found.append([row, column, cell.String])
    return found


def formulas(number, sheet, address):
    """Give the formulas as LibreOffice holds them."""
    return [list(row) for row in _range(number, sheet, address).getFormulaArray()]


def put(number, sheet, address, rows):
    """Type numbers, texts and formulas (`=`, semicolons between arguments) into a range."""
    _range(number, sheet, address).setFormulaArray(tuple(tuple("" if v is None else v for v in row) for row in rows))


def type_text(number, sheet, address, text):
    """Type a text into one cell as a person does: what the program makes of it, a day of 3/8, is its own affair."""
    _range(number, sheet, address).getCellByPosition(0, 0).FormulaLocal = text


def put_array(number, sheet, address, formula):
    """Type one array formula over a range."""
    _range(number, sheet, address).setArrayFormula(formula)


def named(number, name):
    """Give the values of a named range or of a table (with its header)."""
    document = DOCUMENTS[number]
    for place in (document.NamedRanges, document.DatabaseRanges):
        if place.hasByName(name):
            found = place.getByName(name)
            area = found.getReferredCells() if hasattr(found, "getReferredCells") else found
            return [list(row) for row in area.getDataArray()]
    raise KeyError(name)


def save(number, url, kind):
    """Save a copy in a format by its ending."""
    DOCUMENTS[number].storeToURL(url, _properties(FilterName=FILTERS[kind]))


def store(number, url, kind):
    """Save the document itself under a name, as a person does with Save As."""
    DOCUMENTS[number].storeAsURL(url, _properties(FilterName=FILTERS[kind]))


def fill_down(number, sheet, address, formula):
    """Type a formula into the first cell of a range and fill it down, as a person does."""
    area = _range(number, sheet, address)
    area.getCellByPosition(0, 0).setFormula(formula)
    area.fillAuto(uno.Enum("com.sun.star.sheet.FillDirection", "TO_BOTTOM"), 1)


def by_hand(number):
    """Stop the document from recalculating by itself: it then works out only what `recalculate` asks for."""
    DOCUMENTS[number].enableAutomaticCalculation(False)


def describe(function):
    """Give what the function wizard knows of a function: category, description, arguments."""
    for entry in _function_descriptions():
        found = {p.Name: p.Value for p in entry}
        if found.get("Name") == function:
            arguments = [[a.Name, a.Description, bool(a.IsOptional)] for a in found["Arguments"]]
            return {"category": found["Category"], "description": found["Description"], "arguments": arguments}
    return None


def _function_descriptions():
    known = _service("com.sun.star.sheet.FunctionDescriptions")
    return (known.getByIndex(index) for index in range(known.getCount()))


def close(number):
    """Close a document without saving."""
    with contextlib.suppress(KeyError):
        DOCUMENTS.pop(number).close(True)


def finish():
    """Ask LibreOffice to end."""
    with contextlib.suppress(Exception):
        OFFICE["desktop"].terminate()


VERBS = {
    verb.__name__: verb
    for verb in (
        connect,
        install,
        remove,
        load,
        recalculate,
        cells,
        data,
        errors,
        formulas,
        put,
        put_array,
        type_text,
        named,
        save,
        store,
        by_hand,
        fill_down,
        describe,
        close,
        finish,
    )
}
if both := VERBS.keys() & office_windows.VERBS.keys():
    raise ImportError(f"two verbs of one name: {both}")
VERBS |= office_windows.VERBS


def main():
    """Answer until the other side closes the pipe."""
    for line in sys.stdin:
        verb, arguments = json.loads(line)
        try:
            reply = ["ok", VERBS[verb](*arguments)]
        except Exception as problem:
            reply = ["error", f"{type(problem).__name__}: {problem}"]
        sys.stdout.write(json.dumps(reply) + "\n")
        sys.stdout.flush()
    if OFFICE:  # whoever asked is gone: leave no office behind
        finish()


if __name__ == "__main__":
    main()
