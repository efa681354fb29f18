"""The add-in as LibreOffice loads it: hands every worksheet function of the table to the messenger.

Runs inside LibreOffice's Python (3.8 or later); packed into the extension, never imported by the package.
"""

from __future__ import annotations

import contextlib
import math
import os
import struct

import uno
import unohelper
from com.sun.star.beans import NamedValue
from com.sun.star.lang import Locale, XLocalizable, XServiceInfo
from com.sun.star.task import XJob
from orderbook_messenger import Memory, Messenger
from orderbook_own_python import likely_python
from orderbook_settings import SETTINGS, user_folder
from orderbook_spelling import respell_file, respeller
from org.orderbook import XOrderbook

SERVICE = "org.orderbook.OrderbookAddIn"
RELINK = "org.orderbook.RelinkJob"
SPELL = "org.orderbook.SpellingJob"
JOB = "com.sun.star.task.Job"
FORMULAS = 16  # com.sun.star.sheet.CellFlags.FORMULA
MESSENGER = Messenger(
    lambda: likely_python(SETTINGS, user_folder()),
    SETTINGS["package_folder"],
    float(os.environ.get("ORDERBOOK_TIME_LIMIT", "20")),
    float(os.environ.get("ORDERBOOK_PAUSE", "10")),
)
MEMORY = Memory()


def _error_value(number):
    """Return the not-a-number that Calc shows as its own error."""
    return struct.unpack("<d", struct.pack("<Q", (0x7FF8 << 48) | number))[0]


NOT_A_NUMBER = _error_value(503)


def _cell(value):
    """Make one value of the answer plain; Calc shows a truth value given by Python wrongly."""
    if value is None:
        return ""
    if isinstance(value, (bool, int, float)):
        return float(value) if math.isfinite(value) else NOT_A_NUMBER
    return str(value)


def _rows(answer):
    """Make the answer rows of cells, which is what every function of ours gives."""
    if type(answer) is float and math.isfinite(answer):
        return ((answer,),)
    if isinstance(answer, list):
        return tuple(tuple(map(_cell, row)) for row in answer)
    return ((_cell(answer),),)


def answer(name, arguments):
    """Return the rows for one call, from memory where the same was asked before."""
    question = (name, arguments)
    found = MEMORY.get(question)
    if found is None:
        with at_work(name) if name in SETTINGS["with_tables"] else contextlib.nullcontext():
            answered, said = MESSENGER.ask(question)
        found = _rows(said)
        if answered:
            MEMORY.keep(question, found)
    return found


@contextlib.contextmanager
def at_work(name):
    """Say on the status line of the window in front what is worked out; whole tables take a moment.

    LibreOffice is in the midst of working out the sheet: nothing else may run now, so the line only draws itself.
    """
    indicator = None
    with contextlib.suppress(Exception):  # no window, no status line: the answer comes all the same
        context = uno.getComponentContext()
        services = context.ServiceManager
        frame = services.createInstanceWithContext("com.sun.star.frame.Desktop", context).getCurrentFrame()
        if frame is not None:
            how = (NamedValue("Frame", frame), NamedValue("DisableReschedule", True))
            factory = services.createInstanceWithArgumentsAndContext(
                "com.sun.star.task.StatusIndicatorFactory", how, context
            )
            indicator = factory.createStatusIndicator()
            indicator.start(f"{SETTINGS['menu']['title']}: working out {name}", 1)
    try:
        yield
    finally:
        if indicator is not None:
            indicator.end()


def _with_tables(arguments):
    """Take the values out of ranges of cells."""
    return tuple(_table(a) if hasattr(a, "getDataArray") else a for a in arguments)


def _table(cells):
    """Give the values of a range down to the last row in use; an error reads as text, which LibreOffice leaves out."""
    cursor = cells.getSpreadsheet().createCursor()
    cursor.gotoEndOfUsedArea(False)
    place = cells.getRangeAddress()
    last = max(place.StartRow, min(place.EndRow, cursor.getRangeAddress().EndRow))
    used = cells.getCellRangeByPosition(0, 0, place.EndColumn - place.StartColumn, last - place.StartRow)
    return tuple(
        tuple("#ERROR!" if value is None else value for value in row) if None in row else row
        for row in used.getDataArray()
    )


class OrderbookAddIn(unohelper.Base, XOrderbook, XServiceInfo, XLocalizable):
    """All worksheet functions; the methods are added below, one for each entry of the table."""

    def __init__(self, _context):
        self.locale = Locale("en", "US", "")

    def getImplementationName(self):
        return SERVICE

    def supportsService(self, name):
        return name == SERVICE

    def getSupportedServiceNames(self):
        return (SERVICE,)

    def setLocale(self, locale):
        self.locale = locale

    def getLocale(self):
        return self.locale


def _method(name, taken):
    def call(_self, *arguments):
        return answer(name, taken(arguments))

    return call


for _name, _called in SETTINGS["functions"].items():
    setattr(OrderbookAddIn, _called, _method(_name, _with_tables if _name in SETTINGS["with_tables"] else tuple))


class Job(unohelper.Base, XJob, XServiceInfo):
    """Something to do with a document when LibreOffice opened or saved it."""

    service = ""

    def __init__(self, _context):
        pass

    def getImplementationName(self):
        return self.service

    def supportsService(self, name):
        return name in (self.service, JOB)

    def getSupportedServiceNames(self):
        return (self.service, JOB)

    def execute(self, arguments):
        environment = {v.Name: v.Value for a in arguments if a.Name == "Environment" for v in a.Value}
        document = environment.get("Model")
        if document is not None and document.supportsService("com.sun.star.sheet.SpreadsheetDocument"):
            self.work(document)

    def work(self, document):
        """Do the job on a spreadsheet."""


class RelinkJob(Job):
    """LibreOffice before 24 reads `SPRING_TURNS(` in an Excel file as unknown: enter such formulas again."""

    service = RELINK

    def work(self, document):
        respell = respeller({name: name for name in SETTINGS["functions"]})
        for sheet in document.Sheets:
            self._sheet(sheet, respell)
        for name in document.NamedRanges.ElementNames:
            named = document.NamedRanges.getByName(name)
            if respell(named.Content) != named.Content:
                named.setContent(respell(named.Content))

    @staticmethod
    def _sheet(sheet, respell):
        arrays = set()
        for cell in sheet.queryContentCells(FORMULAS).Cells:
            formula = cell.Formula
            if respell(formula) == formula:
                continue
            if not formula.startswith("{"):
                cell.Formula = respell(formula)
                continue
            whole = sheet.createCursorByRange(cell)
            whole.collapseToCurrentArray()
            corner = (whole.RangeAddress.StartColumn, whole.RangeAddress.StartRow)
            if corner not in arrays:
                arrays.add(corner)
                whole.setArrayFormula(respell(formula[1:-1]))


class SpellingJob(Job):
    """LibreOffice before 24 saves the functions under a name Excel does not know: put Excel's spelling back."""

    service = SPELL

    def work(self, document):
        url = document.getURL()
        if not url.startswith("file:") or not url.lower().endswith((".xlsx", ".xlsm")):
            return
        plain = {name: name for name in SETTINGS["functions"]}
        try:
            respell_file(uno.fileUrlToSystemPath(url), {**SETTINGS["long_names"], **plain})
        except (OSError, ValueError):
            return  # held by another program: the long names stay, which every reader of ours understands


g_ImplementationHelper = unohelper.ImplementationHelper()  # noqa: N816
g_ImplementationHelper.addImplementation(OrderbookAddIn, SERVICE, (SERVICE,))
g_ImplementationHelper.addImplementation(RelinkJob, RELINK, (RELINK, JOB))
g_ImplementationHelper.addImplementation(SpellingJob, SPELL, (SPELL, JOB))
