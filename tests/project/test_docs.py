"""Every block in the documents runs: python blocks are doctests, console blocks are commands with their output."""

import contextlib
import doctest
import io
import re
import shlex
import shutil
from pathlib import Path

import pytest

from orderbook.cli import cli, console
from orderbook.locate import data_folder

ROOT = Path(__file__).resolve().parents[2]
DOCUMENTS = sorted([*ROOT.glob("docs/**/*.md"), ROOT / "README.md", ROOT / "DEVELOPERS.md"])
BLOCK = re.compile(r"^```(?P<kind>\w*)\n(?P<body>.*?)^```$", re.MULTILINE | re.DOTALL)
LOOSE = doctest.ELLIPSIS | doctest.NORMALIZE_WHITESPACE


def _console(body: str) -> list[tuple[str, str]]:
    """Take a console block apart into commands and the output expected of each."""
    pieces = re.split(r"^\$ ", body, flags=re.MULTILINE)
    assert not pieces[0].strip(), "a console block begins with a command"
    return [(piece.partition("\n")[0], piece.partition("\n")[2]) for piece in pieces[1:]]


def _run(line: str, folder: Path) -> tuple[int, str]:
    words = shlex.split(line, comments=True)
    assert words[0] == "orderbook", f"only our own command runs in the documents: {line}"
    out, err = io.StringIO(), io.StringIO()
    with contextlib.chdir(folder), contextlib.redirect_stdout(out), contextlib.redirect_stderr(err):
        status = console.run(cli, words[1:])
    return status, out.getvalue() + err.getvalue()


@pytest.mark.parametrize("document", DOCUMENTS, ids=lambda p: str(p.relative_to(ROOT)))
def test_blocks_run(document: Path, tmp_path: Path) -> None:
    shutil.copytree(data_folder("demo_catalog"), tmp_path / "demo_catalog")
    checker = doctest.OutputChecker()
    names: dict[str, object] = {}  # the python blocks of a document are one script
    for block in BLOCK.finditer(document.read_text(encoding="utf-8")):
        line = document.read_text(encoding="utf-8")[: block.start()].count("\n") + 1
        if block["kind"] == "python":
            test = doctest.DocTestParser().get_doctest(block["body"], names, str(document), str(document), line)
            runner = doctest.DocTestRunner(optionflags=LOOSE, verbose=False)
            said = io.StringIO()
            with contextlib.chdir(tmp_path):
                runner.run(test, out=said.write, clear_globs=False)
            assert runner.failures == 0, said.getvalue()
            names |= test.globs
        if block["kind"] == "console":
            for command, expected in _console(block["body"]):
                wanted = int(m[1]) if (m := re.search(r"#\s*exits (\d)", command)) else 0
                status, output = _run(command, tmp_path)
                assert status == wanted, f"{document.name}:{line}: {command}\n{output}"
                if expected.strip():
                    matches = checker.check_output(expected, output, LOOSE)
                    assert matches, f"{document.name}:{line}: {command}\nexpected:\n{expected}\ngot:\n{output}"


def test_links_between_documents_lead_somewhere() -> None:
    for document in DOCUMENTS:
        for target in re.findall(r"\]\((?!https?:|#|mailto:)([^)#\s]+)", document.read_text(encoding="utf-8")):
            assert (document.parent / target).exists(), f"{document.relative_to(ROOT)} links to {target}"
