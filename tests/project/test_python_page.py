"""The page of Python: made from the docstrings, with every public name on it and an example at each."""

from __future__ import annotations

import inspect
import re
from itertools import chain

import orderbook
from tests.project.python_page import GROUPS, PAGE, python_page


def test_the_page_is_as_the_docstrings_say() -> None:
    assert PAGE.read_text(encoding="utf-8") == python_page(), "run: python -m tests.project.python_page"


def test_every_public_name_stands_on_the_page_once() -> None:
    assert sorted(chain.from_iterable(GROUPS.values())) == sorted(orderbook.ROOMS)
    headings = re.findall(r"^### (\w+)$", PAGE.read_text(encoding="utf-8"), re.MULTILINE)
    assert sorted(headings) == sorted(orderbook.ROOMS)


def test_every_public_name_has_an_example() -> None:
    bare = [name for name in orderbook.ROOMS if ">>>" not in (inspect.getdoc(getattr(orderbook, name)) or "")]
    assert bare == []


def test_type_checkers_are_told_that_the_package_has_types() -> None:
    assert PAGE.parents[2].joinpath("orderbook/py.typed").exists()
