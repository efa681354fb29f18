"""The page of the menu is what the table of actions gives, and the table names methods and arguments there are."""

import inspect
import typing

import pytest

from orderbook import Book
from orderbook.actions import ACTIONS, GROUPS, Kind
from orderbook.addin.menu_page import KINDS, PAGE, menu_page
from orderbook.errors import finding


def test_the_page_is_what_the_table_gives():
    """In step: python -m orderbook.addin.menu_page."""
    assert PAGE.read_text(encoding="utf-8") == menu_page(), "run: python -m orderbook.addin.menu_page"
    assert set(KINDS) == set(typing.get_args(Kind))


def test_its_pictures_are_there():
    for name in ("menu.png", "menu-trial.png"):
        assert (PAGE.parent.parent / "pictures" / name).read_bytes().startswith(b"\x89PNG")


@pytest.mark.parametrize("action", [a for a in ACTIONS.values() if a.method], ids=lambda a: a.key)
def test_what_is_asked_is_an_argument_of_the_method(action):
    taken = inspect.signature(getattr(Book, action.method)).parameters
    loose = any(p.kind is inspect.Parameter.VAR_KEYWORD for p in taken.values())
    for name in [*action.given, *(question.key for question in action.questions)]:
        assert loose or name in taken, name


def test_words_of_the_table():
    letters = [a.label[a.label.index("~") + 1].lower() for a in ACTIONS.values()]
    assert len(set(letters)) == len(letters), "two entries with one letter"
    for action in ACTIONS.values():
        assert action.group in GROUPS
        asked = [q.label[q.label.index("~") + 1].lower() for q in action.questions]
        assert len(set(asked)) == len(asked), action.key
        assert action.label.endswith(" …") == (bool(action.questions) or action.key == "set_up"), action.key
        for code in action.mends:
            assert finding(code, where="x", saw="y")
