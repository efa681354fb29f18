"""Builds the LibreOffice extension from the function table, with the standard library alone."""

from __future__ import annotations

import io
import json
import sys
import zipfile
from importlib.resources import files
from pathlib import Path
from xml.sax.saxutils import escape, quoteattr

import orderbook
from orderbook.addin.calc import names
from orderbook.addin.calc.typelib import ANYTHING, CELLS, type_library
from orderbook.functions.help_text import argument_help, function_help
from orderbook.functions.table import FUNCTIONS, Argument, Function

HEAD = '<?xml version="1.0" encoding="UTF-8"?>\n'
SPACES = 'xmlns:oor="http://openoffice.org/2001/registry" xmlns:xs="http://www.w3.org/2001/XMLSchema"'
CONFIGURATION = "application/vnd.sun.star.configuration-data"
LISTED = {
    "orderbook.rdb": "application/vnd.sun.star.uno-typelibrary;type=RDB",
    "CalcAddIns.xcu": CONFIGURATION,
    "Jobs.xcu": CONFIGURATION,
    "orderbook.components": "application/vnd.sun.star.uno-components",
}
JOBS = {
    names.RELINK: ("onDocumentOpened",),
    names.SPELL: ("OnSaveDone", "OnSaveAsDone"),
}
BUILT = (1980, 1, 1, 0, 0, 0)  # the same table gives the same bytes


def build(path: Path, python: str = sys.executable) -> Path:
    """Write the extension for one installation of Python; what was there is replaced.

    Parameters: python, the interpreter that has this package; its path is kept inside the extension.
    Returns: the path.
    """
    path.write_bytes(extension_bytes(python))
    return path


def extension_bytes(python: str = sys.executable) -> bytes:
    """Return the extension as bytes.

    >>> with zipfile.ZipFile(io.BytesIO(extension_bytes())) as parts:
    ...     sorted(parts.namelist())[:4]
    ['CalcAddIns.xcu', 'Jobs.xcu', 'META-INF/manifest.xml', 'addin.json']
    """
    here = files("orderbook.addin.calc")
    parts = {
        "META-INF/manifest.xml": _manifest(),
        "description.xml": _description(),
        "CalcAddIns.xcu": _functions(),
        "Jobs.xcu": _jobs(),
        "orderbook.components": _components(),
        "orderbook_addin.py": here.joinpath("component.py").read_text(encoding="utf-8"),
        "pythonpath/orderbook_messenger.py": here.joinpath("messenger.py").read_text(encoding="utf-8"),
        "pythonpath/orderbook_spelling.py": here.joinpath("spelling.py").read_text(encoding="utf-8"),
        "addin.json": json.dumps(settings(python), indent=1),
    }
    methods = [(names.method(f.name), [(a.name, _taken_as(a)) for a in f.arguments]) for f in FUNCTIONS.values()]
    whole = io.BytesIO()
    with zipfile.ZipFile(whole, "w") as package:
        for name, text in parts.items():
            package.writestr(zipfile.ZipInfo(name, BUILT), text, zipfile.ZIP_DEFLATED)
        library = type_library(names.MODULES, names.INTERFACE, methods)
        package.writestr(zipfile.ZipInfo("orderbook.rdb", BUILT), library, zipfile.ZIP_DEFLATED)
    return whole.getvalue()


def _taken_as(argument: Argument) -> str:
    """Take a table that must be given as a range of cells: LibreOffice asks no function about values with an error.

    Only `any` can be left out, so the other tables stay that.
    """
    return CELLS if argument.kind == "table" and not argument.optional else ANYTHING


def settings(python: str) -> dict[str, object]:
    """Return what the add-in needs to know to start the package's own Python."""
    return {
        "python": python,
        "package_folder": str(Path(orderbook.__file__).resolve().parent.parent),
        "version": orderbook.__version__,
        "functions": {name: names.method(name) for name in FUNCTIONS},
        "with_tables": [name for name, f in FUNCTIONS.items() if CELLS in map(_taken_as, f.arguments)],
        "long_names": {names.long_name(name): name for name in FUNCTIONS},
    }


def _property(name: str, value: str, language: str | None = "en") -> str:
    tongue = f' xml:lang="{language}"' if language else ""
    return f'<prop oor:name="{name}"><value{tongue}>{escape(value)}</value></prop>'


def _node(name: str, inside: str, operation: str = "replace") -> str:
    return f'<node oor:name={quoteattr(name)} oor:op="{operation}">{inside}</node>'


def _functions() -> str:
    described = "\n".join(_function(function) for function in FUNCTIONS.values())
    inside = _node(names.SERVICE, f'<node oor:name="AddInFunctions">\n{described}\n</node>')
    package = 'oor:name="CalcAddIns" oor:package="org.openoffice.Office"'
    return (
        f'{HEAD}<oor:component-data {SPACES} {package}><node oor:name="AddInInfo">{inside}</node></oor:component-data>'
    )


def _function(function: Function) -> str:
    arguments = "".join(
        _node(a.name, _property("DisplayName", a.name) + _property("Description", argument_help(a)))
        for a in function.arguments
    )
    return _node(
        names.method(function.name),
        _property("DisplayName", function.name)
        + _property("Description", function_help(function))
        + _property("Category", names.CATEGORY, None)
        + _property("CompatibilityName", function.name, "en-US")
        + f'<node oor:name="Parameters">{arguments}</node>',
    )


def _jobs() -> str:
    """Name the jobs and the events of a document that call them."""
    listed = "".join(_node(_short(job), _property("Service", job, None)) for job in JOBS)
    called: dict[str, list[str]] = {}
    for job, events in JOBS.items():
        for event in events:
            called.setdefault(event, []).append(_short(job))
    return (
        f'{HEAD}<oor:component-data {SPACES} oor:name="Jobs" oor:package="org.openoffice.Office">'
        f'<node oor:name="Jobs">{listed}</node>'
        f'<node oor:name="Events">{"".join(_event(event, jobs) for event, jobs in called.items())}</node>'
        "</oor:component-data>"
    )


def _event(event: str, jobs: list[str]) -> str:
    times = '<prop oor:name="AdminTime"><value/></prop><prop oor:name="UserTime"><value/></prop>'
    calls = "".join(_node(job, times) for job in jobs)
    return _node(event, f'<node oor:name="JobList">{calls}</node>', "fuse")


def _short(job: str) -> str:
    return job.replace("org.orderbook.", "Orderbook")


def _components() -> str:
    """Register the services so that Python is not started before the first call."""
    parts = {names.SERVICE: (names.SERVICE,), **{job: (job, "com.sun.star.task.Job") for job in JOBS}}
    inside = "".join(
        f'<implementation name="{name}">{"".join(f"<service name={quoteattr(s)}/>" for s in services)}</implementation>'
        for name, services in parts.items()
    )
    return (
        f'{HEAD}<components xmlns="http://openoffice.org/2010/uno-components">'
        f'<component loader="com.sun.star.loader.Python" uri="orderbook_addin.py">{inside}</component></components>'
    )


def _manifest() -> str:
    space = "http://openoffice.org/2001/manifest"
    entries = "".join(
        f'<manifest:file-entry manifest:media-type="{kind}" manifest:full-path="{part}"/>'
        for part, kind in LISTED.items()
    )
    return f'{HEAD}<manifest:manifest xmlns:manifest="{space}">{entries}</manifest:manifest>'


def _description() -> str:
    space = "http://openoffice.org/extensions/description/2006"
    return (
        f'{HEAD}<description xmlns="{space}"><identifier value="{names.IDENTIFIER}"/>'
        f'<version value="{orderbook.__version__}"/>'
        '<display-name><name lang="en">orderbook: mainspring functions</name></display-name></description>'
    )
