"""Builds the LibreOffice extension from the tables of functions and actions, with the standard library alone."""

from __future__ import annotations

import io
import json
import sys
import zipfile
from importlib.resources import files
from pathlib import Path
from xml.sax.saxutils import quoteattr

import orderbook
from orderbook.addin.calc import names
from orderbook.addin.calc.configuration import HEAD, configuration, node, prop
from orderbook.addin.calc.function_files import functions, library, with_tables
from orderbook.addin.calc.menu_files import addons, menu_settings, protocol_handler
from orderbook.functions.table import FUNCTIONS

CONFIGURATION = "application/vnd.sun.star.configuration-data"
COMPONENTS = "application/vnd.sun.star.uno-components"
LISTED = {
    "orderbook.rdb": "application/vnd.sun.star.uno-typelibrary;type=RDB",
    "CalcAddIns.xcu": CONFIGURATION,
    "Jobs.xcu": CONFIGURATION,
    "Addons.xcu": CONFIGURATION,
    "ProtocolHandler.xcu": CONFIGURATION,
    "orderbook.components": COMPONENTS,
}
JOB = "com.sun.star.task.Job"
JOBS = {
    names.RELINK: ("onDocumentOpened",),
    names.SPELL: ("OnSaveDone", "OnSaveAsDone"),
    names.ATTEND: ("onDocumentOpened", "OnNew", "OnSaveDone", "OnSaveAsDone"),
}
# what runs inside LibreOffice: files it loads, and those they import, there as orderbook_NAME; two are used here too
LOADED: dict[str, dict[str, tuple[str, ...]]] = {
    "component": {names.SERVICE: (names.SERVICE,), names.RELINK: (names.RELINK, JOB), names.SPELL: (names.SPELL, JOB)},
    "menu_component": {
        names.HANDLER: (names.HANDLER, "com.sun.star.frame.ProtocolHandler"),
        names.ATTEND: (names.ATTEND, JOB),
    },
}
IMPORTED = ("settings", "running", "own_python", "window", "dialogs", "reading", "attending", "setting_up", "task")
SHARED = ("messenger", "spelling")
PACKAGE = "spring-orderbook"
NEEDS = (3, 11)  # the Python that the package asks for
BUILT = (1980, 1, 1, 0, 0, 0)  # the same tables give the same bytes


def build(path: Path, python: str = sys.executable, wheel: Path | None = None) -> Path:
    """Write the extension; what was there is replaced.

    Parameters: python, the interpreter that has this package, kept inside the extension; empty for an extension that
    finds one, or makes one out of `wheel`, on the machine it comes to.
    Returns: the path.
    """
    path.write_bytes(extension_bytes(python, wheel))
    return path


def extension_bytes(python: str = sys.executable, wheel: Path | None = None) -> bytes:
    """Return the extension as bytes.

    >>> with zipfile.ZipFile(io.BytesIO(extension_bytes())) as parts:
    ...     sorted(parts.namelist())[:4]
    ['Addons.xcu', 'CalcAddIns.xcu', 'Jobs.xcu', 'META-INF/manifest.xml']
    """
    here = files("orderbook.addin.calc")
    parts: dict[str, str | bytes] = {
        "META-INF/manifest.xml": _manifest(),
        "description.xml": _description(),
        "CalcAddIns.xcu": functions(),
        "Jobs.xcu": _jobs(),
        "Addons.xcu": addons(),
        "ProtocolHandler.xcu": protocol_handler(),
        "orderbook.components": _components(),
        "orderbook.rdb": library(),
        "addin.json": json.dumps(settings(python), indent=1),
    }
    inside = here.joinpath("inside")
    parts |= {f"orderbook_{name}.py": inside.joinpath(f"{name}.py").read_bytes() for name in LOADED}
    parts |= {f"pythonpath/orderbook_{name}.py": inside.joinpath(f"{name}.py").read_bytes() for name in IMPORTED}
    parts |= {f"pythonpath/orderbook_{name}.py": here.joinpath(f"{name}.py").read_bytes() for name in SHARED}
    if wheel is not None:
        parts[wheel.name] = wheel.read_bytes()
    whole = io.BytesIO()
    with zipfile.ZipFile(whole, "w") as package:
        for name, content in parts.items():
            package.writestr(zipfile.ZipInfo(name, BUILT), content, zipfile.ZIP_DEFLATED)
    return whole.getvalue()


def settings(python: str) -> dict[str, object]:
    """Return what the add-in needs to know to start the package's own Python, its functions and its menu."""
    return {
        "python": python,
        "package_folder": str(Path(orderbook.__file__).resolve().parent.parent) if python else "",
        "package": PACKAGE,
        "needs": list(NEEDS),
        "version": orderbook.__version__,
        "functions": {name: names.method(name) for name in FUNCTIONS},
        "with_tables": with_tables(),
        "long_names": {names.long_name(name): name for name in FUNCTIONS},
        "menu": menu_settings(),
    }


def _jobs() -> str:
    """Name the jobs and the events of a document that call them."""
    listed = "".join(node(_short(job), prop("Service", job)) for job in JOBS)
    called: dict[str, list[str]] = {}
    for job, events in JOBS.items():
        for event in events:
            called.setdefault(event, []).append(_short(job))
    return configuration(
        "Jobs",
        node("Jobs", listed, "") + node("Events", "".join(_event(event, jobs) for event, jobs in called.items()), ""),
    )


def _event(event: str, jobs: list[str]) -> str:
    times = prop("AdminTime", "") + prop("UserTime", "")
    calls = "".join(node(job, times) for job in jobs)
    return node(event, node("JobList", calls, ""), "fuse")


def _short(job: str) -> str:
    return job.replace("org.orderbook.", "Orderbook")


def _components() -> str:
    """Register the services so that Python is not started before the first call."""
    inside = "".join(
        f'<component loader="com.sun.star.loader.Python" uri="orderbook_{name}.py">'
        + "".join(_service(service, kinds) for service, kinds in own.items())
        + "</component>"
        for name, own in LOADED.items()
    )
    return f'{HEAD}<components xmlns="http://openoffice.org/2010/uno-components">{inside}</components>'


def _service(name: str, services: tuple[str, ...]) -> str:
    inside = "".join(f"<service name={quoteattr(service)}/>" for service in services)
    return f"<implementation name={quoteattr(name)}>{inside}</implementation>"


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
        '<display-name><name lang="en">orderbook: menu and mainspring functions</name></display-name></description>'
    )
