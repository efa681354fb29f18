"""The closed list of findings: every code the package uses is in it, and every one in it is used."""

import pickle
import re
from pathlib import Path

import pytest

import orderbook
from orderbook.cli.spelling import in_flags
from orderbook.errors import OrderbookError, codes, error, finding, speaking
from orderbook.records.spelling import in_cells

PACKAGE = Path(orderbook.__file__).parent
SOURCE = "\n".join(path.read_text(encoding="utf-8") for path in PACKAGE.rglob("*.py"))


def test_every_code_is_whole_and_reads_alone_as_in_the_list() -> None:
    for code, entry in codes().items():
        assert set(entry) == {"severity", "expected", "try_this"}, code
        assert entry["severity"] in {"note", "warning", "error"}, code
        assert entry["expected"].endswith((".", "?")) or entry["severity"] == "note", code
        alone = finding(code, where="here", saw="this")
        assert (alone.severity, *alone.marked[2:]) == (entry["severity"], entry["expected"], entry["try_this"])


def test_every_code_is_used() -> None:
    unused = [code for code in codes() if f'"{code}"' not in SOURCE]
    assert not unused


def test_codes_in_the_source_are_listed() -> None:
    said = set(re.findall(r'(?<![\w.])(?:error|finding)\(\s*"(\w+)"', SOURCE))
    assert said - set(codes()) == set()


def test_an_unlisted_code_is_a_mistake_of_the_caller() -> None:
    with pytest.raises(KeyError):
        finding("no_such_code", where="", saw="")


def test_errors_cross_process_borders_whole() -> None:
    problem = error("arbor_not_below_bore", where="⟨arbor⟩", saw="34.0 mm")
    again = pickle.loads(pickle.dumps(problem))
    assert isinstance(again, OrderbookError)
    assert again.finding == problem.finding
    assert again.finding.as_dict()["where"] == "arbor"


def test_python_and_cells_never_name_a_flag_and_the_command_line_does() -> None:
    """One text, spelled by whoever shows it."""
    for code in codes():
        said = finding(code, where="⟨chain_height 1.2⟩", saw="⟨used⟩")
        assert "--" not in str(said), code
        assert "⟨" not in str(said), code
        with speaking(in_cells):
            assert "--" not in str(said), code
            assert "orderbook " not in str(said) or "has orderbook" in str(said), code
        with speaking(in_flags):
            assert str(said).startswith("--chain-height 1.2: --used"), code
