"""Finds LibreOffice on this machine, and puts the Calc add-in into it."""

from __future__ import annotations

import json
import os
import re
import shutil
import subprocess
import sys
import tempfile
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from orderbook.addin.calc import names
from orderbook.addin.calc.extension import build
from orderbook.errors import error

FILE = "orderbook.oxt"
SHARED = ("--shared",)
USUAL_PLACES = (
    "/usr/lib/libreoffice/program",
    "/opt/libreoffice/program",
    "/Applications/LibreOffice.app/Contents/MacOS",
    r"C:\Program Files\LibreOffice\program",
    r"C:\Program Files (x86)\LibreOffice\program",
)
SANDBOXES = {"/snap/": "Snap", "/flatpak/": "Flatpak"}
WAIT = 120.0  # seconds for LibreOffice's own installer


@dataclass(frozen=True, slots=True)
class LibreOffice:
    """One LibreOffice: its folder of programs, and the sandbox it runs in, if any."""

    programs: Path
    sandbox: str = ""

    @property
    def version(self) -> str:
        """Its version as it says itself; empty if it does not."""
        program = _program(self.programs, "soffice")
        if program is None:
            return ""
        try:
            said = subprocess.run(
                [program, "--version"], capture_output=True, text=True, timeout=30, check=False
            ).stdout
        except (OSError, subprocess.TimeoutExpired):
            return ""
        found = re.search(r"[0-9]+(?:\.[0-9]+)+", said)
        return found[0] if found else ""


def find_libreoffice() -> LibreOffice:
    """Find LibreOffice by the command path, then in its usual folders.

    Raises: OrderbookError(libreoffice_not_found).
    """
    sandboxed = _sandboxed()
    for command in ("soffice", "libreoffice", "localc"):
        if found := shutil.which(command):
            place = Path(found).resolve()
            box = next((box for part, box in SANDBOXES.items() if part in f"{found} {place}"), "")
            if not box:
                return LibreOffice(place.parent)
            sandboxed = sandboxed or LibreOffice(place.parent, box)
    for folder in map(Path, USUAL_PLACES):
        if _program(folder, "unopkg"):
            return LibreOffice(folder)
    if sandboxed:
        return sandboxed
    raise error("libreoffice_not_found", where="LibreOffice", saw="not on the command path, nor in its usual folders")


def _sandboxed() -> LibreOffice | None:
    """Find a LibreOffice that lives in a Flatpak or a Snap by the folders these make."""
    for folder in (Path.home() / ".local/share/flatpak", Path("/var/lib/flatpak")):
        if (folder / "app/org.libreoffice.LibreOffice").is_dir():
            return LibreOffice(folder, "Flatpak")
    return LibreOffice(Path("/snap/libreoffice"), "Snap") if Path("/snap/libreoffice").is_dir() else None


def _program(folder: Path, name: str) -> Path | None:
    """Find one of its programs; on Windows the `.com` one, which waits and has an exit status."""
    return next((p for end in (".com", "", ".exe", ".bin") if (p := folder / f"{name}{end}").is_file()), None)


def install(office: LibreOffice, profile: Path | None = None, *, everybody: bool = False) -> None:
    """Install the add-in, made for the Python that runs this; an older one is replaced.

    Parameters: everybody, to put it in for every user of the machine, which only the administrator may.
    Raises: OrderbookError(libreoffice_sandboxed | libreoffice_as_root | libreoffice_refused).
    """
    _refuse_sandbox(office)
    shared = _shared(everybody)
    with tempfile.TemporaryDirectory() as folder:
        extension = build(Path(folder) / FILE)
        _unopkg(office, profile, "add", "--force", "--suppress-license", *shared, str(extension))


def remove(office: LibreOffice, profile: Path | None = None, *, everybody: bool = False) -> bool:
    """Remove the add-in; return whether there was one.

    Raises: OrderbookError(libreoffice_as_root | libreoffice_refused).
    """
    shared = _shared(everybody)
    if _version_in(office, profile, shared) is None:
        return False
    _unopkg(office, profile, "remove", *shared, names.IDENTIFIER)
    return True


def installed_version(office: LibreOffice, profile: Path | None = None) -> str | None:
    """Return the version of the installed add-in, None if there is none: the user's own, or the one for everybody."""
    own = None if _is_root() else _version_in(office, profile, ())
    return own or _version_in(office, profile, SHARED)


def _version_in(office: LibreOffice, profile: Path | None, shared: tuple[str, ...]) -> str | None:
    done = _run_unopkg(office, profile, "list", *shared, names.IDENTIFIER)
    found = re.search(r"^\s*Version:\s*(\S+)", done.stdout, re.MULTILINE)
    return found[1] if done.returncode == 0 and found else None


def installed_settings(office: LibreOffice, profile: Path | None = None) -> dict[str, Any] | None:
    """Return what the installed add-in knows: the Python it starts, its version, its functions."""
    folders = [profile / "user"] if profile else _profiles()
    folders += [office.programs.parent / "share"]
    found = [path for folder in folders for path in folder.glob(f"uno_packages/cache/**/{FILE}/addin.json")]
    found += [path for folder in folders for path in folder.glob(f"extensions/**/{FILE}/addin.json")]
    if not found:
        return None
    newest = max(found, key=lambda path: path.stat().st_mtime)
    settings: dict[str, Any] = json.loads(newest.read_text(encoding="utf-8"))
    return settings


def _profiles() -> list[Path]:
    """List the user folders LibreOffice keeps on this system."""
    home = Path.home()
    places = {
        "win32": Path(os.environ.get("APPDATA", home)) / "LibreOffice",
        "darwin": home / "Library/Application Support/LibreOffice",
    }
    usual = Path(os.environ.get("XDG_CONFIG_HOME", home / ".config")) / "libreoffice"
    return sorted(places.get(sys.platform, usual).glob("*/user"))


def _is_root() -> bool:
    return hasattr(os, "geteuid") and os.geteuid() == 0


def _shared(everybody: bool) -> tuple[str, ...]:
    """Say for whom it is; LibreOffice's installer refuses the root user, who can install for everybody only.

    Raises: OrderbookError(libreoffice_as_root) for the root user who did not say so.
    """
    if _is_root() and not everybody:
        raise error("libreoffice_as_root", where="LibreOffice", saw="this is the root user; nothing was changed")
    return SHARED if everybody else ()


def _refuse_sandbox(office: LibreOffice) -> None:
    if office.sandbox:
        raise error("libreoffice_sandboxed", where="LibreOffice", saw=f"it is installed as a {office.sandbox}")


def _unopkg(office: LibreOffice, profile: Path | None, *arguments: str) -> None:
    done = _run_unopkg(office, profile, *arguments)
    if done.returncode:
        said = " ".join(done.stderr.replace("ERROR:", "").split()) or f"its installer ended with {done.returncode}"
        raise error("libreoffice_refused", where="LibreOffice", saw=said)


def _run_unopkg(office: LibreOffice, profile: Path | None, *arguments: str) -> subprocess.CompletedProcess[str]:
    program = _program(office.programs, "unopkg")
    if program is None:
        raise error("libreoffice_not_found", where=str(office.programs), saw="no unopkg, LibreOffice's installer")
    place = [f"-env:UserInstallation={profile.resolve().as_uri()}"] if profile else []
    try:
        return subprocess.run(
            [str(program), *arguments, *place], capture_output=True, text=True, timeout=WAIT, check=False
        )
    except subprocess.TimeoutExpired:
        raise error("libreoffice_refused", where="LibreOffice", saw=f"no answer in {WAIT:.0f} seconds") from None
