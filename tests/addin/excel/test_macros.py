"""The macro part of a live book: read back with independent tools, held against MS-OVBA, and run."""

import io
import re
import struct
import warnings
from pathlib import Path

import olefile
import pytest

from orderbook.addin.excel.macro_text import LONGEST_LINE, UDF_MODULE, book_module, functions_module
from orderbook.addin.excel.project import build_project, code_names, kept_project, standard_modules
from orderbook.functions.table import FUNCTIONS
from orderbook.sheets.live_book import macro_book_sheets
from tests.addin.excel import com_stubs

with warnings.catch_warnings():
    warnings.simplefilter("ignore")  # this tool calls its parser by an old name
    from oletools.olevba import VBA_Parser, decompress_stream

SHEETS = macro_book_sheets()
# words of the language, from memory of MS-VBAL 3.3.5.2; not tried in the editor itself
# words of the language, from memory of MS-VBAL 3.3.5.2; not tried in the editor itself
RESERVED = frozenset(Path(__file__).with_name("reserved_words.txt").read_text(encoding="utf-8").split())
# used by the calls without a qualifier, so an argument must not hide them
USED = {"application", "err", "failed", "k", "argsarray", "thisworkbook", "xlpy", "range", "caller", "oneline"}
FIXED_SIZES = {0x01: 4, 0x4A: 4, 0x02: 4, 0x14: 4, 0x03: 2, 0x07: 4, 0x08: 4, 0x0F: 2, 0x13: 2}  # MS-OVBA 2.3.4.2.1


@pytest.fixture(scope="module")
def project():
    return kept_project()


@pytest.fixture(scope="module")
def streams(project):
    file = olefile.OleFileIO(io.BytesIO(project))
    return {"/".join(name): file.openstream(name).read() for name in file.listdir()}


@pytest.fixture(scope="module")
def directory(streams):
    raw, at, records = decompress_stream(bytearray(streams["VBA/dir"])), 0, []
    while at < len(raw):
        kind, size = struct.unpack_from("<HI", raw, at)
        size = 6 if kind == 0x09 else size
        records.append((kind, raw[at + 6 : at + 6 + size]))
        at += 6 + size
    return records


def _read_back(project):
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        return _modules(project)


def _modules(project):
    parser = VBA_Parser("macros.bin", data=project)
    modules = {}
    for _, _, name, text in parser.extract_all_macros():
        modules[name.rsplit(".", 1)[0]] = text
    parser.close()
    return modules


def _lines(text):
    """Compare by lines; what the editor keeps above the text of a module is not ours."""
    return [
        line.rstrip()
        for line in text.splitlines()
        if not re.match(r"Attribute VB_|VERSION|BEGIN|END$|  MultiUse", line)
    ]


def test_kept_part_is_what_the_table_gives(project):
    """In step: python -m orderbook.addin.excel.project."""
    assert project == build_project(len(SHEETS)), "run: python -m orderbook.addin.excel.project"


def test_an_independent_tool_reads_our_text_back(project):
    modules = _read_back(project)
    assert set(modules) == {"ThisWorkbook", "Dictionary", *standard_modules(), *code_names(len(SHEETS))}
    for name, text in standard_modules().items():
        assert _lines(modules[name]) == _lines(text), name
    assert _lines(modules["ThisWorkbook"]) == _lines(book_module())
    assert "Sub RefreshOrderbook" in modules["orderbook_button"]


def test_directory_is_sound(streams, directory):
    """MS-OVBA 2.3.4.2: record sizes, order, counts, and the same names in all three lists."""
    assert all(len(body) == FIXED_SIZES.get(kind, len(body)) for kind, body in directory)
    assert (directory[0][0], directory[-1][0]) == (0x01, 0x10)
    by_kind = dict(directory)
    page = f"cp{struct.unpack('<H', by_kind[0x03])[0]}"
    names = [body.decode(page) for kind, body in directory if kind == 0x19]
    offsets = [struct.unpack("<I", body)[0] for kind, body in directory if kind == 0x31]
    assert struct.unpack("<H", by_kind[0x0F])[0] == len(names) == len(offsets)
    assert not any(offsets)
    listed = re.findall(r"^(?:Document|Module|Class|BaseClass)=([^/\r\n]+)", streams["PROJECT"].decode(page), re.M)
    assert sorted(listed) == sorted(names)
    assert all(name.encode(page) + b"\0" in streams["PROJECTwm"] for name in names)


def test_nothing_compiled_is_left(streams):
    assert streams["VBA/_VBA_PROJECT"] == b"\xcc\x61\xff\xff\x00\x01\x00"  # MS-OVBA 3.1.1
    assert not [name for name in streams if "__SRP" in name]


def test_sheets_are_documents_of_the_project(streams):
    project = streams["PROJECT"].decode("cp1252")
    documents = set(re.findall(r"^Document=([^/\r\n]+)", project, re.M))
    assert documents == {"ThisWorkbook", *code_names(len(SHEETS))}
    assert re.findall(r"^Class=([^/\r\n]+)", project, re.M) == ["Dictionary"]


def test_lines_are_short_and_end_as_they_must(streams, directory):
    for body in (body for kind, body in directory if kind == 0x1A):
        text = decompress_stream(bytearray(streams["VBA/" + body.decode("cp1252")])).decode("cp1252")
        assert "\n" not in text.replace("\r\n", "")
        assert max(map(len, text.split("\r\n"))) <= LONGEST_LINE
        continued = max((len(run.split("\n")) for run in re.findall(r"(?:.* _\r\n)+", text)), default=0)
        assert continued <= 24  # the most the editor takes, from memory


def test_code_is_in_its_code_page():
    for text in (functions_module(), book_module()):
        assert text.encode("cp1252").decode("cp1252") == text


def test_names_can_be_names_in_the_code():
    taken = {
        "OneLine",
        *re.findall(r"(?m)^(?:Public |Private )?(?:Function|Sub) (\w+)", standard_modules()["xlwings"]),
    }
    for name, function in FUNCTIONS.items():
        words = [a.name for a in function.arguments]
        assert not re.fullmatch(r"[a-z]{1,3}[0-9]{1,7}|r[0-9]*(c[0-9]*)?", name.lower()), f"{name} reads as a cell"
        assert name.lower() not in {t.lower() for t in taken}
        assert len({w.lower() for w in words} | {name.lower()}) == len(words) + 1
        for word in words:
            assert re.fullmatch(r"[a-z][a-z0-9_]*", word)
            assert word not in RESERVED | USED, f"{name}: {word}"


@pytest.fixture(scope="module")
def interpreter():
    """An interpreter of the language runs the generated code; xlwings' own dispatcher answers `XLPy`."""
    with com_stubs.published(UDF_MODULE) as (_, server):
        yield _interpreter(server)


def _interpreter(server):
    from pyopenvba.interpreter import MISSING, HostBridge, Interpreter, VBAObject, method
    from pyopenvba.interpreter._runtime import UNRESOLVED

    class Server(VBAObject):
        vba_type_name = "XLPython"

        @method
        def CallUDF(self, module, name, values, book=None, caller=None):  # noqa: N802
            assert module == UDF_MODULE
            given = [
                com_stubs.LEFT_OUT if v is MISSING else float(v) if isinstance(v, int) else v for v in values.items
            ]
            return server.XLPython().CallUDF(module, name, given, None, com_stubs.ExcelRange(None))

    class Range(VBAObject):
        vba_type_name = "Range"

    class Application(VBAObject):
        vba_type_name = "Application"

        @method
        def Caller(self):  # noqa: N802
            return Range()

    class Bridge(HostBridge):
        known = {"xlpy": Server(), "application": Application(), "thisworkbook": Range()}  # noqa: RUF012

        def global_object(self, name):
            return self.known.get(name.lower(), UNRESOLVED)

    text = re.sub(r"(?m)^([ ]*#[^'\n]*)'[^\n]*", r"\1", functions_module())  # it takes no comment behind a # line
    running = Interpreter(host=Bridge())
    running.add_module(re.sub(r"(?m)^Attribute \w+\.VB_.*\n", "", text), name="xlwings_udfs")
    return running


@pytest.mark.parametrize("name", [name for name, function in FUNCTIONS.items() if function.example])
def test_the_code_itself_runs(interpreter, name):
    example = FUNCTIONS[name].example
    assert round(interpreter.run(name, list(example.arguments)), example.places) == example.answer


@pytest.mark.parametrize(
    ("said", "shown"),
    [
        ("Unexpected Python Error: Traceback (most recent call last):\n  File x\nNo module named 'orderbook'\n",
         "#No module named 'orderbook' Run: orderbook addin excel --check"),
        ("Could not load x.dll\r\nfrom C:\\a", "#Could not load x.dll Run: orderbook addin excel --check"),
        ("", "#no answer. Run: orderbook addin excel --check"),
    ],
)  # fmt: skip
def test_what_python_cannot_catch_is_one_line(interpreter, said, shown):
    assert interpreter.run("OneLine", [said]) == shown
