"""Function names as LibreOffice 7 and as Excel spell them in a file.

Runs inside LibreOffice's Python (3.8 or later) with the standard library alone.
"""

from __future__ import annotations

import os
import re
import zipfile
from typing import Callable, Dict  # noqa: UP035

_FORMULA = re.compile(r"(<(?:\w+:)?(?:f|formula|formula1|formula2|definedName|calculatedColumnFormula)\b[^>]*>)([^<]*)")


def respeller(spellings: Dict[str, str]) -> Callable[[str], str]:  # noqa: UP006
    """Return a function that writes names before a bracket as wanted, whatever their case, outside quotes.

    >>> respeller({"ORG.X.TURNS": "TURNS", "TURNS": "TURNS"})('=turns(1)&"turns("&Org.X.Turns(2)&myturns(3)')
    '=TURNS(1)&"turns("&TURNS(2)&myturns(3)'
    """
    wanted = {name.upper(): to for name, to in spellings.items()}
    names = "|".join(map(re.escape, sorted(wanted, key=len, reverse=True)))
    pattern = re.compile(
        r'("(?:[^"]|"")*"|&quot;.*?&quot;)|(?<![\w.])' + f"({names})" + r"(?=\()", re.IGNORECASE | re.DOTALL
    )
    return lambda formula: pattern.sub(lambda found: found[1] or wanted[found[2].upper()], formula)


def respell_file(path: str, spellings: Dict[str, str]) -> int:  # noqa: UP006
    """Write the functions in a workbook file as Excel spells them; its date stays, so no program asks who changed it.

    Returns: how many parts of the file were changed; with none the file is not touched.
    """
    respell = respeller(spellings)
    with zipfile.ZipFile(path) as package:
        parts = [(part, package.read(part)) for part in package.infolist()]
    changed = 0
    for n, (part, data) in enumerate(parts):
        if part.filename.endswith(".xml"):
            fresh = _FORMULA.sub(lambda m: m[1] + respell(m[2]), data.decode("utf-8")).encode("utf-8")
            changed += fresh != data
            parts[n] = (part, fresh)
    if changed:
        _replace(path, parts)
    return changed


def _replace(path: str, parts: list) -> None:  # type: ignore[type-arg]
    """Write beside the file, then put it in its place in one step."""
    state = os.stat(path)
    beside = path + ".orderbook-new"
    try:
        with zipfile.ZipFile(beside, "w") as package:
            for part, data in parts:
                package.writestr(part, data, zipfile.ZIP_DEFLATED)
        os.chmod(beside, state.st_mode)
        os.replace(beside, path)
        os.utime(path, ns=(state.st_atime_ns, state.st_mtime_ns))
    finally:
        if os.path.exists(beside):
            os.remove(beside)
