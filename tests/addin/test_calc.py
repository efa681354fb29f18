"""`orderbook addin calc` with LibreOffice's real installer, as an ordinary user sees it."""

import json
import os
import shutil
import stat
import subprocess
import sys
import tempfile
import zipfile
from pathlib import Path

import pytest

from orderbook.addin import libreoffice
from orderbook.cli import cli, console
from tests.office import Office, need_office

NOBODY = 65534


def run(capsys, *words):
    status = console.run(cli, ["addin", "calc", *map(str, words)])
    said = capsys.readouterr()
    return status, said.out + said.err


def _script(path, text):
    path.write_text(f"#!/bin/sh\n{text}\n")
    path.chmod(path.stat().st_mode | stat.S_IXUSR | stat.S_IXGRP | stat.S_IXOTH)


@pytest.fixture
def ordinary_user(monkeypatch):
    """Give a LibreOffice and a profile of an ordinary user, also where the tests run as root."""
    soffice = Path(need_office()[0]).resolve()
    folder = Path(tempfile.mkdtemp(prefix="office-"))
    folder.chmod(0o755)
    programs, profile = folder / "programs", folder / "profile"
    programs.mkdir()
    profile.mkdir()
    drop = ""
    if os.geteuid() == 0:
        os.chown(profile, NOBODY, NOBODY)
        drop = f"setpriv --reuid {NOBODY} --regid {NOBODY} --clear-groups env HOME={profile} TMPDIR={profile} "
        monkeypatch.setattr(os, "geteuid", lambda: NOBODY)
    for name in ("soffice", "unopkg"):
        _script(programs / name, f'exec {drop if name == "unopkg" else ""}{soffice.parent / name} "$@"')
    monkeypatch.setenv("PATH", f"{programs}{os.pathsep}{os.environ['PATH']}")
    # the extension is built in the temporary folder, which the ordinary user must be able to read
    monkeypatch.setattr(libreoffice.tempfile, "TemporaryDirectory", lambda: _Readable(folder))
    yield profile
    shutil.rmtree(folder, ignore_errors=True)


class _Readable:
    def __init__(self, parent):
        self.path = Path(tempfile.mkdtemp(dir=parent))
        self.path.chmod(0o755)

    def __enter__(self):
        return str(self.path)

    def __exit__(self, *_):
        shutil.rmtree(self.path)


@pytest.mark.libreoffice
@pytest.mark.slow
def test_install_check_compute_remove(ordinary_user, capsys, tmp_path):
    profile = ["--profile", ordinary_user]
    status, said = run(capsys, "--check", *profile)
    assert (status, "not installed" in said) == (1, True)
    assert run(capsys, "--install", *profile)[0] == 0
    status, said = run(capsys, "--check", *profile)
    assert (status, "38.3491" in said, "All is well." in said) == (0, True, True), said
    copy = shutil.copytree(ordinary_user, tmp_path / "profile")  # what runs as root must not own the user's files
    with Office(profile=copy) as office, office.new() as document:
        document.put("Sheet1", "A1", [['=LENGTH_MM("1 in")']])
        assert document.cell("Sheet1", "A1") == 25.4
    assert run(capsys, "--install", *profile)[0] == 0  # again: an older one is replaced
    assert run(capsys, "--remove", *profile)[1].startswith("The add-in is removed")
    assert run(capsys, "--remove", *profile) == (0, "There was no add-in of ours to remove.\n")


@pytest.mark.libreoffice
@pytest.mark.slow
def test_check_says_what_is_wrong_with_the_python(ordinary_user, capsys, monkeypatch):
    monkeypatch.setattr(libreoffice, "build", lambda path: _build_for("/nowhere/python3", path))
    run(capsys, "--install", "--profile", ordinary_user)
    status, said = run(capsys, "--check", "--json", "--profile", ordinary_user)
    (trouble,) = json.loads(said)["findings"]
    assert (status, trouble["code"], trouble["where"]) == (1, "addin_gives_no_answer", "/nowhere/python3")


def _build_for(python, path):
    from orderbook.addin.calc.extension import build

    return build(path, python)


def test_build_writes_an_extension_for_this_python(tmp_path, capsys):
    status, said = run(capsys, "--build", tmp_path / "functions.oxt")
    assert (status, "Extension Manager" in said) == (0, True)
    with zipfile.ZipFile(tmp_path / "functions.oxt") as parts:
        assert json.loads(parts.read("addin.json"))["python"] == sys.executable


@pytest.mark.parametrize("action", ["--install", "--remove"])
def test_the_root_user_installs_for_everybody_only_when_told(monkeypatch, capsys, action):
    asked = []
    monkeypatch.setattr(os, "geteuid", lambda: 0, raising=False)
    monkeypatch.setattr(libreoffice, "find_libreoffice", lambda: libreoffice.LibreOffice(Path("/nowhere")))
    monkeypatch.setattr(libreoffice, "_run_unopkg", lambda *words: asked.append(words) or _well())
    status, said = run(capsys, action)
    assert (status, asked) == (2, [])
    assert "this is the root user; nothing was changed" in said
    assert run(capsys, action, "--everybody")[0] == 0
    assert all("--shared" in words for words in asked)
    assert asked


def _well():
    return subprocess.CompletedProcess([], 0, "Version: 1\n", "")


def test_no_libreoffice_is_one_line(monkeypatch, capsys):
    monkeypatch.setattr(libreoffice, "USUAL_PLACES", ())
    monkeypatch.setenv("PATH", "")
    status, said = run(capsys, "--install")
    assert status == 2
    assert said.startswith("orderbook: LibreOffice: not on the command path")
    assert len(said.splitlines()) == 1


@pytest.mark.parametrize(("part", "box"), [("snap", "Snap"), ("flatpak", "Flatpak")])
def test_sandboxed_libreoffice_is_named(tmp_path, monkeypatch, capsys, part, box):
    programs = tmp_path / part / "bin"
    programs.mkdir(parents=True)
    _script(programs / "soffice", "exit 0")
    monkeypatch.setattr(libreoffice, "USUAL_PLACES", ())
    monkeypatch.setenv("PATH", str(programs))
    status, said = run(capsys, "--check")
    assert status == 1
    assert f"installed as a {box}" in said
    assert run(capsys, "--install")[0] == 2
