"""Which Python has the package: the one the extension was made for, one chosen or made before, or one found here.

Where none is found, an environment of its own is made in the user's folder, after the user has read what will be done.
Runs inside LibreOffice's Python (3.8 or later) with the standard library alone; what starts processes is called in a
thread (see `running`).
"""

from __future__ import annotations

import json
import os
import shutil
import subprocess
import sys
from glob import glob

from orderbook_running import own_environment, quietly

KEPT = "orderbook.json"  # in the user's own folder of LibreOffice
PROBE_SECONDS = 30
VERSION = "import sys, json; print(json.dumps([sys.executable, list(sys.version_info[:2])]))"
HAS_PACKAGE = """
import sys, json
try:
    import orderbook
except ImportError:
    sys.path.append(sys.argv[1])
    import orderbook
from orderbook.addin.calc import helper
print(json.dumps([sys.executable, orderbook.__version__]))
"""


def kept_python(user_folder):
    """Return the Python that was chosen or made before, empty if none was."""
    try:
        with open(os.path.join(user_folder, KEPT), encoding="utf-8") as kept:
            return str(json.load(kept).get("python", ""))
    except (OSError, ValueError, AttributeError):
        return ""


def keep_python(user_folder, python):
    """Remember a Python for the next start."""
    os.makedirs(user_folder, exist_ok=True)
    with open(os.path.join(user_folder, KEPT), "w", encoding="utf-8") as kept:
        json.dump({"python": python}, kept)


def likely_python(settings, user_folder):
    """Return the Python to start, without trying any: asked for, kept, the extension's own, or the environment's."""
    wanted = os.environ.get("ORDERBOOK_PYTHON") or kept_python(user_folder)
    if wanted:
        return wanted
    own = python_in(environment_folder())
    if not os.path.exists(settings["python"]) and os.path.exists(own):
        return own
    return settings["python"]


def environment_folder(system=None):
    """Return the folder in which an environment of our own is made: the user's, so that no administrator is asked."""
    home, system = os.path.expanduser("~"), system or sys.platform
    if system == "win32":
        base = os.environ.get("LOCALAPPDATA") or os.path.join(home, "AppData", "Local")
    elif system == "darwin":
        base = os.path.join(home, "Library", "Application Support")
    else:
        base = os.environ.get("XDG_DATA_HOME") or os.path.join(home, ".local", "share")
    return os.path.join(base, "orderbook", "python")


def python_in(environment, system=None):
    """Return the interpreter of an environment."""
    if (system or sys.platform) == "win32":
        return os.path.join(environment, "Scripts", "python.exe")
    return os.path.join(environment, "bin", "python")


def _asked(python, program, *arguments):
    """Start a Python with a short program; return what it says, None where it fails."""
    try:
        done = subprocess.run(
            [*python, "-c", program, *arguments], stdin=subprocess.DEVNULL, capture_output=True, encoding="utf-8",
            errors="replace", env=own_environment(), timeout=PROBE_SECONDS, check=False, **quietly(),
        )  # fmt: skip
        return json.loads(done.stdout.strip().splitlines()[-1]) if done.returncode == 0 else None
    except (OSError, ValueError, IndexError, subprocess.TimeoutExpired):
        return None


def version_of_package(python, settings):
    """Return the version of the package that a Python has, empty if it has none."""
    said = _asked([python], HAS_PACKAGE, settings["package_folder"]) if python else None
    return said[1] if said else ""


def find_package(settings, user_folder):
    """Return (Python, version of the package) of the first that has it, ("", "") if none has."""
    seen = []
    for python in [likely_python(settings, user_folder), settings["python"], python_in(environment_folder()),
                   *installed_apart()]:  # fmt: skip
        if python and python not in seen:
            seen.append(python)
            version = version_of_package(python, settings)
            if version:
                return python, version
    return "", ""


def installed_apart():
    """Return the Pythons of `orderbook` where a tool for applications (pipx, uv) installed it."""
    found = []
    home = os.path.expanduser("~")
    for command in (shutil.which("orderbook"), os.path.join(home, ".local", "bin", "orderbook")):
        if command and os.path.exists(command):
            folder = os.path.dirname(os.path.realpath(command))
            found += [path for name in ("python", "python3", "python.exe") if os.path.exists(
                path := os.path.join(folder, name))]  # fmt: skip
    return found


def find_maker(needs):
    """Return a Python that can make an environment (its path), empty if none of the version needed is found."""
    for python in _makers():
        said = _asked(python, VERSION)
        if said and tuple(said[1]) >= tuple(needs) and "venv" not in said[0].replace("\\", "/").split("/"):
            return said[0]
    return ""


def _makers():
    """Return commands that may be a Python, the newest first."""
    names = [f"python3.{minor}" for minor in range(15, 10, -1)] + ["python3", "python"]
    found = [[path] for path in map(shutil.which, names) if path]
    if sys.platform == "win32":
        found = ([["py", "-3"]] if shutil.which("py") else []) + found
        base = os.environ.get("LOCALAPPDATA", "")
        found += [[path] for path in sorted(glob(os.path.join(base, "Programs", "Python", "*", "python.exe")))[::-1]]
    elif sys.platform == "darwin":
        for place in ("/Library/Frameworks/Python.framework/Versions/3.*/bin/python3", "/opt/homebrew/bin/python3",
                      "/usr/local/bin/python3"):  # fmt: skip
            found += [[path] for path in sorted(glob(place))[::-1]]
    return found


def steps_to_make(maker, environment, what):
    """Return the commands that make an environment and put the package into it."""
    return [
        [maker, "-m", "venv", "--clear", environment],
        [python_in(environment), "-m", "pip", "install", "--disable-pip-version-check", "--no-input", what],
    ]


def what_to_install(settings, here):
    """Return the package as the installer takes it: the file that came with the extension, else its name."""
    packed = sorted(glob(os.path.join(here, "*.whl")))
    return packed[-1] if packed else f"{settings['package']}=={settings['version']}"


def told(settings, environment, maker, what):
    """Say in words what will be done, before it is done."""
    package = "that came with this extension" if what.endswith(".whl") else "from the Python package index"
    name = os.path.basename(what)
    return "\n".join(
        [
            f"The menu works through a Python of its own with the package {settings['package']}. None was found here.",
            "",
            "With Make it, this is done, for you alone and without an administrator:",
            f"  1. a folder is made: {environment}",
            f"     (by {maker} -m venv)",
            f"  2. into it is put the package {package}: {name}",
            "     and what it needs, from the Python package index: some 300 MB; the network is needed.",
            "",
            "Nothing else is changed. To undo it, delete the folder.",
            "With Choose a Python, name one that has the package already.",
        ]
    )


def told_without_maker(settings):
    """Say what is missing where there is no Python to make an environment with."""
    needs = ".".join(map(str, settings["needs"]))
    where = {
        "win32": "Install it from the Microsoft Store (look for Python) or from python.org.",
        "darwin": "Install it from python.org (macOS installer).",
    }.get(sys.platform, "Install it with your system's packages (on Debian: python3 and python3-venv).")
    return "\n".join(
        [
            f"The menu works through a Python of its own with the package {settings['package']}. None was found here,",
            f"and no Python of version {needs} or later to make one with.",
            "",
            where,
            "Then choose Set up again.",
        ]
    )
