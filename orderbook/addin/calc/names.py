"""What the add-in calls itself and its methods inside LibreOffice."""

from __future__ import annotations

IDENTIFIER = "org.orderbook.addin"
MODULES = ("org", "orderbook")
INTERFACE = "XOrderbook"
SERVICE = "org.orderbook.OrderbookAddIn"
RELINK = "org.orderbook.RelinkJob"
SPELL = "org.orderbook.SpellingJob"
ATTEND = "org.orderbook.AttendJob"
CATEGORY = "Mainspring"
MENU = "org.orderbook.menu"
PROTOCOL = "org.orderbook.menu:"
HANDLER = "org.orderbook.MenuHandler"


def method(function: str) -> str:
    """Return the method of a worksheet function; underscores have no place in one.

    >>> method("SPRING_TURNS")
    'springTurns'
    """
    first, *others = function.lower().split("_")
    return first + "".join(word.capitalize() for word in others)


def long_name(function: str) -> str:
    """Return how LibreOffice 7 writes the function into a file, which Excel does not know.

    >>> long_name("SPRING_TURNS")
    'ORG.ORDERBOOK.ORDERBOOKADDIN.SPRINGTURNS'
    """
    return f"{SERVICE}.{method(function)}".upper()
