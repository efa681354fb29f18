"""Stand-ins for pywin32, so that the real xlwings code for worksheet functions runs off Windows.

Nothing here talks to Excel. What is real: xlwings' generator of VBA text, its dispatcher, its converters.
"""

from __future__ import annotations

import contextlib
import ctypes
import importlib
import sys
import types
from collections.abc import Iterator
from typing import Any
from unittest import mock

LEFT_OUT = -2147352572  # what pywin32 hands over for an Optional that was left out
ERRORS = {"#DIV/0!": -2146826281, "#N/A": -2146826246, "#VALUE!": -2146826273, "#SPILL!": -2146826243}
RANGE = "{00020846-0000-0000-C000-000000000046}"


class ComError(Exception):
    """pywintypes.com_error."""


class _Dispatch:
    """The classes an Excel object may be of."""


class ExcelRange:
    """A Range as the COM server sees it: `Value` is one value, or rows of values."""

    def __init__(self, values: Any) -> None:
        rows = values if isinstance(values, (list, tuple)) else [[values]]
        self.Value = tuple(map(tuple, rows)) if len(rows) > 1 or len(rows[0]) > 1 else rows[0][0]
        self.Rows = types.SimpleNamespace(Count=len(rows))
        self.Columns = types.SimpleNamespace(Count=len(rows[0]))
        self._oleobj_ = mock.MagicMock()
        self._oleobj_.GetTypeInfo().GetTypeAttr().iid = RANGE
        self.Worksheet, self.Row, self.Column = mock.MagicMock(), 1, 1


def _module(name: str, **attributes: Any) -> types.ModuleType:
    made = types.ModuleType(name)
    made.__dict__.update(attributes)
    sys.modules[name] = made
    parent, _, leaf = name.rpartition(".")
    if parent:
        setattr(sys.modules[parent], leaf, made)
    return made


def _unwrapped(thing: Any) -> Any:
    if type(thing).__name__ == "XLPythonObject":
        return thing
    raise TypeError("not a wrapped Python object")


def install() -> tuple[types.ModuleType, types.ModuleType]:
    """Put the stand-ins in place once; return xlwings' `udfs` and `com_server`."""
    if "xlwings.com_server" in sys.modules:
        return sys.modules["xlwings.udfs"], sys.modules["xlwings.com_server"]
    moment = type("TimeType", (), {})
    _module("pywintypes", com_error=ComError, error=ComError, IID=lambda text: text, TimeType=moment)
    _module(
        "pythoncom",
        __file__=None,
        CoInitialize=lambda: None,
        ole_error=ComError,
        IID_IDispatch="IDispatch",
        IID_IEnumVARIANT="IEnumVARIANT",
        TypeIIDs={"IDispatch": type("PyIDispatch", (), {})},
    )
    for name in ("api", "con", "event", "gui", "process", "timezone", "com"):
        _module(f"win32{name}")
    sys.modules["win32process"].GetWindowThreadProcessId = lambda _window: (0, 1)
    kinds = {name: type(name, (_Dispatch,), {}) for name in ("CDispatch", "CoClassBaseClass", "DispatchBaseClass")}
    _module("win32com.client", Dispatch=lambda thing, **_: thing, DispatchEx=lambda thing: thing, **kinds)
    for name in ("client.dynamic", "server", "server.dispatcher", "server.policy"):
        _module(f"win32com.{name}")
    _module("win32com.server.util", unwrap=_unwrapped, wrap=lambda thing, *_, **__: thing)
    with mock.patch.multiple(
        ctypes, create=True, oledll=mock.MagicMock(), windll=mock.MagicMock(), PyDLL=mock.MagicMock()
    ):
        xlwings = importlib.import_module("xlwings")
        windows = importlib.import_module("xlwings._xlwindows")
        udfs = importlib.import_module("xlwings.udfs")
        server = importlib.import_module("xlwings.com_server")
    engine = xlwings.main.Engine(impl=windows.engine)
    xlwings.engines.add(engine)
    xlwings.engines.active = engine
    return udfs, server


class _Components:
    """The VBComponents of a book: keeps the text that is imported."""

    def __init__(self) -> None:
        self.text = ""

    def __call__(self, name: str) -> str:
        return name

    def Remove(self, _component: str) -> None:  # noqa: N802
        """Nothing was there."""

    def Import(self, path: str) -> None:  # noqa: N802
        with open(path, encoding="utf-8") as file:
            self.text = file.read()


@contextlib.contextmanager
def published(module: str) -> Iterator[tuple[types.ModuleType, types.ModuleType]]:
    """Import a module of worksheet functions as the Excel of these stand-ins does, and forget it afterwards."""
    udfs, server = install()
    before = sys.modules.pop(module, None)
    udfs.udf_modules.pop(module, None)
    udfs.get_udf_module(module, None)  # once without a book: it then does not look for code kept in sheets
    yield udfs, server
    udfs.udf_modules.pop(module, None)
    sys.modules.pop(module, None)
    if before is not None:
        sys.modules[module] = before


def generated(udfs: types.ModuleType, module: str) -> tuple[str, list[tuple[Any, ...]]]:
    """Let xlwings write its VBA for a module; return the text and the calls of MacroOptions."""
    calls: list[tuple[Any, ...]] = []
    components = _Components()
    book = types.SimpleNamespace(
        Name="Book.xlsm",
        VBProject=types.SimpleNamespace(VBComponents=components),
        Application=types.SimpleNamespace(Version="16.0", MacroOptions=lambda *a, **k: calls.append((a, k))),
    )
    udfs.import_udfs(module, book)
    return components.text, calls
