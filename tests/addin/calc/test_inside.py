"""What runs inside LibreOffice: plain enough for its Python, and without what may stand still there for ever."""

import ast
import io
import zipfile

import pytest

from orderbook.addin.calc.extension import extension_bytes


def _sources():
    with zipfile.ZipFile(io.BytesIO(extension_bytes())) as package:
        return {name: package.read(name).decode("utf-8") for name in package.namelist() if name.endswith(".py")}


SOURCES = _sources()


def _imported(tree):
    for node in ast.walk(tree):
        if isinstance(node, ast.ImportFrom):
            yield node.module or ""
        elif isinstance(node, ast.Import):
            yield from (alias.name for alias in node.names)


@pytest.mark.parametrize("name", SOURCES)
def test_it_is_plain_enough_for_the_python_of_libreoffice(name):
    """LibreOffice 7 brings Python 3.8 on Windows and macOS; only the grammar can be checked here."""
    tree = ast.parse(SOURCES[name], feature_version=(3, 8))
    assert not [module for module in _imported(tree) if module.split(".")[0] == "orderbook"]


@pytest.mark.parametrize("name", SOURCES)
def test_no_thread_is_started_that_is_waited_for(name):
    """`threading.Thread.start` waits for the thread, which may wait for a lock that LibreOffice's main thread holds."""
    tree = ast.parse(SOURCES[name])
    assert not {"threading", "concurrent.futures", "multiprocessing", "asyncio"} & set(_imported(tree))
    called = {
        node.func.attr
        for node in ast.walk(tree)
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Attribute)
        if not isinstance(node.func.value, ast.Constant) and ast.unparse(node.func.value) != "os.path"
    }
    assert not called & {"acquire", "join", "communicate"}


def test_what_is_imported_is_packed():
    packed = {name.rpartition("/")[2].removesuffix(".py") for name in SOURCES}
    for text in SOURCES.values():
        wanted = {module for module in _imported(ast.parse(text)) if module.startswith("orderbook_")}
        assert wanted <= packed
