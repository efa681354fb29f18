"""Speed of the worksheet functions in a real LibreOffice, beside a trivial Python add-in in the same run.

Run: python -m tests.benchmarks.functions_calc   (writes docs/reference/benchmarks/functions.md)
"""

from __future__ import annotations

import statistics
import sys
import tempfile
import zipfile
from pathlib import Path

from orderbook.addin.calc.configuration import HEAD, SPACES
from orderbook.addin.calc.extension import LISTED, build
from orderbook.addin.calc.typelib import ANYTHING, type_library
from tests.benchmarks.functions_lists import rows as rows_of_lists
from tests.office import Document, Office

PAGE = Path(__file__).resolve().parents[2] / "docs/reference/benchmarks/functions.md"
ROUNDS = 2
MANY, SOME = 10_000, 1_000
SERVICE = "org.peer.PeerAddIn"
PEER = '''
import json, subprocess, sys
import unohelper
from com.sun.star.lang import XServiceInfo
from org.peer import XPeer

ECHO = """import sys, json
for line in sys.stdin.buffer:
    name, values = json.loads(line)
    sys.stdout.buffer.write(json.dumps(sum(values)).encode() + b"\\\\n"); sys.stdout.buffer.flush()"""
HELPER = []


def bare(values):
    if not HELPER:
        pipe = subprocess.PIPE
        HELPER.append(subprocess.Popen(["PYTHON", "-c", ECHO], stdin=pipe, stdout=pipe, env={}))
    HELPER[0].stdin.write(json.dumps(["bare", values]).encode() + b"\\n")
    HELPER[0].stdin.flush()
    return json.loads(HELPER[0].stdout.readline())


class Peer(unohelper.Base, XPeer, XServiceInfo):
    def __init__(self, _context): pass
    def getImplementationName(self): return "org.peer.PeerAddIn"
    def supportsService(self, name): return name == "org.peer.PeerAddIn"
    def getSupportedServiceNames(self): return ("org.peer.PeerAddIn",)
    def trivial(self, a, b, c, d):
        if isinstance(a, tuple):
            return tuple((w[0] + x[0] + y[0] + z[0],) for w, x, y, z in zip(a, b, c, d))
        return ((a + b + c + d,),)
    def trip(self, a, b, c, d): return ((bare((a, b, c, d)),),)


g_ImplementationHelper = unohelper.ImplementationHelper()
g_ImplementationHelper.addImplementation(Peer, "org.peer.PeerAddIn", ("org.peer.PeerAddIn",))
'''


def peer_extension(path: Path) -> Path:
    """Write the trivial add-in: PEER_TRIVIAL adds in process, PEER_TRIP asks a process that adds."""
    arguments = ("a", "b", "c", "d")
    methods = {"trivial": "PEER_TRIVIAL", "trip": "PEER_TRIP"}
    parameters = "".join(f'<node oor:name="{a}" oor:op="replace"/>' for a in arguments)
    functions = "".join(
        f'<node oor:name="{method}" oor:op="replace"><prop oor:name="DisplayName"><value xml:lang="en">{name}</value>'
        f'</prop><node oor:name="Parameters">{parameters}</node></node>'
        for method, name in methods.items()
    )
    listed = {part: kind for part, kind in LISTED.items() if part != "Jobs.xcu"}
    entries = "".join(
        f'<manifest:file-entry manifest:media-type="{kind}" manifest:full-path="{part}"/>'
        for part, kind in listed.items()
    )
    parts = {
        "META-INF/manifest.xml": f'{HEAD}<manifest:manifest xmlns:manifest="http://openoffice.org/2001/manifest">{entries}'
        "</manifest:manifest>",
        "description.xml": f'{HEAD}<description xmlns="http://openoffice.org/extensions/description/2006">'
        '<identifier value="org.peer"/><version value="1"/></description>',
        "CalcAddIns.xcu": f'{HEAD}<oor:component-data {SPACES} oor:name="CalcAddIns" '
        'oor:package="org.openoffice.Office">'
        f'<node oor:name="AddInInfo"><node oor:name="{SERVICE}" oor:op="replace"><node oor:name="AddInFunctions">'
        f"{functions}</node></node></node></oor:component-data>",
        "orderbook.components": f'{HEAD}<components xmlns="http://openoffice.org/2010/uno-components">'
        f'<component loader="com.sun.star.loader.Python" uri="peer.py"><implementation name="{SERVICE}">'
        f'<service name="{SERVICE}"/></implementation></component></components>',
        "peer.py": PEER.replace("PYTHON", sys.executable),
    }
    library = type_library(
        ["org", "peer"], "XPeer", [(method, [(a, ANYTHING) for a in arguments]) for method in methods]
    )
    with zipfile.ZipFile(path, "w") as package:
        for name, text in parts.items():
            package.writestr(name, text)
        package.writestr("orderbook.rdb", library)
    return path


def fill(document: Document, rows: int, seed: float) -> None:
    """Type a barrel a row, all different, so that nothing is remembered from the round before."""
    document.put(
        "Sheet1",
        f"A1:D{rows}",
        [[20 + seed + n * 1e-4, 6 + seed / 2, 0.2 + n * 1e-6, 500 + seed] for n in range(rows)],
    )


def single_cells(document: Document, formula: str, rows: int, seed: float) -> tuple[float, float]:
    """Return the seconds of a first and of a second recalculation of one formula a row."""
    document.by_hand()
    fill(document, rows, seed)
    document.fill_down("Sheet1", f"E1:E{rows}", formula.format(1))
    fill(document, rows, seed + 0.5)
    first = document.recalculate()
    return first, document.recalculate()


def one_call(document: Document, formula: str, rows: int, seed: float) -> float:
    """Return the seconds of one array formula over whole columns."""
    document.by_hand()
    fill(document, rows, seed)
    columns = ";".join(f"{letter}1:{letter}{rows}" for letter in "ABCD")
    document.put_array("Sheet1", f"E1:E{rows}", f"={formula}({columns})")
    fill(document, rows, seed + 0.5)
    return document.recalculate()


def run(office: Office) -> dict[str, list[float]]:
    """Measure every case in turn, ROUNDS times."""
    seconds: dict[str, list[float]] = {}

    def note(name: str, value: float) -> None:
        seconds.setdefault(name, []).append(value)

    for number in range(ROUNDS):
        for name in ("PEER_TRIVIAL", "PEER_TRIP", "SPRING_TURNS"):
            with office.new() as document:
                first, second = single_cells(document, f"={name}(A{{0}};B{{0}};C{{0}};D{{0}})", MANY, number)
                note(f"{name} single", first)
                note(f"{name} again", second)
        for name in ("PEER_TRIVIAL", "SPRING_TURNS"):
            with office.new() as document:
                note(f"{name} column", one_call(document, name, MANY, number))
        same_barrel = {
            "SPRING_TURNS": f"=SPRING_TURNS({20 + number / 8};6.5;C{{0}};500)",
            "SPRING_TORQUE": f"=SPRING_TORQUE({20 + number / 8};6.5;5;0.2;500;1+ROW()/1000)",
            "DRIVE_INDEX": f"=DRIVE_INDEX({20 + number / 8};6.5;4;5;C{{0}};500)",
        }
        for name in ("SPRING_TURNS", "SPRING_TORQUE"):
            with office.new() as document:
                note(f"{name} one barrel", single_cells(document, same_barrel[name], SOME, number)[0])
        for name in ("SPRING_TURNS", "DRIVE_INDEX"):
            with office.new() as document:
                note(f"{name} filled down", single_cells(document, same_barrel[name], MANY, number)[0])
    return seconds


def report(seconds: dict[str, list[float]]) -> str:
    """Write the ratios as a Markdown page."""
    best = {name: min(values) for name, values in seconds.items()}

    def ratio(ours: str, peer: str) -> float:
        return statistics.median(a / b for a, b in zip(seconds[ours], seconds[peer], strict=True))

    rows = [
        (f"{MANY:,} rows of SPRING_TURNS, one array formula", "SPRING_TURNS column", "trivial function, same shape",
         "PEER_TRIVIAL column", 3.0),
        (f"{MANY:,} single cells of SPRING_TURNS", "SPRING_TURNS single", "bare round trip to a process",
         "PEER_TRIP single", 1.3),
        (f"{MANY:,} single cells again (remembered)", "SPRING_TURNS again", "trivial function, single cells",
         "PEER_TRIVIAL again", 2.0),
        (f"{SOME:,} cells of SPRING_TORQUE, one barrel", "SPRING_TORQUE one barrel", f"{SOME:,} cells of SPRING_TURNS",
         "SPRING_TURNS one barrel", 2.0),
        (f"{MANY:,} cells of DRIVE_INDEX, one barrel", "DRIVE_INDEX filled down", f"{MANY:,} cells of SPRING_TURNS",
         "SPRING_TURNS filled down", 10.0),
    ]  # fmt: skip
    lines = [
        "# Speed of the worksheet functions in Calc",
        "",
        "Measured in one headless LibreOffice beside a trivial Python add-in that adds four numbers. The ratio is the",
        f"median of {ROUNDS} rounds; seconds are the best round. Made by `python -m tests.benchmarks.functions_calc`.",
        "",
        "| ours | seconds | beside | seconds | ratio | goal |",
        "| --- | ---: | --- | ---: | ---: | ---: |",
    ]
    for ours, key, peer, peer_key, goal in rows:
        lines.append(
            f"| {ours} | {best[key]:.3f} | {peer} | {best[peer_key]:.3f} | {ratio(key, peer_key):.2f} | ≤ {goal:g} |"
        )
    return "\n".join(lines) + "\n"


def main() -> None:
    """Build both add-ins, measure, write the page."""
    with tempfile.TemporaryDirectory() as folder, Office(build(Path(folder) / "orderbook.oxt")) as office:
        office.ask("install", peer_extension(Path(folder) / "peer.oxt").as_uri())
        office.restart()
        page = report(run(office)) + rows_of_lists() + "\n"
    PAGE.parent.mkdir(parents=True, exist_ok=True)
    PAGE.write_text(page, encoding="utf-8")
    print(page)


if __name__ == "__main__":
    main()
