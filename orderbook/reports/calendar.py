"""The days of a book as a calendar file (iCalendar, RFC 5545): what comes, what may go back, what to look at again."""

from __future__ import annotations

import hashlib
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta

from orderbook.records.books import Books
from orderbook.records.index import index
from orderbook.records.nextsteps import named
from orderbook.records.packs import pieces_due, pieces_good, pieces_in_hand

PRODUCT = "-//orderbook//days of a book//EN"


@dataclass(frozen=True, slots=True)
class BookDay:
    """One day to remember: what it is about, what to do, and how many days before to be reminded."""

    name: str
    day: date
    words: str
    more: str
    days_before: int = 0


def days_of(books: Books) -> Iterator[BookDay]:
    """Return the days on which something is expected, may go back for the last time, or is to be looked at again."""
    pieces = index(books).restorations
    closed = {name for name, piece in pieces.items() if piece.state == "closed"}
    for line in books.orders:
        about = ", ".join(filter(None, (line.restoration, named(line))))
        if line.expected and pieces_due(line):
            yield BookDay(f"{line.order}-expected", line.expected, f"{line.order} should come", about)
        if line.return_by and line.state != "fitted" and pieces_in_hand(line):
            bad = "" if pieces_good(line) else f"; {line.wrong}"
            words = f"Last day to send {line.order} back"
            yield BookDay(f"{line.order}-return", line.return_by, words, about + bad, days_before=3)
    for piece in books.restorations:
        if piece.review_on and piece.restoration not in closed:
            words = f"Look again at {piece.restoration}"
            yield BookDay(f"{piece.restoration}-review", piece.review_on, words, piece.piece)
    for need in books.needs:
        if need.review_on and need.restoration not in closed and need.state != "withdrawn":
            words = f"Look again at {need.need}, {need.part}"
            yield BookDay(f"{need.need}-review", need.review_on, words, need.restoration)


def calendar(books: Books, book_name: str, *, on: date) -> bytes:
    """Return the days of a book as a calendar file; the same day keeps its identity when it is written again.

    Parameters: book_name, the name of the book's file; on, the day it is written.
    Source: RFC 5545, by the library icalendar.
    """
    from icalendar import Alarm, Calendar, Event

    page = Calendar()
    page.add("prodid", PRODUCT)
    page.add("version", "2.0")
    page.add("calscale", "GREGORIAN")
    page.add("method", "PUBLISH")
    page.add("x-wr-calname", f"Order book {book_name}")
    for one in days_of(books):
        event = Event()
        event.add("uid", f"{hashlib.sha256(f'{book_name} {one.name}'.encode()).hexdigest()[:32]}@orderbook")
        event.add("dtstamp", datetime.combine(on, time(), UTC))
        event.add("dtstart", one.day)
        event.add("dtend", one.day + timedelta(days=1))
        event.add("summary", _plain(one.words))
        event.add("description", _plain(one.more))
        event.add("transp", "TRANSPARENT")
        if one.days_before:
            alarm = Alarm()
            alarm.add("action", "DISPLAY")
            alarm.add("description", _plain(one.words))
            alarm.add("trigger", timedelta(days=-one.days_before))
            event.add_component(alarm)
        page.add_component(event)
    made: bytes = page.to_ical()
    return made


def _plain(text: str) -> str:
    """Leave out what no calendar can hold: control characters."""
    return "".join(letter for letter in text if letter.isprintable() or letter == " ")
