"""The menu as LibreOffice loads it: answers the addresses of its entries for one window, and says which can be used.

Runs inside LibreOffice's Python (3.8 or later); packed into the extension, never imported by the package.
"""

from __future__ import annotations

import traceback
import weakref

import unohelper
from com.sun.star.frame import DispatchResultEvent, FeatureStateEvent, XDispatchProvider, XNotifyingDispatch
from com.sun.star.lang import DisposedException, XInitialization, XServiceInfo
from com.sun.star.task import XJob
from orderbook_attending import attended, in_main_thread
from orderbook_settings import ACTIONS, MENU, PROTOCOL
from orderbook_task import Task, can_use, watch_windows
from orderbook_window import is_book, own_file

HANDLER = "org.orderbook.MenuHandler"
ATTEND = "org.orderbook.AttendJob"
JOB = "com.sun.star.task.Job"
SERVICES = (HANDLER, "com.sun.star.frame.ProtocolHandler")
FAILURE, SUCCESS, DONT_KNOW = 0, 1, 2  # com.sun.star.frame.DispatchResultState
HANDLERS = weakref.WeakSet()  # one a window


class Handler(unohelper.Base, XServiceInfo, XInitialization, XDispatchProvider, XNotifyingDispatch):
    """Answers for one window: which entries can be used, and does what they say."""

    def __init__(self, context):
        self.context, self.frame, self.listeners = context, None, []
        HANDLERS.add(self)

    def initialize(self, arguments):
        self.frame = arguments[0] if arguments else None

    def queryDispatch(self, url, _target, _flags):
        return self if url.Protocol == PROTOCOL and url.Path in ACTIONS else None

    def queryDispatches(self, requests):
        return tuple(self.queryDispatch(r.FeatureURL, r.FrameName, r.SearchFlags) for r in requests)

    def dispatch(self, url, arguments):
        self.dispatchWithNotification(url, arguments, None)

    def dispatchWithNotification(self, url, arguments, listener):
        """Begin an action; arguments given are its answers, and no dialog is shown then.

        A caller that waits for the end in the main thread (DispatchHelper, from any macro) would wait for ever: nothing
        of ours comes to an end while the main thread stands still. It says so by `SynchronMode`, and is answered first.
        """
        given = {argument.Name: argument.Value for argument in arguments}
        if listener is not None and "SynchronMode" in given:
            listener.dispatchFinished(DispatchResultEvent(self, DONT_KNOW, "started"))
            listener = None
        given.pop("SynchronMode", None)

        def end(well, words):
            if listener is not None:
                listener.dispatchFinished(DispatchResultEvent(self, SUCCESS if well else FAILURE, words))

        task = Task(self.context, self.frame, ACTIONS[url.Path], end)

        def begin():
            try:
                task.begin(given)
            except Exception as problem:  # whatever it is: the caller must hear that it is over
                traceback.print_exc()
                end(False, f"{type(problem).__name__}: {problem}")

        in_main_thread(self.context, begin)

    def addStatusListener(self, listener, url):
        self.listeners.append((listener, url))
        listener.statusChanged(self.state(url))

    def removeStatusListener(self, listener, url):
        self.listeners = [
            (told, of) for told, of in self.listeners if not (told == listener and of.Complete == url.Complete)
        ]

    def state(self, url):
        usable = can_use(self.context, self.frame, ACTIONS[url.Path])
        return FeatureStateEvent(self, url, "", usable, False, None)

    def tell(self):
        for listener, url in list(self.listeners):
            try:
                listener.statusChanged(self.state(url))
            except DisposedException:
                self.removeStatusListener(listener, url)

    def getImplementationName(self):
        return HANDLER

    def supportsService(self, name):
        return name in SERVICES

    def getSupportedServiceNames(self):
        return SERVICES


class AttendJob(unohelper.Base, XJob, XServiceInfo):
    """Looks after a book from the moment it is opened, and each time it was saved: are its answers stale, its cells."""

    def __init__(self, context):
        self.context = context

    def execute(self, arguments):
        environment = {v.Name: v.Value for a in arguments if a.Name == "Environment" for v in a.Value}
        document = environment.get("Model")
        if is_book(document, MENU["tables"]):
            book = attended(self.context, document)
            book.look_soon()
            file = own_file(document)
            if file:
                book.keep(file)

    def getImplementationName(self):
        return ATTEND

    def supportsService(self, name):
        return name in (ATTEND, JOB)

    def getSupportedServiceNames(self):
        return (ATTEND, JOB)


def tell_all():
    """Let every window show its entries grey or not."""
    for handler in list(HANDLERS):
        handler.tell()


watch_windows(tell_all)
g_ImplementationHelper = unohelper.ImplementationHelper()  # noqa: N816
g_ImplementationHelper.addImplementation(Handler, HANDLER, SERVICES)
g_ImplementationHelper.addImplementation(AttendJob, ATTEND, (ATTEND, JOB))
