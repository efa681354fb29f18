"""Which Python answers the menu: found, chosen or made, in the user's own folder, and told before it is done."""

import importlib.util
import json
import os
import sys
from pathlib import Path

import pytest

from orderbook.addin import calc
from orderbook.addin.calc.extension import settings

INSIDE = Path(calc.__file__).parent / "inside"


@pytest.fixture
def own(monkeypatch, tmp_path):
    """The module as LibreOffice loads it, in a home of its own with no other Python on the command path."""
    monkeypatch.setenv("HOME", str(tmp_path / "home"))
    monkeypatch.setenv("PATH", str(tmp_path / "bin"))
    for name in ("XDG_DATA_HOME", "ORDERBOOK_PYTHON"):
        monkeypatch.delenv(name, raising=False)
    for name in ("running", "own_python"):
        spec = importlib.util.spec_from_file_location(f"orderbook_{name}", INSIDE / f"{name}.py")
        made = importlib.util.module_from_spec(spec)
        monkeypatch.setitem(sys.modules, f"orderbook_{name}", made)
        spec.loader.exec_module(made)
    return made


def _bare(tmp_path, name="python3"):
    """A Python that has no package: isolated, without its site folder."""
    path = tmp_path / "bin" / name
    path.parent.mkdir(exist_ok=True)
    path.write_text(f'#!/bin/sh\nexec {sys.executable} -I -S "$@"\n')
    path.chmod(0o755)
    return str(path)


def test_the_python_it_was_made_for_is_found_first(own, tmp_path):
    python, version = own.find_package(settings(sys.executable), str(tmp_path))
    assert (python, bool(version)) == (sys.executable, True)


def test_one_that_was_chosen_is_kept_for_the_next_start(own, tmp_path):
    folder = str(tmp_path / "user")
    assert own.kept_python(folder) == ""
    own.keep_python(folder, sys.executable)
    assert own.likely_python(settings("/nowhere/python3"), folder) == sys.executable
    (tmp_path / "user" / "orderbook.json").write_text("[no json")
    assert own.kept_python(folder) == ""


def test_a_python_without_the_package_is_not_taken(own, tmp_path):
    empty = {**settings(""), "package_folder": str(tmp_path)}
    assert own.version_of_package(_bare(tmp_path), empty) == ""
    assert own.version_of_package("/nowhere/python3", empty) == ""
    assert own.find_package(empty, str(tmp_path)) == ("", "")


def test_what_will_be_done_is_told_and_is_the_users_own(own, tmp_path):
    maker = _bare(tmp_path)
    assert own.find_maker((3, 99)) == ""  # none is new enough
    folder = own.environment_folder()
    assert folder.startswith(str(tmp_path / "home") + os.sep)
    told = own.told(settings(""), folder, maker, "spring-orderbook==1")
    first, second = own.steps_to_make(maker, folder, "spring-orderbook==1")
    assert (first[0], first[-1]) == (maker, folder)
    assert second[0].startswith(folder + os.sep)
    alone = "for you alone and without an administrator"
    for words in (folder, maker, alone, "spring-orderbook==1", "delete the folder"):
        assert words in told
    assert "sudo" not in " ".join([*first, *second])
    assert "3.11" in own.told_without_maker(settings(""))


@pytest.mark.parametrize(
    ("system", "part"),
    [("linux", ".local/share"), ("darwin", "Library/Application Support"), ("win32", "AppData/Local")],
)
def test_each_system_has_its_own_folder(own, monkeypatch, system, part):
    monkeypatch.delenv("LOCALAPPDATA", raising=False)
    assert part in own.environment_folder(system).replace(os.sep, "/")
    assert own.python_in("x", system).endswith("python.exe" if system == "win32" else "python")


def test_the_file_that_came_along_is_what_is_installed(own, tmp_path):
    assert own.what_to_install(settings(""), str(tmp_path)).startswith("spring-orderbook==")
    (tmp_path / "spring_orderbook-1-py3-none-any.whl").touch()
    assert own.what_to_install(settings(""), str(tmp_path)).endswith(".whl")
    assert json.dumps(settings(""))
